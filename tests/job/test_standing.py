"""Where the vehicle stands after every event of a full run, and what it must never say."""

from collections.abc import Iterator

import pytest

from libexchange import invented
from libexchange.bench_checks import BenchChecks
from libexchange.job.events import (
    BenchChecked,
    Correction,
    FluidMoved,
    LeakChecked,
    StepConfirmed,
    TestDriven,
)
from libexchange.job.fold import fold
from libexchange.job.open_now import DRAINING, LINES
from libexchange.job.standing import Standing
from libexchange.plan.records import Plan, Step, StepKind
from tests.job.plans import Bay, litres, plan_for

ROUTES = [
    "level_only", "drain", "drain_cycles", "suction", "pan_and_filter", "line_exchange",
    "pan_and_filter_then_line",
]  # fmt: skip
PLANS = {route: plan_for(route=route) for route in ROUTES} | {
    "with cleaner": plan_for(cleaner=invented.cleaner(), conditioner=invented.conditioner()),
    "no drive": plan_for(conditions=("no_drive",)),
}
PAN = PLANS["pan_and_filter"]
WHO = "invented hand"


def now(bay: Bay) -> Standing:
    return fold(bay.plan, bay.events).standing


def actions(bay: Bay) -> list[str]:
    return [step.action for step in now(bay).make_safe]


def move(bay: Bay, direction: str, amount_l: float, step: Step) -> None:
    bay.add(FluidMoved, direction=direction, mass=litres(amount_l), step_id=step.step_id)


def run(plan: Plan) -> Iterator[tuple[Bay, Step, str]]:
    """A full run, told after each event with the step and how far it is."""
    bay = Bay(plan)
    for step in plan.steps:
        yield bay, step, "before"
        amount_l = step.quantity.l if step.quantity else 4.0
        if step.kind in DRAINING or step.kind in LINES:
            move(bay, "out", amount_l, step)
            yield bay, step, "begun"
        if step.kind == "refill" or step.kind in LINES:
            move(bay, "in", amount_l, step)
            yield bay, step, "begun"
        if step.kind == "set_level":
            bay.look("drip")
            yield bay, step, "begun"
        if step.kind == "leak_check":
            bay.add(LeakChecked, result="dry")
        if step.kind == "test_drive":
            bay.add(TestDriven, result="ok")
        bay.add(StepConfirmed, step_id=step.step_id)
        yield bay, step, "done"


def opened_in(step: Step) -> str | None:
    opens = {"drain": "drain", "pan_and_filter": "pan", "suction": "fill_opening"}
    return opens.get(step.kind)


@pytest.mark.parametrize("name", PLANS)
def test_after_every_event_of_a_full_run_the_state_says_how_the_vehicle_stands(name: str) -> None:
    for bay, step, how in run(PLANS[name]):
        told = now(bay)
        assert not told.may_drive or (told.may_run and told.level_known and not told.opened)
        assert told.may_drive or told.make_safe
        assert told.first == (told.make_safe[0] if told.make_safe else told.first)
        if how != "before" and step.kind in DRAINING:
            assert (told.may_run, told.fluid_in, told.level_known) == (False, "part", False)
            assert told.first.action == "close_and_refill"
            assert "tag wheel and key" in told.first.text
            assert opened_in(step) in told.opened
        if how == "begun" and step.kind in LINES:
            assert (told.may_run, told.level_known) == (False, False)
            assert told.first.action == "stop_the_feed"
            assert "Engine off, feed off; look at hoses" in told.first.text


@pytest.mark.parametrize("name", ROUTES)
def test_a_full_run_leaves_a_vehicle_that_may_be_driven(name: str) -> None:
    *_, (bay, _, _) = run(PLANS[name])
    told = now(bay)

    assert (told.may_run, told.may_drive, told.level_known, told.opened) == (True, True, True, ())
    assert (told.fluid_in, told.first.action) == ("all", "nothing_open")


@pytest.fixture
def bay() -> Bay:
    return Bay(PAN)


@pytest.fixture
def whole() -> Bay:
    return Bay(PAN).whole_job()


def test_a_second_draining_without_litres_is_not_known() -> None:
    plan = PLANS["drain_cycles"]
    bay = Bay(plan)
    first, second = [step for step in plan.steps if step.kind == "drain"][:2]
    refill = next(step for step in plan.steps if step.kind == "refill")
    move(bay, "out", 4.1, first)
    bay.add(StepConfirmed, step_id=first.step_id)
    move(bay, "in", 4.1, refill)
    bay.add(StepConfirmed, step_id=refill.step_id)
    assert now(bay).fluid_in == "all"

    bay.add(StepConfirmed, step_id=second.step_id)

    assert (now(bay).fluid_in, now(bay).may_run) == ("not_known", False)


def test_litres_told_without_their_step_still_count_as_let_out(bay: Bay) -> None:
    bay.move("out", 4.4)
    bay.confirm("pan_and_filter")
    bay.move("in", 4.4, "refill")

    assert now(bay).fluid_in == "all"


def test_what_runs_out_while_the_level_is_set_measures_no_draining(bay: Bay) -> None:
    bay.look("stream")
    bay.move("out", 0.2)
    bay.confirm("pan_and_filter")

    assert now(bay).fluid_in == "not_known"


def test_a_unit_that_is_drained_again_after_its_level_was_set_may_not_run(whole: Bay) -> None:
    whole.move("out", 0.31, "pan_and_filter")
    told = now(whole)

    assert (told.may_run, told.may_drive, told.level_known) == (False, False, False)
    assert (told.fluid_in, told.first.action) == ("part", "close_and_refill")


def test_litres_that_are_entered_late_change_nothing() -> None:
    bay = Bay(PAN).whole_job()
    bay.events = [
        one for one in bay.events
        if not (isinstance(one.event, FluidMoved) and one.event.direction == "out")
    ]  # fmt: skip
    bay.first_id += 1000  # ids are counted, and events were taken away
    assert now(bay).may_drive
    assert PAN.offline_card is not None
    assert PAN.offline_card.refill is not None

    bay.move("out", PAN.offline_card.refill.l, "pan_and_filter")

    assert now(bay).may_drive


@pytest.mark.parametrize(("told_before", "known"), [(False, True), (True, False)])
@pytest.mark.parametrize("kind", ["refill", "line_exchange"])
def test_litres_that_were_never_told_are_entered_late_and_others_void_the_look(
    kind: StepKind, told_before: bool, known: bool
) -> None:
    bay = Bay(PLANS["pan_and_filter_then_line"])
    bay.confirm("pan_and_filter")
    if told_before:
        bay.move("in", 0.1, kind)
    bay.confirm("refill", "line_exchange", "disconnect_lines")
    bay.look("drip")

    bay.move("in", 0.1, kind)

    assert now(bay).level_known is known
    assert "stop_the_feed" not in actions(bay)


def test_a_step_that_two_confirm_before_the_look_was_done_once(bay: Bay) -> None:
    bay.move("out", 4.4, "pan_and_filter")
    bay.confirm("pan_and_filter")
    bay.move("in", 4.4, "refill")
    bay.confirm("pan_and_filter")

    assert (now(bay).fluid_in, now(bay).opened) == ("all", ())


def test_a_confirmation_that_was_withdrawn_opens_nothing(bay: Bay) -> None:
    bay.confirm("pan_and_filter")
    bay.add(Correction, corrects=bay.events[-1].event.event_id, reason="the pan is on")

    assert now(bay).opened == ()


def test_the_fill_opening_is_open_from_its_proof_until_the_level_is_set(bay: Bay) -> None:
    bay.confirm("prove_fill_opening")
    told = now(bay)
    assert (told.opened, told.may_run, told.may_drive) == (("fill_opening",), True, False)
    assert actions(bay) == ["close_fill_opening"]

    bay.confirm("set_level")

    assert (now(bay).opened, actions(bay)) == ((), [])


@pytest.mark.parametrize("name", ["no drive", "pan_and_filter"])
def test_litres_that_cannot_be_told_leave_it_not_known(name: str) -> None:
    bay = Bay(PLANS[name])
    for _ in range(2):
        bay.move("in", 100)

    assert (now(bay).fluid_in, now(bay).may_run) == ("not_known", False)


def test_a_level_that_was_seen_to_be_off_is_not_known() -> None:
    bay = Bay(PLANS["level_only"])
    bay.look("nothing")

    assert (now(bay).level_known, now(bay).may_drive, actions(bay)[0]) == (
        False,
        False,
        "set_level",
    )


def test_a_leak_forbids_running_until_it_is_dry_and_the_level_looked_at(whole: Bay) -> None:
    whole.add(LeakChecked, result="leak")
    assert (now(whole).may_run, now(whole).level_known) == (False, False)
    assert actions(whole) == ["repair_leak", "set_level", "look_for_leaks"]

    whole.add(LeakChecked, result="dry")
    assert (now(whole).may_run, now(whole).may_drive, actions(whole)) == (
        True,
        False,
        ["set_level"],
    )

    whole.look("drip")
    assert (now(whole).may_drive, actions(whole)) == (True, ["look_for_leaks"])

    whole.add(LeakChecked, result="dry")
    assert (now(whole).may_drive, actions(whole)) == (True, [])


def test_what_ran_out_at_the_wrong_opening_forbids_running(bay: Bay) -> None:
    bay.work_to_level()
    bay.look("stream")
    bay.move("out", 1.2, "set_level")
    bay.look("drip")

    assert (now(bay).may_run, now(bay).first.action) == (False, "leave_off_and_tow")


@pytest.mark.parametrize(
    "bench",
    [BenchChecks(crackle="violent"), BenchChecks(glycol_strip="positive"),
     BenchChecks(colour="milky"), BenchChecks(smell="foreign")],
)  # fmt: skip
def test_coolant_and_foreign_fluid_forbid_running(whole: Bay, bench: BenchChecks) -> None:
    whole.add(BenchChecked, bench=bench)

    assert (now(whole).may_run, now(whole).first.action) == (False, "leave_off_and_tow")


def test_coolant_that_the_plan_knows_of_forbids_running() -> None:
    bay = Bay(plan_for(conditions=("coolant_in_fluid",)))

    assert (now(bay).may_run, now(bay).first.action) == (False, "leave_off_and_tow")


def test_lines_are_disconnected_before_the_level_is_set() -> None:
    bay = Bay(PLANS["line_exchange"])
    bay.confirm("connect_lines")

    assert (now(bay).opened, now(bay).may_drive) == (("lines",), False)
    assert actions(bay)[:2] == ["disconnect_lines", "set_level"]


def test_a_look_by_a_stuck_sensor_leaves_the_level_unknown(bay: Bay) -> None:
    bay.work_to_level()
    bay.read(30, 33, 36, 38, every_s=60)
    bay.read(*[38] * 60, every_s=10)
    bay.look("drip", 38)
    stuck = "level-looked-at-by-stuck-sensor"
    found = {finding.code for finding in fold(bay.plan, bay.events).findings}

    assert stuck in found
    assert now(bay).level_known is False
