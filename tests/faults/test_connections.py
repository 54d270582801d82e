"""Connections that are cut or slow: the work is done once or not at all, and others do not wait."""

import io
import socket
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic, sleep

import httpx
import msgspec
import pytest

from tests.exchange_api.bay_desk import (
    ROUTINE,
    ask,
    items,
    outcomes,
    plan_of,
    plans_kept,
    send,
    started,
)
from tests.exchange_api.running import Running

BODY = msgspec.json.encode(ROUTINE)


@contextmanager
def raw(service: Running) -> Iterator[socket.socket]:
    host, port = service.url.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=20) as connection:
        yield connection


def head(client: httpx.Client, key: str) -> bytes:
    lines = [
        "POST /v1/plans HTTP/1.1",
        "Host: x",
        f"Authorization: {client.headers['authorization']}",
        f"Idempotency-Key: {key}",
        "Content-Type: application/json",
        f"Content-Length: {len(BODY)}",
    ]
    return "\r\n".join([*lines, "", ""]).encode()


def cut(connection: socket.socket) -> None:
    """Reset the connection, so that the service cannot even send what it has."""
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    connection.close()


def failures(log: io.BytesIO) -> list[str]:
    return [line for line in log.getvalue().decode().splitlines() if '"level":"error"' in line]


@pytest.mark.parametrize("sent", [0, 1, len(BODY) // 2, len(BODY) - 1])
def test_a_request_that_is_cut_keeps_nothing(
    service: Running, client: httpx.Client, log: io.BytesIO, sent: int
) -> None:
    with raw(service) as connection:
        connection.sendall(head(client, "cut") + BODY[:sent])
        sleep(0.1)
        cut(connection)
    sleep(0.1)

    assert plans_kept(client) == 0
    assert ask(client, ROUTINE, key="cut").status_code == 201
    assert plans_kept(client) == 1
    assert failures(log) == []


@pytest.mark.parametrize("seen", [0, 1, 100, 2000])
def test_a_request_whose_answer_is_cut_is_kept_once(
    service: Running, client: httpx.Client, log: io.BytesIO, seen: int
) -> None:
    with raw(service) as connection:
        connection.sendall(head(client, "cut") + BODY)
        for _ in range(seen):
            connection.recv(1)
        cut(connection)
    again = ask(client, ROUTINE, key="cut")

    assert again.status_code == 201
    assert ask(client, ROUTINE, key="cut").content == again.content
    assert plans_kept(client) == 1
    assert failures(log) == []


def test_many_answers_that_are_cut_leave_one_plan_a_key(
    service: Running, client: httpx.Client, log: io.BytesIO
) -> None:
    for number in range(30):
        with raw(service) as connection:
            connection.sendall(head(client, f"key-{number % 10}") + BODY)
            sleep(0.001 * number)
            cut(connection)
    answers = [ask(client, ROUTINE, key=f"key-{number}") for number in range(10)]

    assert {answered.status_code for answered in answers} == {201}
    assert plans_kept(client) == 10
    assert failures(log) == []


def test_events_whose_answer_is_cut_are_kept_once(
    service: Running, client: httpx.Client, log: io.BytesIO
) -> None:
    path, bay = started(client, plan_of(client))
    sent = items(bay.whole_job().events)
    with pytest.raises(httpx.ReadTimeout):
        httpx.post(
            f"{service.url}{path}/events",
            json={"device_id": "invented-phone", "sent_at": "2026-03-04T08:00:00Z", "events": sent},
            headers={"Authorization": client.headers["authorization"]},
            timeout=httpx.Timeout(5, read=0.0001),
        )
    again = send(client, path, sent)

    assert set(outcomes(again)) <= {"stored", "already_stored"}
    assert len(client.get(f"{path}/events").json()["items"]) == len(sent)
    assert failures(log) == []


def test_a_slow_client_is_served_and_nobody_waits_for_it(
    service: Running, client: httpx.Client
) -> None:
    request = head(client, "slow") + BODY
    pieces = [request[at : at + 200] for at in range(0, len(request), 200)]
    longest = 0.0
    with raw(service) as connection:
        for piece in pieces:
            connection.sendall(piece)
            began = monotonic()
            assert ask(client).status_code == 201
            longest = max(longest, monotonic() - began)
            sleep(0.05)
        slowly = connection.recv(15)

    assert slowly == b"HTTP/1.1 201 Cr"
    assert longest < 1.0


def test_a_client_that_does_not_read_holds_nobody_up(
    service: Running, client: httpx.Client
) -> None:
    with raw(service) as connection:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1024)
        for number in range(200):
            connection.sendall(head(client, f"unread-{number}") + BODY)
            if number % 20 == 0:
                assert ask(client).status_code == 201
        assert connection.recv(15) == b"HTTP/1.1 201 Cr"
        assert ask(client).status_code == 201
