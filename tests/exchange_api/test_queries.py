"""Query parameters are read as strictly as bodies."""

from collections.abc import Iterator

import httpx
import pytest

from tests.exchange_api.running import running
from tests.exchange_api.shapes import HANDLERS


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    folder = tmp_path_factory.mktemp("queries")
    with running(folder, more_handlers=HANDLERS) as app, app.client() as client:
        yield client


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("", {"limit": 20, "states": [], "all": False}),
        ("limit=7", {"limit": 7}),
        ("states=open&states=closed", {"states": ["open", "closed"]}),
        ("all=true&share=0.25", {"all": True, "share": 0.25}),
        ("text=123", {"text": "123"}),
        ("since=2026-01-01T00:00:00%2B01:00", {"since": "2026-01-01T00:00:00+01:00"}),
    ],
)
def test_good_parameters_are_read(
    plain: httpx.Client, query: str, expected: dict[str, object]
) -> None:
    answer = plain.get(f"/search?{query}")

    assert answer.status_code == 200
    assert answer.json().items() >= expected.items()


@pytest.mark.parametrize(
    ("query", "name", "code"),
    [
        ("limitt=7", "limitt", "unknown-parameter"),
        ("limit=0", "limit", "out-of-range"),
        ("limit=51", "limit", "out-of-range"),
        ("limit=7.0", "limit", "wrong-type"),
        ("limit=", "limit", "wrong-type"),
        ("limit=1e1", "limit", "wrong-type"),
        ("limit=" + "9" * 5000, "limit", "wrong-type"),
        ("limit=%D9%A3", "limit", "wrong-type"),
        ("limit=1&limit=2", "limit", "repeated-parameter"),
        ("states=open&states=shut", "states", "unknown-value"),
        ("all=1", "all", "wrong-type"),
        ("share=nan", "share", "wrong-type"),
        ("share=1.5", "share", "out-of-range"),
        ("text=", "text", "too-short"),
        ("text=a%00b", "text", "control-character"),
        ("since=2026-01-01T00:00:00", "since", "naive-time"),
        ("since=2026-01-01T00:00:00+01:00", "since", "malformed-time"),
    ],
    ids=lambda value: value[:30],
)
def test_a_wrong_parameter_is_400_and_named(
    plain: httpx.Client, query: str, name: str, code: str
) -> None:
    answer = plain.get(f"/search?{query}")

    assert answer.status_code == 400
    (error,) = answer.json()["errors"]
    assert (error["parameter"], error["code"]) == ({"in": "query", "name": name}, code)


def test_all_wrong_parameters_are_listed(plain: httpx.Client) -> None:
    errors = plain.get("/search?limit=0&all=x&more=1").json()["errors"]

    assert {error["parameter"]["name"] for error in errors} == {"limit", "all", "more"}


@pytest.mark.parametrize("path", ["/health/live", "/openapi.json", "/v1/problems/conflict"])
def test_where_no_parameter_is_declared_none_is_taken(plain: httpx.Client, path: str) -> None:
    answer = plain.get(f"{path}?a=1&b")

    assert answer.status_code == 400
    assert [e["parameter"]["name"] for e in answer.json()["errors"]] == ["a", "b"]


@pytest.mark.parametrize("query", ["text=%FF", "&".join(f"a{n}=1" for n in range(101))])
def test_a_query_that_cannot_be_read_is_400(plain: httpx.Client, query: str) -> None:
    assert plain.get(f"/search?{query}").status_code == 400
