"""What is stated on arrival decides what the same checks decide at the bench."""

import pytest

from libexchange.bench_checks import BenchChecks
from libexchange.laboratory import LaboratoryResults
from libexchange.plan.request import Condition
from libexchange.plan.stated import STANDS_FOR, bench_of, judged
from libexchange.used_fluid import judge_used_fluid
from tests.libexchange.plan_desk import alternative, planned

ALLOWED = {
    "burnt_and_slipping": set[str](),
    "burnt_smell": {"drain", "pan_and_filter"},
    "coolant_in_fluid": set[str](),
    "debris_in_pan": set[str](),
    "no_drive": set[str](),
}


@pytest.mark.parametrize("condition", STANDS_FOR)
def test_the_routes_left_open_are_those_of_the_decision_at_the_bench(condition: Condition) -> None:
    decision = judge_used_fluid(
        bench=STANDS_FOR[condition], laboratory=LaboratoryResults()
    ).decision
    plan = planned(conditions=(condition,))

    routes = ("drain", "drain_cycles", "pan_and_filter", "pan_and_filter_then_line",
              "line_exchange")  # fmt: skip
    open_routes = {one for one in routes if alternative(plan, one).standing != "no"}
    assert open_routes == ALLOWED[condition]
    assert bool(open_routes) is (decision == "proceed_gently")


@pytest.mark.parametrize("condition", STANDS_FOR)
def test_the_finding_is_the_one_of_the_bench_where_both_say_the_same(condition: Condition) -> None:
    codes = {finding.code for finding in planned(conditions=(condition,)).findings}
    reasons = {reason.code for reason in judged((condition,)).reasons}

    assert (codes & reasons) or condition == "coolant_in_fluid"


def test_conditions_are_judged_together() -> None:
    assert bench_of(("burnt_and_slipping", "debris_in_pan")) == BenchChecks(
        smell="burnt", shifts="slips", debris="flakes"
    )
    assert bench_of(("leak", "under_warranty")) == BenchChecks()
    assert judged(("burnt_smell", "coolant_in_fluid")).decision == "stop_coolant"
    assert judged(("leak",)).decision == "proceed"
