"""Arrival, samples, parts, tools and people; and what of it a customer reads."""

from datetime import date

import pytest

from libexchange.bench_checks import BenchChecks
from libexchange.fields import Money
from libexchange.job.events import (
    Arrived,
    BenchChecked,
    ConsentGiven,
    Correction,
    FaultCodesRead,
    FindingOverridden,
    JobEvent,
    LateFinding,
    LegalHold,
    PartFitted,
    Paused,
    PhotoTaken,
    SampleDestroyed,
    SampleDrawn,
    SampleHandedOver,
    SampleSealed,
    SampleSplit,
    SecondCheck,
    StepConfirmed,
    ToolUsed,
)
from libexchange.quantities import Distance, Torque, Volume
from tests.exchange_api.documents.paper import made, record_of, text_of
from tests.exchange_api.documents.test_workshop import rows, sections
from tests.job.plans import Bay, plan_for

TECHNICIAN, FOREMAN, CUSTOMER = "invented technician", "invented foreman", "invented customer"
AT = "2026-03-04 08:01:00 +00:00"


@pytest.fixture
def bay() -> Bay:
    return Bay(plan_for())


def drawn(bay: Bay) -> list[JobEvent]:
    """A sample of the used fluid, split into two that are sealed."""
    bay.add(SampleDrawn, sample_id="used", fluid="used", drawn_from="drain", by=TECHNICIAN)
    bay.add(SampleSplit, sample_id="used", parts=("used-a", "used-b"))
    bay.add(SampleSealed, sample_id="used-a", seal="N-1", kept_for="workshop",
            keep_until=date(2028, 3, 4), place="shelf 4")  # fmt: skip
    bay.add(SampleSealed, sample_id="used-b", seal="N-2", kept_for="customer", place="shelf 5")
    return [one.event for one in bay.events]


def test_a_sample_that_changed_hands_is_where_its_holder_is(bay: Bay) -> None:
    drawn(bay)
    bay.add(SampleHandedOver, sample_id="used-b", to=CUSTOMER, seal_whole=True)
    bay.add(SampleDestroyed, sample_id="used-a", by=FOREMAN, reason="kept long enough")

    told = rows(sections(record_of(bay))["Retained samples"])
    assert [(row[0], row[2], row[4], row[5]) for row in told] == [
        ("used", "not sealed", "not noted", "split into used-a, used-b"),
        ("used-a", "N-1", "4 March 2028", "destroyed"),
        ("used-b", "N-2", "not noted", f"held by {CUSTOMER}"),
    ]


def test_a_hold_counts_until_it_is_lifted_even_after_the_close(bay: Bay) -> None:
    drawn(bay)
    late = Bay(bay.plan, "late-phone", first_id=5000)
    late.add(LegalHold, by=FOREMAN, state="set", reason="a claim")
    held = sections(record_of(bay, late.events))["Retained samples"].lead
    late.add(LegalHold, by=FOREMAN, state="lifted", reason="settled")

    assert held.startswith("A legal hold is set")
    assert sections(record_of(bay, late.events))["Retained samples"].lead == ""


def test_custody_is_told_step_by_step_with_what_came_after_the_close(bay: Bay) -> None:
    drawn(bay)
    late = Bay(bay.plan, "late-phone", first_id=5000)
    late.add(SampleHandedOver, sample_id="used-b", to=CUSTOMER, seal="N-2", seal_whole=False)

    told = rows(sections(record_of(bay, late.events))["Custody of samples"])
    assert len(told) == 5
    assert told[0] == (
        AT,
        "sample drawn",
        TECHNICIAN,
        "sample id used, fluid used, drawn from drain",
    )
    assert told[-1][1:] == (
        "sample handed over", "not noted",
        f"sample id used-b, to {CUSTOMER}, seal N-2, seal whole no",
    )  # fmt: skip


def test_what_was_withdrawn_is_no_evidence(bay: Bay) -> None:
    sample = bay.add(SampleDrawn, sample_id="used", fluid="used", drawn_from="drain")
    late = Bay(bay.plan, "late-phone", first_id=5000)
    finding = late.add(LateFinding, source="customer", text="a call")
    late.add(Correction, corrects=finding.event_id, reason="another vehicle")
    bay.add(Correction, corrects=sample.event_id, reason="another vehicle")

    assert (
        sections(record_of(bay, late.events))
        .keys()
        .isdisjoint({"Retained samples", "Custody of samples", "What came to light afterwards"})
    )


def test_arrival_codes_and_bench_are_told(bay: Bay) -> None:
    bay.add(Arrived, odometer=Distance(84_210, "km"), complaint="late shift", leak="dry",
            acknowledged_by=CUSTOMER, photos=("ab" * 32,))  # fmt: skip
    bay.add(FaultCodesRead, when="before", codes=("P0741", "P0894"), cleared=True)
    bay.add(BenchChecked, bench=BenchChecks(colour="brown", smell="burnt"))
    bay.add(FaultCodesRead, when="after")

    told = rows(sections(record_of(bay))["State on arrival, fault codes and bench checks"])
    assert [row[3] for row in told] == [
        f"odometer 84,210 km, complaint late shift, leak dry, acknowledged by {CUSTOMER}",
        "before the work: P0741, P0894, cleared",
        "bench colour brown, smell burnt",
        "after the work: none stood",
    ]


def test_parts_and_tools_are_told_with_torque_and_calibration(bay: Bay) -> None:
    bay.add(PartFitted, part="pan bolt", count=14, torque=Torque(10, "N.m"), tool="W-7")
    bay.add(PartFitted, part="plug", new=False, by=TECHNICIAN)
    for tool, until in (("W-1", date(2026, 3, 3)), ("W-2", date(2026, 3, 4)), ("W-3", None)):
        bay.add(ToolUsed, tool=tool, sort="torque_wrench", calibrated_until=until)
    bay.add(ToolUsed, tool="M-1", sort="meter", last_fluid_kind="other", purged=Volume(2, "L"))
    told = sections(record_of(bay))

    assert rows(told["Parts fitted"]) == [
        ("pan bolt", "14", "yes", "10.0 N·m", "W-7", "not noted"),
        ("plug", "1", "NO", "", "", TECHNICIAN),
    ]
    assert [row[2:] for row in rows(told["Tools and their calibration"])] == [
        ("3 March 2026 (OVERDUE)", "", ""),
        ("4 March 2026", "", ""),
        ("not known", "", ""),
        ("not known", "other", "2.00 L"),
    ]


def test_who_did_what_is_one_row_for_what_one_person_did_in_one_go(bay: Bay) -> None:
    for step in bay.plan.steps[:2]:
        bay.add(StepConfirmed, step_id=step.step_id, by=TECHNICIAN)
    bay.add(SecondCheck, by=FOREMAN, checked="fluid", result="not_agreed", remark="wrong lot")
    bay.add(ConsentGiven, estimate="E-1", route="drain", declined=("filter",), given_by=CUSTOMER,
            not_to_exceed=Money("99.00", "EUR"), how="phone")  # fmt: skip
    note = bay.add(Paused, next_action="wait", fluid_in="none", held_by=FOREMAN)
    bay.add(Correction, corrects=note.event_id, reason="it went on", by=TECHNICIAN)

    told = rows(sections(record_of(bay))["Who did, checked and decided what"])
    assert [row[1:] for row in told] == [
        (TECHNICIAN, "step confirmed, step-01; step confirmed, step-02", ""),
        (FOREMAN, "checked the fluid: not agreed", "wrong lot"),
        (CUSTOMER, ("agreed to estimate E-1 (phone); route drain; not more than 99.00 EUR; "
         "declined: filter"), ""),
        (TECHNICIAN, f"withdrew {note.event_id}", "it went on"),
        ("invented key", "closed the job", ""),
    ]  # fmt: skip


def test_pauses_are_told(bay: Bay) -> None:
    bay.add(Paused, next_action="set the level", fluid_in="part", held_by=FOREMAN)

    assert rows(sections(record_of(bay))["Pauses and ends"]) == [
        (AT, "paused", "not noted",
         f"next action set the level, fluid in part, held by {FOREMAN}")
    ]  # fmt: skip


def test_a_photo_is_told_by_its_own_words(bay: Bay) -> None:
    bay.add(Arrived, photos=("ab" * 32, "cd" * 32))
    bay.add(PhotoTaken, digest="ab" * 32, size=9, media_type="image/jpeg", taken_at=bay.now,
            shows="odometer", caption="84,210 km")  # fmt: skip

    assert [row[1] for row in rows(sections(record_of(bay))["Photos"])] == [
        f"odometer, taken {AT}: 84,210 km",
        f"arrived, {AT}",
    ]


def test_the_customer_reads_what_was_declined_overridden_and_found(bay: Bay) -> None:
    bay.add(Arrived, complaint="late shift")
    bay.add(FaultCodesRead, when="before", codes=("P0741",))
    bay.add(BenchChecked, bench=BenchChecks(colour="brown"), sample_id="used")
    bay.add(ConsentGiven, estimate="E-1", declined=("filter",), given_by=CUSTOMER, how="phone")
    bay.add(FindingOverridden, code="test-drive-complaint", by=FOREMAN, reason="diagnosis next",
            acknowledged_by=CUSTOMER)  # fmt: skip
    late = Bay(bay.plan, "late-phone", first_id=5000)
    late.add(LateFinding, source="laboratory", text="water 180 ppm")
    text = text_of(made(record_of(bay, late.events), "customer"))

    for words in (
        "By the customer: filter.",
        (f"Test drive complaint, overridden: {FOREMAN}, because diagnosis next. The customer knew: "
        f"{CUSTOMER}."),
        "On arrival, in your words: late shift", "Fault codes before the work: P0741.",
        "The used fluid at the bench: brown.", "Found afterwards: water 180 ppm",
    ):  # fmt: skip
        assert words in text, words
