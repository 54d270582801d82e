"""Opening a closed job again: an act of the office, with its reason, that loses nothing."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any
from uuid import uuid4

import httpx
import pytest

from tests.exchange_api.bay_desk import (
    close,
    event,
    items,
    json_of,
    outcomes,
    problem,
    send,
    started,
    worked,
)
from tests.exchange_api.running import Running

WHY = {"by": "Invented Foreman", "reason": "the leak was found after all"}


def reopen(client: httpx.Client, path: str, **body: Any) -> httpx.Response:
    """Open a job as it stands."""
    tag = client.get(path).headers["etag"]
    return client.post(f"{path}/reopen", json=WHY | body, headers={"If-Match": tag})


def test_a_reopened_job_is_open_and_keeps_its_closing(client: httpx.Client) -> None:
    path, _ = worked(client)
    closed = close(client, path).json()
    assert len(closed.pop("record_digest")) == 64
    answered = reopen(client, path)
    shown = answered.json()
    (earlier,) = shown["earlier_closings"]

    assert (answered.status_code, shown["status"], shown["closing"]) == (200, "finished", None)
    assert client.get(path).json() == shown
    assert client.get(path).headers["etag"] == answered.headers["etag"]
    assert earlier["closing"] == closed
    assert (earlier["by"], earlier["reason"]) == (WHY["by"], WHY["reason"])
    assert earlier["reopened_at"] > closed["closed_at"]
    assert [job["state"] for job in client.get("/v1/jobs").json()["items"]] == ["finished"]


def test_what_came_late_counts_after_reopening(client: httpx.Client) -> None:
    path, bay = worked(client)
    assert close(client, path).json()["verdict"] == "accepted"
    leak = event("leak_checked", 900, result="leak", occurred_at=bay.now.isoformat())
    assert outcomes(send(client, path, [leak])) == ["stored_late"]
    state = reopen(client, path).json()["state"]

    assert (state["leak_check"], state["open_late_events"]) == ("leak", [])
    assert "event-after-close" not in {found["code"] for found in state["findings"]}
    assert not any(one["late"] for one in client.get(f"{path}/events").json()["items"])
    assert outcomes(send(client, path, [leak])) == ["already_stored"]
    assert close(client, path).json()["verdict"] == "not_accepted"


def test_a_job_is_worked_on_after_reopening(client: httpx.Client) -> None:
    path, bay = worked(client)
    close(client, path)
    reopen(client, path)
    more = event("note", 901, text="done again", occurred_at=bay.now.isoformat())

    assert outcomes(send(client, path, [more])) == ["stored"]
    assert client.get(f"{path}/guidance").json()["next_step"] == json_of(None)


def test_closings_are_told_in_their_order(client: httpx.Client) -> None:
    path, _ = worked(client)
    closings = []
    for reason in ("first", "second"):
        closings.append(close(client, path).json())
        reopen(client, path, reason=reason)
    last = close(client, path).json()
    shown = client.get(path).json()
    digests = [one.pop("record_digest") for one in (*closings, last)]

    assert len(set(digests)) == 3
    assert shown["record_digest"] == digests[-1]
    assert shown["closing"] == last
    assert [one["closing"] for one in shown["earlier_closings"]] == closings
    assert [one["reason"] for one in shown["earlier_closings"]] == ["first", "second"]


def test_an_open_job_is_not_reopened(client: httpx.Client) -> None:
    path, _ = worked(client)
    before = client.get(path)
    refused = reopen(client, path)

    assert problem(refused) == (409, "conflict", {"job_id"})
    assert client.get(path).content == before.content


def test_a_reopened_job_has_no_record_until_it_is_closed(client: httpx.Client) -> None:
    path, _ = worked(client)
    close(client, path)
    reopen(client, path)

    assert problem(client.get(f"{path}/record"))[:2] == (409, "conflict")
    close(client, path)
    assert client.get(f"{path}/record").status_code == 200


def test_a_reopening_says_which_state_it_has_seen(client: httpx.Client) -> None:
    path, _ = worked(client)
    seen = client.get(path).headers["etag"]
    close(client, path)

    assert problem(client.post(f"{path}/reopen", json=WHY)) == (
        428, "precondition-required", {"If-Match"})  # fmt: skip
    stale = client.post(f"{path}/reopen", json=WHY, headers={"If-Match": seen})
    assert problem(stale) == (412, "stale", {"If-Match"})
    assert client.get(path).json()["status"] == "closed"


@pytest.mark.parametrize(
    ("body", "place"),
    [({"reason": "x"}, "#/by"), ({"by": "x"}, "#/reason"), ({"by": "", "reason": "x"}, "#/by"),
     ({"by": "x", "reason": ""}, "#/reason"),
     ({"by": "x", "reason": " "}, "#/reason"), (WHY | {"colour": "red"}, "#/colour"),
     (WHY | {"by": "a\nb"}, "#/by")],
)  # fmt: skip
def test_a_reopening_needs_a_name_and_a_reason(
    client: httpx.Client, body: dict[str, str], place: str
) -> None:
    path, _ = started(client)
    close(client, path)
    refused = client.post(f"{path}/reopen", json=body, headers={"If-Match": "*"})

    assert problem(refused) == (422, "invalid-body", {place})
    assert client.get(path).json()["status"] == "closed"


def test_of_many_reopenings_at_once_one_wins(client: httpx.Client) -> None:
    path, _ = worked(client)
    tag = {"If-Match": close(client, path).headers["etag"]}
    with ThreadPoolExecutor(8) as callers:
        answers = list(
            callers.map(lambda _: client.post(f"{path}/reopen", json=WHY, headers=tag), range(8))
        )

    assert sorted(one.status_code for one in answers) == [200] + [412] * 7
    assert len(client.get(path).json()["earlier_closings"]) == 1


def test_events_that_come_while_it_is_reopened_count_once_and_are_not_late(
    client: httpx.Client,
) -> None:
    path, bay = worked(client)
    close(client, path)
    notes = [event("note", 900 + n, text="x", occurred_at=bay.now.isoformat()) for n in range(8)]
    with ThreadPoolExecutor(9) as callers:
        posts = [callers.submit(send, client, path, [note]) for note in notes]
        opened = client.post(f"{path}/reopen", json=WHY, headers={"If-Match": "*"})
        told = [outcomes(one.result()) for one in posts]

    assert opened.status_code == 200
    assert {one for each in told for one in each} <= {"stored", "stored_late"}
    kept = client.get(f"{path}/events").json()["items"]
    assert len(kept) == len(items(bay.events)) + 8
    assert not any(one["late"] for one in kept)


def test_reopening_needs_its_scope(app: Running) -> None:
    workshop = f"Workshop {uuid4()}"
    with app.client_of(workshop) as client, app.client_of(workshop, scopes="jobs:read") as reader:
        path, _ = worked(client)
        close(client, path)

        assert problem(reopen(reader, path))[:2] == (403, "forbidden")
        assert client.get(path).json()["status"] == "closed"
