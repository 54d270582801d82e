"""Every example of the contract: it decodes, and the running service answers as documented."""

import json
from typing import Any
from uuid import uuid4

import httpx
import msgspec
import pytest

from exchange_api.app import contract_bytes
from tests.contract.declared import DECLARED
from tests.exchange_api.every_operation import recipe

Json = dict[str, Any]
PATHS: Json = json.loads(contract_bytes())["paths"]
TOLD: list[Json] = [told for methods in PATHS.values() for told in methods.values()]
EXAMPLES = [
    (path, method, told, example["value"])
    for path, methods in PATHS.items()
    for method, told in methods.items()
    for content in told.get("requestBody", {}).get("content", {}).values()
    for example in content.get("examples", {}).values()
]
NAMES = [told["operationId"] for _, _, told, _ in EXAMPLES]


def test_every_body_has_an_example() -> None:
    """But for what is taken as the bytes that it is."""
    as_json = {
        told["operationId"]: told.get("requestBody", {}).get("content", {}).get("application/json")
        for told in TOLD
    }
    with_body = {
        name for name, one in as_json.items() if one and "contentMediaType" not in one["schema"]
    }

    assert with_body == {told["operationId"] for _, _, told, _ in EXAMPLES}


@pytest.mark.parametrize(("path", "method", "told", "example"), EXAMPLES, ids=NAMES)
def test_an_example_is_a_body_of_its_operation(
    path: str, method: str, told: Json, example: Json
) -> None:
    kind = DECLARED[told["operationId"]].body

    assert isinstance(msgspec.convert(example, kind, strict=True), kind), (method, path)


@pytest.fixture(scope="module")
def plan_id(client: httpx.Client) -> str:
    """A plan, for the examples that name one."""
    content = PATHS["/v1/plans"]["post"]["requestBody"]["content"]["application/json"]
    (example, *_) = content["examples"].values()
    made = client.post(
        "/v1/plans", json=example["value"], headers={"Idempotency-Key": str(uuid4())}
    )
    return str(made.json()["plan_id"])


@pytest.mark.parametrize(("path", "method", "told", "example"), EXAMPLES, ids=NAMES)
def test_an_example_is_answered_with_success(
    client: httpx.Client, plan_id: str, path: str, method: str, told: Json, example: Json
) -> None:
    body = example | ({"plan_id": plan_id} if "plan_id" in example else {})
    ready = recipe(told["operationId"]).ready(client)
    named = {part["name"] for part in told["parameters"] if part["in"] == "path"} & example.keys()
    where = path.format(**{name: example[name] for name in named}) if named else ready.path

    answer = client.request(method, where, json=body, headers=ready.headers)

    assert answer.is_success, answer.text
    assert str(answer.status_code) in told["responses"]
