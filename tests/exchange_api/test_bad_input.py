"""Every bad input has a name: refused with its place, what is allowed and the remedy; none kept."""

import json
from typing import Any
from uuid import uuid4

import httpx
import pytest

from tests.exchange_api.bay_desk import RED_FLUID, ROUTINE, SIX_SPEED, plans_kept, problem, routine

CONTENT = {"Content-Type": "application/json"}
TOTAL = "#/transmission/total"
CIRCUIT = (
    b'{"circuit": {"sump": {"value": %s, "unit": "L"}}, "exchanged": {"value": 8, "unit": "L"}}'
)


def with_total(**total: Any) -> dict[str, Any]:
    return routine(transmission=SIX_SPEED | {"total": {"value": 9.0, "unit": "L"} | total})


def raw_total(value: str) -> bytes:
    text = json.dumps(routine(transmission=SIX_SPEED | {"total": {"value": "@", "unit": "L"}}))
    return text.replace('"@"', value).encode()


MEANING: dict[str, tuple[Any, dict[str, str]]] = {
    "unknown unit": (with_total(unit="l"), {f"{TOTAL}/unit": "unknown-unit"}),
    "illegal unit": (with_total(unit="qt"), {f"{TOTAL}/unit": "unknown-unit"}),
    "unit of another dimension": (with_total(unit="Cel"), {f"{TOTAL}/unit": "unknown-unit"}),
    "no unit": (
        routine(transmission=SIX_SPEED | {"total": {"value": 9.0}}),
        {f"{TOTAL}/unit": "missing-field"},
    ),
    "a number in quotes": (with_total(value="3"), {f"{TOTAL}/value": "wrong-type"}),
    "a decimal comma": (with_total(value="8,5"), {f"{TOTAL}/value": "wrong-type"}),
    "true for a number": (with_total(value=True), {f"{TOTAL}/value": "wrong-type"}),
    "empty text for a number": (with_total(value=""), {f"{TOTAL}/value": "wrong-type"}),
    "a bare number for litres": (
        routine(transmission=SIX_SPEED | {"total": 9.0}), {TOTAL: "wrong-type"},
    ),
    "negative litres": (with_total(value=-1.0), {f"{TOTAL}/value": "out-of-range"}),
    "absurd litres": (with_total(value=1e9), {f"{TOTAL}/value": "out-of-range"}),
    "an integer beyond 64 bits": (with_total(value=10**30), {f"{TOTAL}/value": "out-of-range"}),
    "an unknown field": (routine() | {"colour": "red"}, {"#/colour": "unknown-field"}),
    "an unknown field inside": (
        routine(fluid=RED_FLUID | {"colour": "red"}), {"#/fluid/colour": "unknown-field"},
    ),
    "NUL in a text": (
        routine(vehicle={"reference": "a\x00b"}), {"#/vehicle/reference": "control-character"},
    ),
    "half a surrogate pair": (
        routine(vehicle={"reference": "\ud83d"}), {"#/vehicle/reference": "control-character"},
    ),
    "a time without offset": (
        routine(requested_at="2026-03-02T09:30:00"), {"#/requested_at": "naive-time"},
    ),
    "a day that is none": (
        routine(service_date="2026-02-30"), {"#/service_date": "malformed-date"},
    ),
    "an unknown reason": (routine(reason="because"), {"#/reason": "unknown-value"}),
    "a share of one": (routine(target_fresh_share=1.0), {"#/target_fresh_share": "out-of-range"}),
    "a share of zero": (routine(target_fresh_share=0), {"#/target_fresh_share": "out-of-range"}),
    "a vehicle number with a letter it never has": (
        routine(vehicle={"vin": "O" * 17}), {"#/vehicle/vin": "pattern"},
    ),
    "money as a number": (
        routine(prices={"filter_kit": {"amount": 12.5, "currency": "EUR"}}),
        {"#/prices/filter_kit/amount": "wrong-type"},
    ),
    "two currencies": (
        routine(prices={"filter_kit": {"amount": "1", "currency": "EUR"},
                        "labour_per_hour": {"amount": "1", "currency": "CHF"}}),
        {"#/prices": "mixed-currencies"},
    ),
    "an unknown transmission": (
        routine(transmission=None, transmission_id="none-such"),
        {"#/transmission_id": "unknown-id"},
    ),
    "a list": ([ROUTINE], {"#": "wrong-type"}),
    "null": (None, {"#": "wrong-type"}),
    "everything wrong at once": (
        routine(reason="because", service_date="soon",
                transmission=SIX_SPEED | {"total": {"value": -1, "unit": "L"}}) | {"colour": 1},
        {"#/reason": "unknown-value", "#/service_date": "malformed-date",
         f"{TOTAL}/value": "out-of-range", "#/colour": "unknown-field"},
    ),
}  # fmt: skip

SYNTAX: dict[str, tuple[bytes, dict[str, str]]] = {
    "nothing": (b"", {"#": "empty"}),
    "half an object": (b'{"reason": ', {"#": "syntax"}),
    "two objects": (b"{}{}", {"#": "syntax"}),
    "invalid UTF-8": (b'{"reason": "\xff\xfe"}', {"#": "not-utf-8"}),
    "a raw NUL": (b'{"reason": "\x00"}', {"#": "syntax"}),
    "NaN": (raw_total("NaN"), {f"{TOTAL}/value": "not-finite"}),
    "Infinity": (raw_total("-Infinity"), {f"{TOTAL}/value": "not-finite"}),
    "a number beyond doubles": (raw_total("1e999"), {f"{TOTAL}/value": "not-finite"}),
    "a member given twice": (
        b'{"reason": "routine", "reason": "heavy_use"}', {"#/reason": "repeated-member"},
    ),
    "deep nesting": (b'{"a":' * 100_000 + b"1" + b"}" * 100_000, {"#": "too-deep"}),
    "deep nesting that is never closed": (b"[" * 100_000, {"#": "too-deep"}),
}  # fmt: skip

NOTHING_WAS_GIVEN = {"missing-field", "exactly-one-of"}


def post(client: httpx.Client, path: str, raw: bytes) -> httpx.Response:
    return client.post(path, content=raw, headers=CONTENT | {"Idempotency-Key": str(uuid4())})


def check(answered: httpx.Response, status: int, slug: str, faults: dict[str, str]) -> None:
    """The problem names these faults, each with what was given, and no others hide them."""
    told = answered.json()["errors"]
    assert problem(answered)[:2] == (status, slug)
    assert faults.items() <= {error["pointer"]: error["code"] for error in told}.items()
    for error in told:
        assert "value" in error or error["code"] in NOTHING_WAS_GIVEN, error


@pytest.mark.parametrize("path", ["/v1/plans", "/v1/plans/preview"])
@pytest.mark.parametrize("name", MEANING)
def test_what_means_nothing_is_422(client: httpx.Client, path: str, name: str) -> None:
    body, faults = MEANING[name]
    answered = post(client, path, json.dumps(body).encode())

    check(answered, 422, "invalid-body", faults)
    assert {error["pointer"] for error in answered.json()["errors"]} == set(faults)
    assert plans_kept(client) == 0


@pytest.mark.parametrize("path", ["/v1/plans", "/v1/plans/preview"])
@pytest.mark.parametrize("name", SYNTAX)
def test_what_is_no_json_is_400(client: httpx.Client, path: str, name: str) -> None:
    raw, faults = SYNTAX[name]

    check(post(client, path, raw), 400, "malformed-json", faults)
    assert plans_kept(client) == 0


@pytest.mark.parametrize(
    ("value", "status", "code"),
    [
        (b"NaN", 400, "not-finite"),
        (b'"3"', 422, "wrong-type"),
        (b"-1", 422, "out-of-range"),
        (b"1e9", 422, "out-of-range"),
        (b"1" + b"0" * 400, 422, "out-of-range"),
        (b"true", 422, "wrong-type"),
    ],
    ids=lambda value: str(value)[:12],
)
def test_a_calculation_refuses_the_same(
    client: httpx.Client, value: bytes, status: int, code: str
) -> None:
    answered = post(client, "/v1/calculations/exchange", CIRCUIT % value)

    slug = "malformed-json" if status == 400 else "invalid-body"
    check(answered, status, slug, {"#/circuit/sump/value": code})


@pytest.mark.parametrize(("raw", "given"), [(b"-1", -1), (b"1e9", 1e9)])
def test_what_is_out_of_range_is_told_with_its_range_and_what_to_do(
    client: httpx.Client, raw: bytes, given: float
) -> None:
    answered = post(client, "/v1/calculations/exchange", CIRCUIT % raw)
    told = next(e for e in answered.json()["errors"] if e["pointer"] == "#/circuit/sump/value")

    assert (told["value"], told["allowed"]) == (given, "0 to 100000 L")
    assert told["remedy"] == "Give a number within the range; check its unit."


@pytest.mark.parametrize(
    ("raw", "status", "place"),
    [
        (b'{"plan_id": "none"}', 422, "#/plan_id"),
        (b'{"plan_id": 7}', 422, "#/plan_id"),
        (b'{"plan_id": null}', 422, "#/plan_id"),
        (b"{}", 422, "#/plan_id"),
        (b'{"plan_id": "01920000-0000-7000-8000-000000000001"}', 404, "#/plan_id"),
        (b'{"plan_id"', 400, "#"),
    ],
)
def test_a_job_refuses_the_same(client: httpx.Client, raw: bytes, status: int, place: str) -> None:
    answered = client.put(f"/v1/jobs/{uuid4()}", content=raw, headers=CONTENT)

    assert (problem(answered)[0], problem(answered)[2]) == (status, {place})
    assert client.get("/v1/jobs").json()["items"] == []


def test_a_body_beyond_the_limit_is_not_read_on(client: httpx.Client) -> None:
    padded = json.dumps(ROUTINE).encode() + b" " * 2**20

    assert problem(post(client, "/v1/plans", padded))[:2] == (413, "body-too-large")
    assert plans_kept(client) == 0


@pytest.mark.parametrize("kind", ["text/plain", "application/xml", "multipart/form-data", ""])
def test_another_media_type_is_not_read(client: httpx.Client, kind: str) -> None:
    headers = {"Content-Type": kind, "Idempotency-Key": "a"}
    answered = client.post("/v1/plans", content=json.dumps(ROUTINE), headers=headers)

    assert problem(answered) == (415, "unsupported-media-type", {"Content-Type"})
    assert plans_kept(client) == 0
