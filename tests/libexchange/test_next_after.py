"""The next service after what was really done: sooner than planned where less was renewed."""

from datetime import date
from typing import Any

import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import MakerInterval
from libexchange.plan.next_after import next_after
from libexchange.plan.records import Plan
from libexchange.plan.request import LastService, Vehicle
from libexchange.quantities import Distance
from tests.job.plans import plan_for

PLAN = plan_for()
SCHEDULE = MakerInterval(distance=Distance(60_000.0, "km"), months=48)
HELD = plan_for(profile={"maker_interval": SCHEDULE})


def by_id(plan: Plan) -> Plan:
    """The plan of a request that names the transmission instead of holding its record."""
    request = replace(plan.request, transmission=None, transmission_id="invented-six-speed")
    return replace(plan, request=request)


def after_km(plan: Plan, share: float | None, **more: Any) -> float | None:
    told = next_after(plan=plan, fresh_share=share, **more)
    return told.after_distance.km if told and told.after_distance else None


@pytest.mark.parametrize(
    ("share", "km"),
    [(0.8, 123_000.0), (0.795, 123_000.0), (0.7949, 122_000.0), (1.0, 123_000.0),
     (0.53, 73_000.0), (0.2, 12_000.0), (0.0, None), (None, None)],
)  # fmt: skip
def test_less_renewed_is_due_sooner_and_more_never_later(
    share: float | None, km: float | None
) -> None:
    assert after_km(PLAN, share) == km
    assert after_km(by_id(PLAN), share) == km


def test_the_makers_schedule_stays_the_cap_where_only_the_plan_knows_it() -> None:
    for plan in (HELD, by_id(HELD)):
        told = next_after(plan=plan, fresh_share=0.7)
        assert told is not None
        assert (told.after_distance, told.limited_by) == (Distance(60_000.0, "km"), "maker")
        assert (told.after_months, told.due_on) == (48, date(2030, 3, 4))


def test_wear_comes_before_the_schedule_where_little_was_renewed() -> None:
    for plan in (HELD, by_id(HELD)):
        told = next_after(plan=plan, fresh_share=0.3)
        assert told is not None
        assert (told.after_distance, told.limited_by) == (Distance(31_000.0, "km"), "damage")


@pytest.mark.parametrize(("share", "told"), [(0.2, True), (0.1999, False)])
def test_too_little_to_begin_the_schedule_anew_is_told_only_with_the_schedule(
    share: float, told: bool
) -> None:
    assert (after_km(by_id(PLAN), share) is not None) == told
    assert after_km(PLAN, share) is not None


def test_the_odometer_on_arrival_counts_before_that_of_the_request() -> None:
    before = plan_for(vehicle=Vehicle(odometer=Distance(80_000.0, "km")))
    (by_request, by_arrival) = (
        next_after(plan=before, fresh_share=0.8, odometer=one)
        for one in (None, Distance(88_123.0, "km"))
    )

    assert by_request is not None
    assert by_arrival is not None
    assert by_request.due_odometer == Distance(203_000.0, "km")
    assert by_arrival.due_odometer == Distance(211_123.0, "km")


def test_the_day_is_the_earlier_of_both() -> None:
    last = LastService(service_date=date(2025, 3, 4), odometer=Distance(50_000.0, "km"),
                       fresh_share=0.8)  # fmt: skip
    plan = plan_for(vehicle=Vehicle(odometer=Distance(80_000.0, "km")), last_service=last)
    (whole, half) = (next_after(plan=plan, fresh_share=one) for one in (0.8, 0.4))

    assert plan.next_service is not None
    assert whole is not None
    assert half is not None
    assert whole.due_on == plan.next_service.due_on
    assert half.due_on is not None
    assert whole.due_on is not None
    assert half.due_on < whole.due_on


@pytest.mark.parametrize("name", ["forecast", "next_service"])
def test_a_plan_that_tells_nothing_tells_nothing_afterwards(name: str) -> None:
    assert after_km(replace(PLAN, **{name: None}), 0.8) is None


def test_a_plan_that_could_not_tell_does_not_begin_to() -> None:
    assert PLAN.next_service is not None
    untold = replace(PLAN, next_service=replace(PLAN.next_service, after_distance=None))

    assert after_km(untold, 0.8) is None
    assert invented.routine_request().transmission is not None
