"""Keys that sign: rotated, retired, lost; what they signed verifies for ever."""

import io
import json
from pathlib import Path

import httpx
import pytest
from sqlalchemy import text

from exchange_api.cli import main
from exchange_api.storage.statements import Statement
from libexchange.verification import verify_record
from tests.exchange_api.bay_desk import close, started
from tests.exchange_api.proof.test_signed_records import keys, signed
from tests.exchange_api.running import running

LOSE = Statement(text("UPDATE signing_keys SET private_key = NULL").columns())
SEEDS = Statement(text("SELECT private_key FROM signing_keys").columns())
SALTS = Statement(text("SELECT salt FROM jobs").columns())


def commanded(url: str, *words: str) -> int:
    return main(["signing-keys", *words, "--database", url], environ={})


def closed(client: httpx.Client) -> str:
    path, _ = started(client)
    assert close(client, path).status_code == 200
    return path


def kid_of(client: httpx.Client, path: str) -> str:
    found = verify_record(signed(client, path), keys=keys(client))
    assert (found.authentic, found.whole) == (True, True)
    assert found.kid is not None
    return found.kid


def test_after_a_rotation_a_new_key_signs_and_old_records_verify(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with running(url) as app, app.client_of("Invented") as client:
        first = closed(client)
        assert commanded(url, "rotate") == 0
        second = closed(client)
        kids = kid_of(client, first), kid_of(client, second)
        assert len(json.loads(keys(client))["keys"]) == 2
    told = capsys.readouterr().out
    assert commanded(url, "list") == 0
    lines = capsys.readouterr().out.splitlines()

    assert kids[0] != kids[1]
    assert f"{kids[1]} signs from now on." in told
    assert [line.split()[0] for line in lines] == list(kids)
    assert lines[0].split()[-1] != "no"
    assert lines[1].split()[-1] == "no"


def test_a_retired_key_leaves_no_private_half_and_the_next_close_makes_a_key(url: str) -> None:
    with running(url) as app, app.client_of("Invented") as client:
        first = closed(client)
        kid = kid_of(client, first)
        assert commanded(url, "retire", "--kid", kid) == 0
        assert app.write(lambda connection: connection.execute(SEEDS)) == [(None,)]
        second = closed(client)

        assert kid_of(client, first) == kid != kid_of(client, second)


def test_a_lost_private_key_invalidates_nothing(url: str) -> None:
    with running(url) as app, app.client_of("Invented") as client:
        first = closed(client)
        kid = kid_of(client, first)
        app.write(lambda connection: connection.execute(LOSE))
        second = closed(client)

        assert kid_of(client, first) == kid != kid_of(client, second)


@pytest.mark.parametrize(
    "words", [("retire",), ("retire", "--kid", "nobody"), ("retire", "--kid", "-dash-first")]
)
def test_a_key_that_is_not_there_is_not_retired(
    url: str, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    assert commanded(url, *words) == 2
    assert "--kid" in capsys.readouterr().err


def test_every_change_of_keys_is_in_the_audit_log(url: str) -> None:
    with running(url) as app:
        with app.client_of("Invented") as client:
            kid = kid_of(client, closed(client))
        commanded(url, "rotate")
        with app.client_of("Administration", scopes="administrator") as administrator:
            log = administrator.get(
                "/v1/audit-log", params={"limit": 200, "log": "installation"}
            ).json()["items"]
    changes = [(row["operation"], row["actor"]) for row in log
               if row["target"] == f"signing-keys/{kid}"]  # fmt: skip

    assert sorted(operation for operation, _ in changes) == ["closeJob", "signing-keys rotate"]
    assert "command line" in {actor for _, actor in changes}


def test_no_private_key_and_no_salt_is_told_by_log_or_answers(tmp_path: Path) -> None:
    log = io.BytesIO()
    with running(tmp_path, log=log) as app, app.client_of("Invented") as client:
        path = closed(client)
        texts = [client.get(p).content for p in (path, f"{path}/record", f"{path}/events")]
        texts += [signed(client, path), keys(client), client.get("/v1/exports/releases").content]
        rows = app.write(lambda connection: connection.execute(SEEDS) + connection.execute(SALTS))
    secrets = [bytes(value) for (value,) in rows]
    told = b"".join([log.getvalue(), *texts])

    assert len(secrets) == 2
    for secret in secrets:
        assert secret.hex().encode() not in told
        assert secret not in told


def test_a_copy_of_the_database_carries_keys_and_records(url: str, tmp_path: Path) -> None:
    with running(url) as app, app.client_of("Invented") as client:
        path = closed(client)
        before, jwks = signed(client, path), keys(client)
        file = tmp_path / "copy.gz"
        assert main(["backup", "--to", str(file), "--database", url], environ={}) == 0
        auth = client.headers["authorization"]
    other = f"sqlite:///{tmp_path}/other.db"
    assert main(["restore", "--from", str(file), "--database", other], environ={}) == 0
    with running(other) as app, app.client() as client:
        client.headers["authorization"] = auth

        assert signed(client, path) == before
        assert keys(client) == jwks
        assert kid_of(client, closed(client)) == kid_of(client, path)
