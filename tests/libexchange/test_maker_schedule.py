"""From where the maker's schedule counts, and what of it nothing is known to count by."""

from datetime import date

import pytest

from libexchange.interval_measures import Measure
from libexchange.maker_schedule import maker_reasons, maker_used, not_applied
from libexchange.next_due import next_due
from libexchange.quantities import Distance
from libexchange.use_case import Duty, MakerSchedule, PastService, UseCase

DAY = date(2024, 5, 2)
SMALL = " A service that renews less than 0.2 does not begin it anew."


def services(*shares: float) -> tuple[PastService, ...]:
    return tuple(
        PastService(service_date=DAY.replace(day=day), fresh_share=share)
        for day, share in enumerate(shares, 1)
    )


def case(*shares: float, maker: MakerSchedule | None, duty: Duty = "normal") -> UseCase:
    return UseCase(today=DAY, services=services(*shares), maker=maker, duty=duty)


def measure(*readings: float | None, maker: float | None = 60_000.0) -> Measure:
    return Measure("km", ["#"] * len(readings), list(readings), 160_000.0, maker, None)


@pytest.mark.parametrize(
    ("shares", "readings", "used"),
    [
        ((), (100_000.0,), 100_000.0),
        ((0.19,), (40_000.0, 100_000.0), 100_000.0),
        ((0.8,), (40_000.0, 100_000.0), 60_000.0),
        ((0.8, 0.19), (40_000.0, 70_000.0, 100_000.0), 60_000.0),
        ((0.8,), (40_000.0, None), None),
    ],
)
def test_use_counts_from_the_last_service_that_counts_or_from_new(
    shares: tuple[float, ...], readings: tuple[float | None, ...], used: float | None
) -> None:
    assert maker_used(measure(*readings), services(*shares)) == used


@pytest.mark.parametrize(
    ("shares", "reasons"),
    [
        ((), ["The maker's schedule counts from new."]),
        ((0.19,), [f"The maker's schedule counts from new.{SMALL}"]),
        ((0.8, 0.19), [f"The maker's schedule counts from the service of 2024-05-01.{SMALL}"]),
        ((0.19, 0.2), []),
    ],
)
def test_where_it_counts_from_is_told_unless_it_is_the_last_service(
    shares: tuple[float, ...], reasons: list[str]
) -> None:
    schedule = MakerSchedule(distance=Distance(60_000, "km"))

    assert maker_reasons(case(*shares, maker=schedule), services(*shares)) == reasons
    assert maker_reasons(case(*shares, maker=None), services(*shares)) == []


def test_what_cannot_be_counted_is_named() -> None:
    known = MakerSchedule(distance=Distance(60_000, "km"), months=48)
    hours = measure(None)._replace(unit="h")
    told = not_applied(case(maker=known), (), [measure(None), hours])

    assert [one.message for one in told] == ["Not counted: distance, engine hours, months."]
    assert not_applied(case(0.8, maker=known), services(0.8), [measure(1.0)]) == []


@pytest.mark.parametrize(
    ("duty", "words"), [("normal", "age as fast as at"), ("city", "age 1.5 times as fast as at")]
)
def test_how_fast_it_ages_is_told(duty: Duty, words: str) -> None:
    today = UseCase(today=DAY, odometer=Distance(90_000, "km"), duty=duty)

    assert any(words in reason for reason in next_due(today).reasons)
