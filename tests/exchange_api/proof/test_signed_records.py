"""The record that is signed at a close: kept, handed over, verified, and told from any other."""

from base64 import urlsafe_b64decode
from concurrent.futures import ThreadPoolExecutor

import httpx
import msgspec
import pytest

from libexchange.verification import verify_record
from tests.exchange_api.bay_desk import close, event, problem, send, started, worked

JWS = {"Accept": "application/jose+json"}
REOPENING = {"by": "Invented Foreman", "reason": "looked at once more"}


def keys(client: httpx.Client) -> bytes:
    return client.get("/.well-known/jwks.json").content


def signed(client: httpx.Client, path: str, **query: int) -> bytes:
    answered = client.get(f"{path}/record", headers=JWS, params=query)
    assert answered.status_code == 200, answered.text
    return answered.content


def reopened(client: httpx.Client, path: str) -> None:
    tag = client.get(path).headers["etag"]
    answered = client.post(f"{path}/reopen", json=REOPENING, headers={"If-Match": tag})
    assert answered.status_code == 200, answered.text


def test_closing_signs_the_record_and_tells_its_digest(client: httpx.Client) -> None:
    path, _ = worked(client)
    assert client.get(path).json()["record_digest"] is None
    closed = close(client, path).json()
    found = verify_record(signed(client, path), keys=keys(client), digest=closed["record_digest"])

    assert (found.form, found.authentic, found.whole, found.faults) == ("signed", True, True, ())
    assert found.disclosed > 0
    assert client.get(path).json()["record_digest"] == closed["record_digest"]
    assert client.get(f"{path}/record").json()["digest"] == closed["record_digest"]


def test_the_signed_record_is_the_same_bytes_after_late_events(client: httpx.Client) -> None:
    path, _ = worked(client)
    close(client, path)
    before, tag = signed(client, path), client.get(f"{path}/record", headers=JWS).headers["etag"]
    send(client, path, [event("note", 950, text="an invented call")])
    again = client.get(f"{path}/record", headers=JWS | {"If-None-Match": tag})

    assert signed(client, path) == before
    assert (again.status_code, again.headers["etag"]) == (304, tag)
    assert client.get(f"{path}/record").headers["etag"] != tag


def test_an_open_job_has_no_signed_record(client: httpx.Client) -> None:
    path, _ = started(client)

    answered = client.get(f"{path}/record", headers=JWS)

    assert problem(answered) == (409, "conflict", {"job_id"})


def test_each_close_keeps_a_record_beside_the_earlier_ones(client: httpx.Client) -> None:
    path, _ = worked(client)
    close(client, path)
    first = signed(client, path)
    reopened(client, path)
    while_open = signed(client, path, closing=1)
    second_digest = close(client, path).json()["record_digest"]
    second = signed(client, path)

    assert while_open == first == signed(client, path, closing=1)
    assert second == signed(client, path, closing=2) != first
    assert verify_record(second, keys=keys(client), digest=second_digest).whole
    assert verify_record(first, keys=keys(client)).authentic


@pytest.mark.parametrize("closing", [2, 2**31 - 1])
def test_a_close_that_there_was_not_has_no_record(client: httpx.Client, closing: int) -> None:
    path, _ = started(client)
    close(client, path)

    answered = client.get(f"{path}/record", headers=JWS, params={"closing": closing})

    assert problem(answered) == (404, "not-found", {"closing"})


def test_a_close_is_named_for_the_signed_form_alone(client: httpx.Client) -> None:
    path, _ = started(client)
    close(client, path)

    answered = client.get(f"{path}/record", params={"closing": 1})

    assert problem(answered) == (406, "not-acceptable", {"closing"})


def test_no_other_workshop_reads_a_signed_record(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    path, _ = started(client)
    close(client, path)

    for query in ({}, {"closing": 1}):
        answered = other_client.get(f"{path}/record", headers=JWS, params=query)
        assert answered.status_code == 404


def test_of_closes_at_once_one_is_signed(client: httpx.Client) -> None:
    path, _ = worked(client)
    tag = client.get(path).headers["etag"]
    with ThreadPoolExecutor(8) as callers:
        answers = list(
            callers.map(lambda _: client.post(f"{path}/close", headers={"If-Match": tag}), range(8))
        )
    (won,) = (one for one in answers if one.status_code == 200)
    found = verify_record(signed(client, path), keys=keys(client))

    assert found.record_digest == won.json()["record_digest"]
    assert client.get(f"{path}/record", headers=JWS, params={"closing": 2}).status_code == 404


def test_closes_of_many_jobs_at_once_share_one_key(client: httpx.Client) -> None:
    paths = [started(client)[0] for _ in range(8)]
    with ThreadPoolExecutor(8) as callers:
        assert {one.status_code for one in callers.map(lambda p: close(client, p), paths)} == {200}

    names = {verify_record(signed(client, path), keys=keys(client)).kid for path in paths}
    assert len(names) == 1


def test_what_people_typed_is_not_in_what_is_signed(client: httpx.Client) -> None:
    path, bay = started(client)
    secret = "Invented Ida of the counter"
    send(client, path, [event("note", text=secret, occurred_at=bay.now.isoformat())])
    close(client, path)
    document = msgspec.json.decode(signed(client, path))

    assert secret in msgspec.json.encode(document["header"]).decode()
    assert secret not in _payload(document)
    assert '"commitment"' in _payload(document)


def _payload(document: dict[str, str]) -> str:
    return urlsafe_b64decode(document["payload"] + "==").decode()
