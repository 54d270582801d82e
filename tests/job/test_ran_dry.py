"""An engine that ran on while nothing came back from the lines; told from readings alone."""

from datetime import timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from libexchange.job.events import Correction, ReadingTaken, SecondCheck
from libexchange.job.fold import fold
from libexchange.job.ran_dry import RAN_WITHOUT_FLOW
from libexchange.job.verdict import verdict
from libexchange.plan.records import Plan
from libexchange.quantities import Flow, Pressure
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for(route="pan_and_filter_then_line")


def with_bypass(place: Any) -> Plan:
    steps = tuple(
        replace(step, gate=replace(step.gate, bypass=place))
        if step.gate and step.kind == "line_exchange" else step
        for step in PLAN.steps
    )  # fmt: skip
    return replace(PLAN, steps=steps)


def connected(plan: Plan = PLAN) -> Bay:
    bay = Bay(plan)
    bay.confirm("connect_lines")
    return bay


def read(
    bay: Bay, flow: float, *, bar: float = 0.2, times: int = 3, every_s: float = 5, **fields: Any
) -> None:
    for _ in range(times):
        bay.add(ReadingTaken, after_s=every_s, source="in_line", flow=Flow(flow, "L/min"),
                pressure=Pressure(bar, "bar"), **fields)  # fmt: skip


def lasted_s(bay: Bay) -> list[object]:
    told = fold(bay.plan, bay.events).findings
    return [one.values["lasted_s"] for one in told if one.code == RAN_WITHOUT_FLOW.code]


@pytest.mark.parametrize(
    ("flow", "bar", "every_s", "found"),
    [
        (0.0, 3.4, 5, [10.0]),
        (0.3, 2.1, 5, [10.0]),
        (0.31, 3.4, 5, []),
        (0.0, 2.0, 5, []),
        (0.0, 3.4, 4.9, []),
        (0.0, 3.4, 30, [60.0]),
        (0.0, 3.4, 31, []),
    ],
)
def test_ten_seconds_without_flow_under_pressure(
    flow: float, bar: float, every_s: float, found: list[float]
) -> None:
    bay = connected()
    read(bay, flow, bar=bar, every_s=every_s)

    assert lasted_s(bay) == found


def test_no_litres_need_be_told_for_it_to_bar_the_vehicle() -> None:
    bay = connected()
    read(bay, 0.0, bar=3.4)

    found = verdict(bay.plan, fold(bay.plan, bay.events))
    assert found.verdict == "not_accepted"


@pytest.mark.parametrize(
    ("running", "low", "found"),
    [(True, 81, [10.0]), (None, 81, []), (False, 81, []), (True, 80.9, [])],
)
def test_without_a_gauge_the_engine_has_to_run_in_a_warm_unit(
    running: bool | None, low: float, found: list[float]
) -> None:
    bay = connected(with_bypass("in_case"))
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(low), engine_running=running)
    read(bay, 0.0)

    assert lasted_s(bay) == found


@pytest.mark.parametrize(
    ("place", "found"), [("none", [10.0]), ("in_cooler", [10.0]), ("in_line", [])]
)
def test_a_line_that_is_never_bypassed_flows_cold(place: str, found: list[float]) -> None:
    bay = connected(with_bypass(place))
    read(bay, 0.0, engine_running=True)

    assert lasted_s(bay) == found


def test_an_engine_that_was_switched_off_starves_nothing() -> None:
    bay = connected()
    read(bay, 0.0, bar=3.4, times=2)
    bay.add(ReadingTaken, after_s=1, source="scan_tool", temperature=celsius(84),
            engine_running=False)  # fmt: skip
    read(bay, 0.0, bar=3.4, times=4)

    assert lasted_s(bay) == []


def test_flow_that_comes_back_ends_it() -> None:
    bay = connected()
    read(bay, 0.0, bar=3.4, times=2)
    read(bay, 1.5, bar=3.4, times=1)
    read(bay, 0.0, bar=3.4, times=2)

    assert lasted_s(bay) == []


def test_the_longest_time_is_told() -> None:
    bay = connected()
    read(bay, 0.0, bar=3.4, times=7)
    read(bay, 1.5, times=1)
    read(bay, 0.0, bar=3.4, times=4)

    assert lasted_s(bay) == [30.0]


@pytest.mark.parametrize(
    ("source", "value"), [("infrared", 90), ("scan_tool", 151), ("in_line", 90)]
)
def test_heat_that_nobody_can_rely_on_makes_no_unit_warm(source: Any, value: float) -> None:
    bay = connected(with_bypass("in_case"))
    bay.add(ReadingTaken, source=source, temperature=celsius(value), engine_running=True)
    read(bay, 0.0)

    assert lasted_s(bay) == []


def test_a_gauge_that_was_read_long_ago_tells_nothing() -> None:
    bay = connected()
    bay.add(ReadingTaken, source="in_line", pressure=Pressure(3.4, "bar"))
    bay.now += timedelta(seconds=20)
    for _ in range(6):
        bay.add(ReadingTaken, after_s=4, source="in_line", flow=Flow(0.0, "L/min"))

    assert lasted_s(bay) == []


def test_a_route_without_lines_starves_nothing() -> None:
    bay = Bay(plan_for(route="pan_and_filter"))
    read(bay, 0.0, bar=3.4)

    assert lasted_s(bay) == []


def test_readings_that_showed_it_are_not_taken_back_alone() -> None:
    bay = connected()
    read(bay, 0.0, bar=3.4)
    for one in [e.event for e in bay.events if isinstance(e.event, ReadingTaken)]:
        bay.add(Correction, corrects=one.event_id, by="invented technician", reason="a slip")
    codes = {one.code for one in fold(bay.plan, bay.events).findings}
    assert "stop-taken-back-alone" in codes

    bay.add(SecondCheck, by="invented foreman", checked="correction", result="agreed")

    codes = {one.code for one in fold(bay.plan, bay.events).findings}
    assert codes & {"stop-taken-back-alone", "stop-taken-back"} == {"stop-taken-back"}
