"""When a gate opens and closes: how often its interval is right, and that it holds what is told."""

from math import exp, log
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.gate import evaluate
from libexchange.gate_forecast import HORIZON_S, Crossing, crossing, moment, sooner
from libexchange.gate_outcome import GateAnswer, Outcome, answer_of
from libexchange.readings import Reading, Sample
from libexchange.warmup_fit import Interval
from tests.libexchange.gate_readings import AT, flowing, read

SEED, RUNS, NOISE_K = 20260101, 200, 0.3


def lump(
    settled: float, now: float, tau: float, chance: Random, *, since: int = 1200
) -> list[Reading]:
    """A unit at `now` on its way to `settled`, read every 40 s with scatter."""
    return [
        read(ago, settled - (settled - now) * exp(ago / tau) + chance.gauss(0, NOISE_K))
        for ago in range(0, since + 1, 40)
    ]


def line(readings: list[Reading], low: float) -> GateAnswer:
    return evaluate(kind="line_exchange", low_c=low, readings=readings, at=AT)


def meeting_s(settled: float, now: float, tau: float, target: float) -> float:
    return tau * log((settled - now) / (settled - target))


@pytest.mark.parametrize(
    ("settled", "now", "tau", "target"), [(100, 70, 2000, 83), (75, 48, 3000, 60)]
)
def test_nine_in_ten_intervals_hold_the_moment_at_which_a_gate_opens(
    settled: float, now: float, tau: float, target: float
) -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    truth_s, held = meeting_s(settled, now, tau, target) + 20, 0
    for _ in range(RUNS):
        told = line([*flowing(), *lump(settled, now, tau, chance)], target).opens_between
        assert told is not None
        assert told.earliest is not None
        early_s = (told.earliest - AT).total_seconds()
        late_s = (told.latest - AT).total_seconds() if told.latest else HORIZON_S
        held += early_s <= truth_s <= late_s

    assert 0.85 <= held / RUNS <= 0.95


def test_nine_in_ten_intervals_hold_the_moment_at_which_a_gate_closes() -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    truth_s, held = meeting_s(20, 88, 4000, 83), 0
    for _ in range(RUNS):
        cooling = lump(20, 88, 4000, chance)
        told = line([*flowing(), *cooling], 83).closes_between
        assert told is not None
        assert told.earliest is not None
        late_s = (told.latest - AT).total_seconds() if told.latest else HORIZON_S
        held += (told.earliest - AT).total_seconds() <= truth_s <= late_s

    assert 0.85 <= held / RUNS <= 0.95


@given(
    values=st.lists(st.floats(20, 100), min_size=6, max_size=15),
    every_s=st.sampled_from([5.0, 20.0, 60.0]),
    target=st.floats(20, 110),
    rising=st.booleans(),
)
def test_what_is_expected_lies_within_its_interval(
    values: list[float], every_s: float, target: float, rising: bool
) -> None:
    last = len(values) - 1
    samples = [Sample((n - last) * every_s, "scan_tool", c) for n, c in enumerate(values)]
    found = crossing(samples, target, rising=rising)

    if found.expected_s is not None:
        assert found.earliest_s is None or found.earliest_s <= found.expected_s
        assert found.latest_s is None or found.expected_s <= found.latest_s


def test_a_value_that_was_passed_on_the_way_up_is_not_met_by_falling() -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    warmed = lump(100, 88, 1500, chance)
    answer = line([*flowing(), *warmed], 83)

    assert (answer.state, answer.closes_at, answer.closes_between) == ("open", None, None)


def test_a_window_that_is_warmed_through_closes_at_its_top() -> None:
    warmed = [read(ago, 40 - 2 * ago / 60) for ago in range(0, 601, 10)]
    answer = evaluate(kind="level_window", low_c=35, high_c=45, readings=warmed, at=AT)

    assert answer.state == "open"
    assert answer.closes_at is not None
    assert (answer.closes_at - AT).total_seconds() == pytest.approx(150, abs=0.5)


def test_a_window_that_is_cooled_through_closes_at_its_lower_edge() -> None:
    cooled = [read(ago, 40 + 0.5 * ago / 60) for ago in range(0, 601, 10)]
    answer = evaluate(kind="level_window", low_c=35, high_c=46, readings=cooled, at=AT,
                      method="dipstick")  # fmt: skip

    assert answer.state == "open"
    assert answer.closes_at is not None
    assert (answer.closes_at - AT).total_seconds() == pytest.approx(600, abs=1)


def test_the_sooner_of_two_counts_and_one_that_is_not_told_comes_last() -> None:
    assert sooner(Crossing(5.0), Crossing(4.0)) == Crossing(4.0)
    assert sooner(Crossing(), Crossing(4.0)) == Crossing(4.0)
    assert sooner(Crossing(), Crossing()) == Crossing()


@pytest.mark.parametrize(("seconds", "told"), [(7200.0, True), (7200.1, False), (None, False)])
def test_what_lies_more_than_two_hours_ahead_is_not_told(seconds: float | None, told: bool) -> None:
    assert (moment(AT, seconds) is not None) is told


def test_an_interval_whose_end_is_beyond_two_hours_has_only_its_beginning() -> None:
    opens = Crossing(3600.0, 1800.0, 7201.0)
    told = answer_of(Outcome("closed", text="cold", opens=opens), [], AT).opens_between

    assert told is not None
    assert (told.earliest, told.latest) == (moment(AT, 1800.0), None)


def test_a_crossing_told_for_later_keeps_where_it_settles() -> None:
    settled = Interval(low=58.0, expected=60.0, high=62.0)

    later = Crossing(10.0, 5.0, None, settled).later(20.0)

    assert later == Crossing(30.0, 25.0, None, settled)


def test_a_crossing_is_counted_from_now_and_never_before() -> None:
    warming = [Sample(40.0 * n - 500, "scan_tool", 30.0 + n) for n in range(11)]

    ahead, behind = crossing(warming, 45), crossing(warming, 41)

    assert ahead.expected_s == pytest.approx(100)
    assert (behind.expected_s, behind.earliest_s) == (0.0, 0.0)
