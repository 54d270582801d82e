"""Whether the vehicle may be driven, and what came since the close, beside both verdicts."""

from datetime import timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from exchange_api.documents.beside import first_beside
from exchange_api.documents.driving import AS_IT_CAME, ASK_FIRST, TOWED, driving_of
from exchange_api.documents.since_close import LONGEST_TEXT, since_of
from libexchange.bench_checks import BenchChecks
from libexchange.job.events import (
    Aborted,
    Arrived,
    BenchChecked,
    Correction,
    JobEvent,
    LateFinding,
    LeakChecked,
    MadeSafe,
    Note,
    Started,
    TestDriven,
)
from libexchange.record import JobRecord
from tests.exchange_api.documents.paper import FORMS, made, nothing_done, record_of, text_of, whole
from tests.job.plans import Bay, plan_for

RECALLED = "The lot is recalled. Do not drive."


def drained(**end: Any) -> Bay:
    """A job that was ended with the fluid out."""
    bay = Bay(plan_for())
    bay.add(Started)
    bay.confirm("arrival_check", "raise_vehicle", "prove_fill_opening")
    bay.open_gate("pan_and_filter")
    bay.move("out", 4.4, "pan_and_filter")
    if end.pop("milky", False):
        bay.add(BenchChecked, bench=BenchChecks(colour="milky"))
    bay.add(Aborted, by="invented technician", reason="a part is missing")
    if end:
        bay.add(MadeSafe, by="invented technician", **end)
    return bay


def after(bay: Bay, *events: tuple[type, dict[str, Any]]) -> tuple[JobRecord, list[JobEvent]]:
    """The record with events from two days after the close."""
    late = Bay(bay.plan, "office", first_id=9000)
    late.now = bay.now + timedelta(days=2)
    added = [late.add(kind, **fields) for kind, fields in events]
    return record_of(bay, late.events), added


def since(*events: tuple[type, dict[str, Any]]) -> tuple[str, ...]:
    return since_of(after(Bay(plan_for()).whole_job(), *events)[0])


STOP = (LateFinding, {"source": "lot_recall", "severity": "stop", "text": RECALLED})
LEAK = (LeakChecked, {"result": "leak"})


def test_accepted_work_may_be_driven_and_an_untouched_vehicle_as_it_came() -> None:
    assert driving_of(whole()) == "May be driven."
    assert driving_of(nothing_done()) == AS_IT_CAME


def test_coolant_is_towed_with_the_engine_off_whatever_else_is_said() -> None:
    for end in ({}, {"fluid_in": "none", "vehicle": "drive"}):
        assert driving_of(record_of(drained(milky=True, **end))) == TOWED
    assert driving_of(record_of(Bay(plan_for(conditions=("coolant_in_fluid",))))) == TOWED


@pytest.mark.parametrize(
    ("end", "words"),
    [
        ({}, "Not to be driven: not all of its fluid is in; the work on it is still open."),
        ({"fluid_in": "part", "vehicle": "tow"}, "To be towed, not to be driven: not all"),
        ({"fluid_in": "none", "vehicle": "stays_here"}, "It stays where it is and is not to be"),
    ],
)
def test_a_job_that_was_ended_says_how_the_vehicle_was_left(end: Any, words: str) -> None:
    told = driving_of(record_of(drained(**end)))

    assert told.startswith(words)
    assert told.endswith("Do not start the engine.")


def test_a_level_that_nobody_looked_at_is_not_driven() -> None:
    bay = Bay(plan_for())
    bay.work_to_level()
    bay.work_after_level()

    assert driving_of(record_of(bay)) == (
        "Not to be driven: the level of its fluid is not known to be right."
    )


def test_a_leak_and_a_complaint_are_not_driven() -> None:
    leaking, complained = Bay(plan_for()).whole_job(), Bay(plan_for()).whole_job()
    leaking.add(LeakChecked, result="leak")
    complained.add(TestDriven, result="complaint")

    assert "it leaks" in driving_of(record_of(leaking))
    assert driving_of(record_of(complained)).startswith(ASK_FIRST)


@pytest.mark.parametrize(
    "arrived", [{"leak": "leak"}, {"drive": "complaint"}, {"drive": "no_drive"},
                {"warning_lamp": True}]
)  # fmt: skip
def test_an_untouched_vehicle_that_came_with_a_fault_is_asked_about(arrived: Any) -> None:
    bay = Bay(plan_for())
    bay.add(Arrived, **arrived)

    assert driving_of(record_of(bay)).startswith(ASK_FIRST)


def test_a_unit_without_drive_is_asked_about() -> None:
    told = driving_of(record_of(Bay(plan_for(conditions=("no_drive",)))))

    assert told == f"{ASK_FIRST}the unit does not drive."


def test_another_fluid_that_may_not_run_is_said_to_be_the_reason() -> None:
    told = driving_of(record_of(Bay(plan_for(reason="wrong_fluid"))))

    assert "another or an unknown fluid is in it. Do not start the engine." in told


def test_nothing_since_the_close_is_no_line() -> None:
    assert [one.name for one in first_beside(whole())] == ["Driving"]


def test_what_came_since_the_close_stands_beside_both_verdicts() -> None:
    bay = Bay(plan_for()).whole_job()
    record, _ = after(bay, STOP, LEAK, (TestDriven, {"result": "complaint"}), (Note, {"text": "a"}))

    assert since_of(record) == (
        f"STOP, 6 March 2026, a lot was recalled: {RECALLED}",
        "A leak was seen on 6 March 2026.",
        "A drive on 6 March 2026 brought a complaint.",
        "1 more entry came after the close that nobody has dealt with.",
    )
    for reader, form in FORMS:
        text = text_of(made(record, reader, form), form)
        assert "Not to be driven before the workshop has been asked" in text
        for line in since_of(record):
            assert line in text, line


def test_what_was_found_afterwards_is_sorted_by_gravity_and_never_cut() -> None:
    bay = Bay(plan_for()).whole_job()
    for number in range(30):
        bay.add(Arrived, complaint=f"complaint {number} " * 12)
    minor = (LateFinding, {"source": "customer", "severity": "note", "text": "a small thing"})
    text = text_of(made(after(bay, minor, STOP)[0], "customer"))

    assert f"a lot was recalled: {RECALLED}" in text
    assert text.index(f"Found afterwards: {RECALLED}") < text.index("On arrival, in your words")
    assert "complaint 29" not in text


def test_one_sheet_holds_long_stops_with_their_beginnings() -> None:
    told = since(*[(LateFinding, {**STOP[1], "text": "word " * 300})] * 3)

    assert all(len(line) <= LONGEST_TEXT + 60 for line in told)
    assert all(line.endswith("word …") for line in told)


def test_a_leak_found_dry_since_and_one_that_was_dealt_with_are_no_leak() -> None:
    assert since(LEAK, (LeakChecked, {"result": "dry"})) == (
        "2 entries came after the close that nobody has dealt with.",
    )
    bay = Bay(plan_for()).whole_job()
    late = Bay(bay.plan, "office", first_id=9000)
    late.now = bay.now + timedelta(days=2)
    leak = late.add(LeakChecked, result="leak")
    late.add(LateFinding, source="inspection", severity="note", text="it was rain",
             about=(leak.event_id,))  # fmt: skip
    assert since_of(record_of(bay, late.events)) == ()
    assert driving_of(record_of(bay, late.events)) == "May be driven."


def test_a_stop_that_was_withdrawn_is_none() -> None:
    bay = Bay(plan_for()).whole_job()
    late = Bay(bay.plan, "office", first_id=9000)
    late.now = bay.now + timedelta(days=2)
    stop = late.add(LateFinding, source="lot_recall", severity="stop", text=RECALLED)
    late.add(Correction, corrects=stop.event_id, reason="another lot")

    assert driving_of(record_of(bay, late.events)) == "May be driven."


def test_towing_outweighs_what_came_since() -> None:
    record, _ = after(drained(fluid_in="part", vehicle="tow"), STOP)

    assert driving_of(record).startswith("To be towed")
    assert since_of(record)[0].startswith("STOP")


def test_an_accepted_verdict_needs_a_standing_that_may_drive() -> None:
    record = whole()
    standing = replace(record.standing, may_drive=False, level_known=False)

    assert driving_of(replace(record, standing=standing)).startswith("Not to be driven")
