"""`/v1/api-keys` and `exchange-api keys`: making, rotating and revoking."""

import hmac
from pathlib import Path
from typing import Any

import httpx
import pytest

from exchange_api import keys
from exchange_api.cli import main
from exchange_api.outside import real_outside
from exchange_api.storage.statements import Statement
from exchange_api.storage.units import Row
from tests.exchange_api.bay_desk import problem
from tests.exchange_api.running import Running

PHONE = {"name": "Bay phone", "scopes": ["jobs:read", "jobs:write"]}


def make(client: httpx.Client, **changes: Any) -> httpx.Response:
    return client.post("/v1/api-keys", json=PHONE | changes)


def revoke(client: httpx.Client, made: httpx.Response, tag: str | None = None) -> httpx.Response:
    headers = {"If-Match": tag or made.headers["etag"]}
    return client.post(f"{made.headers['location']}/revoke", headers=headers)


def test_a_new_key_works_and_allows_what_it_was_given(app: Running, client: httpx.Client) -> None:
    made = make(client)
    with app.client(key=made.json()["text"]) as phone:
        me = phone.get("/v1/me").json()

    assert me["scopes"] == PHONE["scopes"]
    assert me["workshop_id"] == client.get("/v1/me").json()["workshop_id"]
    assert made.json()["text"].startswith(made.json()["api_key"]["prefix"] + "_")


def test_the_secret_is_shown_once(client: httpx.Client) -> None:
    made = make(client)
    secret = made.json()["text"].split("_")[2]
    listed, read = client.get("/v1/api-keys"), client.get(made.headers["location"])

    assert secret not in listed.text + read.text
    assert listed.json()["items"][0] == read.json() == made.json()["api_key"]


def test_a_key_gives_no_more_than_it_has(app: Running) -> None:
    with app.client_of("Modest", scopes="keys,jobs:read") as client:
        beyond, administrator = make(client), make(client, scopes=["administrator"])
        within = make(client, scopes=["jobs:read"])

    assert problem(beyond) == (403, "forbidden", {"#/scopes"})
    assert problem(administrator) == (403, "forbidden", {"#/scopes"})
    assert within.status_code == 201


def test_two_keys_of_one_name_are_live_for_rotation(client: httpx.Client) -> None:
    old, successor, third = make(client), make(client), make(client)
    revoked = revoke(client, old)
    again = make(client)

    assert (old.status_code, successor.status_code, again.status_code) == (201, 201, 201)
    assert problem(third) == (409, "conflict", {"#/name"})
    assert revoked.status_code == 200


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"expires_at": "2020-01-01T00:00:00Z"}, "#/expires_at"),
        ({"expires_at": "2020-01-01T00:00:00"}, "#/expires_at"),
        ({"scopes": []}, "#/scopes"),
        ({"scopes": ["jobs:read", "jobs:read"]}, "#/scopes"),
        ({"scopes": ["everything"]}, "#/scopes/0"),
        ({"name": ""}, "#/name"),
    ],
)
def test_what_no_key_can_be(client: httpx.Client, changes: dict[str, Any], place: str) -> None:
    assert problem(make(client, **changes)) == (422, "invalid-body", {place})


def test_a_revoked_key_is_out_at_once_and_stays_listed(app: Running, client: httpx.Client) -> None:
    made = make(client)
    with app.client(key=made.json()["text"]) as phone:
        before = phone.get("/v1/me").status_code
        revoked = revoke(client, made)
        after = phone.get("/v1/me").status_code

    assert (before, after) == (200, 401)
    assert revoked.json()["revoked_at"] is not None
    assert revoked.headers["etag"] != made.headers["etag"]
    assert client.get("/v1/api-keys").json()["items"][0]["revoked_at"] is not None


def test_revoking_needs_the_version_that_was_seen_and_twice_is_once(client: httpx.Client) -> None:
    made = make(client)
    unseen = client.post(f"{made.headers['location']}/revoke")
    first, stale, again = revoke(client, made), revoke(client, made), revoke(client, made, "*")

    assert problem(unseen)[:2] == (428, "precondition-required")
    assert problem(stale)[:2] == (412, "stale")
    assert again.json() == first.json()


def test_a_plain_key_cannot_revoke_an_administrators(
    app: Running, administrator: httpx.Client
) -> None:
    made = make(administrator, name="chief", scopes=["administrator"])
    with app.client_of("Administration") as plain:
        refused = revoke(plain, made)

    assert problem(refused)[:2] == (403, "forbidden")
    assert revoke(administrator, made).status_code == 200


def test_keys_are_listed_in_pages(client: httpx.Client) -> None:
    made = [make(client, name=f"n{n}").json()["api_key"]["key_id"] for n in range(5)]
    found: list[str] = []
    params = {"limit": "2"}
    while "cursor" not in params or params["cursor"]:
        told = client.get("/v1/api-keys", params=params).json()
        found += [item["key_id"] for item in told["items"]]
        params["cursor"] = told["next_cursor"]

    assert found[:5] == made[::-1]
    assert len(found) == 6


class NoSuchKey:
    """A connection that finds nothing."""

    def execute(self, _statement: Statement, _params: Any = None, /) -> list[Row]:
        return []

    def execute_many(self, _statement: Statement, _rows: Any, /) -> None:
        raise AssertionError("a look-up writes nothing")


def test_an_unknown_key_is_compared_as_a_known_one_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not the clock but the path: one comparison in constant time over digests of one length."""
    compared: list[tuple[str, str]] = []

    def compare(kept: str, given: str) -> bool:
        compared.append((kept, given))
        return real(kept, given)

    real = hmac.compare_digest
    monkeypatch.setattr(hmac, "compare_digest", compare)
    given = keys.Parts("00000000-0000-7000-8000-000000000001", "ab" * 32)
    found = keys.find(given, now="2026-03-01T12:00:00.000000Z")(NoSuchKey())

    ((kept, told),) = compared
    assert found is None
    assert told == given.secret_sha256
    assert len(kept) == len(told)


def test_the_command_line_lists_and_revokes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    at = ["--database", f"sqlite:///{tmp_path}/a.db"]
    named = ["--workshop", "Invented"]
    assert main(["keys", "create", *named, "--scopes", "calculate", *at], environ={}) == 0
    text = capsys.readouterr().out.splitlines()[-1]
    assert main(["keys", "list", *named, *at], environ={}) == 0
    before = capsys.readouterr().out
    key_id = before.split()[0]
    codes = [main(["keys", "revoke", "--key-id", key_id, *at], environ={}) for _ in range(2)]
    capsys.readouterr()
    main(["keys", "list", *named, *at], environ={})
    after = capsys.readouterr().out

    assert codes == [0, 0]
    assert text.split("_")[2] not in before + after
    assert ("revoked no" in before, "revoked no" in after) == (True, False)


@pytest.mark.parametrize(
    ("told", "place"),
    [
        (["create", "--scopes", "*"], "--workshop"),
        (["list"], "--workshop"),
        (["revoke"], "--key-id"),
        (["revoke", "--key-id", "x"], "--key-id"),
        (["revoke", "--key-id", str(real_outside().new_id())], "--key-id"),
    ],
)
def test_what_the_command_needs_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], told: list[str], place: str
) -> None:
    code = main(["keys", *told, "--database", f"sqlite:///{tmp_path}/a.db"], environ={})

    assert code == 2
    assert capsys.readouterr().err.startswith(f"{place}: ")
