"""What callers send says what each of its properties means."""

import json
from collections.abc import Iterator
from typing import Any

from exchange_api.app import contract_bytes

REFS = "#/components/schemas/"


def bodies(document: dict[str, Any]) -> set[str]:
    """Names of all schemas that request bodies are made of."""
    schemas = document["components"]["schemas"]
    found: set[str] = set()
    waiting = [
        told["requestBody"]
        for methods in document["paths"].values()
        for told in methods.values()
        if "requestBody" in told
    ]
    while waiting:
        fresh = {name for name in named(waiting.pop()) if name not in found}
        found |= fresh
        waiting.extend(schemas[name] for name in fresh)
    return found


def named(part: Any) -> Iterator[str]:
    """Names of the schemas that a part of the document refers to."""
    if isinstance(part, dict):
        if str(part.get("$ref", "")).startswith(REFS):
            yield part["$ref"].removeprefix(REFS)
        for inner in part.values():
            yield from named(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from named(inner)


def undescribed(document: dict[str, Any]) -> set[tuple[str, str]]:
    """Schema and property, of request bodies, without a description."""
    schemas = document["components"]["schemas"]
    return {
        (name, field)
        for name in bodies(document)
        for field, schema in schemas[name].get("properties", {}).items()
        if not schema.get("description")
    }


def test_every_property_that_is_sent_says_what_it_means() -> None:
    assert undescribed(json.loads(contract_bytes())) == set()


def test_a_property_without_a_meaning_is_noticed() -> None:
    document = json.loads(contract_bytes())
    properties = document["components"]["schemas"]["PlanRequest"]["properties"]
    properties["colour"] = {"type": "string"}

    assert undescribed(document) == {("PlanRequest", "colour")}
