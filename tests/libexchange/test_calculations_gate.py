"""The calculations of gate and level: what they refuse, and that every input reaches the answer."""

from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.calculations import gate, level
from libexchange.errors import InvalidInput
from libexchange.level_records import LOOKS_BY
from libexchange.quantities import Angle, Length, Temperature, TemperatureRate, Volume, VolumeChange


def quantity(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


def ask_gate(**changes: object) -> Any:
    return gate.calculate_gate(msgspec.convert(gate.EXAMPLE | changes, gate.GateRequest))


def ask_level(**changes: object) -> Any:
    return level.calculate_level(msgspec.convert(level.EXAMPLE | changes, level.LevelRequest))


def gate_faults(**changes: object) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as caught:
        ask_gate(**changes)
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def level_faults(**changes: object) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as caught:
        ask_level(**changes)
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def reading(celsius: float, second: int = 10) -> dict[str, object]:
    return {"at": f"2024-05-02T09:00:{second:02d}Z", "source": "scan_tool",
            "temperature": quantity(celsius, "Cel")}  # fmt: skip


def test_a_window_needs_both_edges_and_a_line_its_lower_one() -> None:
    assert gate_faults(low=None, high=None) == [
        ("/low", "missing-field"), ("/high", "missing-field"),
    ]  # fmt: skip
    assert gate_faults(kind="line_exchange", low=None) == [("/low", "missing-field")]


@pytest.mark.parametrize("bypass", [None, "in_case", "in_line", "in_cooler", "none"])
def test_a_window_needs_its_lower_edge_wherever_the_bypass_sits(bypass: str | None) -> None:
    assert gate_faults(low=None, bypass=bypass) == [("/low", "missing-field")]


def test_a_line_that_flows_cold_an_opening_and_a_cleaner_need_no_edge() -> None:
    for kind in ("opening", "contact_time"):
        assert ask_gate(kind=kind, low=None, high=None).state in ("open", "closed")
    assert ask_gate(kind="line_exchange", low=None, high=None, bypass="none").state == "unknown"


@pytest.mark.parametrize(
    ("low_c", "hold_s", "found"),
    [
        (19, 720, ["/low"]),
        (121, 720, ["/low"]),
        (60, 59, ["/hold"]),
        (60, 3601, ["/hold"]),
        (20, 60, []),
        (120, 3600, []),
    ],
)
def test_a_contact_time_outside_what_can_be_timed_is_refused(
    low_c: float, hold_s: float, found: list[str]
) -> None:
    asked = {"kind": "contact_time", "high": None, "low": quantity(low_c, "Cel"),
             "hold": quantity(hold_s, "s")}  # fmt: skip

    if found:
        assert [pointer for pointer, _ in gate_faults(**asked)] == found
    else:
        assert ask_gate(**asked).state == "closed"


def test_the_method_the_forecast_and_the_makers_word_reach_the_gate() -> None:
    still = [
        reading(40, 10) | {"at": f"2024-05-02T08:{minute:02d}:10Z"} for minute in range(50, 60)
    ]
    still += [reading(40, second) for second in (0, 5, 10)]
    rate = quantity(2, "K/min")
    falling = [reading(40 - second / 50, second) for second in range(0, 60, 2)]
    late = {"readings": falling, "at": "2024-05-02T09:00:58Z"}

    assert ask_gate(readings=still).state == "open"
    assert ask_gate(readings=still, expected_rate=rate).state == "unknown"
    assert ask_gate(**late).state == "closed"
    assert ask_gate(**late, method="measured_refill").state == "open"
    hot = {"kind": "opening", "low": None, "high": None, "readings": [reading(85)]}
    assert ask_gate(**hot).state == "closed"
    maker = {"maker_high": quantity(93, "Cel"), "protection_confirmed": True}
    assert ask_gate(**hot, **maker).state == "open"


@pytest.mark.parametrize(
    ("high_c", "now_c", "state"),
    [(90, 60, "closed"), (90, 59.9, "open"), (60, 59.9, "open"), (50, 50, "closed"),
     (50, 49.9, "open"), (None, 60, "closed")],
)  # fmt: skip
def test_only_the_maker_lets_an_opening_be_hotter_than_60(
    high_c: float | None, now_c: float, state: str
) -> None:
    high = None if high_c is None else quantity(high_c, "Cel")
    hot = {"kind": "opening", "low": None, "high": high, "readings": [reading(now_c)]}

    assert ask_gate(**hot).state == state
    assert ask_gate(**hot, protection_confirmed=True).state == state


def test_a_line_exchange_and_a_level_window_keep_their_upper_edge() -> None:
    window = {"low": quantity(80, "Cel"), "high": quantity(88, "Cel")}

    assert ask_gate(**window).reason.endswith("needed are 80 °C.")
    assert ask_gate(**window | {"readings": [reading(90)]}).state == "passed"


def test_a_night_in_the_cold_reaches_the_gate() -> None:
    night = {"ambient": quantity(10, "Cel"), "stood": quantity(9, "h")}

    assert ask_gate(**night).state == "unknown"
    assert ask_gate(**night | {"stood": quantity(8, "h")}).state == "open"
    assert ask_gate(**night | {"ambient": quantity(35, "Cel")}).state == "open"
    assert gate_faults(stood=quantity(9, "h")) == [("/ambient", "missing-field")]


@pytest.mark.parametrize(
    ("low", "high", "unit", "suspect"),
    [(95, 110, "Cel", True), (94.9, 110, "Cel", False), (94.9, 110.1, "Cel", True),
     (95, 113, "[degF]", False)],
)  # fmt: skip
def test_case_04_a_window_that_looks_like_fahrenheit_is_told(
    low: float, high: float, unit: str, suspect: bool
) -> None:
    answer = ask_gate(low=quantity(low, unit), high=quantity(high, unit))

    pointers = [f.pointer for f in answer.findings if f.code == "window-looks-like-fahrenheit"]
    assert pointers == (["#/low"] if suspect else [])


def test_case_04_only_a_level_window_can_look_like_fahrenheit() -> None:
    answer = ask_gate(kind="line_exchange", low=quantity(95, "Cel"), high=quantity(113, "Cel"))

    assert "window-looks-like-fahrenheit" not in [finding.code for finding in answer.findings]


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"method": "sight"}, [("/reading", "missing-field")]),
        ({"method": "measured_refill"}, [("/refill", "missing-field")]),
        ({"method": "overflow_feed", "observed": None}, [("/observed", "missing-field")]),
        ({"outstanding": quantity(9.1, "L")}, [("/outstanding", "out-of-range")]),
        ({"density_15": quantity(700, "kg/m3")}, [("/density_15", "out-of-range")]),
    ],
)
def test_a_level_without_its_look_or_out_of_range_is_refused(
    changes: dict[str, object], found: list[tuple[str, str]]
) -> None:
    assert level_faults(**changes) == found


def test_a_sight_read_twice_is_refused() -> None:
    glass = {"height": quantity(5, "mm"), "low_mark": quantity(0, "mm"),
             "high_mark": quantity(9, "mm")}  # fmt: skip

    assert level_faults(method="sight", reading=glass, read_out=quantity(0, "L")) == [
        ("/reading", "exactly-one-of")
    ]


def test_amounts_that_no_unit_holds_are_refused_all_at_once() -> None:
    refill = {"out_15": quantity(1001, "L"), "in_15": quantity(1001, "L"),
              "uncertainty": quantity(1001, "L")}  # fmt: skip

    assert level_faults(method="measured_refill", refill=refill) == [
        ("/refill/out_15", "out-of-range"),
        ("/refill/in_15", "out-of-range"),
        ("/refill/uncertainty", "out-of-range"),
    ]


def test_the_density_of_the_fluid_reaches_the_level() -> None:
    hot = {"observed": "drip", "temperature": quantity(80, "Cel")}
    light, dense = (ask_level(**hot, density_15=quantity(d, "kg/m3")) for d in (820, 900))

    assert light.correction.l > dense.correction.l


def any_of(kind: Any, unit: str) -> st.SearchStrategy[dict[str, object]]:
    edges = st.sampled_from([kind.low, kind.high, max(kind.low, 0.0)])
    values = st.floats(kind.low, kind.high) | st.floats(max(kind.low, 0), 20) | edges
    return values.map(lambda value: quantity(value, unit))


LITRES, CHANGES, MM = any_of(Volume, "L"), any_of(VolumeChange, "L"), any_of(Length, "mm")
CELSIUS, DEGREES = any_of(Temperature, "Cel"), any_of(Angle, "deg")
STICKS = st.fixed_dictionaries(
    {"height": MM, "low_mark": MM, "high_mark": MM},
    optional={
        "between_marks": LITRES,
        "surface": st.fixed_dictionaries({"length": MM, "width": MM, "stick_angle": DEGREES}),
        "marks": st.sampled_from(["hot", "cold"]),
        "other_side": MM,
    },
)
LOOKS = st.fixed_dictionaries(
    {"method": st.sampled_from(list(LOOKS_BY)), "total": LITRES, "temperature": CELSIUS},
    optional={
        "window": st.none() | st.just({"low": quantity(35, "Cel"), "high": quantity(45, "Cel")}),
        "observed": st.sampled_from([None, "nothing", "stream"]),
        "reading": STICKS,
        "read_out": CHANGES,
        "refill": st.fixed_dictionaries(
            {"out_15": LITRES, "in_15": LITRES}, optional={"uncertainty": LITRES}
        ),
        "added": LITRES,
        "ran_out": LITRES,
        "outstanding": LITRES,
        "rate": any_of(TemperatureRate, "K/min"),
        "slope": DEGREES,
    },
)


@given(LOOKS)
def test_any_look_of_any_size_is_answered_or_refused(changes: dict[str, object]) -> None:
    try:
        request = msgspec.convert(level.EXAMPLE | changes, level.LevelRequest)
    except msgspec.ValidationError:
        return
    try:
        answer = level.calculate_level(request)
    except InvalidInput:
        return
    assert answer.correction is None or abs(answer.correction.l) <= 1000


@given(
    kind=st.sampled_from(["line_exchange", "level_window", "opening", "contact_time"]),
    low=st.none() | CELSIUS,
    high=st.none() | CELSIUS,
    seen=st.lists(st.tuples(st.integers(0, 59), CELSIUS), max_size=12),
    rate=st.none() | any_of(TemperatureRate, "K/min"),
)
def test_any_gate_of_any_heat_is_answered_or_refused(
    kind: str, low: object, high: object, seen: list[tuple[int, dict[str, object]]], rate: object
) -> None:
    readings = [reading(0, second) | {"temperature": celsius} for second, celsius in seen]
    try:
        answer = ask_gate(kind=kind, low=low, high=high, readings=readings, expected_rate=rate,
                          at="2024-05-02T09:00:59Z")  # fmt: skip
    except InvalidInput:
        return

    assert answer.reason
