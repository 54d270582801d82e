"""When a post gives reason to look at a job."""

from uuid import UUID

import httpx
import pytest

from exchange_api.webhook_attention import attention_reasons
from libexchange.job.events import (
    Aborted,
    DeviceEvent,
    FluidMoved,
    LeakChecked,
    Note,
    Paused,
    Resumed,
    WorkFinished,
)
from tests.exchange_api.bay_desk import close, event, items, outcomes, plan_of, send, started
from tests.exchange_api.webhooks.receiver import Receiver
from tests.job.plans import Bay, plan_for

PLAN = plan_for()


def ids(events: list[DeviceEvent]) -> frozenset[UUID]:
    return frozenset(one.event.event_id for one in events)


def reasons(before: list[DeviceEvent], new: list[DeviceEvent]) -> list[str]:
    return attention_reasons(PLAN, on_time=[*before, *new], late=[], new=ids(new))


def whole() -> list[DeviceEvent]:
    return Bay(PLAN).whole_job().events


def test_ordinary_work_gives_none() -> None:
    events = whole()

    assert reasons([], events) == []
    for number in range(len(events)):  # posted one by one
        assert reasons(events[:number], events[number : number + 1]) == []


def test_litres_that_differ_are_told_when_the_work_is_finished() -> None:
    events = whole()
    lines = Bay(PLAN).step("line_exchange")
    moved = [n for n, one in enumerate(events) if isinstance(one.event, FluidMoved)]
    last_in = max(n for n in moved if events[n].event.step_id == lines)
    short = [one for n, one in enumerate(events) if n != last_in]
    *before, finish = short
    assert isinstance(finish.event, WorkFinished)

    assert reasons([], before) == ["balance-not-closed"]  # the level was set with them missing
    assert reasons(before, [finish]) == ["line-litres-differ"]


def test_a_stop_is_told_when_it_comes_and_not_again() -> None:
    bay = Bay(PLAN)
    bay.add(LeakChecked, result="leak")
    leak = list(bay.events)
    bay.add(Note, text="an invented note")

    assert reasons([], leak) == ["leak-found"]
    assert reasons(leak, bay.events[len(leak) :]) == []


def test_a_pause_and_an_abort_are_told_by_themselves() -> None:
    bay = Bay(PLAN)
    bay.add(Paused, next_action="pan off", fluid_in="all", held_by="invented foreman")
    bay.add(Resumed, by="invented hand")
    bay.add(Aborted, by="invented foreman", reason="a stop")
    paused, resumed, aborted = ([one] for one in bay.events)

    assert reasons([], paused) == ["paused"]
    assert reasons(paused, resumed) == []
    assert "aborted" in reasons([*paused, *resumed], aborted)


def test_a_late_event_is_told_while_nothing_has_dealt_with_it() -> None:
    bay = Bay(PLAN)
    bay.add(Note, text="an invented note")
    late = list(bay.events)

    assert attention_reasons(PLAN, on_time=[], late=late, new=ids(late)) == ["late-event-open"]
    assert attention_reasons(PLAN, on_time=[], late=late, new=frozenset()) == []


@pytest.fixture
def told(client: httpx.Client, office: Receiver) -> Receiver:
    """A receiver that is told of jobs that need attention."""
    body = {"url": office.url, "events": ["job.needs_attention"]}
    assert client.post("/v1/webhook-endpoints", json=body).status_code == 201
    return office


def test_a_leak_and_a_late_event_are_told(client: httpx.Client, told: Receiver) -> None:
    path, _ = started(client)
    job = client.get(path).json()
    leak = event("leak_checked", result="leak")
    for _ in range(2):  # the second post only repeats
        send(client, path, [event("note", 1, text="an invented note"), leak])
    assert close(client, path).status_code == 200
    assert outcomes(send(client, path, [event("note", 2, text="too late")])) == ["stored_late"]
    first, second = sorted(told.wait_for(2), key=lambda one: int(one.json["sequence"]))

    named = {"job_id": job["job_id"], "plan_id": job["plan_id"]}
    assert first.json["data"] == named | {"reasons": ["leak-found"]}
    assert second.json["data"] == named | {"reasons": ["late-event-open"]}
    assert b"invented note" not in first.body


def test_a_whole_job_needs_none(client: httpx.Client, told: Receiver) -> None:
    path, bay = started(client, plan_of(client))
    assert set(outcomes(send(client, path, items(bay.whole_job().events)))) == {"stored"}
    endpoint = client.get("/v1/webhook-endpoints").json()["items"][0]["endpoint_id"]

    assert client.get(f"/v1/webhook-endpoints/{endpoint}/deliveries").json()["items"] == []
    assert told.received == []
