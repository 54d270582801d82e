"""Connections that are refused or cut before a handler sees them are counted, by reason alone."""

import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import get_args

import pytest

from exchange_api.metrics import TurnedAway
from exchange_api.server import HEAD_BYTES, URL_BYTES
from tests.exchange_api.bay_desk import ask
from tests.exchange_api.running import Running, running
from tests.exchange_api.test_wire import connected, until_cut

EACH = re.compile(r'^exchange_api_turned_away_total\{why="([a-z-]+)"\} ([0-9]+)$', re.MULTILINE)
POST = (
    "POST /v1/calculations/vin HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer {key}\r\n"
    "Content-Type: application/json\r\nContent-Length: 1000\r\n\r\n"
)


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Running]:
    """A service that waits a second for anything."""
    with running(tmp_path, head_seconds=1, body_seconds=1, unread_seconds=1) as app:
        yield app


def counted(app: Running) -> dict[str, int]:
    with app.client() as client:
        text = client.get("/metrics").text
    return {why: int(count) for why, count in EACH.findall(text)}


def sent(raw: str) -> Callable[[Running], None]:
    """Send this and read what comes."""

    def send(app: Running) -> None:
        with connected(app.url) as connection:
            connection.sendall(raw.encode())
            assert connection.recv(100).startswith(b"HTTP/1.1 4")

    return send


def dripped(begun: str, drip: bytes) -> Callable[[Running], None]:
    """Begin, and go on too slowly."""

    def send(app: Running) -> None:
        with connected(app.url) as connection:
            connection.sendall(begun.format(key=app.key(workshop="Slow")).encode())
            until_cut(connection, drip)

    return send


def kept_alive(app: Running) -> None:
    """Ask once, then nothing more."""
    with connected(app.url) as connection:
        connection.sendall(b"GET /health/live HTTP/1.1\r\nHost: x\r\n\r\n")
        assert connection.recv(1000).startswith(b"HTTP/1.1 200")
        assert connection.recv(1000) == b""  # the server ends it, after its own few seconds


def unread(app: Running) -> None:
    with connected(app.url) as connection:
        connection.sendall(b"GET /openapi.json HTTP/1.1\r\nHost: x\r\n\r\n" * 400)
        time.sleep(2.5)


def without_room(app: Running) -> None:
    room = app.service.room
    room._free, room._wait_s = 0, 0.01
    with app.client_of("Many") as client:
        assert ask(client).status_code == 503


CASES: dict[str, tuple[TurnedAway, Callable[[Running], None]]] = {
    "long address": ("address-too-long", sent(f"GET /{'a' * URL_BYTES} HTTP/1.1\r\n\r\n")),
    "one large header": (
        "head-too-large",
        sent(f"GET / HTTP/1.1\r\nX: {'y' * HEAD_BYTES}\r\n\r\n"),
    ),
    "many headers": (
        "head-too-large",
        sent("GET / HTTP/1.1\r\n" + "X: y\r\n" * (HEAD_BYTES // 6 + 1) + "\r\n"),
    ),
    "a header without end": ("head-too-large", sent("GET / HTTP/1.1\r\nX: " + "y" * HEAD_BYTES)),
    "no HTTP": ("malformed-request", sent("NONSENSE\r\n\r\n")),
    "slow headers": ("head-slow", dripped("GET / HTTP/1.1\r\nX-Slow: ", b"a")),
    "slow body": ("body-slow", dripped(POST, b" ")),
    "nothing sent": ("idle", dripped("", b"")),
    "nothing more sent": ("idle", kept_alive),
    "answer not read": ("unread", unread),
    "no room": ("no-room", without_room),
}


@pytest.mark.parametrize(("why", "provoke"), CASES.values(), ids=CASES)
def test_each_reason_is_counted_once(
    service: Running, why: TurnedAway, provoke: Callable[[Running], None]
) -> None:
    provoke(service)

    assert counted(service) == dict.fromkeys(get_args(TurnedAway), 0) | {why: 1}


def test_every_reason_has_a_case() -> None:
    assert {why for why, _ in CASES.values()} == set(get_args(TurnedAway))


def test_who_asks_properly_or_leaves_is_not_counted(service: Running) -> None:
    with service.client_of("Proper") as client:
        assert ask(client).status_code == 201
        assert client.get("/nowhere").status_code == 404
    with connected(service.url) as connection:
        connection.sendall(b"GET / HT")

    assert set(counted(service).values()) == {0}
