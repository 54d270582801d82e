"""The gate of a line exchange: bypass by its place, flow as evidence, pressure, expected times."""

from datetime import timedelta
from math import exp, log

import pytest

from libexchange.catalogue import BypassPlace
from libexchange.gate import evaluate
from libexchange.gate_outcome import GateAnswer
from libexchange.readings import Reading
from tests.libexchange.gate_readings import AT, codes, flowing, read


def line(*readings: Reading, bypass: BypassPlace | None = None, low: float = 83) -> GateAnswer:
    return evaluate(kind="line_exchange", low_c=low, readings=readings, at=AT, bypass=bypass)


def warming(
    settles: float, *, since: int = 1200, now: float = 60, tau: float = 2000
) -> list[Reading]:
    """The course of one lump that is at `now` and will settle."""
    return [
        read(ago, settles - (settles - now) * exp(ago / tau)) for ago in range(0, since + 1, 20)
    ]


@pytest.mark.parametrize("bypass", ["none", "in_cooler"])
def test_a_line_that_flows_cold_is_not_refused_for_its_temperature(bypass: BypassPlace) -> None:
    answer = line(*flowing(celsius=25), bypass=bypass)

    assert (answer.state, codes(answer)) == ("open", ["temperature-gate-not-needed"])
    assert line(*flowing(0.2, celsius=25), bypass=bypass).state == "closed"


@pytest.mark.parametrize("bypass", ["in_case", "in_line", "unknown", None])
def test_a_bypass_in_case_or_line_waits_for_its_temperature(bypass: BypassPlace | None) -> None:
    assert line(*flowing(celsius=82), bypass=bypass).state == "closed"
    assert line(*flowing(celsius=84), bypass=bypass).state == "open"


def test_case_42_a_shut_bypass_lets_nothing_through_and_nobody_revs_the_engine() -> None:
    answer = line(*flowing(0.1, celsius=90), read(0, 90), bypass="in_case")

    assert (answer.state, codes(answer)[0]) == ("closed", "gate-flow-too-low")
    assert "never rev" in answer.findings[0].remedy


def test_case_43_a_half_open_bypass_does_not_open_the_gate() -> None:
    """Between opening at 80 and the gate at 83 Cel flow comes, and its litres do not count."""
    answer = line(*flowing(1.5, celsius=81.5), bypass="in_case")

    assert (answer.state, codes(answer)) == ("closed", ["gate-temperature-below-low"])


@pytest.mark.parametrize(
    ("litres", "since", "celsius", "severity"),
    [
        (0.3, 10, 84, "stop"),
        (0.3, 9, 84, "caution"),
        (0.31, 10, 84, "caution"),
        (0.0, 10, 82, None),
    ],
)
def test_no_flow_for_ten_seconds_at_an_open_bypass_stops_the_engine(
    litres: float, since: int, celsius: float, severity: str | None
) -> None:
    scan = [read(ago, celsius) for ago in (0, 5, 10)]
    flow = [read(ago, flow=litres, source="in_line") for ago in range(since + 1)]
    answer = line(*scan, *flow, bypass="in_case")

    found = [f.severity for f in answer.findings if f.code == "gate-flow-too-low"]
    assert (answer.state, found) == ("closed", [severity] if severity else [])


def test_a_typed_flow_is_no_temperature() -> None:
    scan = [read(ago, 84) for ago in (0, 5, 10)]
    answer = line(*scan, read(0, flow=2, source="scan_tool_typed"), bypass="in_case")

    assert codes(answer) == ["gate-not-held-long-enough"]


@pytest.mark.parametrize(("celsius", "told"), [(72.9, True), (73, False)])
def test_case_44_flow_while_the_bypass_is_shut_points_to_the_wrong_side(
    celsius: float, told: bool
) -> None:
    answer = line(*flowing(2, celsius=celsius), bypass="in_line")

    assert answer.state == "closed"
    assert ("flow-while-bypass-shut" in codes(answer)) is told


@pytest.mark.parametrize("litres", [0.0, 0.5])
def test_case_45_and_46_pressure_without_flow_stops_everything(litres: float) -> None:
    answer = line(*flowing(litres), read(0, 88), read(0, bar=2.4, source="in_line"))

    assert (answer.state, codes(answer)[0]) == ("closed", "pressure-without-flow")
    assert answer.findings[0].severity == "stop"
    for cause in ("reversed", "clogged", "check valve", "shut bypass"):
        assert cause in answer.findings[0].remedy


def test_case_45_pressure_counts_even_where_nobody_saw_a_flow() -> None:
    answer = line(read(0, 88), read(0, bar=2.4, source="in_line"))

    assert (answer.state, codes(answer)) == ("closed", ["pressure-without-flow"])


@pytest.mark.parametrize(
    ("bar", "state", "severity"),
    [
        (2.0, "open", None),
        (2.1, "open", "caution"),
        (2.9, "open", "caution"),
        (3.0, "closed", "stop"),
    ],
)
def test_a_feed_pressure_is_warned_of_at_two_bar_and_stops_at_three(
    bar: float, state: str, severity: str | None
) -> None:
    answer = line(*flowing(), read(0, bar=bar, source="in_line"))

    assert answer.state == state
    assert [f.severity for f in answer.findings if f.code == "feed-pressure-high"] == (
        [severity] if severity else []
    )


def test_an_old_pressure_tells_nothing() -> None:
    assert line(*flowing(), read(11, bar=9, source="in_line")).state == "open"


def test_case_47_a_pulsing_meter_is_taken_as_air() -> None:
    pulses = [
        read(ago, 88, flow=3.0 if ago % 8 else 1.0, source="in_line") for ago in range(0, 21, 4)
    ]
    answer = line(*pulses)

    assert (answer.state, codes(answer)) == ("unknown", ["gate-flow-pulses"])


@pytest.mark.parametrize(
    "flows",
    [(2.0, 2.4, 2.0, 2.4, 2.0, 2.4), (3, 3, 3, 1, 3, 3), (1, 3, 1, 3)],
    ids=["small swings", "one dip", "four readings"],
)
def test_a_flow_that_swings_a_little_or_once_is_no_air(flows: tuple[float, ...]) -> None:
    readings = [read(4 * n, 88, flow=flow, source="in_line") for n, flow in enumerate(flows)]

    assert "gate-flow-pulses" not in codes(line(*readings))


def test_the_bypass_is_a_continuing_condition_that_opens_again_after_reheating() -> None:
    """Cold feed pulls the fluid below the gate: it shuts, and after reheating it opens again."""
    cooled = [read(60 + ago, 80, flow=2, source="in_line") for ago in range(0, 21, 5)]
    opened = evaluate(kind="line_exchange", low_c=83, readings=cooled, at=cooled[0].at)
    reheated = [*cooled, *flowing(celsius=86, since=25)]

    assert (opened.state, line(*reheated).state) == ("closed", "open")


def test_a_falling_flow_is_told_before_it_is_lost() -> None:
    soon = [read(ago, 88, flow=1.0 + ago / 60, source="in_line") for ago in range(0, 61, 5)]
    later = [read(ago, 88, flow=2.0 + ago / 60, source="in_line") for ago in range(0, 61, 5)]

    assert (line(*soon).state, codes(line(*soon))) == ("open", ["gate-flow-falling"])
    assert line(*soon).closes_at == AT + timedelta(seconds=12)
    assert (codes(line(*later)), line(*later).closes_at) == ([], AT + timedelta(seconds=72))


@pytest.mark.parametrize(("now", "told"), [(1.79, True), (1.81, False)])
def test_a_minute_before_it_is_lost_is_soon(now: float, told: bool) -> None:
    """It falls by 1 L/min in a minute, so 0.8 L/min come after 59.4 or 60.6 s."""
    falling = [read(ago, 88, flow=now + ago / 60, source="in_line") for ago in range(0, 61, 5)]

    assert ("gate-flow-falling" in codes(line(*falling))) is told


def test_the_lumped_model_tells_when_the_gate_opens_with_an_interval() -> None:
    answer = line(*flowing(), *warming(100, now=70))

    told = 2000 * log((100 - 70) / (100 - 83))
    assert answer.opens_at is not None
    assert (answer.opens_at - AT).total_seconds() == pytest.approx(told + 20, abs=3)
    assert answer.opens_between is not None
    assert answer.opens_between.earliest is not None
    assert answer.opens_between.latest is not None
    assert answer.opens_between.earliest < answer.opens_at < answer.opens_between.latest


def test_three_readings_tell_a_line_and_no_interval() -> None:
    answer = line(*flowing(), read(120, 70), read(60, 72), read(0, 74))

    assert answer.opens_at == AT + timedelta(seconds=270 + 20)
    assert answer.opens_between is None


def test_one_reading_tells_no_time() -> None:
    answer = line(*flowing(), read(0, 74))

    assert (answer.state, answer.opens_at, answer.opens_between) == ("closed", None, None)


def test_a_unit_that_settles_below_the_gate_will_not_open_it_at_idle() -> None:
    answer = line(*flowing(), *warming(68))
    found = next(f for f in answer.findings if f.code == "gate-stays-shut-at-idle")

    assert (answer.state, answer.opens_at, found.severity) == ("closed", None, "caution")
    assert found.values["settles_c"] == pytest.approx(68, abs=0.5)
    assert "road" in found.remedy


def test_a_unit_that_probably_settles_below_is_only_noted() -> None:
    noisy = [
        read(ago, 82 - 22 * exp(ago / 2000) + 0.4 * ((ago // 20 * 7) % 5 - 2))
        for ago in range(0, 1201, 20)
    ]
    found = [f for f in line(*flowing(), *noisy).findings if f.code == "gate-stays-shut-at-idle"]

    assert [f.severity for f in found] == ["note"]
    assert found[0].values["settles_high_c"] > 83  # type: ignore[operator]  # a number here


def test_a_unit_that_settles_above_the_gate_has_no_such_finding() -> None:
    assert "gate-stays-shut-at-idle" not in codes(line(*flowing(), *warming(100)))


def test_cooling_below_the_gate_is_forecast_by_the_lump() -> None:
    cooling = [
        read(ago, 60 + 26 * exp(ago / 1500), flow=2, source="in_line") for ago in range(0, 1201, 20)
    ]
    answer = line(*cooling)

    assert answer.state == "open"
    assert answer.closes_at is not None
    assert (answer.closes_at - AT).total_seconds() == pytest.approx(1500 * 0.12261, abs=5)
    assert answer.closes_between is not None


def test_a_jump_of_the_line_is_not_believed_at_once() -> None:
    answer = line(*flowing(celsius=70), read(6, 70), read(0, 90))

    assert (answer.state, codes(answer)[0]) == ("unknown", "reading-jumps")
