"""What holds for every answer."""

import io
import json
import re
import sqlite3
from pathlib import Path
from typing import Any

import httpx
import pytest
from litestar import Response, get

from exchange_api.serving import Request
from tests.exchange_api.running import Running, running


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/v1/me", 200),
        ("HEAD", "/v1/me", 200),
        ("OPTIONS", "/v1/me", 204),
        ("GET", "/nowhere", 404),
        ("DELETE", "/v1/me", 405),
        ("TRACE", "/v1/me", 405),
    ],
)
def test_every_answer_has_a_request_id_and_the_security_headers(
    client: httpx.Client, method: str, path: str, status: int
) -> None:
    answer = client.request(method, path)

    assert answer.status_code == status
    assert re.fullmatch(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f-]{21}", answer.headers["x-request-id"])
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert "date" in answer.headers


def test_head_answers_the_head_of_get_without_a_body(client: httpx.Client) -> None:
    got, head = client.get("/v1/me"), client.head("/v1/me")

    assert head.content == b""
    assert head.headers["content-length"] == str(len(got.content))


def test_405_and_options_list_the_methods_with_head(client: httpx.Client) -> None:
    assert client.delete("/v1/me").headers["allow"] == "GET, HEAD, OPTIONS"
    assert client.options("/v1/me").headers["allow"] == "GET, HEAD, OPTIONS"


def test_404_and_405_are_problem_documents(client: httpx.Client) -> None:
    for answer in (client.get("/nowhere"), client.delete("/v1/me")):
        document = answer.json()

        assert answer.headers["content-type"] == "application/problem+json"
        assert document["status"] == answer.status_code
        assert document["request_id"] == answer.headers["x-request-id"]
        assert client.get(document["type"]).json()["title"] == document["title"]
        assert [error["parameter"] for error in document["errors"]] == [{"in": "path", "name": "*"}]


def test_problem_types_are_readable_without_a_key(stranger: httpx.Client) -> None:
    items = stranger.get("/v1/problems").json()["items"]

    assert all(stranger.get(item["type"]).json() == item for item in items)
    assert stranger.get("/v1/problems/no-such").status_code == 404


@get("/broken")
async def broken(request: Request) -> Response[bytes]:
    raise RuntimeError("SECRET-DETAIL " + request.url.path)


def _events(log: io.BytesIO, name: str) -> list[dict[str, Any]]:
    lines = [json.loads(line) for line in log.getvalue().splitlines()]
    return [line for line in lines if line["event"] == name]


def test_an_unexpected_failure_is_logged_once_and_tells_nothing(tmp_path: Path) -> None:
    log = io.BytesIO()
    with running(tmp_path, log=log, more_handlers=(broken,)) as app, app.client() as client:
        answer = client.get("/broken")

    assert answer.status_code == 500
    assert "SECRET-DETAIL" not in answer.text
    (failure,) = _events(log, "failure")
    assert failure["request_id"] == answer.json()["request_id"]
    assert failure["exception"] == "RuntimeError"


def test_the_log_holds_the_route_but_no_path_query_or_key(tmp_path: Path) -> None:
    log = io.BytesIO()
    with running(tmp_path, log=log) as app:
        key = app.key(workshop="Shop")
        with app.client(key=key) as client:
            client.get("/v1/problems/vin-1M8GDM9AXKP042788?plate=AB-123")

    (line,) = _events(log, "request")
    assert line["route"] == "/v1/problems/{slug}"
    assert not re.search(rb"1M8GDM9AXKP042788|AB-123|" + key.encode(), log.getvalue())


def test_the_health_addresses_answer(stranger: httpx.Client) -> None:
    assert stranger.get("/health/live").json() == {"status": "ok"}
    assert stranger.get("/health/ready").json() == {"status": "ok"}


def test_it_is_not_ready_while_the_tables_are_of_another_version(tmp_path: Path) -> None:
    with running(tmp_path) as app, app.client() as client:
        _set_revision(tmp_path, "0000")

        answer = client.get("/health/ready")

    assert answer.status_code == 503
    assert int(answer.headers["retry-after"]) > 0


def _set_revision(folder: Path, revision: str) -> None:
    with sqlite3.connect(folder / "exchange.db") as raw:
        raw.execute("UPDATE alembic_version SET version_num = ?", [revision])
    raw.close()


def test_the_first_start_announces_one_administrator_key_once(tmp_path: Path) -> None:
    with running(tmp_path) as app:
        (text,) = app.announced
        with app.client(key=text.splitlines()[-1]) as client:
            me = client.get("/v1/me").json()
    with running(tmp_path) as again:
        pass

    assert me["administrator"] is True
    assert again.announced == []


def test_an_app_is_told_apart_from_its_neighbour(app: Running, client: httpx.Client) -> None:
    with app.client_of("Another") as other:
        assert (
            client.get("/v1/me").json()["workshop_id"] != other.get("/v1/me").json()["workshop_id"]
        )
