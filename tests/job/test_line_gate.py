"""The line gate of a job: where the bypass sits, and a sensor that the forecast finds stuck."""

from datetime import timedelta
from typing import Any

import msgspec
import pytest
from msgspec.structs import replace

from libexchange.catalogue import BypassPlace, CoolerCircuit
from libexchange.gate_outcome import GateAnswer
from libexchange.job.events import ReadingTaken
from libexchange.job.gates import gate_answer, gate_at
from libexchange.job.guidance import guidance
from libexchange.job.history import history_of
from libexchange.plan.records import Gate, Plan
from libexchange.quantities import Volume
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()
HEAVY = {"total": Volume(15.1, "L"), "drained": Volume(7, "L")}


def with_bypass(place: BypassPlace, opens_c: float | None = 78) -> Plan:
    opens = None if opens_c is None else celsius(opens_c)
    cooler = CoolerCircuit(external_lines="yes", bypass=place, bypass_opens=opens)
    return plan_for(profile={"cooler": cooler}, route="pan_and_filter_then_line")


def line_gate(plan: Plan) -> Gate:
    return next(step.gate for step in plan.steps if step.gate and step.gate.gate_id == "gate-line")


def answer(bay: Bay) -> GateAnswer:
    history = history_of(bay.events)
    return gate_at(bay.plan, line_gate(bay.plan), history=history, at=bay.now)


def codes(found: GateAnswer) -> list[str]:
    return [finding.code for finding in found.findings]


@pytest.mark.parametrize(
    ("place", "state", "text"),
    [
        ("none", "open", "stop the feed whenever the flow is lost."),
        ("in_cooler", "open", "so the line flows cold."),
        ("in_case", "closed", "lets next to nothing through."),
        ("in_line", "closed", "open the line between transmission and bypass."),
    ],
)
def test_cold_a_line_flows_where_its_bypass_does_not_bar_it(
    place: BypassPlace, state: str, text: str
) -> None:
    bay = Bay(with_bypass(place))
    bay.read(*[24.0] * 6, every_s=5, flow=1.5)
    gate = line_gate(bay.plan)

    assert (gate.bypass, answer(bay).state) == (place, state)
    assert gate.text.endswith(text)


@pytest.mark.parametrize("place", ["in_case", "in_line"])
def test_an_opening_that_nobody_knows_is_told_by_the_flow(place: BypassPlace) -> None:
    bay = Bay(with_bypass(place, None))
    bay.read(*[60.0] * 6, every_s=5, flow=1.5)

    assert (line_gate(bay.plan).low, answer(bay).state) == (None, "open")


def test_a_bypass_in_an_unknown_place_is_asked_for() -> None:
    gate = line_gate(with_bypass("unknown", None))

    assert (gate.bypass, gate.low) == ("unknown", None)
    assert "Ask the maker's data where the bypass sits" in gate.text


@pytest.mark.parametrize(
    ("place", "state", "found"),
    [
        (None, "closed", ["gate-temperature-below-low", "flow-while-bypass-shut"]),
        ("in_line", "closed", ["gate-temperature-below-low", "flow-while-bypass-shut"]),
        ("in_cooler", "open", ["temperature-gate-not-needed"]),
    ],
)
def test_a_gate_is_judged_by_its_own_place(
    place: BypassPlace | None, state: str, found: list[str]
) -> None:
    bay = Bay(PLAN)
    bay.read(*[24.0] * 6, every_s=5, flow=1.5)
    readings = [event.reading for event in history_of(bay.events).of(ReadingTaken)]
    gate = replace(line_gate(PLAN), bypass=place)
    judged = gate_answer(gate, readings=readings, acknowledged={}, at=bay.now)

    assert (judged.state, codes(judged)) == (state, found)


def test_a_gate_that_was_kept_without_its_place_is_read() -> None:
    kept: dict[str, Any] = msgspec.to_builtins(line_gate(PLAN))
    del kept["bypass"]

    assert msgspec.convert(kept, Gate) == replace(line_gate(PLAN), bypass=None)


@pytest.mark.parametrize(("place", "lost"), [("in_case", True), ("in_cooler", False)])
def test_while_fluid_is_exchanged_heat_may_be_lost_only_where_it_is_needed(
    place: BypassPlace, *, lost: bool
) -> None:
    bay = Bay(with_bypass(place))
    bay.acknowledge_all()
    for step in bay.plan.steps:
        if step.kind == "line_exchange":
            break
        bay.confirm_open(step.kind)
    bay.move("in", 1.0, "line_exchange")
    bay.read(*[70.0] * 6, every_s=5, flow=1.5)
    found = guidance(bay.plan, bay.events, bay.now).blocking

    assert ("line-gate-lost" in [finding.code for finding in found]) is lost


def stuck(plan: Plan, at_c: float, **fields: Any) -> Bay:
    """Readings of four minutes that do not move."""
    bay = Bay(plan)
    for _ in range(9):
        bay.add(ReadingTaken, after_s=30, temperature=celsius(at_c),
                **{"source": "scan_tool", **fields})  # fmt: skip
    return bay


@pytest.mark.parametrize(
    ("at_c", "state", "code"),
    [
        (10.0, "unknown", "sensor-perhaps-stuck"),
        (30.1, "unknown", "sensor-perhaps-stuck"),  # a slow car gains 1.006 K in 4 min
        (30.3, "closed", "gate-temperature-below-low"),  # and here 0.994 K
        (70.0, "closed", "gate-temperature-below-low"),
    ],
)
def test_a_sensor_stands_still_where_even_a_slow_car_warms_up(
    at_c: float, state: str, code: str
) -> None:
    found = answer(stuck(PLAN, at_c))

    assert (found.state, codes(found)[0]) == (state, code)


@pytest.mark.parametrize(
    "bay",
    [
        stuck(PLAN, 24, engine_running=False),
        stuck(PLAN, 24, source="scan_tool_typed"),
        stuck(plan_for(profile=HEAVY), 24),
        stuck(replace(PLAN, waits=()), 24),
        stuck(replace(PLAN, waits=tuple(w for w in PLAN.waits if w.step == "cool_down")), 24),
    ],
    ids=["engine off", "typed", "heavy unit", "kept without waits", "no warming up"],
)
def test_what_nobody_forecast_is_left_to_the_readings(bay: Bay) -> None:
    assert answer(bay).state == "closed"


@pytest.mark.parametrize(("later_s", "state"), [(240, "closed"), (241, "unknown")])
def test_the_engine_counts_as_stopped_for_as_long_as_still_readings_count(
    later_s: float, state: str
) -> None:
    bay = Bay(PLAN)
    for after_s, running in ((1, None), (10, False), (80, None), (80, None), (78, None)):
        bay.add(ReadingTaken, after_s=after_s, source="scan_tool", temperature=celsius(24),
                engine_running=running)  # fmt: skip
    moment = bay.events[1].event.occurred_at + timedelta(seconds=later_s)
    found = gate_at(PLAN, line_gate(PLAN), history=history_of(bay.events), at=moment)

    assert found.state == state


def test_an_engine_that_stops_later_is_not_known_yet() -> None:
    bay = stuck(PLAN, 24)
    asked_at = bay.now
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(24), engine_running=False)
    found = gate_at(PLAN, line_gate(PLAN), history=history_of(bay.events), at=asked_at)

    assert found.state == "unknown"


def test_a_sensor_at_the_gate_is_not_held_against_the_forecast() -> None:
    bay = Bay(with_bypass("in_case", 20))
    bay.read(*[23.0] * 50, every_s=5, flow=1.5)

    assert answer(bay).state == "open"
    bay = Bay(with_bypass("in_case", 20))
    bay.read(*[22.9] * 50, every_s=5, flow=1.5)
    assert answer(bay).state == "unknown"


def test_the_window_of_the_level_knows_no_forecast() -> None:
    bay = stuck(PLAN, 24)
    gate = next(step.gate for step in PLAN.steps if step.kind == "set_level")
    assert gate is not None
    found = gate_at(PLAN, gate, history=history_of(bay.events), at=bay.now)

    assert found.state == "closed"
