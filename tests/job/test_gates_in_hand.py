"""Gates that have to be open now: of the next step, and while fluid flows through the lines."""

import pytest

from libexchange.job.events import (
    Arrived,
    ReadingTaken,
)
from libexchange.plan.records import StepKind
from tests.job.line_desk import (
    EXCHANGE_L,
    PLAN,
    at_the_lines,
    feed,
    gate,
    in_line,
    now,
    stops,
    told,
)
from tests.job.plans import Bay, celsius, plan_for

BRIEFLY = (85.0, 85.0, 85.0)
"""Over 8 s: without flow for longer the engine would have run dry, which is a stop of its own."""


def test_the_stop_of_a_gate_comes_with_its_own_remedy() -> None:
    bay = in_line(at_the_lines(), *BRIEFLY, flow=0.05, bar=4.5)
    found = now(bay)
    line = gate(found, "gate-line")

    assert told(found) == [("pressure-without-flow", "stop")]
    assert found.blocking[0].remedy.startswith("Feed and engine off at once.")
    assert found.blocking[0].pointer == f"#/gates/{found.gates.index(line)}"
    assert {finding.pointer for finding in line.findings} == {found.blocking[0].pointer}


def test_a_dry_line_over_an_open_bypass_stops_at_its_gate() -> None:
    bay = in_line(at_the_lines(), *[85.0] * 8, flow=0.05)

    assert told(now(bay)) == [("gate-flow-too-low", "stop")]


@pytest.mark.parametrize(
    ("celsius_now", "found"),
    [
        (80.0, [("gate-not-open", "caution")]),
        (80.1, [("opening-too-hot", "stop")]),
        (110.5, [("opening-too-hot", "stop"), ("fluid-overheated", "stop")]),
    ],
)
def test_an_opening_is_barred_where_its_gate_bars_it(
    celsius_now: float, found: list[tuple[str, str]]
) -> None:
    bay = Bay(PLAN)
    bay.add(Arrived, drive="ok")
    bay.confirm("arrival_check", "raise_vehicle", "prove_fill_opening")
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(celsius_now),
            engine_running=False)  # fmt: skip

    assert told(now(bay)) == found


def test_what_a_gate_remarks_is_told_with_it() -> None:
    bay = Bay(PLAN)
    bay.add(Arrived, drive="ok")
    bay.confirm("arrival_check", "raise_vehicle", "prove_fill_opening")
    bay.add(ReadingTaken, source="scan_tool_typed", temperature=celsius(55), engine_running=False)
    found = now(bay)
    opening = gate(found, "gate-open")

    assert (opening.state, found.blocking) == ("open", ())
    assert [finding.code for finding in opening.findings] == [
        "reading-typed-by-hand", "opening-needs-gloves",
    ]  # fmt: skip
    assert {finding.pointer for finding in opening.findings} == {"#/gates/0"}


@pytest.mark.parametrize("without", [None, "raise_vehicle", "pan_and_filter"])
def test_a_gate_that_shuts_while_fluid_flows_stops_whatever_is_unconfirmed(
    without: StepKind | None,
) -> None:
    bay = in_line(feed(at_the_lines(without=without)), 80, 78, 75)
    found = now(bay)

    assert stops(found) == ["line-gate-lost"]
    number = [one.gate_id for one in found.gates].index("gate-line")
    assert found.blocking[0].pointer == (f"#/gates/{number}" if without else "#/next_step/gate")


@pytest.mark.parametrize(
    ("bar", "flow", "found"),
    [(4.5, 0.05, ["pressure-without-flow"]), (1.0, 0.05, []), (3.1, 1.5, ["feed-pressure-high"])],
)
def test_before_anything_is_fed_pressure_stops_whatever_is_unconfirmed(
    bar: float, flow: float, found: list[str]
) -> None:
    bay = in_line(at_the_lines(without="raise_vehicle"), *BRIEFLY, flow=flow, bar=bar)

    assert stops(now(bay)) == found


def test_a_line_gate_is_nobodys_once_its_step_is_over() -> None:
    bay = feed(at_the_lines(), EXCHANGE_L)
    bay.confirm("line_exchange")
    in_line(bay, *BRIEFLY, flow=0.05, bar=4.5)

    assert told(now(bay)) == []


@pytest.mark.parametrize(("age_s", "found"), [(10, []), (11, [("line-gate-not-known", "stop")])])
def test_while_fluid_flows_an_old_reading_says_that_nobody_knows(
    age_s: float, found: list[tuple[str, str]]
) -> None:
    bay = in_line(feed(at_the_lines()), 84)

    assert told(now(bay, after_s=age_s)) == found


@pytest.mark.parametrize(
    ("left_l", "found"), [(0.04, []), (0.06, [("line-gate-not-known", "stop")])]
)
def test_once_all_litres_are_through_only_the_confirmation_is_due(
    left_l: float, found: list[tuple[str, str]]
) -> None:
    bay = feed(at_the_lines(), EXCHANGE_L - left_l)

    assert told(now(bay, after_s=90)) == found


@pytest.mark.parametrize(("bar", "found"), [(None, []), (4.5, [("pressure-without-flow", "stop")])])
def test_a_line_that_rests_after_its_litres_stops_by_pressure_alone(
    bar: float | None, found: list[tuple[str, str]]
) -> None:
    bay = in_line(feed(at_the_lines(), EXCHANGE_L), *BRIEFLY, flow=0.05, bar=bar)

    assert told(now(bay)) == found


def test_a_batch_that_was_pumped_out_waits_for_its_confirmation_alone() -> None:
    described = {"line_batches_in_maker_procedure": "yes"}
    plan = plan_for(route="line_batches", profile=described)
    bay = Bay(plan)
    bay.acknowledge_all()
    bay.add(Arrived, drive="ok")
    bay.confirm_open("arrival_check", "raise_vehicle", "prove_fill_opening", "connect_lines",
                     "warm_up")  # fmt: skip
    bay.open_gate("line_exchange")
    bay.move("out", 1.8, "line_batch")
    found = now(bay, after_s=90)

    assert (found.next_step and found.next_step.kind, found.standing.feeding) == (
        "line_batch", bay.step("line_batch"),
    )  # fmt: skip
    assert told(found) == []


def test_fluid_flows_in_the_step_that_moved_it_until_that_is_confirmed() -> None:
    bay = at_the_lines()
    assert now(bay).standing.feeding is None

    feed(bay)
    assert now(bay).standing.feeding == bay.step("line_exchange")
    bay.confirm("raise_vehicle")
    assert now(bay).standing.feeding == bay.step("line_exchange")

    bay.confirm("line_exchange")
    assert now(bay).standing.feeding is None
    bay.move("in", 0.1, "line_exchange")
    assert now(bay).standing.feeding is None
