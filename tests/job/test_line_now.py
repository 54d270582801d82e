"""The line exchange as guidance shows it: the running balance, its limits, and when to stop."""

from dataclasses import dataclass
from typing import Any

import pytest
from msgspec.structs import replace

from libexchange.job.events import Arrived, ReadingTaken
from libexchange.job.guidance import Guidance, guidance
from libexchange.job.line_now import LineNow
from libexchange.plan.records import Plan
from libexchange.quantities import Flow, Volume, VolumeChange
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()


@dataclass
class Case:
    """A bay that stands at its line exchange."""

    bay: Bay

    @property
    def guidance(self) -> Guidance:
        return guidance(self.bay.plan, self.bay.events, self.bay.now)

    @property
    def line(self) -> LineNow:
        line = self.guidance.line_exchange
        assert line is not None
        return line

    @property
    def codes(self) -> list[str]:
        return [finding.code for finding in self.guidance.blocking]


def at_the_lines(plan: Plan = PLAN, *, refilled: bool = True) -> Case:
    bay = Bay(plan)
    bay.add(Arrived, drive="ok")
    bay.confirm_open("arrival_check", "raise_vehicle", "prove_fill_opening", "pan_and_filter")
    if refilled and plan.offline_card and plan.offline_card.refill:
        bay.move("out", plan.offline_card.refill.l, "pan_and_filter")
        bay.move("in", plan.offline_card.refill.l, "refill")
    bay.confirm_open("refill", "connect_lines", "warm_up")
    bay.open_gate("line_exchange")
    return Case(bay)


def exchanged(case: Case, litres: float, *, more_in: float = 0.0) -> Case:
    """Some of it through the lines, seen and with the gate open."""
    case.bay.move("in", litres + more_in, "line_exchange", after_s=1)
    case.bay.move("out", litres, "line_exchange", after_s=1)
    return case


def test_before_the_first_litre_everything_is_left() -> None:
    line = at_the_lines().line

    assert (line.in_15.l, line.out_15.l, line.verdict) == (0, 0, "ok")
    assert line.difference == VolumeChange(0, "L")
    assert line.left == line.planned
    assert (line.warn_from, line.stop_from) == (Volume(0.3, "L"), Volume(0.6, "L"))
    assert line.further == "as_planned"
    assert line.marginal_gain_per_litre is not None


@pytest.mark.parametrize(
    ("more_in", "verdict", "codes"),
    [
        (0.0, "ok", []),
        (0.29, "ok", []),
        (0.31, "warn", []),
        (0.59, "warn", []),
        (0.61, "stop", ["line-litres-differ"]),
        (-0.61, "stop", ["line-litres-differ"]),
    ],
)
def test_the_running_balance_has_its_live_limits(
    more_in: float, verdict: str, codes: list[str]
) -> None:
    case = exchanged(at_the_lines(), 2.0, more_in=more_in)

    assert case.line.difference is not None
    assert case.line.difference.l == pytest.approx(more_in)
    assert case.line.verdict == verdict
    assert case.codes == codes


def test_what_is_left_is_of_the_planned_litres() -> None:
    case = exchanged(at_the_lines(), 3.0)

    assert case.line.left.l == pytest.approx(case.line.planned.l - 3.0, abs=0.01)
    assert case.line.further == "as_planned"


def test_the_next_litre_renews_less_and_less() -> None:
    gains = [exchanged(at_the_lines(), litres).line.marginal_gain_per_litre
             for litres in (1.0, 3.0, 6.0)]  # fmt: skip

    assert None not in gains
    assert gains == sorted(gains, key=lambda gain: -(gain or 0))
    curve = PLAN.forecast.curve if PLAN.forecast else ()
    assert gains[0] is not None
    slope = (curve[1].fresh_share - curve[0].fresh_share) / curve[1].exchanged.l
    assert gains[0] == pytest.approx(slope, rel=0.1)


@pytest.mark.parametrize(
    ("litres", "further"),
    [(4.24, "as_planned"), (4.26, "worth_it"), (5.4, "worth_it"), (5.5, "not_worth_it")],
)
def test_beyond_the_planned_litres_the_stop_rule_decides(litres: float, further: str) -> None:
    plan = _with_exchange(PLAN, 4.3)
    line = exchanged(at_the_lines(plan), litres).line

    gain = line.marginal_gain_per_litre
    assert gain is not None
    assert line.further == further
    if further != "as_planned":
        assert (gain >= 0.02) is (further == "worth_it")


def _with_exchange(plan: Plan, litres: float) -> Plan:
    assert plan.offline_card is not None
    card = replace(plan.offline_card, exchange=Volume(litres, "L"))
    return replace(plan, offline_card=card)


@pytest.mark.parametrize("total_l", [6.0, 9.0, 15.1, 38.0])
def test_the_stop_rule_goes_with_the_litres_of_the_unit(total_l: float) -> None:
    profile: dict[str, Any] = {
        "total": Volume(total_l, "L"),
        "drained": Volume(0.45 * total_l, "L"),
    }
    plan = plan_for(profile=profile, route="line_exchange", exchanged=Volume(2, "L"))
    told = [exchanged(at_the_lines(plan), litres).line for litres in (2.0, 1.6 * total_l)]
    gains = [one.marginal_gain_per_litre or 0.0 for one in told]

    assert [one.further for one in told] == ["worth_it", "not_worth_it"]
    assert gains[0] * total_l > 0.18 > gains[1] * total_l


@pytest.mark.parametrize(
    ("outflow", "further"), [(0.8199, "worth_it"), (0.82, "worth_it"), (0.8201, "not_worth_it")]
)
def test_two_percent_a_litre_are_the_limit_where_the_unit_holds_nine(
    outflow: float, further: str
) -> None:
    plan = plan_for(profile={"total": Volume(9, "L"), "drained": Volume(4, "L")},
                    route="line_exchange", exchanged=Volume(2, "L"))  # fmt: skip
    assert plan.forecast is not None
    point = plan.forecast.curve[0]
    flat = replace(plan.forecast, curve=(replace(point, outflow_fresh_share=outflow),))
    line = exchanged(at_the_lines(replace(plan, forecast=flat)), 2.0).line

    assert line.further == further
    assert line.marginal_gain_per_litre == pytest.approx((1 - outflow) / 9, abs=1e-6)


def test_without_the_refill_recorded_nothing_is_told_of_the_next_litre() -> None:
    line = exchanged(at_the_lines(refilled=False), 8.0).line

    assert (line.marginal_gain_per_litre, line.further) == (None, "cannot_tell")


def test_a_route_without_lines_shows_none() -> None:
    bay = Bay(plan_for(route="drain"))

    assert Case(bay).guidance.line_exchange is None


def test_a_bypass_that_shuts_while_fluid_flows_stops_the_feed() -> None:
    case = exchanged(at_the_lines(), 2.0)
    assert case.codes == []

    for _ in range(6):
        case.bay.add(ReadingTaken, after_s=5, source="in_line", temperature=celsius(70),
                     flow=Flow(1.5, "L/min"))  # fmt: skip
    found = case.guidance.blocking

    assert [(f.code, f.severity, f.pointer) for f in found] == [
        ("line-gate-lost", "stop", "#/next_step/gate")
    ]


def test_a_line_gate_that_never_was_open_is_only_waited_for() -> None:
    bay = Bay(PLAN)
    bay.add(Arrived, drive="ok")
    bay.confirm_open("arrival_check", "raise_vehicle", "prove_fill_opening", "pan_and_filter",
                     "refill", "connect_lines", "warm_up")  # fmt: skip

    assert Case(bay).codes == ["gate-not-open"]
