"""What the gate of the lines stops: fluid that was fed all the same, and whether it may run."""

import pytest

from libexchange.job.events import ReadingTaken
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from libexchange.quantities import Flow, Pressure
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for(route="pan_and_filter_then_line")


def read(bay: Bay, bar: float, flow: float) -> None:
    for _ in range(8):
        bay.add(ReadingTaken, after_s=4, source="in_line", temperature=celsius(84),
                flow=Flow(flow, "L/min"), pressure=Pressure(bar, "bar"))  # fmt: skip


def connected(bar: float, flow: float) -> Bay:
    bay = Bay(PLAN)
    bay.confirm("connect_lines")
    read(bay, bar, flow)
    return bay


def stops(bay: Bay) -> dict[str, str]:
    told = fold(bay.plan, bay.events).findings
    return {one.code: one.severity for one in told if one.pointer == "#/line_exchange"}


def test_litres_fed_against_pressure_without_flow_are_a_stop() -> None:
    bay = connected(3.4, 0.0)
    bay.move("in", 8.0, "line_exchange", after_s=1)

    assert stops(bay).get("pressure-without-flow") == "stop"
    found = verdict(bay.plan, fold(bay.plan, bay.events))
    assert found.verdict == "not_accepted"


@pytest.mark.parametrize("direction", ["out", "sampled"])
def test_only_what_is_fed_counts(direction: str) -> None:
    bay = connected(3.4, 0.0)
    bay.move(direction, 1.0, "line_exchange", after_s=1)

    assert "pressure-without-flow" not in stops(bay)


def test_litres_told_after_the_flow_ceased_are_no_stop() -> None:
    bay = connected(0.5, 1.5)
    read(bay, 0.5, 0.0)
    bay.move("in", 1.0, "line_exchange", after_s=1)

    assert "stop" not in stops(bay).values()


def test_nothing_runs_while_the_gate_says_stop() -> None:
    bay = connected(3.4, 0.0)
    told = fold(bay.plan, bay.events).standing
    assert (told.may_run, told.first.action) == (False, "stop_the_feed")

    read(bay, 0.5, 1.5)

    assert fold(bay.plan, bay.events).standing.may_run


def test_lines_that_are_closed_again_stop_nothing() -> None:
    bay = connected(3.4, 0.0)
    bay.confirm("disconnect_lines")

    assert fold(bay.plan, bay.events).standing.first.action != "stop_the_feed"
