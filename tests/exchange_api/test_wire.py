"""Connections that are too slow, too large or simply there."""

import io
import json
import re
import resource
import socket
import time
from collections.abc import Iterator
from http.client import HTTPResponse
from pathlib import Path

import httpx
import pytest

from exchange_api.asgi import ALWAYS
from exchange_api.server import HEAD_BYTES, URL_BYTES
from tests.exchange_api.bay_desk import ask
from tests.exchange_api.running import Running, running
from tests.exchange_api.test_command_line import process
from tests.exchange_api.test_memory import MEBI, peak

IDLE = 10_000
OTHER_FILES = 500  # that this process and the service have open besides


@pytest.fixture
def impatient(tmp_path: Path) -> Iterator[Running]:
    """A service that waits a second for anything."""
    with running(tmp_path, head_seconds=1, body_seconds=1, unread_seconds=1) as app:
        yield app


def connected(url: str) -> socket.socket:
    host, port = url.removeprefix("http://").split(":")
    return socket.create_connection((host, int(port)), timeout=15)


def until_cut(raw: socket.socket, drip: bytes) -> float:
    """Seconds until the service ends a connection that drips bytes."""
    began = time.monotonic()
    raw.settimeout(0.1)
    while time.monotonic() - began < 10:
        try:
            raw.sendall(drip)
            if raw.recv(1000) == b"":
                break
        except TimeoutError:
            continue
        except OSError:
            break
    return time.monotonic() - began


@pytest.mark.parametrize(
    "begun",
    [b"", b"GET /v1/me HTTP/1.1\r\nHost: x\r\nX-Slow: "],
    ids=["nothing", "headers"],
)
def test_slow_heads_are_cut(impatient: Running, begun: bytes) -> None:
    with connected(impatient.url) as raw:
        raw.sendall(begun)

        assert 0.5 < until_cut(raw, b"a" if begun else b"") < 5


def test_slow_bodies_are_cut(impatient: Running) -> None:
    key = impatient.key(workshop="Slow")
    head = (
        f"POST /v1/plans/preview HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer {key}\r\n"
        "Content-Type: application/json\r\nContent-Length: 1000\r\n\r\n"
    )
    with connected(impatient.url) as raw:
        raw.sendall(head.encode())

        assert 0.5 < until_cut(raw, b" ") < 5


def in_flight(app: Running) -> int:
    """How many requests are under way, this one left out."""
    with app.client() as client:
        (line,) = re.findall(r"_in_flight ([0-9]+)", client.get("/metrics").text)
    return int(line) - 1


def test_answers_that_nobody_reads_are_cut(impatient: Running) -> None:
    """The request that cannot send its answer ends when its connection is cut."""
    with connected(impatient.url) as raw:
        raw.sendall(b"GET /openapi.json HTTP/1.1\r\nHost: x\r\n\r\n" * 400)
        time.sleep(0.5)
        stuck = in_flight(impatient)
        time.sleep(2)

        assert (stuck, in_flight(impatient)) == (1, 0)


def test_a_quick_client_is_not_cut_between_requests(impatient: Running) -> None:
    with impatient.client_of("Steady") as client:
        for _ in range(4):
            assert ask(client).status_code == 201
            time.sleep(0.4)


@pytest.mark.parametrize(
    ("request_line", "header", "status", "slug", "place"),
    [
        (f"GET /{'a' * (URL_BYTES + 1)} HTTP/1.1", "X: y", 414, "address-too-long", ["path"]),
        ("GET / HTTP/1.1", f"X: {'y' * (HEAD_BYTES + 1)}", 431, "head-too-large", ["header"]),
        ("GET / HTTP/1.1", "\r\n".join(["X: y"] * 5461), 431, "head-too-large", ["header"]),
        ("NONSENSE", "X: y", 400, "malformed-request", []),
        ("GET /health/live HTTP/1.1", "Host: y", 400, "malformed-request", ["header"]),
    ],
    ids=["address", "one header", "many headers", "nonsense", "two hosts"],
)
def test_what_is_too_large_is_told(
    tmp_path: Path, request_line: str, header: str, status: int, slug: str, place: list[str]
) -> None:
    log = io.BytesIO()
    with running(tmp_path, log=log) as app, connected(app.url) as raw:
        raw.sendall(f"{request_line}\r\nHost: x\r\n{header}\r\n\r\n".encode())
        answer = HTTPResponse(raw)
        answer.begin()
        document = json.loads(answer.read())
    lines = [json.loads(line) for line in log.getvalue().splitlines()]
    told = [line["request_id"] for line in lines if line["event"] == "turned-away"]

    assert (answer.status, document["status"]) == (status, status)
    assert document["type"] == f"/v1/problems/{slug}"
    assert [error["parameter"]["in"] for error in document["errors"]] == place
    assert answer.headers["content-type"] == "application/problem+json"
    assert [answer.headers["x-request-id"]] == [document["request_id"]] == told
    assert {name.decode() for name, _ in ALWAYS} <= {name.lower() for name in answer.headers}
    assert "date" in answer.headers


@pytest.mark.parametrize(
    ("head", "status"),
    [
        ("GET /health/live HTTP/1.1", 400),
        ("GET /health/live HTTP/1.1\r\nHOST: x", 200),
        ("GET /health/live HTTP/1.0", 200),
        ("GET /health/live HTTP/1.0\r\nHost: x\r\nHost: x", 400),
    ],
)
def test_a_host_is_named_once(app: Running, head: str, status: int) -> None:
    with connected(app.url) as raw:
        raw.sendall(f"{head}\r\n\r\n".encode())

        assert raw.recv(100).startswith(f"HTTP/1.1 {status} ".encode())


def test_a_header_without_end_is_refused_before_it_ends(app: Running) -> None:
    with connected(app.url) as raw:
        raw.sendall(b"GET / HTTP/1.1\r\nX: " + b"y" * HEAD_BYTES)

        assert raw.recv(100).startswith(b"HTTP/1.1 431 ")


def test_the_largest_legal_address_is_read(app: Running) -> None:
    with app.client() as client:
        assert client.get("/" + "a" * (URL_BYTES - 100)).status_code == 404


@pytest.fixture
def idle() -> Iterator[int]:
    """How many connections this process and one that it starts can have at once.

    All that are wanted, unless this machine's own limit is lower.
    """
    usual, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = IDLE + OTHER_FILES
    given = wanted if most == resource.RLIM_INFINITY else min(wanted, most)
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(usual, given), most))
    try:
        yield given - OTHER_FILES
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, (usual, most))


def test_ten_thousand_idle_connections_do_not_bar_others(tmp_path: Path, idle: int) -> None:
    told = ["--port", "0", "--database", f"sqlite:///{tmp_path}/a.db", "--head-seconds", "300"]
    with process("exchange_api.cli", "serve", *told) as (served, url):
        assert served.stdout is not None
        key = served.stdout.readlines(100)[-1].strip()
        before = peak(served)
        opened = [connected(url) for _ in range(idle)]
        began = time.monotonic()
        with httpx.Client(base_url=url, headers={"Authorization": f"Bearer {key}"}) as client:
            statuses = [ask(client).status_code for _ in range(20)]
        took_s, growth = time.monotonic() - began, peak(served) - before
        for raw in opened:
            raw.close()

    assert statuses == [201] * 20
    assert took_s < 10
    assert growth < 32 * MEBI + idle * 10_000
