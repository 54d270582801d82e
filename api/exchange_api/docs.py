"""The contract as a page for readers: plain HTML, no scripts, nothing from the network."""

import re
from functools import lru_cache
from importlib.resources import files
from typing import Any

import msgspec
from jinja2 import Environment, StrictUndefined
from markupsafe import Markup, escape

_METHODS = ("get", "post", "put", "patch", "delete")


@lru_cache(maxsize=2)
def page(contract: bytes) -> bytes:
    """The page for a contract."""
    document = msgspec.json.decode(contract)
    source = files("exchange_api").joinpath("docs.html.jinja").read_text(encoding="utf-8")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    environment.filters["type"] = type_text
    environment.filters["json"] = _json
    environment.filters["told"] = told
    template = environment.from_string(source)
    return template.render(document=document, operations=_by_tag(document)).encode()


def _by_tag(document: dict[str, Any]) -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for path, methods in document["paths"].items():
        for method in (name for name in _METHODS if name in methods):
            entry = {"path": path, "method": method.upper(), **methods[method]}
            found.setdefault(entry["tags"][0], []).append(entry)
    return dict(sorted(found.items()))


def _json(value: Any) -> str:
    return msgspec.json.format(msgspec.json.encode(value), indent=2).decode()


def told(text: str) -> Markup:
    """Text with `code` in backticks and `- ` lists, as HTML; everything else is escaped.

    >>> print(told("- `a` < b"))
    <code>a</code> &lt; b
    """
    escaped = re.sub("`([^`]*)`", r"<code>\1</code>", re.sub("(?m)^- ", "", str(escape(text))))
    return Markup(escaped.replace("\n", "<br>"))  # noqa: S704 -- escaped above


def type_text(schema: dict[str, Any]) -> str:
    """A schema in a few words; records by name.

    >>> type_text({"type": "array", "items": {"$ref": "#/components/schemas/Volume"}})
    'list of Volume'
    >>> type_text({"anyOf": [{"type": "number", "minimum": 0}, {"type": "null"}]})
    'number (minimum 0) or null'
    """
    if "$ref" in schema:
        return str(schema["$ref"].rpartition("/")[2])
    if choices := schema.get("anyOf") or schema.get("oneOf"):
        return " or ".join(type_text(part) for part in choices)
    if "enum" in schema:
        return " | ".join(map(str, schema["enum"]))
    if "const" in schema:
        return str(schema["const"])
    if schema.get("type") == "array":
        return f"list of {type_text(schema.get('items', {}))}"
    return _plain(schema)


_LIMITS = {
    "format": "", "minimum": "minimum ", "exclusiveMinimum": "above ", "maximum": "maximum ",
    "exclusiveMaximum": "below ", "minLength": "length at least ",
    "maxLength": "length at most ",
}  # fmt: skip


def _plain(schema: dict[str, Any]) -> str:
    limits = [f"{words}{_limit(schema[name])}" for name, words in _LIMITS.items() if name in schema]
    return str(schema.get("type", "any")) + (f" ({', '.join(limits)})" if limits else "")


def _limit(value: Any) -> str:
    return f"{value:,.10g}" if isinstance(value, float | int) else str(value)
