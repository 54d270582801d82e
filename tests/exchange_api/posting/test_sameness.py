"""The same event is the same for ever, whatever fields came in since; an id belongs to one job."""

import json
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import httpx
import pytest
from sqlalchemy import bindparam, update

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOB_EVENTS
from libexchange.canonical import digest
from tests.exchange_api.bay_desk import (
    DEVICE,
    close,
    event,
    items,
    outcomes,
    send,
    started,
    worked,
)
from tests.exchange_api.running import Running

_OLD = Statement(
    update(JOB_EVENTS)
    .where(JOB_EVENTS.c.event_id == bindparam("of"))
    .values(sha256="0" * 64, document=bindparam("was"))
)


def keep_as_before(app: Running, one: dict[str, Any]) -> None:
    """Let an event lie there as a version wrote it that had other fields and so other digests."""
    was = json.dumps({"event": one | {"step_id": None}, "device_id": DEVICE}).encode()
    app.write(lambda connection: connection.execute(_OLD, {"of": one["event_id"], "was": was}))


def test_what_was_kept_before_a_field_came_in_is_the_same(
    app: Running, client: httpx.Client
) -> None:
    path, _ = started(client)
    one = event("note", text="looked at")
    send(client, path, [one])
    keep_as_before(app, one)
    before = client.get(path).headers["etag"]

    assert outcomes(send(client, path, [one])) == ["already_stored"]
    assert client.get(path).headers["etag"] == before


@pytest.mark.parametrize(
    "change",
    [{"text": "not looked at"}, {"step_id": "step-01"}, {"sequence": 1},
     {"occurred_at": "2026-03-04T08:00:00.001Z"}],
)  # fmt: skip
def test_case_83_what_was_kept_before_is_still_not_another_event(
    app: Running, client: httpx.Client, change: dict[str, Any]
) -> None:
    path, _ = started(client)
    one = event("note", text="looked at")
    send(client, path, [one])
    keep_as_before(app, one)

    assert outcomes(send(client, path, [one | change])) == ["conflict"]


def test_the_same_event_from_a_phone_with_a_new_name_is_the_same(client: httpx.Client) -> None:
    path, _ = started(client)
    moved = {"direction": "in", "volume": {"value": 2, "unit": "L"}}
    events = [event("started", 0), event("fluid_moved", 1, **moved)]
    send(client, path, events)
    before = client.get(path)
    answered = send(client, path, events, device_id="other-phone")

    assert outcomes(answered) == ["already_stored"] * 2
    assert answered.json()["gaps"] == []
    assert client.get(path).json() == before.json()
    assert client.get(path).headers["etag"] == before.headers["etag"]
    changed = [events[0], events[1] | {"direction": "out"}]
    assert outcomes(send(client, path, changed, device_id="other-phone")) == [
        "already_stored", "conflict"]  # fmt: skip


_SUM = Statement(
    update(JOB_EVENTS)
    .where(JOB_EVENTS.c.event_id == bindparam("of"))
    .values(sha256=bindparam("was"))
)


@pytest.mark.parametrize("device_id", [DEVICE, "other-phone"])
def test_what_was_kept_with_the_device_in_its_digest_is_the_same(
    app: Running, client: httpx.Client, device_id: str
) -> None:
    path, _ = started(client)
    one = event("note", text="looked at")
    send(client, path, [one])
    was = digest({"device_id": DEVICE, "event": one})
    app.write(lambda connection: connection.execute(_SUM, {"of": one["event_id"], "was": was}))

    assert outcomes(send(client, path, [one], device_id=device_id)) == ["already_stored"]
    changed = one | {"text": "not looked at"}
    assert outcomes(send(client, path, [changed], device_id=device_id)) == ["conflict"]


def test_of_what_was_erased_another_device_may_send_the_same(client: httpx.Client) -> None:
    path, bay = worked(client)
    one = event("note", 900, text="looked at")
    send(client, path, [one])
    assert close(client, path).status_code == 200
    tag = {"If-Match": client.get(path).headers["etag"]}
    erased = client.post(f"{path}/erase-personal-data", json={"reason": "asked"}, headers=tag)
    assert erased.status_code == 200, erased.text

    again = send(client, path, [one, *items(bay.events)], device_id="other-phone")
    assert set(outcomes(again)) == {"already_stored"}
    changed = one | {"step_id": "step-01"}
    assert outcomes(send(client, path, [changed], device_id="other-phone")) == ["conflict"]


@pytest.mark.parametrize("count", [1, 49, 50, 51, 100, 119])
def test_a_post_of_any_size_is_kept_once_with_its_doubles(client: httpx.Client, count: int) -> None:
    path, _ = started(client)
    events = [event("note", n, text=str(n)) for n in range(count)]
    doubled = [*events, *events[::7], events[-1] | {"text": "another"}]
    told = outcomes(send(client, path, doubled))

    assert told[:count] == ["stored"] * count
    assert set(told[count:-1]) == {"already_stored"}
    assert told[-1] == "conflict"
    kept = client.get(f"{path}/events").json()["items"]
    assert sorted(one["event"]["event"]["sequence"] for one in kept) == [*range(count)]
    assert set(outcomes(send(client, path, events))) == {"already_stored"}


def test_of_many_events_that_two_post_at_once_each_is_kept_once(client: httpx.Client) -> None:
    path, _ = started(client)
    events = [event("note", n, text=str(n)) for n in range(130)]
    with ThreadPoolExecutor(4) as callers:
        answers = list(callers.map(lambda n: outcomes(send(client, path, events[n:])), range(4)))

    assert sum(told.count("stored") for told in answers) == 130
    assert {one for told in answers for one in told} <= {"stored", "already_stored"}
    assert len(client.get(f"{path}/events").json()["items"]) == 130


def test_of_many_events_those_of_another_job_are_refused_alone(client: httpx.Client) -> None:
    path, bay = started(client)
    other, _ = started(client, bay.plan)
    events = [event("note", n, text=str(n)) for n in range(60)]
    send(client, other, events[::3])

    assert outcomes(send(client, path, events)) == ["refused", "stored", "stored"] * 20


def test_an_event_of_another_job_is_refused_alone(client: httpx.Client) -> None:
    path, bay = started(client)
    other, _ = started(client, bay.plan)
    one, two = event("note", text="looked at"), event("note", 1, text="closed")
    send(client, other, [one])
    answered = send(client, path, [one, two])
    (error,) = answered.json()["items"][0]["errors"]

    assert outcomes(answered) == ["refused", "stored"]
    assert (error["pointer"], error["code"]) == ("#/events/0/event_id", "of-another-job")
    assert "belongs to another job" in error["detail"]
    assert outcomes(send(client, other, [one])) == ["already_stored"]
    assert len(client.get(f"{path}/events").json()["items"]) == 1


def test_ids_of_another_workshop_are_simply_ours(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    one = event("note", text="looked at")
    for each in (client, other_client):
        path, _ = started(each)
        assert outcomes(send(each, path, [one])) == ["stored"]


def test_of_two_jobs_that_post_one_id_at_once_one_has_it(client: httpx.Client) -> None:
    path, bay = started(client)
    paths = [path] + [started(client, bay.plan)[0] for _ in range(7)]
    one = event("note", text="looked at")
    with ThreadPoolExecutor(8) as callers:
        answers = list(callers.map(lambda at: outcomes(send(client, at, [one])), paths))

    assert sorted(answers) == [["refused"]] * 7 + [["stored"]]


def test_what_names_another_job_or_an_unknown_version_is_refused_alone(
    client: httpx.Client,
) -> None:
    path, bay = started(client)
    other, _ = started(client, bay.plan)
    named = event("note", 0, text="a", job_id=other.rpartition("/")[2])
    answered = send(
        client, path, [named, event("note", 1, text="b", version=2), event("note", 2, text="c")]
    )

    assert outcomes(answered) == ["refused", "refused", "stored"]
    told = [item["errors"][0]["pointer"] for item in answered.json()["items"][:2]]
    assert told == ["#/events/0/job_id", "#/events/1/version"]
