"""The record of a closed job: whole, the same for any arrival order, and tied by its digests."""

from collections.abc import Callable
from hashlib import sha256
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
from libexchange.record import ChainedEvent, JobRecord, chained, make_record
from tests.job.plans import Bay, plan_for

PLAN = plan_for()
BAY = Bay(PLAN).whole_job()
EVENTS = list(BAY.events)
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
        job_id=UUID(int=2), plan=PLAN, device_events=events, late_events=late or [], closing=closing
    )


RECORD = record_of(EVENTS)


def plain_digest(record: JobRecord) -> str:
    """The digest, computed beside our own code."""
    plain = msgspec.to_builtins(record)
    del plain["digest"]
    return sha256(rfc8785.dumps(plain)).hexdigest()


def test_a_record_is_read_back_as_it_was_written() -> None:
    assert msgspec.json.decode(msgspec.json.encode(RECORD), type=JobRecord) == RECORD


def test_a_record_carries_the_digest_of_everything_else_in_it() -> None:
    assert RECORD.digest == plain_digest(RECORD)


def test_the_chain_starts_at_the_plan_and_ends_at_its_head() -> None:
    before = PLAN.digest
    for entry in RECORD.events:
        plain = msgspec.to_builtins(DeviceEvent(device_id=entry.device_id, event=entry.event))
        before = sha256(before.encode() + rfc8785.dumps(plain)).hexdigest()
        assert entry.digest == before

    assert RECORD.chain_head == before


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

    assert late.late_events == tuple(LATE)
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


def test_a_chain_of_nothing_is_empty_and_each_link_depends_on_the_one_before() -> None:
    one, two = EVENTS[:2]

    assert chained(PLAN.digest, []) == ()
    assert isinstance(chained(PLAN.digest, [one])[0], ChainedEvent)
    assert chained(PLAN.digest, [one, two])[1] != chained("", [one, two])[1]


def test_closing_stands_above_the_progress_of_the_bay() -> None:
    state = fold(PLAN, [DeviceEvent(device_id="a", event=Bay(PLAN).add(Note, text="invented"))])

    assert status_of(state, None) == "planned"
    assert status_of(state, RECORD.closing) == "closed"
