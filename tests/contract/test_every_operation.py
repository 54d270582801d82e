"""What holds for every operation of the contract, asked of the running service."""

import json
from typing import Any
from uuid import uuid4

import httpx
import pytest

from exchange_api.app import contract_bytes
from tests.contract.declared import DECLARED
from tests.exchange_api.running import Running

Json = dict[str, Any]
PATHS: Json = json.loads(contract_bytes())["paths"]
OPERATIONS = [
    (method.upper(), path, told)
    for path, methods in PATHS.items()
    for method, told in methods.items()
]
each = pytest.mark.parametrize(
    ("method", "path", "told"), OPERATIONS, ids=[told["operationId"] for _, _, told in OPERATIONS]
)
JSON = {"Content-Type": "application/json"}


def _with_body(*, of_json: bool) -> pytest.MarkDecorator:
    chosen = [
        one
        for one in OPERATIONS
        if "requestBody" in one[2] and (not of_json or _is_read_as_json(one[2]))
    ]
    ids = [told["operationId"] for _, _, told in chosen]
    return pytest.mark.parametrize(("method", "path", "told"), chosen, ids=ids)


def _is_read_as_json(told: Json) -> bool:
    """Whether a JSON body is read as a record, not just taken as the bytes that it is."""
    as_json = told["requestBody"]["content"].get(JSON["Content-Type"], {"schema": {}})
    return as_json["schema"] not in ({}, {"contentMediaType": JSON["Content-Type"]})


def _bodies(told: Json) -> list[str]:
    return list(told["requestBody"]["content"])


def _with_content() -> pytest.MarkDecorator:
    """Those that answer something, and not just that it is done."""
    chosen = [one for one in OPERATIONS if "204" not in one[2]["responses"]]
    ids = [told["operationId"] for _, _, told in chosen]
    return pytest.mark.parametrize(("method", "path", "told"), chosen, ids=ids)


each_with_content = _with_content()
each_with_body = _with_body(of_json=False)
each_with_json = _with_body(of_json=True)


def url(path: str, told: Json) -> str:
    """The path with ids of the right form, which nothing has."""
    ids = {part["name"]: _id(part["schema"]) for part in told["parameters"] if part["in"] == "path"}
    return path.format(**ids)


def _id(schema: Json) -> str:
    if schema.get("format") == "uuid":
        return str(uuid4())
    return "0" * 64 if schema.get("minLength") == 64 else "no-such"


def faults(answer: httpx.Response, status: int, told: Json) -> list[Json]:
    """The faults of a problem document that the contract tells of."""
    assert answer.status_code == status, answer.text
    assert str(status) in told["responses"]
    assert answer.headers["content-type"] == "application/problem+json"
    found: list[Json] = answer.json()["errors"]
    return found


@each
def test_a_key_is_needed_where_the_contract_says_so(
    stranger: httpx.Client, method: str, path: str, told: Json
) -> None:
    answer = stranger.request(method, url(path, told))

    assert (answer.status_code == 401) == bool(told["security"])
    assert ("www-authenticate" in answer.headers) == bool(told["security"])


@each
def test_a_key_without_the_scope_is_refused(
    app: Running, method: str, path: str, told: Json
) -> None:
    scopes = [scope for needed in told["security"] for scope in needed["apiKey"]]
    other = "calculate" if "webhooks" in scopes else "webhooks"
    with app.client_of("Contract", scopes=other) as client:
        answer = client.request(method, url(path, told))

    assert (answer.status_code == 403) == bool(scopes)


@each
def test_an_unknown_query_parameter_is_named(
    client: httpx.Client, method: str, path: str, told: Json
) -> None:
    answer = client.request(method, url(path, told), params={"no_such_parameter": "1"})

    (fault,) = [one for one in faults(answer, 400, told) if one["code"] == "unknown-parameter"]
    assert fault["parameter"] == {"in": "query", "name": "no_such_parameter"}


@each_with_content
def test_what_nobody_can_make_is_not_acceptable(
    client: httpx.Client, method: str, path: str, told: Json
) -> None:
    answer = client.request(method, url(path, told), headers={"Accept": "audio/basic"})

    assert faults(answer, 406, told)[0]["parameter"] == {"in": "header", "name": "Accept"}


@each
def test_other_methods_are_refused_with_those_of_the_contract(
    client: httpx.Client, method: str, path: str, told: Json
) -> None:
    allowed = {name.upper() for name in PATHS[path]} | {"OPTIONS"}
    allowed |= {"HEAD"} if "GET" in allowed else set()

    refused = client.request("PATCH", url(path, told))
    options = client.request("OPTIONS", url(path, told))

    assert (refused.status_code, options.status_code) == (405, 204), method
    for answer in (refused, options):
        assert set(answer.headers["allow"].split(", ")) == allowed


@each_with_json
@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"a": NaN}',
        b'{"a": 1, "a": 2}',
        b"{",
        b'{"a": -Infinity}',
    ],
    ids=["empty", "not UTF-8", "deep", "NaN", "twice", "cut short", "infinite"],
)
def test_what_is_not_json_is_a_problem(
    client: httpx.Client, method: str, path: str, told: Json, raw: bytes
) -> None:
    headers = JSON | {"Idempotency-Key": str(uuid4())}

    answer = client.request(method, url(path, told), content=raw, headers=headers)

    assert faults(answer, 400, told)
    assert answer.json()["type"] == "/v1/problems/malformed-json"


@each_with_json
@pytest.mark.parametrize(
    "raw",
    [
        b"[]",
        b"null",
        b"3",
        b'{"no_such_field": 1}',
        b'{"no_such_field": "\\u0000"}',
        b'{"no_such_field": %s}' % (b"9" * 40),
    ],
    ids=["list", "null", "number", "unknown field", "NUL", "huge integer"],
)
def test_json_that_is_no_such_record_is_a_problem_with_every_fault_placed(
    client: httpx.Client, method: str, path: str, told: Json, raw: bytes
) -> None:
    headers = JSON | {"Idempotency-Key": str(uuid4())}

    answer = client.request(method, url(path, told), content=raw, headers=headers)

    for fault in faults(answer, 422, told):
        assert fault["pointer"].startswith("#")
        assert fault["allowed"]
        assert fault["remedy"]


@each_with_body
def test_another_media_type_is_refused(
    client: httpx.Client, method: str, path: str, told: Json
) -> None:
    headers = {"Content-Type": "text/plain", "Idempotency-Key": str(uuid4())}

    answer = client.request(method, url(path, told), content=b"{}", headers=headers)

    assert faults(answer, 415, told)


@each_with_body
def test_a_body_beyond_the_limit_is_refused(
    app: Running, client: httpx.Client, method: str, path: str, told: Json
) -> None:
    limit = DECLARED[told["operationId"]].body_limit or app.service.settings.body_limit
    headers = {"Content-Type": _bodies(told)[0], "Idempotency-Key": str(uuid4())}

    answer = client.request(method, url(path, told), content=b" " * (limit + 1), headers=headers)

    (fault,) = faults(answer, 413, told)
    assert fault["allowed"] == f"at most {limit} bytes"
