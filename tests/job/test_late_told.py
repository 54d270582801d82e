"""What came to light later: before the close it counts, after it it is told."""

from typing import Any

import pytest

from libexchange.job.events import FindingOverridden, LateFinding, LeakChecked
from libexchange.job.fold import fold
from libexchange.job.verdict import Verdict, verdict
from tests.job.plans import Bay, plan_for

PLAN = plan_for()
ANSWER: dict[str, Any] = {
    "by": "invented foreman",
    "reason": "known",
    "acknowledged_by": "invented customer",
}


def done(**found: Any) -> Bay:
    bay = Bay(PLAN).whole_job()
    bay.add(LateFinding, text="invented words", **found)
    return bay


def judged(bay: Bay, late: int = 0) -> Verdict:
    cut = len(bay.events) - late
    return verdict(PLAN, fold(PLAN, bay.events[:cut], bay.events[cut:]))


@pytest.mark.parametrize(
    ("source", "severity", "expected"),
    [
        ("inspection", "stop", "not_accepted"),
        ("inspection", "caution", "accepted_with_remarks"),
        ("inspection", "note", "accepted"),
        ("leak", "stop", "not_accepted"),
        ("leak", "note", "incomplete"),
    ],
)
def test_what_is_told_before_the_close_counts(source: str, severity: str, expected: str) -> None:
    told = judged(done(source=source, severity=severity))

    assert told.verdict == expected
    assert "invented words" not in str(told.findings)


@pytest.mark.parametrize("severity", ["stop", "caution", "note"])
def test_after_the_close_it_is_told_and_changes_nothing(severity: str) -> None:
    told = judged(done(source="leak", severity=severity), late=1)

    assert told.verdict == "accepted"
    assert [f.severity for f in told.findings if f.code == "found-after-close"] == [severity]


def test_a_leak_bars_the_drive_until_it_is_found_dry() -> None:
    bay = done(source="leak", severity="stop")
    assert fold(PLAN, bay.events).leak_check == "leak"
    assert not fold(PLAN, bay.events).standing.may_drive

    bay.add(LeakChecked, result="dry")
    assert "leak-found" not in {one.code for one in judged(bay).findings}
    assert [f.severity for f in judged(bay).findings if f.code == "found-later"] == ["note"]


def test_a_leak_after_the_dry_look_is_one_again() -> None:
    bay = done(source="leak", severity="stop")
    bay.add(LeakChecked, result="dry")
    bay.add(LateFinding, source="leak", text="again", severity="stop")

    found = [f.severity for f in judged(bay).findings if f.code == "found-later"]
    assert found == ["note", "stop"]


def test_somebody_may_answer_for_what_was_told_but_not_for_what_comes_later() -> None:
    bay = done(source="inspection", severity="stop")
    bay.add(FindingOverridden, code="found-later", **ANSWER)
    assert judged(bay).verdict == "accepted_with_remarks"

    bay.add(LateFinding, source="customer", text="more", severity="caution")
    assert judged(bay).verdict == "accepted_with_remarks"
    bay.add(LateFinding, source="customer", text="more", severity="stop")
    assert judged(bay).verdict == "not_accepted"


def test_an_answer_for_what_came_to_light_is_none_for_a_leak() -> None:
    bay = done(source="leak", severity="stop")
    bay.add(FindingOverridden, code="found-later", **ANSWER)

    assert judged(bay).verdict == "not_accepted"
