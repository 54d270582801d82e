"""The OpenAPI 3.1 document, from what the handlers declare of themselves."""

from collections.abc import Iterable, Iterator
from importlib.metadata import version

import msgspec
from litestar.handlers import HTTPRouteHandler
from litestar.routes import BaseRoute, HTTPRoute

from exchange_api.contract_parts import (
    PATH_PARAMETERS,
    REQUEST_HEADERS,
    RESPONSE_HEADERS,
    Json,
    header_refs,
    query_parameters,
    schemas_of,
)
from exchange_api.contract_webhooks import MESSAGES, webhooks
from exchange_api.operations import JSON, Answer, Link, Operation
from exchange_api.problem_types import PROBLEMS
from exchange_api.problems import MEDIA_TYPE, ProblemDocument

_DESCRIPTION = """Rules of automatic-transmission fluid service: plans, jobs, records, calculations.

Quantities are `{"value": 9.2, "unit": "L"}` with UCUM units. \
Every answer of 400 and above is a problem document (RFC 9457) that lists all faults. \
What a person may judge is a finding inside an ordinary answer. \
The `Date` header is the clock reference for devices."""
_KEY = {
    "type": "http",
    "scheme": "bearer",
    "description": "Send an API key of a workshop as `Authorization: Bearer lxk_...`; "
    "each operation names the scope it needs.",
}


def contract(routes: Iterable[BaseRoute]) -> bytes:
    """The document as sorted, indented JSON; the same handlers always give the same bytes."""
    declared = list(_declared(routes))
    kinds = [*_kinds(operation for _, _, operation in declared), *MESSAGES]
    schemas, components = schemas_of(kinds)
    refs = {_name(kind): schema for kind, schema in zip(kinds, schemas, strict=True)}
    paths: Json = {}
    for path, method, operation in declared:
        paths.setdefault(path, {})[method] = _operation(path, operation, refs)
    document = _document(paths, components)
    document["webhooks"] = webhooks(lambda kind: refs[_name(kind)])
    return msgspec.json.format(msgspec.json.encode(document, order="sorted"), indent=2) + b"\n"


def _declared(routes: Iterable[BaseRoute]) -> Iterator[tuple[str, str, Operation]]:
    for route in routes:
        if isinstance(route, HTTPRoute):
            for handler in route.route_handlers:
                if "operation" in handler.opt:
                    yield route.path_format, _method(handler), handler.opt["operation"]


def _method(handler: HTTPRouteHandler) -> str:
    (method,) = handler.http_methods
    return str(method).lower()


def _kinds(operations: Iterable[Operation]) -> list[object]:
    found: dict[str, object] = {_name(ProblemDocument): ProblemDocument}
    for operation in operations:
        for kind in (operation.body, *(answer.content for answer in operation.answers.values())):
            if kind is not None:
                found.setdefault(_name(kind), kind)
    return list(found.values())


def _name(kind: object) -> str:
    return f"{getattr(kind, '__module__', '')}.{getattr(kind, '__qualname__', kind)}"


def _document(paths: Json, components: Json) -> Json:
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Fluid exchange",
            "version": version("libexchange"),
            "description": _DESCRIPTION,
        },
        "servers": [{"url": "/"}],
        "paths": paths,
        "components": {
            "schemas": components,
            "headers": RESPONSE_HEADERS,
            "securitySchemes": {"apiKey": _KEY},
        },
    }


def _operation(path: str, declared: Operation, refs: Json) -> Json:
    made: Json = {
        "operationId": declared.operation_id,
        "summary": declared.summary,
        "tags": [declared.tag],
        "security": _security(declared),
        "parameters": [
            *_path_parameters(path),
            *_header_parameters(declared),
            *query_parameters(declared.query),
        ],
        "responses": _answers(declared, refs) | _problems(path, declared, refs),
    }
    if declared.description:
        made["description"] = declared.description
    if declared.body is not None:
        made["requestBody"] = _body(declared, refs)
    return made


def _security(declared: Operation) -> list[Json]:
    if declared.scope is None:
        return []
    return [{"apiKey": [] if declared.scope == "any" else [declared.scope]}]


def _path_parameters(path: str) -> Iterator[Json]:
    for part in path.split("/"):
        if part.startswith("{"):
            name = part.strip("{}")
            description, schema = PATH_PARAMETERS[name]
            yield {
                "name": name, "in": "path", "required": True,
                "description": description, "schema": schema,
            }  # fmt: skip


def _header_parameters(declared: Operation) -> list[Json]:
    return [{"name": name, "in": "header"} | REQUEST_HEADERS[name] for name in declared.headers]


def _body(declared: Operation, refs: Json) -> Json:
    content = _content(declared.body, declared.body_media_type, refs)
    if declared.examples:
        content["examples"] = {n: {"value": example} for n, example in declared.examples.items()}
    others = {name: _content(declared.body, name, refs) for name in declared.body_alternatives}
    return {"required": True, "content": {declared.body_media_type: content} | others}


def _content(kind: object, media_type: str, refs: Json) -> Json:
    if kind is bytes:
        return {"schema": {"contentMediaType": media_type}}
    if media_type == JSON and kind is not None:
        return {"schema": refs[_name(kind)]}
    if kind is None:
        return {"schema": {"type": "string"}}
    line = getattr(kind, "__name__", str(kind))
    return {"schema": {"type": "string", "description": f"One {line} a line."}}


def _answers(declared: Operation, refs: Json) -> Json:
    made = {str(status): _answer(one, refs) for status, one in declared.answers.items()}
    if "If-None-Match" in declared.headers:
        unchanged = {"description": "Not changed.", "headers": header_refs("ETag")}
        made["304"] = unchanged
    return made


def _answer(one: Answer, refs: Json) -> Json:
    made: Json = {"description": one.description, "headers": header_refs(*one.headers)}
    if one.media_types:
        made["content"] = {name: _content(one.content, name, refs) for name in one.media_types}
    if one.links:
        made["links"] = {name: _link(link) for name, link in one.links.items()}
    return made


def _link(link: Link) -> Json:
    made: Json = {
        "operationId": link.operation_id,
        "description": link.description,
        "parameters": link.parameters,
    }
    return made | ({"requestBody": link.body} if link.body is not None else {})


def _problems(path: str, declared: Operation, refs: Json) -> Json:
    by_status: dict[int, list[str]] = {}
    for slug in sorted(_slugs(path, declared)):
        by_status.setdefault(PROBLEMS[slug].status, []).append(slug)
    return {str(status): _problem(status, slugs, refs) for status, slugs in by_status.items()}


def _slugs(path: str, declared: Operation) -> set[str]:
    slugs = {"internal-error", "invalid-parameter", "storage-unavailable", *declared.problems}
    if declared.is_limited:
        slugs.add("too-many-requests")
    if declared.scope is not None:
        slugs |= {"unauthenticated"} | ({"forbidden"} if declared.scope != "any" else set())
    if declared.query is not None:
        slugs.add("address-too-long")
    if declared.media_types:
        slugs.add("not-acceptable")
    if declared.body is not None:
        slugs |= {"malformed-json", "body-too-large", "unsupported-media-type", "invalid-body"}
        slugs.add("overloaded")
    if "If-Match" in declared.headers:
        slugs |= {"stale", "precondition-required"}
    if "{" in path:
        slugs.add("not-found")
    return slugs


_PROBLEM_HEADERS = {
    401: ("WWW-Authenticate",),
    429: ("RateLimit", "RateLimit-Policy", "Retry-After"),
    503: ("Retry-After",),
}


def _problem(status: int, slugs: list[str], refs: Json) -> Json:
    told = "\n".join(f"- `{slug}`: {PROBLEMS[slug].title}." for slug in slugs)
    return {
        "description": told,
        "headers": header_refs(*_PROBLEM_HEADERS.get(status, ())),
        "content": {MEDIA_TYPE: {"schema": refs[_name(ProblemDocument)]}},
    }
