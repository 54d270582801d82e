"""While a legal hold stands, nothing is erased; whoever set it, phone or office."""

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx

from tests.exchange_api.bay_desk import close, event, outcomes, problem, send, started
from tests.exchange_api.proof.test_erasure import WHY, erase, told_job

OFFICE: dict[str, Any] = {"by": "Invented Office", "reason": "an invented claim"}


def hold(client: httpx.Client, path: str, **members: str) -> httpx.Response:
    answered = client.put(f"{path}/legal-hold", json=OFFICE | members)
    assert answered.status_code == 200, answered.text
    return answered


def test_a_hold_stops_erasure_until_it_is_lifted(client: httpx.Client) -> None:
    path, _ = told_job(client)
    told = hold(client, path).json()
    refused = erase(client, path)
    lifted = hold(client, path, state="lifted").json()

    assert (told["held"], told["by"], told["reason"]) == (True, *OFFICE.values())
    assert problem(refused) == (409, "conflict", {"job_id"})
    assert "legal hold since" in refused.json()["detail"]
    assert OFFICE["reason"] not in refused.text
    assert not lifted["held"]
    assert erase(client, path).status_code == 200


def test_a_blank_is_no_reason_for_a_hold_its_end_an_erasure_or_a_destruction(
    client: httpx.Client,
) -> None:
    path, _ = started(client)
    asked = [client.put(f"{path}/legal-hold", json=OFFICE | {"reason": " ", "state": state})
             for state in ("set", "lifted")]  # fmt: skip
    asked.append(client.post(f"{path}/erase-personal-data", json={"reason": " - "}))
    assert [problem(one) for one in asked] == [(422, "invalid-body", {"#/reason"})] * 3

    blank = event("legal_hold", state="set", **OFFICE | {"reason": "."})
    gone = event("sample_destroyed", 1, sample_id="an-invented-one", by="x", reason=" ")
    assert outcomes(send(client, path, [blank, gone])) == ["refused", "refused"]


def test_a_hold_that_the_phone_posted_counts_the_same(client: httpx.Client) -> None:
    path, bay = started(client)
    at = bay.now.isoformat()
    posted = event("legal_hold", state="set", occurred_at=at, **OFFICE)
    assert outcomes(send(client, path, [posted])) == ["stored"]
    close(client, path)

    assert erase(client, path).status_code == 409
    assert hold(client, path).json()["since"] == posted["occurred_at"].replace("+00:00", "Z")


def test_a_correction_lifts_no_hold(client: httpx.Client) -> None:
    """A correction needs no name; lifting a hold needs one, and a reason."""
    path, _ = started(client)
    posted = event("legal_hold", state="set", **OFFICE)
    wrong = event("correction", 1, corrects=posted["event_id"], reason="of another job")
    send(client, path, [posted, wrong])
    close(client, path)
    state = client.get(path).json()["state"]

    assert erase(client, path).status_code == 409
    assert "correction-without-effect" in [finding["code"] for finding in state["findings"]]
    hold(client, path, state="lifted")
    assert erase(client, path).status_code == 200


def test_a_hold_is_kept_among_the_events_once(client: httpx.Client) -> None:
    path, _ = told_job(client)
    before = len(client.get(f"{path}/events").json()["items"])
    tag = client.get(path).headers["etag"]
    hold(client, path, state="lifted")
    assert client.get(path).headers["etag"] == tag
    for _ in range(2):
        hold(client, path)
    kept = client.get(f"{path}/events").json()["items"]
    of_holds = [one for one in kept if one["event"]["event"]["kind"] == "legal_hold"]

    assert len(kept) == before + 1
    assert [one["event"]["device_id"] for one in of_holds] == ["legal-hold"]
    assert "legal-hold" not in {gap["device_id"] for gap in client.get(path).json()["gaps"]}


def test_a_hold_by_a_clock_that_runs_ahead_can_be_lifted(client: httpx.Client) -> None:
    path, _ = told_job(client)
    ahead = (datetime.now(UTC) + timedelta(days=2)).isoformat()
    set_ = event("legal_hold", 970, state="set", occurred_at=ahead, **OFFICE)
    send(client, path, [set_], device_id="zebra")
    assert erase(client, path).status_code == 409

    assert not hold(client, path, state="lifted").json()["held"]
    assert erase(client, path).status_code == 200


def test_who_set_a_hold_is_erased_with_the_rest(client: httpx.Client) -> None:
    path, _ = told_job(client)
    hold(client, path)
    hold(client, path, state="lifted")
    tag = client.get(path).headers["etag"]
    client.post(f"{path}/erase-personal-data", json=WHY, headers={"If-Match": tag})

    assert OFFICE["by"] not in client.get(f"{path}/events").text
