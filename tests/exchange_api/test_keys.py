"""API keys: who gets in, who does not, and what the answer says."""

from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
from litestar import Response, get
from sqlalchemy import bindparam, select, update

from exchange_api import keys
from exchange_api.operations import Answer, Operation, operation
from exchange_api.outside import Outside, real_outside
from exchange_api.scopes import SCOPES, parse_scopes
from exchange_api.serving import Request, answer
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import API_KEYS
from exchange_api.storage.units import Connection
from tests.exchange_api.running import Running, running

SECRETS = Statement(select(API_KEYS.c.secret_sha256))
LAST_USED = Statement(select(API_KEYS.c.last_used_at).where(API_KEYS.c.key_id == bindparam("id")))
REVOKE = Statement(update(API_KEYS).values(revoked_at="2026-01-01T00:00:00.000000Z"))
EXPIRE = Statement(update(API_KEYS).values(expires_at=bindparam("at")))

_DECLARED = Operation(
    operation_id="x", summary="", tag="t", scope="jobs:read", answers={200: Answer(description="")}
)


@get("/jobs-only", **operation(_DECLARED))
async def jobs_only(request: Request) -> Response[bytes]:
    return answer(request.url.path)


def fixed(moment: str) -> Outside:
    real, now = real_outside(), datetime.fromisoformat(moment)
    return Outside(now=lambda: now, new_id=real.new_id, new_secret=real.new_secret)


def test_a_key_has_a_prefix_an_id_a_secret_and_a_checksum() -> None:
    key = keys.new_key(real_outside())

    parts = keys.read_key(key.text)
    assert parts == keys.Parts(key.key_id, key.secret_sha256)
    assert key.text.startswith("lxk_")


def test_every_single_typing_error_is_told_without_a_look_up() -> None:
    text = keys.new_key(real_outside()).text
    for place, sign in enumerate(text):
        mistyped = text[:place] + ("0" if sign != "0" else "1") + text[place + 1 :]

        assert keys.read_key(mistyped) is None


def test_a_key_opens_its_own_workshop(app: Running) -> None:
    with app.client_of("Invented Gears Ltd") as client:
        me = client.get("/v1/me").json()

    assert (me["workshop"], me["region"]) == ("Invented Gears Ltd", "north")
    assert me["scopes"] == sorted(SCOPES)
    assert me["administrator"] is False


def test_two_keys_of_one_workshop_share_it(app: Running) -> None:
    with app.client_of("Shared") as one, app.client_of("Shared") as two:
        mine, yours = one.get("/v1/me").json(), two.get("/v1/me").json()

    assert mine["workshop_id"] == yours["workshop_id"]
    assert mine["key_id"] != yours["key_id"]


@pytest.mark.parametrize(
    "authorization",
    [None, "", "Bearer", "Basic YTpi", "Bearer nonsense", "Bearer \xff"],
)
def test_without_a_key_the_answer_is_401_with_a_challenge(
    stranger: httpx.Client, authorization: str | None
) -> None:
    text = authorization and authorization.encode("latin-1")
    given = {b"Authorization": text} if isinstance(text, bytes) else {}

    got = stranger.get("/v1/me", headers=given)

    assert got.status_code == 401
    assert got.headers["www-authenticate"].startswith("Bearer")
    assert got.json()["type"] == "/v1/problems/unauthenticated"


def test_a_well_formed_key_that_nobody_has_is_401(stranger: httpx.Client) -> None:
    key = keys.new_key(real_outside()).text

    assert stranger.get("/v1/me", headers={"Authorization": f"Bearer {key}"}).status_code == 401


def test_the_right_id_with_another_secret_is_401(app: Running, stranger: httpx.Client) -> None:
    known = keys.read_key(app.key(workshop="Robbed"))
    assert known is not None
    real = real_outside()
    forged = keys.new_key(
        Outside(now=real.now, new_id=lambda: known.key_id, new_secret=real.new_secret)
    )

    got = stranger.get("/v1/me", headers={"Authorization": f"Bearer {forged.text}"})

    assert got.status_code == 401


def test_a_missing_scope_is_403_and_named(tmp_path: Path) -> None:
    with running(tmp_path, more_handlers=(jobs_only,)) as app:
        with app.client_of("A", scopes="plans:read") as client:
            refused = client.get("/jobs-only")
        with app.client_of("A", scopes="jobs:read") as client:
            allowed = client.get("/jobs-only")

    assert refused.status_code == 403
    assert "jobs:read" in refused.json()["detail"]
    assert allowed.status_code == 200


def test_a_revoked_key_is_out_at_once(tmp_path: Path) -> None:
    with running(tmp_path) as app, app.client_of("A") as client:
        before = client.get("/v1/me")
        app.write(lambda connection: connection.execute(REVOKE))
        after = client.get("/v1/me")

    assert (before.status_code, after.status_code) == (200, 401)


@pytest.mark.parametrize(
    ("expires_at", "status"),
    [("2026-03-01T12:00:00.000000Z", 401), ("2026-03-01T12:00:00.000001Z", 200)],
)
def test_a_key_ends_when_it_expires(tmp_path: Path, expires_at: str, status: int) -> None:
    outside = fixed("2026-03-01T13:00:00+01:00")
    with running(tmp_path, outside=outside) as app, app.client_of("A") as client:
        app.write(lambda connection: connection.execute(EXPIRE, {"at": expires_at}))

        assert client.get("/v1/me").status_code == status


def test_only_the_hash_of_the_secret_is_kept(app: Running) -> None:
    text = app.key(workshop="Hashed")

    def secrets(connection: Connection) -> list[str]:
        return [row[0] for row in connection.execute(SECRETS)]

    assert text.split("_")[2] not in " ".join(app.write(secrets))


def test_the_last_use_is_noted(tmp_path: Path) -> None:
    with running(tmp_path, outside=fixed("2026-03-01T12:34:56+00:00")) as app:
        with app.client_of("A") as client:
            key_id = client.get("/v1/me").json()["key_id"]
        rows = app.write(lambda connection: connection.execute(LAST_USED, {"id": key_id}))

    assert rows == [("2026-03-01T12:34:56.000000Z",)]


def test_star_is_every_scope_but_the_administrators() -> None:
    assert parse_scopes("*") == frozenset(SCOPES)
    assert "administrator" in parse_scopes("*,administrator")


@pytest.mark.parametrize("text", ["", "plans", "plans:read,nonsense", " , "])
def test_unknown_scopes_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="scope"):
        parse_scopes(text)


def test_ids_grow_and_carry_the_time() -> None:
    new_id = real_outside().new_id
    made = [new_id() for _ in range(5000)]
    milliseconds = int(made[0].replace("-", "")[:12], 16)

    assert made == sorted(set(made))
    assert abs(milliseconds / 1000 - datetime.now(UTC).timestamp()) < 60
