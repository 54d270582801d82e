"""Evidence and custody in the record: kept whole, concealed, and the same after erasure."""

from uuid import UUID

import msgspec

from libexchange.job.events import (
    Arrived,
    ConsentGiven,
    LegalHold,
    PartFitted,
    SampleDestroyed,
    SampleDrawn,
    SampleHandedOver,
    SampleSealed,
    SecondCheck,
)
from libexchange.job.fold import fold
from libexchange.job.view import Closing
from libexchange.record import JobRecord, concealed_record, erased_record, make_record
from tests.job.plans import Bay, plan_for

PLAN = plan_for()
SECRETS = [f"secret {letter}" for letter in "abcdefghijkl"]
PERSONAL = {
    "/arrival/complaint", "/arrival/modifications", "/arrival/acknowledged_by",
    "/consents/0/given_by", "/second_checks/0/by", "/second_checks/0/remark",
    "/parts_fitted/0/by", "/samples/0/drawn_by", "/samples/0/sealed_by",
    "/samples/0/holder", "/samples/0/hand_overs/0/to", "/samples/0/destroyed_by",
    "/samples/0/destroyed_reason", "/legal_hold/by", "/legal_hold/reason",
}  # fmt: skip


def record() -> JobRecord:
    a, b, c, d, e, f, g, h, i, j, k, m = SECRETS
    bay = Bay(PLAN).whole_job()
    bay.add(Arrived, complaint=a, modifications=b, acknowledged_by=c)
    bay.add(ConsentGiven, estimate="1", given_by=c, how="signature")
    bay.add(SecondCheck, by=d, checked="level", result="agreed", remark=e)
    bay.add(PartFitted, part="filter", by=f)
    bay.add(SampleDrawn, sample_id="bottle-1", fluid="used", drawn_from="drain", by=f)
    bay.add(SampleSealed, sample_id="bottle-1", seal="s 1", kept_for="customer", by=g)
    on_time = len(bay.events)
    bay.add(LegalHold, state="set", by=h, reason=i)
    bay.add(SampleHandedOver, sample_id="bottle-1", to=j, seal_whole=True)
    bay.add(SampleDestroyed, sample_id="bottle-1", by=k, reason=m)
    closing = Closing(
        verdict="accepted", findings=(), closed_at=bay.now, closed_by="x", workshop="invented"
    )
    return make_record(
        job_id=UUID(int=2), plan=PLAN, device_events=bay.events[:on_time],
        late_events=bay.events[on_time:], closing=closing, salt=bytes(32),
    )  # fmt: skip


RECORD = record()


def test_a_record_holds_evidence_and_custody_as_the_state_has_them() -> None:
    (sample,) = RECORD.samples
    on_time, late = RECORD.events, RECORD.late_events
    state = fold(PLAN, on_time, late)  # type: ignore[arg-type]  # both hold device and event

    assert (sample.standing, sample.holder) == ("destroyed", SECRETS[9])
    assert RECORD.legal_hold is not None
    assert RECORD.legal_hold.state == "set"
    for name in ("arrival", "consents", "second_checks", "parts_fitted", "samples", "legal_hold"):
        assert getattr(RECORD, name) == getattr(state, name)


def test_every_personal_text_of_evidence_is_concealed() -> None:
    places = {pointer for one in RECORD.personal for pointer in one.pointers}

    assert places >= PERSONAL
    assert "secret" not in str(concealed_record(RECORD).form)


def test_an_erased_record_has_the_same_concealed_form() -> None:
    erased = erased_record(RECORD)

    assert "secret" not in msgspec.json.encode(erased).decode()
    assert concealed_record(erased).form == concealed_record(RECORD).form
