"""Openings that were only mentioned, what people say of the fluid, and steps done once more."""

import pytest

from libexchange.job.course_events import FluidIn
from libexchange.job.events import (
    Aborted,
    FindingOverridden,
    LeakChecked,
    MadeSafe,
    Note,
    Paused,
    ReadingTaken,
    TestDriven,
    WorkFinished,
)
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from libexchange.plan.records import StepKind
from tests.job.plans import Bay, celsius, plan_for
from tests.job.test_standing import PAN, PLANS, WHO, now


@pytest.fixture
def bay() -> Bay:
    return Bay(PAN)


@pytest.fixture
def whole() -> Bay:
    return Bay(PAN).whole_job()


def pause(bay: Bay, fluid_in: FluidIn, kind: StepKind | None = None) -> None:
    bay.add(Paused, next_action="invented", fluid_in=fluid_in, held_by=WHO,
            step_id=bay.step(kind) if kind else None)  # fmt: skip


def judged(bay: Bay) -> tuple[str, set[str]]:
    found = verdict(bay.plan, fold(bay.plan, bay.events))
    return found.verdict, {one.code for one in found.findings if one.severity != "note"}


@pytest.mark.parametrize(
    ("said", "told"), [("none", "none"), ("part", "not_known"), ("not_known", "not_known"),
                       ("all", "not_known")],
)  # fmt: skip
def test_a_pan_that_is_off_and_not_weighed_yet_may_not_run(
    bay: Bay, said: FluidIn, told: FluidIn
) -> None:
    bay.confirm("prove_fill_opening")
    pause(bay, said, "pan_and_filter")
    stands = now(bay)

    assert (stands.may_run, stands.may_drive, stands.level_known) == (False, False, False)
    assert (stands.fluid_in, stands.opened) == (told, ("fill_opening", "pan"))


def test_whoever_lets_a_vehicle_go_of_which_the_fluid_is_not_known_is_stopped(bay: Bay) -> None:
    bay.add(Aborted, by=WHO, reason="invented", step_id=bay.step("pan_and_filter"))
    bay.add(MadeSafe, by=WHO, fluid_in="not_known", vehicle="drive")

    assert now(bay).may_drive is False
    assert "drive-without-known-level" in judged(bay)[1]


@pytest.mark.parametrize(("said", "stopped"), [("all", False), ("part", True), ("not_known", True)])
def test_an_untouched_vehicle_is_let_go_only_with_all_its_fluid(
    bay: Bay, said: FluidIn, stopped: bool
) -> None:
    bay.add(Aborted, by=WHO, reason="invented")
    bay.add(MadeSafe, by=WHO, fluid_in=said, vehicle="drive")

    assert now(bay).may_drive is not stopped
    assert ("drive-without-known-level" in judged(bay)[1]) is stopped


def test_a_word_that_was_said_before_a_look_still_stops_a_drive(bay: Bay) -> None:
    bay.add(Aborted, by=WHO, reason="invented")
    bay.add(MadeSafe, by=WHO, fluid_in="part", vehicle="drive")
    bay.look("drip")

    assert now(bay).may_drive
    assert "drive-without-known-level" in judged(bay)[1]


@pytest.mark.parametrize("said", ["none", "part", "not_known"])
def test_what_is_said_lowers_what_the_litres_tell_until_somebody_looks(
    whole: Bay, said: FluidIn
) -> None:
    pause(whole, said)
    stands = now(whole)
    assert (stands.fluid_in, stands.level_known, stands.may_run) == (said, False, False)

    whole.look("drip")

    assert (now(whole).fluid_in, now(whole).may_drive) == ("all", True)


def test_what_is_said_never_raises_what_the_litres_tell(bay: Bay) -> None:
    bay.move("out", 4.4, "pan_and_filter")
    pause(bay, "all")

    assert (now(bay).fluid_in, now(bay).may_run) == ("part", False)


def test_what_was_said_before_fluid_was_moved_is_over(bay: Bay) -> None:
    bay.move("out", 4.4, "pan_and_filter")
    pause(bay, "none")
    assert now(bay).fluid_in == "none"

    bay.move("in", 4.4, "refill")

    assert now(bay).fluid_in == "all"


@pytest.mark.parametrize(("confirmed", "flows"), [(False, True), (True, False)])
def test_who_rests_at_the_lines_may_have_fluid_in_them(confirmed: bool, flows: bool) -> None:
    bay = Bay(PLANS["pan_and_filter_then_line"])
    bay.confirm("connect_lines", *(("line_exchange",) if confirmed else ()))
    pause(bay, "all", "line_exchange")
    stands = now(bay)

    assert (stands.first.action == "stop_the_feed") is flows
    assert (stands.may_run, stands.level_known) == (not flows, False)


def test_a_word_that_differs_from_the_litres_is_still_told(whole: Bay) -> None:
    pause(whole, "part")

    assert "fluid-in-told-differently" in judged(whole)[1]


def test_a_reading_begins_no_step_and_a_note_does(bay: Bay) -> None:
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(40),
            step_id=bay.step("pan_and_filter"))  # fmt: skip
    assert now(bay).opened == ()

    bay.add(Note, text="invented", step_id=bay.step("pan_and_filter"))

    assert (now(bay).opened, now(bay).fluid_in) == (("pan",), "not_known")


def test_a_note_on_a_step_that_was_begun_opens_nothing_again(whole: Bay) -> None:
    whole.add(Note, text="invented", step_id=whole.step("pan_and_filter"))

    assert now(whole).may_drive


@pytest.mark.parametrize("confirms", [True, False])
def test_a_pan_that_is_taken_off_again_makes_the_job_begin_anew(whole: Bay, confirms: bool) -> None:
    for direction, kind in (("out", "pan_and_filter"), ("in", "refill")):
        whole.move(direction, 3.0, kind)  # type: ignore[arg-type]  # kinds of the plan
        if confirms:
            whole.confirm(kind)  # type: ignore[arg-type]  # kinds of the plan
    stands = now(whole)
    assert (stands.level_known, stands.may_drive, stands.fluid_in) == (False, False, "all")
    missing = {"leak-not-checked", "test-drive-missing", "vehicle-may-not-drive",
               "finished-before-last-opening"}  # fmt: skip
    assert judged(whole) == ("incomplete", missing)

    whole.look("drip")
    whole.add(LeakChecked, result="dry")
    whole.add(TestDriven, result="ok")
    whole.add(WorkFinished)

    assert judged(whole) == ("accepted", set())


def test_a_pan_that_is_confirmed_again_after_the_look_is_off(whole: Bay) -> None:
    whole.confirm("pan_and_filter")

    assert (now(whole).opened, now(whole).fluid_in) == (("pan",), "not_known")


@pytest.mark.parametrize("kind", ["leak_check", "test_drive"])
def test_fluid_moved_in_any_other_step_after_the_look_voids_it(whole: Bay, kind: StepKind) -> None:
    whole.move("out", 0.1, kind)

    assert now(whole).level_known is False


def test_a_sample_that_is_drawn_after_the_look_leaves_it(whole: Bay) -> None:
    whole.move("sampled", 0.1, "leak_check")

    assert judged(whole) == ("accepted", set())


def test_what_was_checked_and_finished_before_the_work_proves_nothing(bay: Bay) -> None:
    bay.add(LeakChecked, result="dry")
    bay.add(TestDriven, result="ok")
    bay.add(WorkFinished)
    bay.work_to_level()
    bay.look("drip")
    bay.confirm_open("set_level")
    state = fold(bay.plan, bay.events)

    assert (state.leak_check, state.test_drive) == (None, None)
    assert {"leak-not-checked", "test-drive-missing", "finished-before-last-opening"} <= (
        judged(bay)[1]
    )


def test_a_leak_and_a_complaint_stay_until_they_are_disproved(bay: Bay) -> None:
    bay.add(LeakChecked, result="leak")
    bay.add(TestDriven, result="complaint")
    bay.work_to_level()
    state = fold(bay.plan, bay.events)

    assert (state.leak_check, state.test_drive) == ("leak", "complaint")


def test_a_correction_of_the_level_asks_for_a_leak_check_and_not_for_a_drive(whole: Bay) -> None:
    whole.move("in", 0.1, "set_level")
    state = fold(whole.plan, whole.events)

    assert (state.leak_check, state.test_drive) == (None, "ok")


@pytest.mark.parametrize(
    ("after_s", "told"),
    [((1, 0, 60), True), ((0, 0, 60), True), ((1, 1, 0), False), ((0, 1, 1), False)],
)
def test_a_check_that_bears_the_moment_of_another_does_not_tell_the_order(
    after_s: tuple[float, float, float], told: bool
) -> None:
    look_s, leak_s, drive_s = after_s
    bay = Bay(PAN)
    bay.work_to_level()
    bay.move("in", 0.1, "set_level")
    bay.look("drip", after_s=look_s)
    bay.add(LeakChecked, after_s=leak_s, result="dry")
    bay.add(TestDriven, after_s=drive_s, result="ok")

    assert ("order-of-work-not-told" in judged(bay)[1]) is told


def test_a_leak_that_somebody_answers_for_stands_and_the_vehicle_may_not_be_driven(
    whole: Bay,
) -> None:
    whole.add(LeakChecked, result="leak")
    whole.look("drip")
    for code in ("leak-found", "vehicle-may-not-drive"):
        whole.add(FindingOverridden, code=code, by=WHO, reason="invented",
                  acknowledged_by="invented customer")  # fmt: skip
    assert judged(whole)[0] == "not_accepted"
    assert "vehicle-may-not-drive" in judged(whole)[1]

    whole.add(MadeSafe, by=WHO, fluid_in="all", vehicle="tow")

    assert "vehicle-may-not-drive" not in judged(whole)[1]


def test_lines_that_were_connected_once_more_are_disconnected_once_more() -> None:
    bay = Bay(plan_for())
    bay.work_to_level()
    bay.look("nothing")
    bay.confirm("connect_lines")
    assert "lines" in now(bay).opened
    bay.confirm("disconnect_lines")
    assert "lines" not in now(bay).opened
