"""Every bad body is named: a problem with all faults, never a 500."""

import json
import socket
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from tests.exchange_api.running import Running, running
from tests.exchange_api.shapes import HANDLERS

LIMIT = 4096
GOOD = b'{"sump": {"value": 5.5, "unit": "L"}}'


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    folder = tmp_path_factory.mktemp("bodies")
    with running(folder, more_handlers=HANDLERS, body_limit=LIMIT) as app:
        yield app


@pytest.fixture
def plain(shop: Running) -> Iterator[httpx.Client]:
    with shop.client() as client:
        yield client


def post(client: httpx.Client, raw: bytes, **headers: str) -> httpx.Response:
    told = {
        "Content-Type": "application/json",
        **{k.replace("_", "-"): v for k, v in headers.items()},
    }
    return client.post("/orders", content=raw, headers=told)


def faults(answer: httpx.Response) -> set[tuple[str, str]]:
    return {(error["pointer"], error["code"]) for error in answer.json()["errors"]}


def test_a_good_body_is_taken(plain: httpx.Client) -> None:
    answer = post(plain, GOOD)

    assert answer.status_code == 200
    assert answer.json()["sump"] == {"value": 5.5, "unit": "L"}


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        (b"", "empty"),
        (b"  \n", "empty"),
        (b"{", "syntax"),
        (GOOD + b"x", "syntax"),
        (GOOD + GOOD, "syntax"),
        (b"\xef\xbb\xbf" + GOOD, "syntax"),
        (b"{'sump': 1}", "syntax"),
        (b'{"sump": "\xff"}', "not-utf-8"),
        (b'{"sump": "a\x00b"}', "syntax"),
        (b"[" * 2000, "too-deep"),
        (b'{"anything": ' + b"[" * 70 + b"]" * 70 + b"}", "too-deep"),
    ],
    ids=lambda value: str(value)[:24],
)
def test_what_is_not_our_json_is_400(plain: httpx.Client, raw: bytes, code: str) -> None:
    answer = post(plain, raw)

    assert answer.status_code == 400
    assert answer.json()["type"] == "/v1/problems/malformed-json"
    assert code in {error["code"] for error in answer.json()["errors"]}


@pytest.mark.parametrize("token", [b"NaN", b"Infinity", b"-Infinity"])
def test_numbers_that_json_does_not_have_are_400_with_their_place(
    plain: httpx.Client, token: bytes
) -> None:
    answer = post(plain, b'{"sump": {"value": ' + token + b', "unit": "L"}}')

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["value"] == token.decode()
    assert faults(answer) == {("#/sump/value", "not-finite")}


def test_a_member_named_twice_is_400_with_its_place(plain: httpx.Client) -> None:
    answer = post(plain, b'{"sump": {"value": 1, "value": 2, "unit": "L"}}')

    assert answer.status_code == 400
    assert faults(answer) == {("#/sump/value", "repeated-member")}


SUMP = {"value": 5, "unit": "L"}


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ([], {("#", "wrong-type")}),
        (None, {("#", "wrong-type")}),
        ({}, {("#/sump", "missing-field")}),
        ({"sump": SUMP, "sumpp": 1}, {("#/sumpp", "unknown-field")}),
        ({"sump": {"value": "3", "unit": "L"}}, {("#/sump/value", "wrong-type")}),
        ({"sump": {"value": True, "unit": "L"}}, {("#/sump/value", "wrong-type")}),
        ({"sump": {"value": None, "unit": "L"}}, {("#/sump/value", "wrong-type")}),
        ({"sump": {"value": 3, "unit": "l"}}, {("#/sump/unit", "unknown-unit")}),
        ({"sump": {"value": 3, "unit": "Cel"}}, {("#/sump/unit", "unknown-unit")}),
        ({"sump": {"value": 3}}, {("#/sump/unit", "missing-field")}),
        ({"sump": {"value": -1, "unit": "L"}}, {("#/sump/value", "out-of-range")}),
        ({"sump": {"value": 1e300, "unit": "L"}}, {("#/sump/value", "out-of-range")}),
        ({"sump": SUMP, "line": {"value": -1, "unit": "L"}}, {("#/line/value", "out-of-range")}),
        ({"sump": SUMP, "cells": 0}, {("#/cells", "out-of-range")}),
        ({"sump": SUMP, "cells": 2.5}, {("#/cells", "wrong-type")}),
        ({"sump": SUMP, "cells": 10**30}, {("#/cells", "out-of-range")}),
        ({"sump": SUMP, "cells": -(2**63) - 1}, {("#/cells", "out-of-range")}),
        ({"sump": SUMP, "anything": 2**63}, {("#/anything", "out-of-range")}),
        ({"sump": SUMP, "code": "abc\n"}, {("#/code", "control-character")}),
        ({"sump": SUMP, "code": "Abc"}, {("#/code", "pattern")}),
        ({"sump": SUMP, "anything": "a\x00b"}, {("#/anything", "control-character")}),
        ({"sump": SUMP, "anything": "\x7f"}, {("#/anything", "control-character")}),
        ({"sump": SUMP, "anything": {"a\x00": 1}}, {("#/anything/a?", "control-character")}),
        ({"sump": SUMP, "day": "2026-02-30"}, {("#/day", "malformed-date")}),
        ({"sump": SUMP, "id": "12"}, {("#/id", "malformed-uuid")}),
        ({"sump": SUMP, "hot": "true"}, {("#/hot", "wrong-type")}),
        ({"sump": SUMP, "hot": 1}, {("#/hot", "wrong-type")}),
        ({"sump": SUMP, "hot": True, "cells": 1}, {("#/cells", "too-few")}),
        ({"sump": SUMP, "notes": {"a/b": -1}}, {("#/notes/a~1b", "out-of-range")}),
        ({"sump": SUMP, "events": [{}]}, {("#/events/0/kind", "missing-field")}),
        ({"sump": SUMP, "events": [{"kind": "x"}]}, {("#/events/0/kind", "unknown-kind")}),
        ({"sump": SUMP, "events": [{"kind": 1}]}, {("#/events/0/kind", "unknown-kind")}),
        (
            {"sump": SUMP, "events": [{"kind": "remark", "text": "x" * 11}]},
            {("#/events/0/text", "too-long")},
        ),
        (
            {"sump": SUMP, "events": [{"kind": "remark", "text": "ok"}] * 4},
            {("#/events", "too-long")},
        ),
        (
            {"sump": SUMP, "events": [{"kind": "reading", "at": "2026-01-01T10:00:00", "c": 400}]},
            {("#/events/0/at", "naive-time"), ("#/events/0/c", "out-of-range")},
        ),
        (
            {"sump": SUMP, "events": [{"kind": "reading", "at": "yesterday", "c": 40}]},
            {("#/events/0/at", "malformed-time")},
        ),
    ],
    ids=lambda value: str(sorted(value) if isinstance(value, set) else value)[:60],
)
def test_json_that_is_no_order_is_422_with_its_faults(
    plain: httpx.Client, body: Any, expected: set[tuple[str, str]]
) -> None:
    answer = post(plain, json.dumps(body).encode())

    assert answer.status_code == 422
    assert answer.json()["type"] == "/v1/problems/invalid-body"
    assert faults(answer) == expected


@pytest.mark.parametrize("number", [b"1e999", b"-1e999"])
def test_a_number_beyond_all_floats_is_refused(plain: httpx.Client, number: bytes) -> None:
    answer = post(plain, b'{"sump": {"value": ' + number + b', "unit": "L"}}')

    assert answer.status_code == 400
    assert faults(answer) == {("#/sump/value", "not-finite")}


def test_half_a_surrogate_pair_is_refused(plain: httpx.Client) -> None:
    answer = post(plain, b'{"sump": {"value": 1, "unit": "L"}, "anything": "\\ud800"}')

    assert answer.status_code == 422
    assert faults(answer) == {("#/anything", "control-character")}


def test_all_faults_are_listed_at_once_with_value_allowed_and_remedy(plain: httpx.Client) -> None:
    body = {"sump": {"value": "3", "unit": "l"}, "cells": 11, "code": "A", "more": 1}

    answer = plain.post("/orders", json=body)

    assert faults(answer) == {
        ("#/sump/value", "wrong-type"),
        ("#/sump/unit", "unknown-unit"),
        ("#/cells", "out-of-range"),
        ("#/code", "pattern"),
        ("#/more", "unknown-field"),
    }
    unit = next(e for e in answer.json()["errors"] if e["code"] == "unknown-unit")
    assert unit["value"] == "l"
    assert unit["allowed"] == "L, mL"
    assert unit["remedy"] == "Did you mean 'L'? Case matters."


def test_a_long_value_is_repeated_shortened(plain: httpx.Client) -> None:
    answer = plain.post("/orders", json={"sump": "x" * 3000})

    assert len(answer.json()["errors"][0]["value"]) == 120


def test_a_thousand_faults_are_cut(plain: httpx.Client) -> None:
    answer = plain.post("/orders", json={"sump": SUMP, "notes": {str(n): -1 for n in range(300)}})

    assert len(answer.json()["errors"]) == 100


@pytest.mark.parametrize(
    "content_type",
    ["", "text/plain", "application/x-www-form-urlencoded", "application/json; charset=latin-1"],
)
def test_another_media_type_is_415(plain: httpx.Client, content_type: str) -> None:
    answer = post(plain, GOOD, Content_Type=content_type)

    assert answer.status_code == 415
    assert answer.json()["errors"][0]["parameter"] == {"in": "header", "name": "Content-Type"}


@pytest.mark.parametrize("content_type", ["application/json;charset=UTF-8", "Application/JSON"])
def test_json_may_say_its_charset(plain: httpx.Client, content_type: str) -> None:
    assert post(plain, GOOD, Content_Type=content_type).status_code == 200


def test_a_compressed_body_is_415(plain: httpx.Client) -> None:
    assert post(plain, GOOD, Content_Encoding="gzip").status_code == 415


@pytest.mark.parametrize(
    ("accept", "status"),
    [
        ("application/json", 200),
        ("application/*", 200),
        ("text/html, */*;q=0.1", 200),
        ("", 200),
        ("text/html", 406),
        ("application/json;q=0", 406),
        ("*/*, application/json;q=0", 406),
        ("nonsense", 406),
    ],
)
def test_accept_is_honoured(plain: httpx.Client, accept: str, status: int) -> None:
    assert post(plain, GOOD, Accept=accept).status_code == status


def test_a_body_over_the_limit_is_413(plain: httpx.Client) -> None:
    answer = post(plain, b" " * LIMIT + GOOD)

    assert answer.status_code == 413
    assert str(LIMIT) in answer.json()["detail"]


def test_a_body_without_a_length_is_cut_at_the_limit(shop: Running) -> None:
    """The client never sends the end, so an answer shows that the service did not wait for it."""
    host, port = shop.url.removeprefix("http://").split(":")
    head = b"POST /orders HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
    with socket.create_connection((host, int(port)), timeout=5) as raw:
        raw.sendall(head + b"Transfer-Encoding: chunked\r\n\r\n")
        raw.sendall(b"2000\r\n" + b" " * 0x2000 + b"\r\n")

        assert raw.recv(100).startswith(b"HTTP/1.1 413 ")


def test_a_length_over_the_limit_is_refused_before_the_body(shop: Running) -> None:
    host, port = shop.url.removeprefix("http://").split(":")
    head = b"POST /orders HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
    with socket.create_connection((host, int(port)), timeout=5) as raw:
        raw.sendall(head + b"Content-Length: 999999999\r\n\r\n")

        assert raw.recv(100).startswith(b"HTTP/1.1 413 ")
