"""Entity tags and conditional requests."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from litestar import Response, get, put

from exchange_api.conditional import (
    check_if_match,
    etag,
    matches_strongly,
    matches_weakly,
    not_modified,
    tags,
)
from exchange_api.operations import Answer, Operation, operation
from exchange_api.serving import Request, answer
from tests.exchange_api.running import Running, running


@pytest.mark.parametrize(
    ("one", "other", "strong", "weak"),
    [
        ('W/"1"', 'W/"1"', False, True),
        ('W/"1"', 'W/"2"', False, False),
        ('W/"1"', '"1"', False, True),
        ('"1"', '"1"', True, True),
    ],
    ids=str,
)
def test_comparison_follows_the_table_of_rfc_9110_8_8_3_2(
    one: str, other: str, *, strong: bool, weak: bool
) -> None:
    assert matches_strongly(one, other) is strong
    assert matches_weakly(one, other) is weak


@pytest.mark.parametrize(
    ("field", "expected"),
    [
        ('"a"', ['"a"']),
        ('"a" , W/"b"', ['"a"', 'W/"b"']),
        ('"a,b", "c"', ['"a,b"', '"c"']),
        ('""', ['""']),
        ("a, b", []),
    ],
)
def test_a_list_of_tags_is_read(field: str, expected: list[str]) -> None:
    assert tags(field) == expected


def test_each_representation_has_its_own_tag() -> None:
    assert len({etag(b"{}"), etag(b"{ }"), etag(b"{}", "us"), etag(b"{}", "u", "s")}) == 4


_DECLARED = Operation(
    operation_id="x", summary="", tag="t", scope=None, answers={200: Answer(description="")}
)
TAG = etag(b"now")


@get("/thing", **operation(_DECLARED))
async def read(request: Request) -> Response[bytes]:
    return not_modified(request, TAG) or answer(b"1", headers={"ETag": TAG})


@put("/thing", **operation(_DECLARED))
async def change(request: Request) -> Response[bytes]:
    check_if_match(request, TAG)
    return answer(b"2")


@put("/nothing", **operation(_DECLARED))
async def make(request: Request) -> Response[bytes]:
    check_if_match(request, None)
    return answer(b"3")


@pytest.fixture(scope="module")
def things(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    folder: Path = tmp_path_factory.mktemp("things")
    with running(folder, more_handlers=(read, change, make)) as app:
        yield app


@pytest.mark.parametrize(
    ("field", "status"),
    [
        (None, 200),
        (TAG, 304),
        (f"W/{TAG}", 304),
        (f'"other", {TAG}', 304),
        ("*", 304),
        ('"other"', 200),
    ],
)
def test_if_none_match_compares_weakly(things: Running, field: str | None, status: int) -> None:
    with things.client() as client:
        got = client.get("/thing", headers={"If-None-Match": field} if field else {})

    assert (got.status_code, got.headers["etag"]) == (status, TAG)
    assert got.content == (b"1" if status == 200 else b"")


@pytest.mark.parametrize(
    ("path", "field", "status"),
    [
        ("/thing", None, 428),
        ("/thing", TAG, 200),
        ("/thing", f'"other", {TAG}', 200),
        ("/thing", "*", 200),
        ("/thing", f"W/{TAG}", 412),
        ("/thing", '"other"', 412),
        ("/nothing", "*", 412),
        ("/nothing", TAG, 412),
    ],
)
def test_if_match_compares_strongly(
    things: Running, path: str, field: str | None, status: int
) -> None:
    with things.client() as client:
        got: httpx.Response = client.put(path, headers={"If-Match": field} if field else {})

    assert got.status_code == status


@pytest.mark.parametrize(
    ("headers", "code", "detail"),
    [
        ({}, "missing-header", "If-Match is missing"),
        ({"If-Match": '"other"'}, "stale", "it does not name the current version"),
    ],
)
def test_a_refusal_tells_missing_from_stale(
    things: Running, headers: dict[str, str], code: str, detail: str
) -> None:
    with things.client() as client:
        (error,) = client.put("/thing", headers=headers).json()["errors"]

    assert (error["code"], error["detail"], error["allowed"]) == (code, detail, TAG)
