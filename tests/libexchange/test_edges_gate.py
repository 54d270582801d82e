"""Gates at their exact edges, and the reading that a gate names beside its reason."""

from datetime import timedelta

import pytest

from libexchange.gate import GateKind, evaluate
from libexchange.gate_forecast import Crossing
from libexchange.gate_outcome import GateAnswer, Outcome, answer_of, too_cold
from libexchange.readings import Reading, Sample
from libexchange.warmup_fit import Interval
from tests.libexchange.gate_readings import AT, codes, flowing, read


def typed(seconds_ago: float, celsius: float, *, running: bool | None = None) -> Reading:
    return read(seconds_ago, celsius, source="scan_tool_typed", running=running)


def window(*readings: Reading, low: float = 35, high: float = 45) -> GateAnswer:
    return evaluate(kind="level_window", low_c=low, high_c=high, readings=readings, at=AT)


def contact(*readings: Reading) -> GateAnswer:
    return evaluate(kind="contact_time", low_c=None, readings=readings, at=AT)


def minutes(last: int, *, ago: float = 0, celsius: float = 70) -> list[Reading]:
    return [typed(ago + 60 * n, celsius) for n in range(last + 1)]


def told(answer: GateAnswer) -> list[str]:
    """What is told of the typed value that decided."""
    return [f.message for f in answer.findings if f.code == "reading-typed-by-hand"]


def test_flow_alone_opens_a_line_without_a_temperature() -> None:
    flow = [read(ago, flow=2, source="in_line") for ago in range(0, 25, 5)]
    answer = evaluate(kind="line_exchange", low_c=None, readings=flow, at=AT)

    assert (answer.state, answer.reason) == ("open", "Fluid flows.")


def test_the_least_flow_is_flow_for_the_pressure_too() -> None:
    answer = evaluate(
        kind="line_exchange", low_c=83, readings=[*flowing(0.8), read(0, bar=2.5)], at=AT
    )

    assert (answer.state, codes(answer)) == ("open", ["feed-pressure-high"])


def test_a_line_is_warm_enough_at_the_gate_itself() -> None:
    assert evaluate(kind="line_exchange", low_c=83, readings=flowing(celsius=83), at=AT).state == (
        "open"
    )


@pytest.mark.parametrize(("hold_s", "state"), [(None, "open"), (20, "open"), (21, "closed")])
def test_a_line_is_held_as_long_as_it_is_asked(hold_s: float | None, state: str) -> None:
    answer = evaluate(
        kind="line_exchange", low_c=83, readings=flowing(since=20), at=AT, hold_s=hold_s
    )

    assert answer.state == state


@pytest.mark.parametrize(("rate", "state"), [(0.25, "open"), (0.26, "unknown")])
def test_a_line_sensor_that_stands_still_is_known_by_the_forecast(rate: float, state: str) -> None:
    answer = evaluate(
        kind="line_exchange",
        low_c=83,
        readings=flowing(since=240),
        at=AT,
        expected_rate_k_per_min=rate,
    )

    assert answer.state == state


@pytest.mark.parametrize(("low", "state"), [(1.5, "open"), (1.25, "unknown")])
def test_air_swings_the_flow_wider_than_half_its_mean(low: float, state: str) -> None:
    litres = (low, 4 - low, low, 4 - low, 2)
    flow = [read(20 - 5 * n, 88, flow=one, source="in_line") for n, one in enumerate(litres)]

    assert evaluate(kind="line_exchange", low_c=83, readings=flow, at=AT).state == state


def test_a_typed_value_near_the_top_is_named() -> None:
    answer = window(typed(60, 44))

    assert (answer.state, codes(answer)) == (
        "unknown",
        ["typed-reading-near-top", "reading-typed-by-hand"],
    )


def test_a_typed_value_of_this_very_moment_is_0_s_old() -> None:
    assert told(window(typed(0, 40)))[-1] == "40.0 °C, 0 s ago, without a photo."


def test_the_newest_of_a_falling_row_is_named() -> None:
    answer = window(*(typed(ago + 1, 40 + ago / 60) for ago in (60, 40, 20, 10, 0)))

    assert (codes(answer)[0], told(answer)) == (
        "gate-temperature-falling",
        ["40.0 °C, 1 s ago, without a photo."],
    )


def test_the_newest_of_an_unsteady_row_is_named() -> None:
    row = [typed(ago + 1, 40 - ago / 30) for ago in (120, 90, 60, 30, 0)]
    answer = evaluate(
        kind="level_window", low_c=30, high_c=45, readings=row, at=AT, method="dipstick"
    )

    assert (codes(answer)[0], told(answer)) == (
        "gate-temperature-not-steady",
        ["40.0 °C, 1 s ago, without a photo."],
    )


@pytest.mark.parametrize("celsius", [35, 42])
def test_a_cool_down_that_ends_at_the_lower_edge_is_seen_to_have_ended(celsius: float) -> None:
    answer = window(typed(100, 45.5), *(typed(ago, celsius) for ago in (10, 5, 0)))

    assert answer.state == "closed"
    assert codes(answer) == ["gate-not-held-long-enough", "reading-typed-by-hand"]
    assert window(typed(100, 34.9), *(typed(ago, celsius) for ago in (10, 5, 0))).state == "open"


def test_a_rate_at_the_limit_is_not_beyond_it() -> None:
    def fall(k_per_min: float) -> list[str]:
        return codes(window(*(read(15 * n, 38 + k_per_min / 4 * n) for n in range(5))))

    assert fall(8)[0] == "gate-temperature-falling"
    assert fall(8.1)[0] == "temperature-changes-too-fast"
    assert fall(5) == ["gate-temperature-falling"]
    assert fall(5.1) == ["gate-temperature-falling", "temperature-changes-fast"]


def test_a_window_too_hot_for_any_work_names_its_value() -> None:
    answer = window(typed(0, 112), low=100, high=120)

    assert (answer.state, codes(answer)) == (
        "closed",
        ["fluid-overheated", "reading-typed-by-hand"],
    )


def test_a_window_without_an_edge_is_told_in_words() -> None:
    with pytest.raises(ValueError, match=r"^a level window needs both its edges$"):
        evaluate(kind="level_window", low_c=35, high_c=None, readings=[], at=AT)


def test_nobody_is_taken_as_protected_without_a_word() -> None:
    answer = evaluate(kind="opening", low_c=None, maker_high_c=93, readings=[typed(0, 75)], at=AT)

    assert answer.state == "closed"
    assert codes(answer)[:2] == ["opening-protection-not-confirmed", "reading-typed-by-hand"]


def test_a_bare_answer_takes_no_photo_for_granted() -> None:
    answer = answer_of(Outcome("open", sample=Sample(0.0, "scan_tool_typed", 40.0)), [], AT)

    assert [finding.severity for finding in answer.findings] == ["caution"]


@pytest.mark.parametrize(
    ("expected", "high", "words"),
    [
        (40.0, 42.0, None),
        (39.0, 40.0, ("note", "probably below 40 °C.")),
        (39.0, 39.5, ("caution", "below 40 °C.")),
    ],
)
def test_what_settles_below_the_gate_may_or_will_stay_shut(
    expected: float, high: float, words: tuple[str, str] | None
) -> None:
    warm = Crossing(settled=Interval(low=38.0, expected=expected, high=high))
    remarks = too_cold(Sample(0.0, "scan_tool", 30.0), 40, warm, 10).remarks

    assert [(one.severity, one.message.partition("), ")[2]) for one in remarks] == (
        [words] if words else []
    )


def test_a_cleaner_is_judged_by_a_reading_of_a_minute_ago() -> None:
    assert codes(contact(*minutes(5, ago=60)))[0] == "contact-time-running"
    assert codes(contact(*minutes(5, ago=60.5)))[0] == "gate-reading-stale"


def test_a_cleaner_is_over_time_from_now_on_or_opens_now() -> None:
    assert contact(*minutes(30)).closes_at == AT
    assert contact(*minutes(11, ago=60)).opens_at == AT
    assert contact(*minutes(11, ago=59)).opens_at == AT + timedelta(seconds=1)


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        ([*minutes(30), typed(1830, 70)], "contact-time-exceeded"),
        (minutes(5), "contact-time-running"),
        ([typed(0, 59.9), *minutes(5, ago=60)], "gate-temperature-below-low"),
        ([typed(0, 60, running=False), *minutes(5, ago=60)], "contact-time-paused"),
    ],
)
def test_every_state_of_a_cleaner_names_its_reading(readings: list[Reading], code: str) -> None:
    assert codes(contact(*readings)) == [code, "reading-typed-by-hand"]


def test_an_impossible_temperature_bridges_no_gap_of_a_cleaner() -> None:
    seen = [typed(60 * n, 70) for n in (0, 1, 2, 4, 5)]

    assert contact(*seen, typed(180, 151)).findings[0].values["counted_s"] == 180
    assert contact(*seen, typed(180, 70)).findings[0].values["counted_s"] == 300


@pytest.mark.parametrize("kind", ["line_exchange", "level_window", "opening", "contact_time"])
def test_a_gate_without_readings_is_unknown(kind: GateKind) -> None:
    assert evaluate(kind=kind, low_c=35, high_c=45, readings=[], at=AT).state == "unknown"
