"""What litres that drifted apart in the lines do to the verdict."""

import pytest

from libexchange.findings import Finding
from libexchange.job.fold import fold
from libexchange.job.verdict import Verdict, verdict
from tests.job.plans import Bay, plan_for

PLAN = plan_for()


def judge(bay: Bay) -> Verdict:
    return verdict(bay.plan, fold(bay.plan, bay.events))


def drifted(out_l: float, made_good_l: float = 0.0) -> Bay:
    """A whole job with more out through the lines; some of it is filled in again at the level."""
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.move("out", out_l, "line_exchange")
    if made_good_l:
        bay.move("in", made_good_l, "set_level")
    bay.look("drip")
    bay.work_after_level()
    return bay


def of_the_line(found: Verdict) -> list[Finding]:
    return [finding for finding in found.findings if finding.pointer == "#/line_exchange"]


def test_case_60_a_difference_that_nobody_made_good_is_not_accepted() -> None:
    found = judge(drifted(2.0))

    assert found.verdict == "not_accepted"
    assert [(f.code, f.severity) for f in of_the_line(found)] == [("line-litres-differ", "stop")]


def test_a_difference_that_was_made_good_at_the_level_is_a_remark() -> None:
    bay = drifted(2.0, made_good_l=2.0)
    state, found = fold(bay.plan, bay.events), judge(bay)

    assert state.balance is not None
    assert state.balance.verdict == "ok"
    assert state.line_exchange is not None
    assert state.line_exchange.verdict == "stop"
    assert found.verdict == "accepted_with_remarks"
    assert {f.severity for f in found.findings} == {"caution", "note"}
    assert [f.severity for f in of_the_line(found)] == ["caution"]


@pytest.mark.parametrize(
    ("direction", "more"), [("in", "more in than out"), ("out", "more out than in")]
)
def test_the_finding_says_which_side_has_more(direction: str, more: str) -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.move(direction, 1.7, "line_exchange")

    [found] = of_the_line(judge(bay))
    assert found.message.startswith(f"1.70 L {more} at 15 °C")
