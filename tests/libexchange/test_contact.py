"""The timer of a cleaner: it runs while the fluid is warm and the engine runs."""

from datetime import UTC, datetime, timedelta
from math import inf, nextafter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.contact import Contact, ContactReading, contact
from libexchange.errors import OutOfRange
from libexchange.quantities import Temperature

START = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)


def seen(minute: float, celsius: float = 70, *, running: bool = True) -> ContactReading:
    return ContactReading(
        at=START + timedelta(minutes=minute),
        temperature=Temperature(celsius, "Cel"),
        engine_running=running,
    )


READINGS = st.lists(
    st.builds(seen, st.integers(0, 30), st.sampled_from([50.0, 70.0]), running=st.booleans()),
    max_size=25,
)


def test_twelve_minutes_are_enough() -> None:
    assert contact([seen(n) for n in range(13)]) == Contact(720, "done", 0)


def test_eleven_are_not() -> None:
    assert contact([seen(n) for n in range(12)]) == Contact(660, "running", 0)


def test_the_maker_may_ask_for_another_time() -> None:
    assert contact([seen(n) for n in range(11)], needed_s=600).state == "done"


def test_it_pauses_while_the_engine_is_off() -> None:
    readings = [seen(n, running=n not in (4, 5)) for n in range(13)]

    assert contact(readings) == Contact(540, "running", 1)


def test_it_pauses_while_the_fluid_is_too_cold() -> None:
    readings = [seen(n, 59.9 if n in (4, 9) else 60) for n in range(13)]

    assert contact(readings) == Contact(480, "running", 2)


def test_it_stays_paused_when_it_ends_cold() -> None:
    assert contact([seen(0), seen(1), seen(2, 40)]) == Contact(60, "paused", 0)


@pytest.mark.parametrize(
    "readings", [[], [seen(0, 20), seen(1, 30)], [seen(0, running=False)]], ids=len
)
def test_it_has_not_started_before_it_is_warm_with_the_engine_running(
    readings: list[ContactReading],
) -> None:
    assert contact(readings) == Contact(0, "not_started", 0)


def test_nobody_saw_what_happened_in_a_gap() -> None:
    assert contact([seen(0), seen(1), seen(3), seen(4)]) == Contact(120, "running", 1)


def test_the_longest_gap_may_be_another() -> None:
    assert contact([seen(0), seen(1), seen(3), seen(4)], gap_s=120).counted_s == 240


def test_half_an_hour_is_too_long() -> None:
    assert contact([seen(n) for n in range(31)]).state == "done"
    assert contact([seen(n / 2) for n in range(62)]).state == "too_long"


def test_of_two_readings_at_one_moment_the_worse_counts() -> None:
    readings = [seen(0), seen(1), seen(1, 20), seen(2)]

    assert contact(readings) == Contact(0, "running", 0)


@given(readings=READINGS, again=st.randoms(use_true_random=False))
def test_case_82_order_and_duplicates_change_nothing(
    readings: list[ContactReading], again: Random
) -> None:
    shuffled = [*readings, *readings[:3]]
    again.shuffle(shuffled)

    assert contact(shuffled) == contact(readings)


@given(readings=READINGS)
def test_no_more_counts_than_has_passed(readings: list[ContactReading]) -> None:
    passed = [reading.at for reading in readings]
    longest = (max(passed) - min(passed)).total_seconds() if passed else 0

    assert 0 <= contact(readings).counted_s <= longest


@pytest.mark.parametrize(
    ("name", "value"),
    [("needed_s", 59.0), ("needed_s", 3601.0), ("operating_c", 19.0), ("gap_s", 0.0)],
)
def test_limits_out_of_range_are_refused(name: str, value: float) -> None:
    with pytest.raises(OutOfRange, match=name):
        contact([], **{name: value})


@pytest.mark.parametrize(
    ("name", "low", "high", "unit"),
    [("needed_s", 60, 3600, "s"), ("operating_c", 20, 120, "degC"), ("gap_s", 1, 3600, "s")],
)
def test_what_a_contact_time_is_asked_with_has_edges(
    name: str, low: float, high: float, unit: str
) -> None:
    contact([], **{name: low})
    contact([], **{name: high})
    for beyond in (nextafter(low, -inf), nextafter(high, inf)):
        with pytest.raises(OutOfRange) as refused:
            contact([], **{name: beyond})
        told = refused.value
        assert (told.name, told.value, told.allowed) == (name, beyond, f"{low} to {high} {unit}")
