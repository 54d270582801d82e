"""The record of a closed job: whole, the same for any arrival order, and tied by its digests."""

import hmac
import re
from collections.abc import Callable
from hashlib import sha256
from typing import Any
from uuid import UUID

import msgspec
import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from libexchange.job.events import DeviceEvent, LeakChecked, Note, StepConfirmed
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from libexchange.job.view import Closing, status_of
from libexchange.record import JobRecord, concealed_record, make_record
from tests.job.plans import Bay, plan_for

PLAN = plan_for()
BAY = Bay(PLAN).whole_job()
EVENTS = list(BAY.events)
SALT = bytes(range(32))
PERSONAL = re.compile(
    r"/closing/closed_by|/plan/digest|/plan/request/vehicle/(reference|vin)"
    r"|/acknowledged/[0-9]+/(by|reason)|/(late_)?events/[0-9]+/event/(by|reason|text)"
)
LATE = [DeviceEvent(device_id="late", event=BAY.add(LeakChecked, result="leak"))]


def record_of(events: list[DeviceEvent], late: list[DeviceEvent] | None = None) -> JobRecord:
    judged = verdict(PLAN, fold(PLAN, events))
    closing = Closing(
        verdict=judged.verdict,
        findings=judged.findings,
        closed_at=BAY.now,
        closed_by="invented key",
        workshop="invented workshop",
    )
    return make_record(
        job_id=UUID(int=2), plan=PLAN, device_events=events, late_events=late or [],
        closing=closing, salt=SALT,
    )  # fmt: skip


RECORD = record_of(EVENTS)


def sha256_of(value: Any) -> str:
    return sha256(rfc8785.dumps(value)).hexdigest()


def concealed(value: Any, at: str) -> Any:
    """The concealed form, computed beside our own code: which texts are personal is known here."""
    if isinstance(value, dict):
        return {name: concealed(part, f"{at}/{name}") for name, part in value.items()}
    if isinstance(value, list):
        return [concealed(part, f"{at}/{number}") for number, part in enumerate(value)]
    return commitment(value) if PERSONAL.fullmatch(at) and isinstance(value, str) else value


def commitment(text: str) -> dict[str, str]:
    quoted = rfc8785.dumps(text)
    salt = hmac.digest(SALT, quoted, "sha256")
    return {"commitment": sha256(salt + quoted).hexdigest()}


def plain(record: JobRecord) -> dict[str, Any]:
    """The concealed record, computed beside our own code."""
    members = msgspec.json.decode(msgspec.json.encode(record))
    del members["personal"]
    return concealed(members, "")  # type: ignore[no-any-return]  # an object for an object


def test_a_record_is_read_back_as_it_was_written() -> None:
    assert msgspec.json.decode(msgspec.json.encode(RECORD), type=JobRecord) == RECORD


def test_a_record_carries_the_digest_of_everything_else_in_it() -> None:
    form = plain(RECORD)
    del form["digest"]

    assert RECORD.digest == sha256_of(form)
    assert plain(RECORD) == concealed_record(RECORD).form


def test_each_part_but_the_chains_has_its_digest() -> None:
    form = plain(RECORD)
    apart = ("digest", "parts", "events", "late_events")

    assert RECORD.parts == {name: sha256_of(form[name]) for name in form if name not in apart}


def test_the_chain_starts_at_the_plan_and_ends_at_its_head() -> None:
    record = record_of(EVENTS, LATE)
    before = record.parts["plan"]
    for entries in (record.events, record.late_events):
        for number, entry in enumerate(entries, 1):
            event = concealed(msgspec.to_builtins(entry.event), "/events/0/event")
            content = {"device_id": entry.device_id, "event": event}
            assert (entry.number, entry.previous) == (number, before)
            assert entry.content_digest == sha256_of(content)
            before = sha256(f"{number}\n{before}\n{entry.content_digest}".encode()).hexdigest()
            assert entry.digest == before

    assert record.chain_head == record.events[-1].digest
    assert record.late_chain_head == before
    assert (record.event_count, record.late_event_count) == (len(EVENTS), len(LATE))


@given(st.permutations(EVENTS))
def test_any_arrival_order_gives_one_record(order: list[DeviceEvent]) -> None:
    assert record_of(order) == RECORD


def changed(events: list[DeviceEvent]) -> list[DeviceEvent]:
    first = events[0]
    return [replace(first, device_id="other"), *events[1:]]


@pytest.mark.parametrize(
    "tamper",
    [changed, lambda events: events[1:], lambda events: [*events, *LATE]],
    ids=["changed", "removed", "added"],
)
def test_a_history_that_was_tampered_with_has_another_head(
    tamper: Callable[[list[DeviceEvent]], list[DeviceEvent]],
) -> None:
    assert record_of(tamper(EVENTS)).chain_head != RECORD.chain_head


def test_late_events_stand_apart_and_leave_chain_and_verdict_as_they_were() -> None:
    late = record_of(EVENTS, LATE)

    assert [one.event for one in late.late_events] == [one.event for one in LATE]
    assert (late.chain_head, late.closing) == (RECORD.chain_head, RECORD.closing)
    assert [finding.code for finding in late.findings] == ["event-after-close"]
    assert late.digest != RECORD.digest


def test_a_record_says_what_was_not_done_and_which_cautions_were_given() -> None:
    part = [one for one in EVENTS if not isinstance(one.event, StepConfirmed | LeakChecked)]

    record = record_of(part)
    proved = {"set_level", "test_drive"}
    assert {one.step_id for one in record.not_done} == {
        step.step_id for step in PLAN.steps if step.kind not in proved
    }
    given = {one.code: one.step_ids for one in record.cautions_given}
    assert set(given) == {c.code for step in PLAN.steps for c in step.cautions}
    assert given["hot-fluid"] == tuple(
        step.step_id for step in PLAN.steps if "hot-fluid" in {c.code for c in step.cautions}
    )


def test_a_whole_job_says_that_its_share_is_calculated() -> None:
    assert RECORD.not_done == ()
    assert RECORD.fresh_share is not None
    assert "not measured" in RECORD.fresh_share.basis


def test_a_chain_of_nothing_ends_where_it_starts() -> None:
    record = record_of([])

    assert (record.events, record.event_count, record.late_event_count) == ((), 0, 0)
    assert record.chain_head == record.late_chain_head == record.parts["plan"]


def test_closing_stands_above_the_progress_of_the_bay() -> None:
    state = fold(PLAN, [DeviceEvent(device_id="a", event=Bay(PLAN).add(Note, text="invented"))])

    assert status_of(state, None) == "planned"
    assert status_of(state, RECORD.closing) == "closed"
