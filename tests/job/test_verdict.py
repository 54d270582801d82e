"""Every verdict, and every finding that leads to it."""

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from libexchange.catalogue import LevelData
from libexchange.job import verdict_findings
from libexchange.job.events import (
    Arrived,
    CautionAcknowledged,
    DeviceEvent,
    FaultCodesRead,
    FluidOpened,
    LeakChecked,
    Started,
    StepConfirmed,
    TestDriven,
    WorkFinished,
)
from libexchange.job.evidence_findings import CODES_NOT_READ
from libexchange.job.fold import fold
from libexchange.job.share_findings import SHARE_BELOW_PLAN
from libexchange.job.verdict import MISSING, RULES, Verdict, verdict
from libexchange.plan.records import Plan
from tests.job.plans import Bay, plan_for

PLAN = plan_for()


def judge(bay: Bay) -> Verdict:
    return verdict(bay.plan, fold(bay.plan, bay.events))


def codes(found: Verdict) -> set[str]:
    return {finding.code for finding in found.findings}


def without(plan: Plan, *kinds: type) -> Bay:
    """A whole job in which events of these kinds were never posted."""
    bay = Bay(plan).whole_job()
    bay.events = [one for one in bay.events if not isinstance(one.event, kinds)]
    return bay


def cautioned() -> Plan:
    plan = plan_for(conditions=("level_low_on_arrival",))
    assert [f.severity for f in plan.findings if f.severity != "note"] == ["caution"]
    return plan


def test_a_whole_job_is_accepted_and_nothing_speaks_against_it() -> None:
    assert judge(Bay(PLAN).whole_job()) == Verdict(verdict="accepted", findings=())


@pytest.mark.parametrize(
    "route", ["level_only", "drain", "drain_cycles", "suction", "line_exchange"]
)
def test_findings_of_every_route_come_from_what_was_not_done(route: str) -> None:
    bay = Bay(plan_for(route=route))
    bay.acknowledge_all()

    assert codes(judge(bay)) >= {"work-not-finished", "steps-unconfirmed", "level-not-set"}


@pytest.mark.parametrize(
    ("bay", "code"),
    [
        (without(PLAN, WorkFinished), "work-not-finished"),
        (without(PLAN, LeakChecked), "leak-not-checked"),
        (without(PLAN, TestDriven), "test-drive-missing"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_missing_leaves_the_job_incomplete(bay: Bay, code: str) -> None:
    found = judge(bay)

    assert (found.verdict, codes(found)) == ("incomplete", {code})


def test_steps_that_nobody_confirmed_leave_the_job_incomplete_and_the_lines_flowing() -> None:
    found = judge(without(PLAN, StepConfirmed))

    missing = {"steps-unconfirmed", "vehicle-may-not-drive"}
    assert (found.verdict, codes(found)) == ("incomplete", missing)


def test_a_level_that_nobody_looked_at_leaves_the_job_incomplete() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.work_after_level()

    assert (judge(bay).verdict, codes(judge(bay))) == ("incomplete", {"level-not-set"})


def test_litres_that_were_not_recorded_leave_the_job_incomplete() -> None:
    bay = Bay(PLAN)
    bay.add(Started)
    bay.add(Arrived, drive="ok")
    bay.add(FaultCodesRead, when="before")
    bay.confirm_open(*{step.kind for step in PLAN.steps})
    bay.look("drip")
    bay.work_after_level()

    assert (judge(bay).verdict, codes(judge(bay))) == ("incomplete", {"litres-not-recorded"})


def finish_with(act: Callable[[Bay], object]) -> Verdict:
    bay = Bay(PLAN).whole_job()
    act(bay)
    return judge(bay)


@pytest.mark.parametrize(
    ("act", "code"),
    [
        (lambda bay: bay.add(LeakChecked, result="leak"), "leak-found"),
        (lambda bay: bay.add(TestDriven, result="complaint"), "test-drive-complaint"),
        (lambda bay: bay.move("out", 0.9, "line_exchange"), "balance-not-closed"),
        (
            lambda bay: bay.add(FluidOpened, fluid_kind="invented-green-cvt"),
            "fluid-opened-of-other-kind",
        ),
    ],
)
def test_what_is_wrong_is_not_accepted(act: Callable[[Bay], object], code: str) -> None:
    found = finish_with(act)

    assert found.verdict == "not_accepted"
    assert code in codes(found)


def test_a_level_that_cannot_be_known_is_not_accepted() -> None:
    bay = Bay(plan_for(profile={"level": LevelData(method="overflow_plug")})).whole_job()

    assert judge(bay).verdict == "not_accepted"
    assert codes(judge(bay)) >= {"level-not-known", "level-window-unknown"}


def test_a_level_that_does_not_settle_is_not_accepted() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    for _ in range(2):
        bay.look("nothing")
        bay.move("in", 0.3, "set_level")
    bay.look("nothing")
    bay.work_after_level()

    assert judge(bay).verdict == "not_accepted"
    assert codes(judge(bay)) >= {"level-not-known", "level-correction-beyond-limit"}


def test_work_under_a_plan_that_bars_it_is_not_accepted() -> None:
    plan = replace(plan_for(conditions=("no_drive",)), steps=PLAN.steps)
    bay = Bay(plan)
    bay.add(WorkFinished)

    assert judge(bay).verdict == "not_accepted"
    assert "work-without-feasible-plan" in codes(judge(bay))


@pytest.mark.parametrize(
    ("act", "code"),
    [
        (lambda bay: bay.add(StepConfirmed, step_id="step-99"), "route-departed"),
        (
            lambda bay: bay.add(
                FluidOpened, fluid_id="invented-other", fluid_kind="invented-red-six"
            ),
            "fluid-opened-not-planned",
        ),
    ],
)
def test_what_is_odd_is_accepted_with_remarks(act: Callable[[Bay], object], code: str) -> None:
    found = finish_with(act)
    remarks = {finding.code for finding in found.findings if finding.severity != "note"}

    assert (found.verdict, remarks) == ("accepted_with_remarks", {code})


def test_litres_that_do_not_add_up_are_a_remark() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.move("out", 0.46, "refill")
    bay.look("drip")
    bay.work_after_level()
    remarks = {one.code for one in judge(bay).findings if one.severity != "note"}

    assert (judge(bay).verdict, remarks) == ("accepted_with_remarks", {"balance-not-closed"})


def test_steps_out_of_order_are_a_remark() -> None:
    bay = Bay(PLAN).whole_job()
    first = bay.events[2]
    bay.events[2] = replace(first, event=replace(first.event, occurred_at=bay.now))

    assert (judge(bay).verdict, codes(judge(bay))) == ("accepted_with_remarks", {"route-departed"})


def test_a_level_corrected_by_a_computed_amount_is_accepted_with_remarks() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.look("drip", 55)
    bay.move("in", 0.064, "set_level")
    bay.work_after_level()

    assert judge(bay).verdict == "accepted_with_remarks"
    assert codes(judge(bay)) == {"level-read-above-window"}


def test_an_acknowledged_caution_is_a_remark_that_repeats_no_words_of_people() -> None:
    found = judge(Bay(cautioned()).whole_job())

    assert (found.verdict, codes(found)) == ("accepted_with_remarks", {"worked-under-caution"})
    message = found.findings[0].message
    assert ("as acknowledged" in message, "looked at on the lift" in message) == (True, False)


def test_a_caution_that_nobody_acknowledged_leaves_the_job_incomplete() -> None:
    found = judge(without(cautioned(), CautionAcknowledged))

    assert (found.verdict, codes(found)) == ("incomplete", {"caution-not-acknowledged"})


def test_late_events_are_told_and_change_no_verdict() -> None:
    bay = Bay(PLAN).whole_job()
    late = [DeviceEvent(device_id="late", event=bay.add(LeakChecked, result="leak"))]

    found = verdict(PLAN, fold(PLAN, bay.events[:-1], late))
    assert (found.verdict, codes(found)) == ("accepted", {"event-after-close"})


def test_codes_are_there_once_and_each_missing_one_is_grave() -> None:
    kinds = verdict_findings.KINDS

    assert len({kind.code for kind in kinds}) == len(kinds)
    elsewhere = {CODES_NOT_READ.code, SHARE_BELOW_PLAN.code}
    assert {rule.kind.code for rule in RULES} <= {kind.code for kind in kinds} | elsewhere
    assert {kind.severity for kind in kinds if kind.code in MISSING} == {"stop"}
