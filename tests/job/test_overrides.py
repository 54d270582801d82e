"""What may be answered for and what never is; late findings and what they deal with."""

from typing import Any
from uuid import UUID

import pytest

from libexchange.bench_checks import BenchChecks
from libexchange.job.events import (
    Aborted,
    BenchChecked,
    Correction,
    DeviceEvent,
    Event,
    FindingOverridden,
    LateFinding,
    LeakChecked,
    MadeSafe,
    Note,
    StepConfirmed,
    TestDriven,
    WorkFinished,
)
from libexchange.job.fold import fold
from libexchange.job.verdict import Verdict, verdict
from tests.job.plans import START, Bay, plan_for

PLAN = plan_for(route="pan_and_filter")
WHO = "invented foreman"


def judged(bay: Bay) -> Verdict:
    return verdict(bay.plan, fold(bay.plan, bay.events))


def answer_for_all(bay: Bay) -> None:
    """Somebody answers for every stop that stands."""
    bay.first_id += 1000  # ids are counted, and some tests took events away
    for code in sorted({one.code for one in judged(bay).findings if one.severity == "stop"}):
        bay.add(FindingOverridden, code=code, by=WHO, reason="invented",
                acknowledged_by="invented customer")  # fmt: skip


@pytest.mark.parametrize(
    "bench",
    [BenchChecks(crackle="large_bubbles"), BenchChecks(crackle="violent"),
     BenchChecks(glycol_strip="positive"), BenchChecks(colour="milky"),
     BenchChecks(smell="foreign"), BenchChecks(shifts="no_drive")],
)  # fmt: skip
def test_coolant_foreign_fluid_and_no_drive_stand_whoever_answers(bench: BenchChecks) -> None:
    bay = Bay(PLAN).whole_job()
    bay.add(BenchChecked, bench=bench)
    stops = {one.code for one in judged(bay).findings if one.severity == "stop"}
    answer_for_all(bay)

    left = {one.code for one in judged(bay).findings if one.severity == "stop"}
    assert (left, bool(stops)) == (stops, stops != set())
    assert (judged(bay).verdict == "not_accepted") is bool(stops)


def test_flakes_may_be_answered_for() -> None:
    bay = Bay(PLAN).whole_job()
    bay.add(BenchChecked, bench=BenchChecks(debris="flakes"))
    assert judged(bay).verdict == "not_accepted"

    answer_for_all(bay)

    assert judged(bay).verdict == "accepted_with_remarks"


@pytest.mark.parametrize("absent", [LeakChecked, TestDriven, WorkFinished])
def test_checks_that_were_not_made_stand_whoever_answers(absent: type[Event]) -> None:
    bay = Bay(PLAN).whole_job()
    bay.events = [one for one in bay.events if not isinstance(one.event, absent)]
    answer_for_all(bay)

    assert judged(bay).verdict == "incomplete"


def test_a_level_that_nobody_looked_at_stands_whoever_answers() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.work_after_level()
    answer_for_all(bay)

    assert judged(bay).verdict == "incomplete"


def test_a_step_that_was_left_out_may_be_answered_for() -> None:
    bay = Bay(PLAN).whole_job()
    cool = bay.step("cool_down")
    bay.events = [
        one for one in bay.events
        if not (isinstance(one.event, StepConfirmed) and one.event.step_id == cool)
    ]  # fmt: skip
    assert judged(bay).verdict == "incomplete"

    answer_for_all(bay)

    assert judged(bay).verdict == "accepted_with_remarks"


@pytest.mark.parametrize("safe", [True, False])
def test_an_aborted_job_is_never_accepted(safe: bool) -> None:
    bay = Bay(PLAN).whole_job()
    bay.add(Aborted, by=WHO, reason="invented")
    if safe:
        bay.add(MadeSafe, by=WHO, fluid_in="all", vehicle="tow")
    answer_for_all(bay)

    assert judged(bay).verdict == ("incomplete" if safe else "not_accepted")


def late(number: int, kind: type[Event], **fields: Any) -> DeviceEvent:
    event: Any = kind(event_id=UUID(int=number), occurred_at=START, sequence=number, **fields)
    return DeviceEvent(device_id="phone-2", event=event)


NOTE = late(901, Note, text="seen later")
OF_THE_CLOSED = late(902, Correction, corrects=UUID(int=1000), reason="invented")
ABOUT = late(903, LateFinding, source="leak", text="it drips", about=(UUID(int=901), UUID(int=902)))
WITHDRAWN = late(904, Correction, corrects=UUID(int=903), reason="another vehicle")


def open_after(*events: DeviceEvent) -> list[int]:
    state = fold(PLAN, Bay(PLAN).whole_job().events, events)
    return [one.int for one in state.open_late_events]


def test_a_late_finding_deals_with_events_and_corrections_that_it_names() -> None:
    assert open_after(NOTE, OF_THE_CLOSED) == [901, 902]
    assert open_after(NOTE, OF_THE_CLOSED, ABOUT) == []


def test_a_late_finding_that_was_withdrawn_deals_with_nothing() -> None:
    assert open_after(NOTE, OF_THE_CLOSED, ABOUT, WITHDRAWN) == [901, 902]


def test_naming_an_event_from_before_the_close_deals_with_no_correction_of_it() -> None:
    about = late(905, LateFinding, source="leak", text="it drips", about=(UUID(int=1000),))

    assert open_after(OF_THE_CLOSED, about) == [902]
