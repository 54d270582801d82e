"""Additives in the bay: when a dose is due, what has gone in, and the timer of a cleaner."""

from datetime import timedelta
from typing import Any

import pytest

from libexchange import invented
from libexchange.job.doses import ContactNow, DoseNow
from libexchange.job.events import ReadingTaken, StepConfirmed
from libexchange.job.fold import fold
from libexchange.job.guidance import Guidance, guidance
from libexchange.plan.records import StepKind
from libexchange.quantities import Duration, Flow
from tests.job.plans import Bay, celsius, litres, plan_for

PLAN = plan_for(cleaner=invented.cleaner(), conditioner=invented.conditioner())
BEFORE: tuple[StepKind, ...] = ("arrival_check", "raise_vehicle", "prove_fill_opening")


def now(bay: Bay) -> Guidance:
    return guidance(bay.plan, bay.events, bay.now)


def dose(bay: Bay, kind: str) -> DoseNow:
    return next(one for one in now(bay).doses if kind in one.additive_id)


def timer(bay: Bay) -> ContactNow:
    contact = now(bay).contact
    assert contact is not None
    return contact


def contact_gate(bay: Bay) -> Any:
    return next(one for one in now(bay).gates if one.gate_id == "gate-contact")


def ready() -> Bay:
    """A bay where the cleaner is next."""
    bay = Bay(PLAN)
    bay.confirm(*BEFORE)
    return bay


def dosed() -> Bay:
    bay = ready()
    bay.move("additive", 0.325, "dose_cleaner")
    bay.confirm("dose_cleaner")
    return bay


def idle(bay: Bay, minutes: int, at_c: float = 70, *, engine_running: bool | None = None) -> Bay:
    """A reading every 30 s, both ends included, the first one 30 s from now."""
    for number in range(2 * minutes + 1):
        bay.add(ReadingTaken, after_s=30, source="scan_tool",
                temperature=celsius(at_c + number % 2), engine_running=engine_running)  # fmt: skip
    return bay


def test_a_dose_is_due_when_its_step_is_next() -> None:
    assert [one.state for one in now(Bay(PLAN)).doses] == ["not_due", "not_due"]

    bay = ready()
    assert [one.state for one in now(bay).doses] == ["due", "not_due"]
    assert dose(bay, "cleaner").dose.l == 0.325


@pytest.mark.parametrize(
    ("given_l", "state"), [(0.0, "due"), (0.308, "due"), (0.309, "given"), (0.325, "given")]
)
def test_a_dose_counts_as_given_from_nearly_all_of_it_on(given_l: float, state: str) -> None:
    bay = ready()
    if given_l:
        bay.move("additive", given_l, "dose_cleaner")

    found = dose(bay, "cleaner")
    assert found.state == state
    assert found.given_15.l == pytest.approx(given_l)


def test_a_confirmed_dose_is_not_given_without_litres() -> None:
    bay = ready()
    bay.confirm("dose_cleaner")

    assert dose(bay, "cleaner").state == "confirmed_without_amount"
    assert dose(bay, "cleaner").given_15.l == 0


@pytest.mark.parametrize(
    ("direction", "kind"), [("in", "dose_cleaner"), ("additive", "dose_conditioner"),
                            ("additive", None)],
)  # fmt: skip
def test_what_went_in_otherwise_is_not_the_dose(direction: str, kind: StepKind | None) -> None:
    bay = ready()
    bay.move(direction, 0.325, kind)

    assert dose(bay, "cleaner").given_15.l == 0


def test_a_plan_without_additives_has_no_doses_and_no_timer() -> None:
    bay = Bay(plan_for())

    assert (now(bay).doses, now(bay).contact) == ((), None)


def test_before_the_cleaner_is_in_nothing_counts() -> None:
    bay = idle(ready(), 20)

    assert now(bay).contact is None
    assert (contact_gate(bay).state, contact_gate(bay).reason) == (
        "closed", "The cleaner is not in yet.",
    )  # fmt: skip


def test_only_the_time_since_the_cleaner_went_in_counts() -> None:
    bay = idle(ready(), 20)
    bay.move("additive", 0.325, "dose_cleaner", after_s=10)
    bay.confirm("dose_cleaner")
    idle(bay, 4)

    assert timer(bay).counted.value == 4
    assert contact_gate(bay).state == "closed"


@pytest.mark.parametrize(
    ("minutes", "state", "gate_state"),
    [(9, "running", "closed"), (10, "done", "open"), (30, "done", "open"),
     (31, "too_long", "passed")],
)  # fmt: skip
def test_the_timer_and_its_gate_tell_the_same(minutes: int, state: str, gate_state: str) -> None:
    bay = idle(dosed(), minutes)

    assert (timer(bay).counted.value, timer(bay).state) == (minutes, state)
    assert contact_gate(bay).state == gate_state
    assert timer(bay).out_within == Duration(max(30 - minutes, 0), "min")
    assert timer(bay).needed.value == 10


def test_the_timer_pauses_while_the_engine_stands() -> None:
    bay = idle(dosed(), 5, engine_running=True)
    idle(bay, 5, engine_running=False)
    idle(bay, 4, engine_running=True)

    assert (timer(bay).counted.value, timer(bay).pauses) == (9, 1)
    assert contact_gate(bay).state == "closed"
    idle(bay, 1, engine_running=True)
    assert contact_gate(bay).state == "open"


def test_the_timer_waits_for_the_heat() -> None:
    bay = idle(dosed(), 10, at_c=58.9)  # to 59.9 at most

    assert (timer(bay).counted.value, timer(bay).state) == (0, "not_started")


def test_the_timer_ends_when_the_pan_comes_off() -> None:
    bay = idle(dosed(), 10)
    bay.confirm("cleaner_contact", "cool_down", "pan_and_filter")
    idle(bay, 10)

    assert timer(bay).counted.value == 10


def test_a_contact_step_confirmed_too_early_is_told() -> None:
    bay = idle(dosed(), 3)
    bay.add(StepConfirmed, after_s=1, step_id=bay.step("cleaner_contact"))
    early = {f.code for f in _state_findings(bay)}

    assert "gate-not-open-when-confirmed" in early


def test_a_contact_step_confirmed_in_time_is_not() -> None:
    bay = idle(dosed(), 11)
    bay.add(StepConfirmed, after_s=1, step_id=bay.step("cleaner_contact"))

    told = [f for f in _state_findings(bay) if f.code == "gate-not-open-when-confirmed"]
    assert "gate-contact" not in {f.values["gate_id"] for f in told}


def _state_findings(bay: Bay) -> Any:
    return fold(bay.plan, bay.events).findings


def test_a_dashboard_tells_the_timer_as_little_as_its_gate() -> None:
    bay = dosed()
    for _ in range(30):
        bay.add(ReadingTaken, after_s=30, source="dashboard", temperature=celsius(90))

    assert (timer(bay).state, timer(bay).counted.value, timer(bay).out_within) == (
        "unknown", 0, None,
    )  # fmt: skip
    assert contact_gate(bay).state == "unknown"


def test_the_timer_goes_by_the_best_source_alone() -> None:
    bay = dosed()
    for number in range(21):
        bay.add(ReadingTaken, after_s=30, source="scan_tool", temperature=celsius(40 + number % 2))
        bay.add(ReadingTaken, after_s=0, source="clamp_on", temperature=celsius(90 + number % 2))

    assert (timer(bay).state, timer(bay).counted.value) == ("not_started", 0)
    assert contact_gate(bay).state == "closed"


def test_sources_that_contradict_one_another_tell_nothing() -> None:
    bay = dosed()
    for number in range(21):
        bay.add(ReadingTaken, after_s=30, source="scan_tool", temperature=celsius(70 + number % 2))
        bay.add(ReadingTaken, after_s=0, source="in_line", temperature=celsius(110),
                flow=Flow(1.5, "L/min"))  # fmt: skip

    assert (timer(bay).state, contact_gate(bay).state) == ("unknown", "unknown")


@pytest.mark.parametrize(
    ("minutes", "age_s", "state"),
    [
        (6, 60, "running"),
        (6, 61, "unknown"),
        (12, 60, "done"),
        (12, 61, "unknown"),
        (31, 61, "too_long"),
        (31, 3600, "too_long"),
    ],
)
def test_an_old_reading_says_nothing_of_a_timer_that_may_run(
    minutes: int, age_s: float, state: str
) -> None:
    bay = idle(dosed(), minutes)
    found = guidance(bay.plan, bay.events, bay.now + timedelta(seconds=age_s))

    assert found.contact is not None
    assert (found.contact.state, found.contact.counted.value) == (state, minutes)
    left_min = round(max(30 - minutes - age_s / 60, 0), 2)
    assert found.contact.out_within == Duration(left_min, "min")


def test_what_is_asked_about_an_earlier_moment_counts_to_there() -> None:
    bay = idle(dosed(), 10)
    found = guidance(bay.plan, bay.events, bay.now - timedelta(minutes=4))

    assert found.contact is not None
    assert found.contact.counted.value == 6


def test_a_dose_is_in_the_balance_as_what_it_is() -> None:
    bay = ready()
    bay.move("out", 0.325, "dose_cleaner")
    bay.move("additive", 0.325, "dose_cleaner")

    balance = now(bay).balance
    assert balance is not None
    assert balance.difference is not None
    assert balance.difference.l == pytest.approx(0, abs=1e-9)
    assert litres(0.325).kg == pytest.approx(0.325 * 0.85)
