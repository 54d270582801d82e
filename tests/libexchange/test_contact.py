"""The timer of a cleaner: it runs while the fluid is warm and the engine runs."""

from datetime import UTC, datetime, timedelta
from math import inf, nextafter
from random import Random
from typing import Any

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
    assert contact([seen(n) for n in range(13)])[:3] == (720, "done", 0)


def test_eleven_are_not() -> None:
    assert contact([seen(n) for n in range(12)])[:3] == (660, "running", 0)


def test_the_maker_may_ask_for_another_time() -> None:
    assert contact([seen(n) for n in range(11)], needed_s=600).state == "done"


def test_it_pauses_while_the_engine_is_off() -> None:
    readings = [seen(n, running=n not in (4, 5)) for n in range(13)]

    assert contact(readings)[:3] == (540, "running", 1)


def test_it_pauses_while_the_fluid_is_too_cold() -> None:
    readings = [seen(n, 59.9 if n in (4, 9) else 60) for n in range(13)]

    assert contact(readings)[:3] == (480, "running", 2)


def test_it_stays_paused_when_it_ends_cold() -> None:
    assert contact([seen(0), seen(1), seen(2, 40)])[:3] == (60, "paused", 0)


@pytest.mark.parametrize(
    "readings", [[], [seen(0, 20), seen(1, 30)], [seen(0, running=False)]], ids=len
)
def test_it_has_not_started_before_it_is_warm_with_the_engine_running(
    readings: list[ContactReading],
) -> None:
    assert contact(readings)[:3] == (0, "not_started", 0)


def test_nobody_saw_what_happened_in_a_gap() -> None:
    assert contact([seen(0), seen(1), seen(3), seen(4)])[:3] == (120, "running", 1)


def test_the_longest_gap_may_be_another() -> None:
    assert contact([seen(0), seen(1), seen(3), seen(4)], gap_s=120).counted_s == 240


def test_half_an_hour_is_too_long() -> None:
    assert contact([seen(n) for n in range(31)]).state == "done"
    assert contact([seen(n / 2) for n in range(62)]).state == "too_long"


@pytest.mark.parametrize(
    ("readings", "counted_s", "unseen_s"),
    [
        ([seen(n * 61 / 60) for n in range(60)], 0, 59 * 61),
        ([seen(2 * n) for n in range(31)], 0, 3600),
        ([seen(n, 55) for n in range(60)], 0, 0),
        ([seen(n, running=n < 5) for n in range(32)], 240, 0),
        ([*(seen(n) for n in range(13)), seen(31)], 720, 19 * 60),
    ],
)
def test_it_is_too_long_by_the_clock_whatever_was_seen(
    readings: list[ContactReading], counted_s: float, unseen_s: float
) -> None:
    told = contact(readings)

    assert (told.counted_s, told.state, told.left_s) == (counted_s, "too_long", 0)
    assert told.unseen_s == pytest.approx(unseen_s)
    assert told.in_warm_s == (readings[-1].at - readings[0].at).total_seconds()


def test_warming_up_to_10_kelvin_below_is_not_yet_contact() -> None:
    slowly = [seen(n, 49.9) for n in range(60)]
    then = [*slowly, *(seen(60 + n) for n in range(13))]

    assert contact(slowly) == Contact(0, "not_started", 0)
    assert contact(then) == Contact(720, "done", 0, 720, 0, 1800)
    assert contact([*slowly[:-1], seen(59, 50), *then[60:]]).in_warm_s == 780
    assert contact([seen(0, 90), seen(1, 90)], operating_c=100).in_warm_s == 60


def test_what_is_warm_once_stays_in_until_the_moment_asked_for() -> None:
    told = contact([seen(0), seen(1), seen(2, 30)], until=START + timedelta(minutes=30))

    assert (told.state, told.in_warm_s, told.unseen_s, told.left_s) == ("paused", 1800, 1680, 0)
    later = contact([seen(0), seen(1)], until=START + timedelta(minutes=30, seconds=1))
    assert (later.state, later.left_s) == ("too_long", 0)
    assert contact([seen(0), seen(1)], until=START).in_warm_s == 60
    assert contact([seen(0), seen(1)], until=START + timedelta(minutes=2)).unseen_s == 0


def test_another_source_tells_how_long_it_is_in_and_not_that_it_acted() -> None:
    before, now = [seen(n) for n in range(25)], [seen(25 + n) for n in range(7)]

    assert contact(now, others=before)[:5] == (360, "too_long", 0, 1860, 0)
    assert contact(now[:-1], others=before)[:5] == (300, "running", 0, 1800, 0)
    assert contact(now, others=[seen(0, 49.9)]).in_warm_s == 360


@pytest.mark.parametrize(
    ("needed_min", "minutes", "state"),
    [
        (25, 30, "done"),
        (25, 31, "too_long"),
        (35, 35, "done"),
        (35, 40, "done"),
        (35, 41, "too_long"),
        (40, 39, "running"),
        (40, 45, "done"),
        (40, 46, "too_long"),
    ],
)
def test_what_the_maker_wants_can_be_met_with_five_minutes_to_spare(
    needed_min: float, minutes: int, state: str
) -> None:
    assert contact([seen(n) for n in range(minutes + 1)], needed_s=60 * needed_min).state == state


def test_of_two_readings_at_one_moment_the_worse_counts() -> None:
    readings = [seen(0), seen(1), seen(1, 20), seen(2)]

    assert contact(readings)[:3] == (0, "running", 0)


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


def asked(name: str, value: float) -> Contact:
    limits: dict[str, Any] = {name: value}
    return contact([], **limits)


@pytest.mark.parametrize(
    ("name", "value"),
    [("needed_s", 59.0), ("needed_s", 3601.0), ("operating_c", 19.0), ("gap_s", 0.0)],
)
def test_limits_out_of_range_are_refused(name: str, value: float) -> None:
    with pytest.raises(OutOfRange, match=name):
        asked(name, value)


@pytest.mark.parametrize(
    ("name", "low", "high", "unit"),
    [("needed_s", 60, 3600, "s"), ("operating_c", 20, 120, "°C"), ("gap_s", 1, 3600, "s")],
)
def test_what_a_contact_time_is_asked_with_has_edges(
    name: str, low: float, high: float, unit: str
) -> None:
    asked(name, low)
    asked(name, high)
    for beyond in (nextafter(low, -inf), nextafter(high, inf)):
        with pytest.raises(OutOfRange) as refused:
            asked(name, beyond)
        told = refused.value
        assert (told.name, told.value, told.allowed) == (name, beyond, f"{low} to {high} {unit}")
