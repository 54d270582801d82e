"""Pauses, ends and overrides, and where the vehicle stands at every step of every route."""

from uuid import UUID

import pytest

from libexchange.bench_checks import BenchChecks
from libexchange.finding_catalogue import ALL_KINDS
from libexchange.job.course import NEVER_OVERRIDDEN
from libexchange.job.events import (
    Aborted,
    BenchChecked,
    DeviceEvent,
    FindingOverridden,
    FluidOpened,
    LateFinding,
    LeakChecked,
    MadeSafe,
    Note,
    Paused,
    Resumed,
    Started,
    StepConfirmed,
    TestDriven,
    Voided,
    WorkFinished,
)
from libexchange.job.fold import fold
from libexchange.job.guidance import guidance
from libexchange.job.safe_steps import WORDS
from libexchange.job.state import JobState
from libexchange.job.taken_back import GRAVE
from libexchange.job.verdict import verdict
from tests.job.plans import START, Bay, plan_for

ROUTES = ["drain", "drain_cycles", "pan_and_filter", "pan_and_filter_then_line", "line_exchange"]
WHO = "invented foreman"


def state_of(bay: Bay) -> JobState:
    return fold(bay.plan, bay.events)


def actions(bay: Bay) -> list[str]:
    return [step.action for step in state_of(bay).standing.make_safe]


@pytest.fixture
def bay() -> Bay:
    made = Bay(plan_for(route="pan_and_filter"))
    made.add(Started)
    return made


def says_how_it_stands(bay: Bay, count: int) -> None:
    told = fold(bay.plan, bay.events[:count]).standing
    assert told.first.text == WORDS[told.first.action]
    assert told.first in told.make_safe or told.first.action == "nothing_open"
    assert not told.may_run or told.fluid_in == "all"
    assert not told.may_drive or (told.may_run and told.level_known and not told.opened)
    assert told.may_drive or told.make_safe


@pytest.mark.parametrize("route", ROUTES)
def test_at_every_step_of_every_route_the_state_says_how_the_vehicle_stands(route: str) -> None:
    bay = Bay(plan_for(route=route))
    for step in bay.plan.steps:
        bay.add(StepConfirmed, step_id=step.step_id)

    for count in range(len(bay.events) + 1):
        says_how_it_stands(bay, count)


@pytest.mark.parametrize("route", ["drain", "pan_and_filter", "pan_and_filter_then_line"])
def test_a_whole_job_says_so_after_each_event_and_leaves_nothing_to_make_safe(route: str) -> None:
    bay = Bay(plan_for(route=route)).whole_job()
    for count in range(len(bay.events) + 1):
        says_how_it_stands(bay, count)
    told = state_of(bay).standing

    assert (told.may_drive, told.make_safe) == (True, ())


def test_an_untouched_vehicle_may_be_driven_as_it_came(bay: Bay) -> None:
    told = state_of(bay).standing

    assert (told.may_run, told.may_drive, told.fluid_in, told.level_known) == (
        True, True, "all", True,
    )  # fmt: skip
    assert told.first.action == "nothing_open"


def test_what_was_drained_without_litres_is_not_known(bay: Bay) -> None:
    bay.add(StepConfirmed, step_id=bay.step("pan_and_filter"))

    assert state_of(bay).standing.fluid_in == "not_known"
    assert actions(bay)[:2] == ["find_out_what_is_in", "close_and_refill"]


@pytest.mark.parametrize(
    ("lacking_l", "fluid"), [(0.29, "all"), (0.31, "part"), (7.1, "part"), (7.3, "none")]
)
def test_what_is_missing_is_told_and_put_back(bay: Bay, lacking_l: float, fluid: str) -> None:
    bay.move("out", 8.0, "pan_and_filter")
    bay.move("in", 8.0 - lacking_l, "refill")
    told = state_of(bay).standing

    assert (told.fluid_in, told.may_run, told.may_drive) == (fluid, fluid == "all", False)
    assert told.first.action == ("set_level" if fluid == "all" else "close_and_refill")
    if told.first.quantity is not None:
        assert told.first.quantity.l == pytest.approx(lacking_l)


def test_a_running_line_exchange_is_stopped_first() -> None:
    bay = Bay(plan_for(route="line_exchange"))
    bay.add(StepConfirmed, step_id=bay.step("connect_lines"))
    bay.move("in", 1.0, "line_exchange")
    bay.move("out", 1.0, "line_exchange")

    assert actions(bay) == [
        "stop_the_feed", "disconnect_lines", "set_level", "look_for_leaks", "drive_and_read_codes",
    ]  # fmt: skip


def test_coolant_forbids_running_and_refilling(bay: Bay) -> None:
    bay.move("out", 4.0, "pan_and_filter")
    bay.add(BenchChecked, bench=BenchChecks(glycol_strip="positive"))
    told = state_of(bay).standing

    assert (told.may_run, told.may_drive) == (False, False)
    assert actions(bay) == ["leave_off_and_tow", "close_for_tow"]
    [_, close] = state_of(bay).standing.make_safe
    assert close.text.endswith("and put nothing in: pan.")


def test_the_wrong_fluid_forbids_running(bay: Bay) -> None:
    bay.add(FluidOpened, fluid_kind="invented-green-cvt")
    assert state_of(bay).standing.first.action == "nothing_open"

    bay.move("in", 0.1)

    assert state_of(bay).standing.first.action == "leave_off_and_tow"


def test_a_pause_says_who_holds_the_vehicle_until_it_ends(bay: Bay) -> None:
    bay.add(Paused, next_action="pan off", fluid_in="all", held_by=WHO)
    paused = state_of(bay)
    (pause,) = paused.pauses
    assert (paused.progress, pause.held_by, pause.resumed_at) == ("paused", WHO, None)
    assert guidance(bay.plan, bay.events, at=bay.events[-1].event.occurred_at).paused == pause

    bay.add(Resumed, by="invented hand")
    (pause,) = state_of(bay).pauses
    assert (state_of(bay).progress, pause.resumed_by) == ("running", "invented hand")


def test_a_pause_that_follows_another_ends_it_without_a_name(bay: Bay) -> None:
    for _ in range(2):
        bay.add(Paused, next_action="pan off", fluid_in="all", held_by=WHO)
    first, second = state_of(bay).pauses

    assert (first.resumed_at, first.resumed_by) == (second.paused_at, None)


def test_after_an_abort_nothing_of_the_plan_is_next() -> None:
    bay = Bay(plan_for(route="pan_and_filter"))
    bay.work_to_level()
    bay.add(Aborted, by=WHO, reason="a stop")
    told = guidance(bay.plan, bay.events, at=bay.events[-1].event.occurred_at)

    assert told.next_step is None
    assert told.standing.first.action == "set_level"
    assert verdict(bay.plan, state_of(bay)).verdict == "not_accepted"

    bay.add(MadeSafe, by=WHO, fluid_in="all", vehicle="tow")
    assert state_of(bay).progress == "aborted"
    assert verdict(bay.plan, state_of(bay)).verdict == "incomplete"


def test_what_was_made_safe_before_the_abort_does_not_count_after_it(bay: Bay) -> None:
    bay.add(MadeSafe, by=WHO, fluid_in="all", vehicle="drive")
    assert state_of(bay).made_safe is not None

    bay.add(Aborted, by=WHO, reason="a stop")
    assert state_of(bay).made_safe is None


def test_a_void_outweighs_an_abort(bay: Bay) -> None:
    bay.add(Aborted, by=WHO, reason="a stop")
    bay.add(Voided, by=WHO, reason="another vehicle")

    assert state_of(bay).progress == "voided"


def override(bay: Bay, code: str) -> None:
    bay.add(
        FindingOverridden, code=code, by=WHO, reason="told", acknowledged_by="invented customer"
    )


def test_an_answered_stop_is_a_remark_and_names_who_answers() -> None:
    bay = Bay(plan_for(route="pan_and_filter")).whole_job()
    bay.add(TestDriven, result="complaint")
    assert verdict(bay.plan, state_of(bay)).verdict == "not_accepted"

    override(bay, "test-drive-complaint")
    (told,) = state_of(bay).overridden
    assert verdict(bay.plan, state_of(bay)).verdict == "accepted_with_remarks"
    assert (told.by, told.acknowledged_by, told.allowed) == (WHO, "invented customer", True)


@pytest.mark.parametrize("code", sorted(NEVER_OVERRIDDEN | GRAVE))
def test_a_code_that_nobody_answers_for_or_takes_back_alone_is_one_that_is_found(code: str) -> None:
    assert code in {kind.code for kind in ALL_KINDS}


def test_coolant_is_never_accepted_whoever_answers() -> None:
    bay = Bay(plan_for(route="pan_and_filter")).whole_job()
    bay.add(BenchChecked, bench=BenchChecks(glycol_strip="positive"))
    override(bay, "glycol-strip-positive")

    assert verdict(bay.plan, state_of(bay)).verdict == "not_accepted"


def test_a_late_finding_deals_with_what_it_is_about_and_stands_beside_the_verdict() -> None:
    bay = Bay(plan_for(route="pan_and_filter")).whole_job()
    before = verdict(bay.plan, state_of(bay)).verdict
    note = DeviceEvent(
        device_id="phone-2",
        event=Note(event_id=UUID(int=901), occurred_at=START, sequence=1, text="seen later"),
    )
    about = LateFinding(
        event_id=UUID(int=902), occurred_at=START, sequence=2, source="customer", text="it drips",
        severity="stop", about=(UUID(int=901),),
    )  # fmt: skip
    late = [note, DeviceEvent(device_id="phone-2", event=about)]

    assert fold(bay.plan, bay.events, late[:1]).open_late_events == (UUID(int=901),)
    state = fold(bay.plan, bay.events, late)
    assert state.open_late_events == ()
    assert [one.source for one in state.found_later] == ["customer"]
    assert verdict(bay.plan, state).verdict == before


def test_a_leak_is_still_to_be_looked_for_until_it_is_dry() -> None:
    bay = Bay(plan_for(route="pan_and_filter"))
    bay.work_to_level()
    bay.look("drip")
    bay.add(LeakChecked, result="leak")

    assert "look_for_leaks" in actions(bay)


def test_messages_tell_moments_to_the_second() -> None:
    bay = Bay(plan_for())
    bay.add(Paused, after_s=60.704531, next_action="wait", fluid_in="all", held_by="invented hand")
    bay.add(WorkFinished)
    paused = fold(bay.plan, bay.events).findings
    bay.add(Aborted, by="invented hand", reason="invented")
    ended = fold(bay.plan, bay.events).findings
    told = {one.code: one.message for one in (*paused, *ended)}

    assert told["pause-never-ended"] == "Paused at 2026-03-04T08:01:00+00:00."
    assert told["job-aborted"] == "Ended at 2026-03-04T08:03:00+00:00."
