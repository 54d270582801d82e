"""When the service after the planned one is due: by hand from the definition of damage."""

from datetime import date
from typing import Any

import msgspec
import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import MakerInterval, TransmissionProfile
from libexchange.plan.next_service import BEYOND, NOT_RENEWED, next_service
from libexchange.plan.offer import NextService
from libexchange.plan.records import Plan
from libexchange.plan.request import LastService, Reason, Vehicle
from libexchange.quantities import Distance
from tests.libexchange.plan_desk import SIX_SPEED, planned

DAY = date(2026, 3, 4)
LIFE_KM = 160_000
LEFT_AFTER_80 = 1 - (1 - 0.8) * 1.15
"""What of a life is left after 0.80 of worn-out fluid was renewed."""


def km(distance: float) -> Distance:
    return Distance(distance, "km")


def due(
    transmission: TransmissionProfile = SIX_SPEED, share: float | None = 0.8, **members: Any
) -> NextService:
    request = replace(invented.routine_request(), transmission=transmission, **members)
    return next_service(request=request, transmission=transmission, fresh_share=share)


def after_km(found: NextService) -> float:
    assert found.after_distance is not None
    return found.after_distance.km


def told_km(distance: float) -> float:
    """Whole thousands, rounded down."""
    return float(f"{distance + 1e-3:.0f}"[:-3] + "000")


def with_maker(**schedule: Any) -> TransmissionProfile:
    return replace(SIX_SPEED, maker_interval=MakerInterval(**schedule))


def driven(now_km: float, last_km: float | None, on: date, **members: Any) -> dict[str, Any]:
    last = LastService(service_date=on, odometer=km(last_km) if last_km else None, **members)
    return {"vehicle": Vehicle(odometer=km(now_km)), "last_service": last}


@pytest.mark.parametrize(
    ("members", "weight"),
    [
        ({}, 1),
        ({"duty": "normal"}, 1),
        ({"duty": "city"}, 1.5),
        ({"duty": "trailer_or_mountain"}, 2),
        ({"duty": "city_and_trailer"}, 2.5),
        ({"reason": "heavy_use"}, 2),
        ({"reason": "heavy_use", "duty": "city"}, 1.5),
    ],
)
def test_hard_driving_brings_it_forward(members: dict[str, Any], weight: float) -> None:
    found = due(**members)

    assert after_km(found) == told_km(LEFT_AFTER_80 * LIFE_KM / weight)
    assert found.limited_by == "damage"
    guessed = [text for text in found.reasons if "is not stated" in text]
    assert len(guessed) == ("duty" not in members)


@pytest.mark.parametrize("share", [0.4, 0.8, 0.9])
def test_a_partial_exchange_leaves_its_rest_with_the_remainder_factor(share: float) -> None:
    left = 1 - (1 - share) * 1.15

    assert after_km(due(share=share)) == told_km(left * LIFE_KM)


def test_an_earlier_service_with_share_and_distance_is_counted_in() -> None:
    found = due(**driven(100_000, 60_000, date(2024, 3, 4), fresh_share=0.5))

    before = 0.5 * 1.15 + 40_000 / LIFE_KM
    left = 1 - 0.2 * 1.15 * before
    assert after_km(found) == told_km(left * LIFE_KM)
    assert found.due_odometer == km(100_000 + after_km(found))
    assert any("renewed 0.50" in text for text in found.reasons)


@pytest.mark.parametrize(
    "members",
    [
        driven(100_000, 60_000, date(2024, 3, 4)),
        driven(100_000, None, date(2024, 3, 4), fresh_share=0.5),
        driven(100_000, 100_001, date(2024, 3, 4), fresh_share=0.5),
        driven(100_000, 60_000, date(2026, 3, 5), fresh_share=0.5),
        {"last_service": LastService(service_date=DAY, odometer=km(5), fresh_share=0.5)},
    ],
    ids=["no share", "no reading then", "runs backwards", "in the future", "no reading now"],
)
def test_an_earlier_service_that_cannot_be_counted_leaves_worn_out_fluid(
    members: dict[str, Any],
) -> None:
    found = due(**members)

    assert after_km(found) == told_km(LEFT_AFTER_80 * LIFE_KM)
    assert not any("renewed 0.50" in text for text in found.reasons)


@pytest.mark.parametrize(
    ("maker_km", "expected_km", "by"),
    [
        (60_000, 60_000, "maker"),
        (60_999, 60_000, "maker"),
        (123_199, 123_000, "maker"),
        (123_201, 123_000, "damage"),
    ],
)
def test_the_makers_schedule_is_the_cap(maker_km: float, expected_km: float, by: str) -> None:
    found = due(with_maker(distance=km(maker_km)))

    assert (after_km(found), found.limited_by) == (expected_km, by)


def test_an_unknown_schedule_is_said_and_asked_for() -> None:
    asked = (
        "The maker's service schedule is not known. Look the schedule up; the shorter of it and of "
        "the wear counts."
    )

    assert asked in due().reasons
    assert asked not in due(with_maker(distance=km(60_000))).reasons


def test_the_months_of_the_maker_give_a_day() -> None:
    found = due(with_maker(months=48))

    assert (found.after_months, found.due_on) == (48, date(2030, 3, 4))
    assert due().due_on is None


def test_two_readings_of_the_odometer_tell_a_day() -> None:
    found = due(**driven(80_000, 40_000, date(2024, 3, 4)))

    days = LEFT_AFTER_80 * LIFE_KM / 40_000 * 730
    assert found.due_on is not None
    assert (found.due_on - DAY).days == int(days)


@pytest.mark.parametrize(
    ("last", "driven_km", "told"),
    [
        (date(2026, 2, 2), 1_000, True),
        (date(2026, 2, 3), 1_000, False),
        (date(2025, 3, 4), 499_650, True),
        (date(2025, 3, 4), 499_700, False),
        (date(2025, 3, 4), 0, False),
    ],
    ids=["30 days", "29 days", "just believable", "unbelievable", "not driven"],
)
def test_readings_too_near_or_unbelievable_tell_no_day(
    last: date, driven_km: float, *, told: bool
) -> None:
    found = due(**driven(600_000 + driven_km, 600_000, last))

    assert (found.due_on is not None) is told


def test_the_odometer_is_told_only_where_it_is_known_and_can_be_shown() -> None:
    assert due().due_odometer is None
    assert due(vehicle=Vehicle(odometer=km(1e7 - 123_000))).due_odometer == km(1e7)
    assert due(vehicle=Vehicle(odometer=km(1e7 - 122_999))).due_odometer is None


def test_the_planned_service_is_the_one_that_counts() -> None:
    plan = planned(route="drain")

    assert plan.forecast is not None
    assert plan.next_service is not None
    left = 1 - (1 - plan.forecast.fresh_share.expected) * 1.15
    assert after_km(plan.next_service) == told_km(left * LIFE_KM)


@pytest.mark.parametrize(
    "members",
    [
        {"conditions": ("coolant_in_fluid",)},
        {"conditions": ("after_repair",)},
        {"route": "level_only"},
    ],
)
def test_where_nothing_is_renewed_nothing_is_made_up(members: dict[str, Any]) -> None:
    found = planned(with_maker(distance=km(60_000), months=48), **members).next_service

    assert found == NextService(after_distance=None, after_months=None, reasons=(NOT_RENEWED,))


def test_dates_beyond_the_calendar_are_not_counted() -> None:
    found = due(with_maker(months=48), service_date=date(9999, 3, 4))

    assert found.reasons == (BEYOND,)


def test_a_kept_plan_from_before_all_this_was_computed_still_decodes() -> None:
    plan = msgspec.to_builtins(planned())
    plan["next_service"] = {
        "after_distance": {"value": 60_000, "unit": "km"}, "after_months": 48, "reasons": ["old"],
    }  # fmt: skip
    for name in ("duty", "cleaner_id", "conditioner_id"):
        del plan["request"][name]
    for name in ("cleaner", "conditioner"):
        del plan["catalogue_versions"][name]
    del plan["waits"], plan["offline_card"]["doses"]

    kept = msgspec.convert(plan, Plan)

    assert kept.next_service is not None
    assert (kept.next_service.due_on, kept.next_service.limited_by) == (None, None)
    assert kept.offline_card is not None
    assert (kept.waits, kept.offline_card.doses) == ((), ())


@pytest.mark.parametrize(
    ("members", "edges"),
    [
        ({}, (10_000, 20_000)),
        (driven(100_000, 60_000, date(2024, 3, 4)), (10_000, 20_000)),
        (driven(100_000, 60_000, date(2024, 3, 4), fresh_share=0.5), None),
        ({"conditions": ("leak", "shift_complaint")}, (10_000, 20_000)),
        ({"conditions": ("burnt_smell",)}, (500, 1500)),
        ({"reason": "unknown_fluid"}, (500, 1500)),
        ({"reason": "wrong_fluid"}, (500, 1500)),
        ({"reason": "unknown_fluid", "conditions": ("debris_in_pan",)}, None),
    ],
)
def test_fluid_that_asks_for_care_is_looked_at_again(
    members: dict[str, Any], edges: tuple[float, float] | None
) -> None:
    found = due(**members)

    told = found.recheck and (found.recheck.earliest.km, found.recheck.latest.km)
    assert told == edges
    assert any("Look at the fluid again" in text for text in found.reasons) is (edges is not None)


@pytest.mark.parametrize(
    ("maker_km", "edges"),
    [
        (10_999, None),
        (11_000, (10_000, 11_000)),
        (20_000, (10_000, 20_000)),
        (21_000, (10_000, 20_000)),
    ],
)
def test_unknown_fluid_is_not_looked_at_later_than_it_is_due(
    maker_km: float, edges: tuple[float, float] | None
) -> None:
    found = due(with_maker(distance=km(maker_km)))

    assert (found.recheck and (found.recheck.earliest.km, found.recheck.latest.km)) == edges


@pytest.mark.parametrize(
    ("reason", "why"),
    [
        ("unknown_fluid", "what is in the unit is not known"),
        ("wrong_fluid", "another fluid was in the unit"),
    ],
)
def test_why_it_is_looked_at_again_so_soon_is_told(reason: Reason, why: str) -> None:
    reasons = due(reason=reason).reasons

    assert f"Look at the fluid again after 500 to 1,500 km, because {why}." in reasons
