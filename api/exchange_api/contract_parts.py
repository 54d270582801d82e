"""The parts of the contract that many operations share: parameters, headers, schemas."""

from typing import Any

import msgspec

from exchange_api.contract_fields import describe_fields
from libexchange.quantities import Quantity, from_base, units_of

Json = dict[str, Any]

_UUID = {"type": "string", "format": "uuid"}
_SLUG = {"type": "string", "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "minLength": 2, "maxLength": 64}
_DIGEST = {"type": "string", "pattern": "^[0-9a-f]{64}$", "minLength": 64, "maxLength": 64}
_TAGS = {"type": "string"}

PATH_PARAMETERS: dict[str, tuple[str, Json]] = {
    "plan_id": ("The plan.", _UUID),
    "job_id": ("The job; the caller chooses the id.", _UUID),
    "transmission_id": ("The entry of the catalogue.", _SLUG),
    "additive_id": ("The entry of the catalogue.", _SLUG),
    "fluid_id": ("The entry of the catalogue.", _SLUG),
    "key_id": ("The API key.", _UUID),
    "endpoint_id": ("The webhook endpoint.", _UUID),
    "delivery_id": ("The message, by its `webhook-id`.", _UUID),
    "digest": ("The SHA-256 of the bytes as they are sent.", _DIGEST),
    "slug": ("The last part of a problem's `type`.", _SLUG),
}
"""What may stand in a path: its meaning and its schema."""

REQUEST_HEADERS: dict[str, Json] = {
    "Idempotency-Key": {
        "required": True,
        "description": "A fresh text for each new request; the same again means the same request "
        "again, which answers what the first answered.",
        "schema": {"type": "string", "pattern": "^[!-~]{1,255}$", "minLength": 1, "maxLength": 255},
    },
    "If-Match": {
        "required": False,
        "description": "The ETag of the version that was seen; without it the answer is 428.",
        "schema": _TAGS,
    },
    "If-None-Match": {
        "required": False,
        "description": "ETags that the caller has; the answer is 304 when one is current.",
        "schema": _TAGS,
    },
}

RESPONSE_HEADERS: dict[str, Json] = {
    "Content-Disposition": {"description": "A file name for it.", "schema": {"type": "string"}},
    "ETag": {"description": "The version of this representation.", "schema": {"type": "string"}},
    "Location": {"description": "Where it now is.", "schema": {"type": "string"}},
    "RateLimit": {
        "description": "Requests that are left and the seconds until the count begins anew.",
        "schema": {"type": "string"},
    },
    "RateLimit-Policy": {
        "description": "The limit and its window in seconds.",
        "schema": {"type": "string"},
    },
    "Retry-After": {"description": "Seconds to wait.", "schema": {"type": "string"}},
    "WWW-Authenticate": {"description": "How to prove who asks.", "schema": {"type": "string"}},
    "X-Request-Id": {"description": "The id of this exchange.", "schema": _UUID},
}


def header_refs(*names: str) -> Json:
    """References to response headers; the request id is always among them."""
    return {name: {"$ref": f"#/components/headers/{name}"} for name in (*names, "X-Request-Id")}


def schemas_of(types: list[Any]) -> tuple[list[Json], Json]:
    """A schema for each type and the components that they need, with readable descriptions."""
    schemas, components = msgspec.json.schema_components(
        types, ref_template="#/components/schemas/{name}"
    )
    describe_fields(types, components)
    for kind in Quantity.__subclasses__():
        if kind.__name__ in components:
            properties = components[kind.__name__]["properties"]
            properties["value"] |= _range(kind)
            properties["unit"]["description"] = "UCUM code of the unit"
    return [_readable(schema) for schema in schemas], _readable(components)


def _range(kind: type[Quantity]) -> Json:
    """The range of a quantity's number: exact per unit in words, the widest as limits."""
    ranges = {
        unit: (from_base(kind.low, unit), from_base(kind.high, unit)) for unit in units_of(kind)
    }
    return {
        "minimum": min(low for low, _ in ranges.values()),
        "maximum": max(high for _, high in ranges.values()),
        "description": "; ".join(
            f"{_short(low)} to {_short(high)} {unit}" for unit, (low, high) in ranges.items()
        ),
    }


def _short(number: float) -> str:
    """A number in six digits, for people.

    >>> _short(105668.82), _short(1e8), _short(0.5)
    ('105,669', '100,000,000', '0.5')
    """
    return f"{float(f'{number:.6g}'):,.10g}"


def _readable(schema: Any) -> Any:
    if isinstance(schema, list):
        return [_readable(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    made = {key: _readable(part) for key, part in schema.items()}
    if isinstance(made.get("description"), str):
        made["description"] = _prose(made["description"])
    return made


def _prose(docstring: str) -> str:
    r"""A docstring without its doctests, one line a paragraph.

    >>> _prose("Meaning\nof it.\n\n>>> 1\n1\n")
    'Meaning of it.'
    """
    paragraphs = docstring.partition(">>>")[0].split("\n\n")
    return "\n\n".join(" ".join(part.split()) for part in paragraphs if part.strip())


def query_parameters(kind: Any) -> list[Json]:
    """The query parameters that a record of them stands for, and no more."""
    if kind is None:
        return []
    _, components = schemas_of([kind])
    record = components[kind.__name__]
    needed = record.get("required", ())
    return [
        _query_parameter(name, schema, is_needed=name in needed)
        for name, schema in record["properties"].items()
    ]


def _query_parameter(name: str, schema: Json, *, is_needed: bool) -> Json:
    schema = _without_null(schema)
    description = schema.pop("description", None)
    parameter = {"name": name, "in": "query", "required": is_needed, "schema": schema}
    return parameter | ({"description": description} if description else {})


def _without_null(schema: Json) -> Json:
    """A parameter is left out rather than null."""
    choices = [part for part in schema.get("anyOf", ()) if part != {"type": "null"}]
    if len(choices) == 1:
        schema = {**{k: v for k, v in schema.items() if k != "anyOf"}, **choices[0]}
    elif choices:
        schema = {**schema, "anyOf": choices}
    if "default" in schema and schema["default"] is None:
        schema = {k: v for k, v in schema.items() if k != "default"}
    return schema
