"""The contract: generated, committed, valid, complete, and made of the library's own types."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import httpx
import msgspec
import pytest
from openapi_spec_validator import validate

from exchange_api.app import contract_bytes
from exchange_api.contract_parts import schemas_of
from exchange_api.contract_webhooks import MESSAGES
from exchange_api.problems import ProblemDocument
from libexchange.errors import OutOfRange
from libexchange.job.events import JobEvent
from libexchange.quantities import Quantity, units_of
from tests.contract.declared import DECLARED

COMMITTED = Path(__file__).parents[2] / "openapi" / "v1.json"
REFS = "#/components/schemas/{name}"
Json = dict[str, Any]


def operations(document: Json) -> Iterator[tuple[str, str, Json]]:
    for path, methods in document["paths"].items():
        for method, told in methods.items():
            yield path, method, told


def test_the_service_serves_the_committed_contract(stranger: httpx.Client) -> None:
    served = stranger.get("/openapi.json")

    assert served.content == COMMITTED.read_bytes(), (
        "run: exchange-api openapi --out openapi/v1.json"
    )
    assert served.headers["content-type"] == "application/json"


def test_generating_twice_gives_the_same_bytes() -> None:
    assert contract_bytes() == contract_bytes() == COMMITTED.read_bytes()


def test_it_is_valid_openapi_3_1(document: Json) -> None:
    validate(document)

    assert document["openapi"].startswith("3.1")


def test_operation_ids_are_unique(document: Json) -> None:
    ids = [told["operationId"] for _, _, told in operations(document)]

    assert len(ids) == len(set(ids))


def test_every_answer_has_its_id_and_every_error_is_a_problem_document(document: Json) -> None:
    for path, method, told in operations(document):
        for status, answer in told["responses"].items():
            assert "X-Request-Id" in answer["headers"], (method, path)
            if int(status) >= 400:
                schema = answer["content"]["application/problem+json"]["schema"]
                assert schema == {"$ref": REFS.format(name="ProblemDocument")}
                assert len(answer["content"]) == 1, (method, path)


def needed_statuses(path: str, told: Json) -> set[str]:
    """The statuses that follow from what an operation is."""
    names = {(parameter["in"], parameter["name"]) for parameter in told["parameters"]}
    scopes = [scope for needed in told["security"] for scope in needed["apiKey"]]
    rules = {
        "401": bool(told["security"]),
        "403": bool(scopes),
        "404": "{" in path,
        "406": any("content" in told["responses"][one] for one in told["responses"] if one < "3"),
        "413": "requestBody" in told,
        "415": "requestBody" in told,
        "422": "requestBody" in told,
        "304": ("header", "If-None-Match") in names,
        "412": ("header", "If-Match") in names,
        "428": ("header", "If-Match") in names,
    }
    return {"400", "500", "503"} | {status for status, holds in rules.items() if holds}


def test_every_operation_tells_the_statuses_that_follow_from_it(document: Json) -> None:
    for path, method, told in operations(document):
        missing = needed_statuses(path, told) - told["responses"].keys()
        assert not missing, (method, path)


def test_every_link_names_an_operation_and_its_parameters(document: Json) -> None:
    known = {told["operationId"]: told for _, _, told in operations(document)}

    links = [
        link
        for _, _, told in operations(document)
        for answer in told["responses"].values()
        for link in answer.get("links", {}).values()
    ]

    assert links
    for link in links:
        names = {parameter["name"] for parameter in known[link["operationId"]]["parameters"]}
        assert link["parameters"].keys() <= names


def wire_types() -> list[Any]:
    declared = list(DECLARED.values())
    contents = [answer.content for one in declared for answer in one.answers.values()]
    kinds = [ProblemDocument, *(one.body for one in declared), *contents, *MESSAGES]
    return list(dict.fromkeys(kind for kind in kinds if kind is not None))


def without_words(schema: Any) -> Any:
    """A schema without descriptions, which are made readable on the way."""
    if isinstance(schema, list):
        return [without_words(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    is_text = isinstance(schema.get("description"), str)
    return {
        name: without_words(part)
        for name, part in schema.items()
        if not (name == "description" and is_text)
    }


def test_every_component_is_what_msgspec_says_with_the_ranges_of_quantities(document: Json) -> None:
    _, components = msgspec.json.schema_components(wire_types(), ref_template=REFS)
    said = json.loads(msgspec.json.encode(components))
    for name in said.keys() & {kind.__name__ for kind in Quantity.__subclasses__()}:
        value = document["components"]["schemas"][name]["properties"]["value"]
        said[name]["properties"]["value"] |= {end: value[end] for end in ("minimum", "maximum")}

    assert without_words(document["components"]["schemas"]) == without_words(said)


def test_the_events_of_the_contract_are_those_of_the_library(document: Json) -> None:
    schemas = document["components"]["schemas"]
    items = schemas["EventPost"]["properties"]["events"]["items"]
    kinds = {
        kind.__struct_config__.tag: REFS.format(name=kind.__name__) for kind in get_args(JobEvent)
    }

    assert items["discriminator"] == {"propertyName": "kind", "mapping": kinds}
    assert {part["$ref"] for part in items["anyOf"]} == set(kinds.values())
    for tag, ref in kinds.items():
        told = schemas[ref.rpartition("/")[2]]
        assert told["properties"]["kind"]["enum"] == [tag]
        assert "kind" in told["required"]
        assert told["additionalProperties"] is False


def accepts(kind: type[Quantity], value: float, unit: str) -> bool:
    try:
        return bool(kind(value, unit))
    except OutOfRange:
        return False


@pytest.mark.parametrize("kind", Quantity.__subclasses__(), ids=lambda kind: kind.__name__)
def test_the_limits_of_a_quantity_in_the_contract_bar_nothing_that_is_taken(
    kind: type[Quantity],
) -> None:
    _, components = schemas_of([kind])
    told = components[kind.__name__]["properties"]["value"]
    low, high = told["minimum"], told["maximum"]
    step = (high - low) * 1e-9

    assert any(accepts(kind, low + step, unit) for unit in units_of(kind))
    assert any(accepts(kind, high - step, unit) for unit in units_of(kind))
    assert not any(accepts(kind, low - step, unit) for unit in units_of(kind))
    assert not any(accepts(kind, high + step, unit) for unit in units_of(kind))
