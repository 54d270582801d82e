"""What is left once the work was ended and the vehicle made safe, and what undoes that."""

import pytest

from libexchange.bench_checks import BenchChecks
from libexchange.job.events import Aborted, BenchChecked, MadeSafe, Voided
from libexchange.job.fold import fold
from tests.job.plans import Bay
from tests.job.test_standing import PAN, PLANS, WHO, actions, now


@pytest.fixture
def bay() -> Bay:
    return Bay(PAN)


def safe(bay: Bay) -> None:
    bay.add(MadeSafe, by=WHO, fluid_in="not_known", vehicle="tow")


def test_after_an_abort_that_was_made_safe_only_the_look_at_the_release_is_left(bay: Bay) -> None:
    bay.confirm("pan_and_filter")
    bay.add(Aborted, by=WHO, reason="invented")
    assert actions(bay)[0] == "find_out_what_is_in"

    safe(bay)

    assert (now(bay).opened, actions(bay)) == ((), ["release_look"])
    assert now(bay).may_run is False


def test_a_vehicle_that_was_made_safe_and_goes_on_is_set_as_any_other(bay: Bay) -> None:
    bay.move("out", 4.4, "pan_and_filter")
    safe(bay)

    assert now(bay).opened == ()
    assert actions(bay)[:2] == ["find_out_what_is_in", "close_and_refill"]


@pytest.mark.parametrize("act", ["moved", "opened"])
def test_what_was_made_safe_counts_no_more_once_work_goes_on(bay: Bay, act: str) -> None:
    bay.add(Aborted, by=WHO, reason="invented")
    safe(bay)
    assert fold(bay.plan, bay.events).made_safe is not None

    if act == "moved":
        bay.move("out", 1.0)
    else:
        bay.confirm("prove_fill_opening")

    state = fold(bay.plan, bay.events)
    assert state.made_safe is None
    assert "make-safe-missing" in {finding.code for finding in state.findings}


def test_a_line_exchange_that_was_made_safe_does_not_flow() -> None:
    bay = Bay(PLANS["line_exchange"])
    bay.move("in", 1.0, "line_exchange")
    safe(bay)

    assert "stop_the_feed" not in actions(bay)


@pytest.mark.parametrize(
    ("end", "code"), [(Aborted, "make-safe-missing"), (Voided, "voided-with-work-done")]
)
def test_a_pan_that_is_off_is_work_though_no_litres_were_told(
    bay: Bay, end: type[Aborted | Voided], code: str
) -> None:
    bay.confirm("pan_and_filter")
    bay.add(end, by=WHO, reason="invented")

    assert code in {finding.code for finding in fold(bay.plan, bay.events).findings}


def test_a_void_names_what_was_opened(bay: Bay) -> None:
    bay.confirm("prove_fill_opening")
    bay.add(Voided, by=WHO, reason="invented")
    told = {one.code: one for one in fold(bay.plan, bay.events).findings}

    assert told["voided-with-work-done"].message == "In this job: fill opening opened."


@pytest.mark.parametrize(
    ("fluid_in", "vehicle", "agrees"),
    [("part", "tow", True), ("not_known", "tow", True), ("none", "tow", True),
     ("all", "tow", False),
     ("part", "drive", False)],
)  # fmt: skip
def test_it_is_made_safe_only_where_the_facts_agree(
    bay: Bay, fluid_in: str, vehicle: str, agrees: bool
) -> None:
    bay.move("out", 4.4, "pan_and_filter")
    bay.add(Aborted, by=WHO, reason="invented")
    bay.add(MadeSafe, by=WHO, fluid_in=fluid_in, vehicle=vehicle)

    assert (actions(bay) == ["release_look"]) is agrees


@pytest.mark.parametrize(("over_l", "runs"), [(0.99, True), (1.0, False)])
def test_too_much_fluid_may_not_run(bay: Bay, over_l: float, runs: bool) -> None:
    bay.move("out", 4.4, "pan_and_filter")
    bay.move("in", 4.4 + over_l, "refill")
    told = now(bay)

    assert (told.may_run, told.first.action == "draw_off") == (runs, not runs)
    if not runs:
        assert told.first.quantity is not None
        assert told.first.quantity.l == pytest.approx(over_l)


def test_what_ran_out_at_the_level_is_no_surplus_any_more(bay: Bay) -> None:
    bay.move("in", 1.2, "refill")
    bay.look("stream")
    bay.move("out", 0.3, "set_level")

    assert now(bay).may_run


def test_coolant_has_what_is_open_closed_before_it_is_towed(bay: Bay) -> None:
    bay.confirm("prove_fill_opening", "pan_and_filter")
    bay.add(BenchChecked, bench=BenchChecks(glycol_strip="positive"))
    told = now(bay).make_safe

    assert [one.action for one in told][:2] == ["leave_off_and_tow", "close_for_tow"]
    assert told[1].text.endswith("put nothing in: fill opening, pan.")
