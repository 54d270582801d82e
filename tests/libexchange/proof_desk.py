"""An invented job that was closed, recorded and signed, and ways to tamper with it."""

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable
from typing import Any
from uuid import UUID

import msgspec

from libexchange.canonical import canonical_json
from libexchange.job.events import DeviceEvent, LeakChecked, Note
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from libexchange.job.view import Closing
from libexchange.plan.records import Plan
from libexchange.plan.request import Vehicle
from libexchange.record import JobRecord, make_record
from libexchange.sealing import parts_of, record_digest, ties
from libexchange.signature import public_jwk, signed
from libexchange.signed_record import sign_record
from libexchange.verification import Verification, verify_record
from tests.job.plans import Bay, plan_for

SALT = bytes(range(32))
SEED = bytes(range(100, 132))
OTHER_SEED = bytes(range(200, 232))
VIN = "1M8GDM9A1KP042788"  # whose check digit differs, so that a finding is about it
REFERENCE = "invented reference 7"
FOREMAN = "invented foreman"
REASON = "looked at on the lift"
REMARK = "the invented customer said so"

ENVELOPE = ["signature-differs", "record-digest-differs"]

Form = dict[str, Any]


def key_set(*seeds: bytes) -> bytes:
    return canonical_json({"keys": [public_jwk(seed) for seed in seeds]})


def record_for(
    plan: Plan, events: list[DeviceEvent], late: list[DeviceEvent], by: str = "invented key"
) -> JobRecord:
    judged = verdict(plan, fold(plan, events))
    at = max((one.event.occurred_at for one in events), default=plan.created_at)
    closing = Closing(verdict=judged.verdict, findings=judged.findings, closed_at=at,
                      closed_by=by, workshop="invented workshop")  # fmt: skip
    return make_record(job_id=UUID(int=2), plan=plan, device_events=events, late_events=late,
                       closing=closing, salt=SALT)  # fmt: skip


def _record() -> JobRecord:
    plan = plan_for(vehicle=Vehicle(reference=REFERENCE, vin=VIN, model_year=2018))
    bay = Bay(plan).whole_job()
    bay.add(Note, text=REMARK)
    events = list(bay.events)
    late = Bay(plan, "late", first_id=7000)
    late.now = bay.now
    late.add(LeakChecked, result="dry")
    late.add(Note, text=REMARK)
    return record_for(plan, events, late.events)


RECORD = _record()
KEYS = key_set(SEED)
SIGNED = sign_record(RECORD, private_key=SEED)
PLAIN = msgspec.json.encode(RECORD)


def b64(data: bytes) -> str:
    return urlsafe_b64encode(data).rstrip(b"=").decode()


def unb64(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


def payload(document: bytes = SIGNED) -> Form:
    """The concealed record in a signed one."""
    return json.loads(unb64(json.loads(document)["payload"]))  # type: ignore[no-any-return]  # an object


def with_payload(form: Form, *, seed: bytes | None = None, **members: Any) -> bytes:
    """The signed record around another payload; with a seed it is signed again."""
    document = json.loads(SIGNED) | {"payload": b64(canonical_json(form))} | members
    if seed is not None:
        message = f"{document['protected']}.{document['payload']}".encode()
        document["signature"] = b64(signed(message, private_key=seed))
    return canonical_json(document)


def tampered(change: Callable[[Form], None]) -> Verification:
    """What is found after somebody changed the payload and knew no more than that."""
    form = payload()
    change(form)
    return verify_record(with_payload(form), keys=KEYS)


def retied(form: Form) -> Form:
    """The record with all its digests made anew, as one would who knows how but has no key."""
    start = parts_of(form)["plan"]
    for part, head in (("events", "chain_head"), ("late_events", "late_chain_head")):
        tied = ties(start, form[part])
        for entry, tie in zip(form[part], tied, strict=True):
            entry.update(msgspec.to_builtins(tie))
        form[head] = start = tied[-1].digest if tied else start
    form["parts"] = parts_of(form)
    form["digest"] = record_digest(form)
    return form


def named(found: Verification, part: str = "") -> list[tuple[str, str]]:
    """Code and place of each fault, or of those in one part."""
    told = [(one.code, one.pointer) for one in found.faults]
    return [one for one in told if one[1].startswith(part)]


def events_told(change: Callable[[Form], None]) -> list[tuple[str, str]]:
    """What is told of the events, and that signature and digest of the record differ as well."""
    found = tampered(change)
    assert [one.code for one in found.faults[:2]] == ENVELOPE
    assert (found.authentic, found.whole) == (False, False)
    return named(found)[2:]
