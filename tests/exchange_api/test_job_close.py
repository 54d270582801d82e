"""Closing a job: once, as it was seen, with a verdict that nothing later changes."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any
from uuid import uuid4

import httpx
import pytest

from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
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


def told(shown: dict[str, Any]) -> dict[str, Any]:
    """What a close told of a job that is shown as closed."""
    return shown["closing"] | {"record_digest": shown["record_digest"]}  # type: ignore[no-any-return]  # JSON


def test_a_whole_job_is_accepted(client: httpx.Client) -> None:
    path, bay = worked(client)
    closed = close(client, path)
    judged = verdict(bay.plan, fold(bay.plan, bay.events))

    assert (closed.status_code, closed.json()["verdict"]) == (200, "accepted")
    assert closed.json()["findings"] == json_of(judged.findings)
    assert client.get(path).json()["status"] == "closed"
    assert client.get(path).headers["etag"] == closed.headers["etag"]


def test_a_job_that_nothing_is_known_of_is_incomplete(client: httpx.Client) -> None:
    path, _ = started(client)
    closed = close(client, path).json()

    assert closed["verdict"] == "incomplete"
    assert {"level-not-set", "leak-not-checked", "work-not-finished"} <= {
        finding["code"] for finding in closed["findings"]
    }


def test_a_leak_is_not_accepted(client: httpx.Client) -> None:
    path, bay = worked(client)
    leak = event("leak_checked", 900, result="leak", occurred_at=bay.now.isoformat())
    send(client, path, [leak])

    assert close(client, path).json()["verdict"] == "not_accepted"


def test_a_close_says_which_state_it_judges(client: httpx.Client) -> None:
    path, _ = worked(client)
    answered = client.post(f"{path}/close")

    assert problem(answered) == (428, "precondition-required", {"If-Match"})
    assert client.get(path).json()["status"] == "finished"


@pytest.mark.parametrize("tag", ['"other"', "W/", "", "none"])
def test_a_close_of_a_state_that_is_gone_is_refused(client: httpx.Client, tag: str) -> None:
    path, bay = started(client)
    seen = client.get(path).headers["etag"]
    send(client, path, items(bay.whole_job().events))
    given = f"W/{client.get(path).headers['etag']}" if tag == "W/" else tag or seen
    answered = client.post(f"{path}/close", headers={"If-Match": given})

    assert problem(answered) == (412, "stale", {"If-Match"})
    assert client.get(path).json()["closing"] is None


def test_of_two_closes_at_once_one_wins(client: httpx.Client) -> None:
    path, _ = worked(client)
    tag = client.get(path).headers["etag"]
    with ThreadPoolExecutor(8) as callers:
        answers = list(
            callers.map(lambda _: client.post(f"{path}/close", headers={"If-Match": tag}), range(8))
        )

    assert sorted(answered.status_code for answered in answers) == [200] + [412] * 7
    won = next(answered for answered in answers if answered.status_code == 200)
    assert told(client.get(path).json()) == won.json()


def test_a_closed_job_is_not_closed_again(client: httpx.Client) -> None:
    path, _ = worked(client)
    closed = close(client, path)
    again = close(client, path)

    assert problem(again) == (409, "conflict", {"job_id"})
    assert told(client.get(path).json()) == closed.json()


def test_late_events_change_no_verdict_and_add_a_finding(client: httpx.Client) -> None:
    path, bay = worked(client)
    closed = close(client, path)
    late = event("leak_checked", 900, result="leak", occurred_at=bay.now.isoformat())
    assert outcomes(send(client, path, [late])) == ["stored_late"]
    after = client.get(path)

    assert told(after.json()) == closed.json()
    assert after.json()["status"] == "closed"
    assert after.json()["state"]["open_late_events"] == [late["event_id"]]
    assert after.json()["state"]["leak_check"] == "dry"
    assert "event-after-close" in {f["code"] for f in after.json()["state"]["findings"]}
    assert after.headers["etag"] != closed.headers["etag"]


def test_a_late_correction_deals_with_a_late_event(client: httpx.Client) -> None:
    path, bay = worked(client)
    close(client, path)
    now = bay.now.isoformat()
    late = event("leak_checked", 900, result="leak", occurred_at=now)
    mended = event(
        "correction", 901, corrects=late["event_id"], reason="other vehicle", occurred_at=now
    )
    send(client, path, [late, mended])

    state = client.get(path).json()["state"]
    assert state["open_late_events"] == []
    assert "event-after-close" not in {finding["code"] for finding in state["findings"]}


def test_a_close_names_who_closed_and_where(app: Running) -> None:
    workshop = f"Workshop {uuid4()}"
    with app.client_of(workshop) as client:
        path, _ = worked(client)
        closing = close(client, path).json()
        me = client.get("/v1/me").json()

    assert (closing["workshop"], closing["closed_by"]) == (workshop, me["key_id"])


def test_closing_needs_its_scope(app: Running) -> None:
    workshop = f"Workshop {uuid4()}"
    with app.client_of(workshop) as client, app.client_of(workshop, scopes="jobs:read") as reader:
        path, _ = worked(client)
        refused = close(reader, path)

        assert problem(refused)[:2] == (403, "forbidden")
        assert client.get(path).json()["closing"] is None
