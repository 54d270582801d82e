"""Levels that are set before a drive: on arrival, and between drains of an engine that stops."""

import pytest

from libexchange.job.events import (
    FaultCodesRead,
    FluidOpened,
    LeakChecked,
    StepConfirmed,
    TestDriven,
    WorkFinished,
)
from libexchange.job.fold import fold
from libexchange.job.guidance import guidance
from libexchange.job.state import JobState
from libexchange.job.verdict import verdict
from libexchange.plan.records import Plan
from tests.job.plans import Bay, plan_for

LOW = plan_for(conditions=("level_low_on_arrival",), route="drain")
REFILL_L = 4.1


def state(bay: Bay) -> JobState:
    return fold(bay.plan, bay.events)


def confirm_until(bay: Bay, kind: str) -> None:
    """Confirm the steps in order up to, but without, the first of a kind."""
    for step in bay.plan.steps:
        if step.kind == kind:
            return
        bay.add(StepConfirmed, step_id=step.step_id)


def arrived(*moves_l: float, observed: str = "drip", plan: Plan = LOW) -> Bay:
    """Up to the look at the level on arrival, with what was added or let run before it."""
    bay = Bay(plan)
    bay.acknowledge_all()
    confirm_until(bay, "level_before_drive")
    for amount_l in moves_l:
        bay.move("in" if amount_l > 0 else "out", abs(amount_l), "level_before_drive")
    bay.open_gate("set_level")
    bay.look(observed, step_id=bay.step("level_before_drive"))
    return bay


def worked(bay: Bay) -> Bay:
    """From the look on arrival to the end."""
    rest = [s for s in bay.plan.steps if s.step_id >= bay.step("level_before_drive")]
    bay.add(FaultCodesRead, when="before")
    bay.add(FluidOpened, fluid_kind="invented-red-six")
    for step in rest:
        if step.kind == "set_level":
            bay.open_gate("set_level")
            bay.look("drip", step_id=step.step_id)
        elif step.kind == "drain":
            bay.move("out", REFILL_L, "drain")
            bay.open_gate("drain")
        elif step.kind == "refill":
            bay.move("in", REFILL_L, "refill")
        elif step.kind == "leak_check":
            bay.work_after_level()
            return bay
        bay.add(StepConfirmed, after_s=3, step_id=step.step_id)
    raise AssertionError


def stops(bay: Bay) -> set[str]:
    found = verdict(bay.plan, state(bay)).findings
    return {finding.code for finding in found if finding.severity == "stop"}


@pytest.mark.parametrize("moved_l", [1.0, -0.8, 0.0])
def test_what_was_missing_or_over_on_arrival_speaks_against_nothing(moved_l: float) -> None:
    bay = worked(arrived(*([moved_l] if moved_l else [])))
    folded = state(bay)

    assert verdict(bay.plan, folded).verdict == "accepted_with_remarks"
    assert folded.balance is not None
    assert folded.balance.verdict == "ok"
    assert folded.balance.expected_change is not None
    assert folded.balance.expected_change.l == pytest.approx(moved_l, abs=1e-9)
    assert folded.level is not None
    assert (folded.level.added.l, folded.level.rounds) == (0.0, 0)
    assert folded.fresh_share is not None
    assert folded.fresh_share.refilled_15.l == pytest.approx(REFILL_L)


def test_a_level_that_was_not_right_before_the_drive_settles_nothing() -> None:
    bay = worked(arrived(1.0, observed="nothing"))

    assert "balance-not-closed" in {f.code for f in verdict(bay.plan, state(bay)).findings}


def test_it_may_be_driven_only_once_its_level_is_set() -> None:
    untouched = Bay(LOW)
    assert not state(untouched).standing.may_drive
    assert not state(untouched).standing.level_known
    assert not state(arrived(observed="nothing")).standing.may_drive

    assert state(arrived(1.0)).standing.may_drive

    more = arrived()
    more.move("in", 0.06, "level_before_drive")
    assert not state(more).standing.may_drive


def test_filling_up_on_arrival_is_no_surplus() -> None:
    bay = Bay(LOW)
    confirm_until(bay, "level_before_drive")
    bay.move("in", 1.5, "level_before_drive")

    assert state(bay).standing.may_run
    assert "draw_off" not in {step.action for step in state(bay).standing.make_safe}


def test_the_look_before_the_drive_is_not_the_one_after_the_work() -> None:
    bay = arrived()
    assert state(bay).level is not None
    bay.add(StepConfirmed, step_id=bay.step("level_before_drive"))
    step = guidance(bay.plan, bay.events, bay.now).next_step
    assert step is not None
    assert step.title.startswith("Lower it; drive")

    bay.add(StepConfirmed, step_id=bay.step("drain"))
    assert state(bay).level is None
    assert not state(bay).standing.level_known
    assert "level-not-set" in stops(bay)


def test_a_refill_that_ends_at_the_level_before_a_drive_lacks_nothing() -> None:
    plan = plan_for(route="drain_cycles", profile={"engine_idles_on_command": "no"})
    bay = Bay(plan)
    first = bay.step("level_before_drive")
    bay.move("out", 4.1, "drain")
    bay.move("in", 3.2, "refill")
    bay.move("in", 0.9, "level_before_drive")
    bay.open_gate("set_level")
    bay.look("drip", step_id=first)
    folded = state(bay)

    assert folded.level is not None
    assert folded.level.findings == ()
    assert folded.balance is not None
    assert folded.balance.expected_change is not None
    assert folded.balance.expected_change.l == pytest.approx(0.0, abs=1e-9)


def test_looks_before_a_drive_are_no_rounds_of_the_level_after_the_work() -> None:
    plan = plan_for(route="drain_cycles", profile={"engine_idles_on_command": "no"})
    early = [step.step_id for step in plan.steps if step.kind == "level_before_drive"]
    assert len(early) > 1
    bay = Bay(plan)
    for step_id in early:
        bay.open_gate("set_level")
        bay.look("nothing", step_id=step_id)
        bay.add(TestDriven, result="ok")
    bay.open_gate("set_level")
    bay.look("nothing", step_id=bay.step("set_level"))
    level = state(bay).level

    assert level is not None
    assert level.verdict == "add"
    assert "level-off-again-after-drive" not in {finding.code for finding in level.findings}


def test_a_drive_before_the_level_is_looked_at_needs_it_in_its_window() -> None:
    bay = Bay(LOW)
    confirm_until(bay, "arrival_check")
    bay.add(StepConfirmed, step_id=bay.step("level_before_drive"))

    codes = {finding.code for finding in state(bay).findings}
    assert "gate-not-open-when-confirmed" in codes
    assert "gate-not-open-when-confirmed" not in {f.code for f in state(arrived()).findings}


@pytest.mark.parametrize("reason", ["wrong_fluid", "unknown_fluid"])
def test_what_may_never_have_run_may_not_run_before_it_was_refilled(reason: str) -> None:
    bay = Bay(plan_for(reason=reason, route="drain"))
    assert not state(bay).standing.may_run

    bay.move("out", REFILL_L, "drain")
    assert not state(bay).standing.may_run
    bay.move("in", REFILL_L, "refill")
    assert state(bay).standing.may_run


def test_a_job_without_a_window_ends_held_and_not_accepted() -> None:
    level = plan_for().request.transmission
    assert level is not None
    plan = plan_for(route="drain", profile={"level": type(level.level)(method="overflow_plug")})
    bay = Bay(plan)
    bay.work_to_level()
    bay.look("drip")
    bay.confirm("set_level")
    bay.add(LeakChecked, result="dry")
    bay.add(FaultCodesRead, when="after")
    held = guidance(plan, bay.events, bay.now)
    assert (held.next_step and held.next_step.kind, held.standing.may_drive) == ("hold", False)
    bay.confirm("hold")
    bay.add(WorkFinished)
    found, done = verdict(plan, state(bay)), guidance(plan, bay.events, bay.now)

    assert found.verdict == "not_accepted"
    assert "level-not-known" in stops(bay)
    assert stops(bay) & {"test-drive-missing", "steps-unconfirmed", "work-not-finished"} == set()
    assert done.next_step is None
