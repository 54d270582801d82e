"""An override counts for what had been found as it stands, with two people behind it."""

from typing import Any

import msgspec
import pytest

from libexchange.bench_checks import BenchChecks
from libexchange.job.events import (
    BenchChecked,
    Correction,
    FindingOverridden,
    FluidMoved,
    JobEvent,
    LeakChecked,
    ReadingTaken,
    SecondCheck,
    StepConfirmed,
    TestDriven,
)
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from tests.job.plans import Bay, celsius, litres, plan_for

PLAN = plan_for(route="pan_and_filter")


def override(bay: Bay, code: str, *, customer: str = "invented customer") -> None:
    bay.add(FindingOverridden, code=code, by="invented foreman", reason="told",
            acknowledged_by=customer)  # fmt: skip


def judged(bay: Bay) -> str:
    return verdict(PLAN, fold(PLAN, bay.events)).verdict


def allowed(bay: Bay) -> list[bool]:
    return [one.allowed for one in fold(PLAN, bay.events).overridden]


def complained() -> Bay:
    bay = Bay(PLAN).whole_job()
    bay.add(TestDriven, result="complaint")
    return bay


def test_after_it_was_found_it_counts_and_before_it_does_not() -> None:
    after, before = complained(), Bay(PLAN)
    override(after, "test-drive-complaint")
    override(before, "test-drive-complaint")
    before.whole_job()
    before.add(TestDriven, result="complaint")

    assert (judged(after), allowed(after)) == ("accepted_with_remarks", [True])
    assert (judged(before), allowed(before)) == ("not_accepted", [False])


@pytest.mark.parametrize(
    ("customer", "counts"),
    [("invented customer", True), ("invented foreman", False), (" Invented  FOREMAN", False)],
)
def test_nobody_answers_for_a_stop_alone(customer: str, counts: bool) -> None:
    bay = complained()
    override(bay, "test-drive-complaint", customer=customer)

    assert allowed(bay) == [counts]


def test_what_is_found_beside_it_since_needs_another_word() -> None:
    bay = Bay(PLAN).whole_job()
    bay.add(SecondCheck, by="invented hand", checked="fluid", result="not_agreed")
    override(bay, "second-check-not-agreed")
    assert judged(bay) == "accepted_with_remarks"

    bay.add(SecondCheck, by="invented hand", checked="route", result="not_agreed")
    assert judged(bay) == "not_accepted"

    override(bay, "second-check-not-agreed")
    assert judged(bay) == "accepted_with_remarks"


def test_a_correction_of_something_else_leaves_it_standing() -> None:
    bay = Bay(PLAN).whole_job()
    slip = bay.add(FluidMoved, direction="lost", mass=litres(0.01))
    bay.add(BenchChecked, bench=BenchChecks(debris="flakes"))
    override(bay, "solid-debris")
    bay.add(Correction, corrects=slip.event_id, reason="another bay", by="invented hand")

    assert allowed(bay) == [True]


@pytest.mark.parametrize("opened_c", [80.0, 80.1])
def test_up_to_80_degrees_somebody_may_answer_for_a_hot_opening(opened_c: float) -> None:
    bay = Bay(PLAN)
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(opened_c))
    bay.add(StepConfirmed, after_s=3, step_id=bay.step("pan_and_filter"))
    override(bay, "gate-not-open-when-confirmed")

    assert allowed(bay) == [opened_c == 80.0]


def test_a_leak_and_litres_that_do_not_close_stand_whoever_answers() -> None:
    leak, litre = Bay(PLAN).whole_job(), Bay(PLAN).whole_job()
    leak.add(LeakChecked, result="leak")
    override(leak, "leak-found")
    litre.move("in", 2, "refill")
    override(litre, "balance-not-closed")

    assert (allowed(leak), allowed(litre)) == ([False], [False])


@pytest.mark.parametrize("text", [" ", ".", "-", "\u3000", "--- ..."])
@pytest.mark.parametrize("field", ["by", "reason", "acknowledged_by"])
def test_a_blank_is_neither_a_person_nor_a_reason(field: str, text: str) -> None:
    fields: dict[str, Any] = {
        "kind": "finding_overridden", "event_id": "00000000-0000-0000-0000-000000000001",
        "occurred_at": "2026-03-04T08:00:00Z", "sequence": 1, "code": "solid-debris",
        "by": "Ж", "reason": "7", "acknowledged_by": "陳",
    }  # fmt: skip
    told: Any = msgspec.convert(fields, JobEvent, str_keys=True)
    assert (told.by, told.reason, told.acknowledged_by) == ("Ж", "7", "陳")

    with pytest.raises(msgspec.ValidationError, match=field):
        msgspec.convert(fields | {field: text}, JobEvent, str_keys=True)
