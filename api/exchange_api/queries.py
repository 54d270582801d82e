"""Query parameters, decoded strictly; a refusal names every one that is wrong."""

import re
from collections.abc import Mapping
from typing import Any, TypeVar
from urllib.parse import parse_qsl

import msgspec
from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler
from msgspec import inspect

from exchange_api.bodies import merged
from exchange_api.faults import faults_of, type_info
from exchange_api.json_text import irregularities
from exchange_api.operations import Operation
from exchange_api.problems import Problem, ProblemError, parameter_fault
from exchange_api.serving import Request
from libexchange.errors import Fault

T = TypeVar("T")


def check_no_query(
    connection: ASGIConnection[Any, Any, Any, Any], handler: BaseRouteHandler
) -> None:
    """A guard: where a handler declares no query parameters, there are none.

    Raises: Problem 400 that names every parameter given.
    """
    declared: Operation | None = handler.opt.get("operation")
    if declared is None or declared.query is not None or not connection.scope["query_string"]:
        return
    errors = [_unknown(name, {}) for name in _pairs(connection.scope["query_string"])]
    raise Problem("invalid-parameter", "The operation takes no query parameters.", errors=errors)


def query(request: Request, kind: type[T]) -> T:
    """The query parameters as a record of constrained fields.

    Raises: Problem 400 that names every parameter that is unknown, given twice or wrong.
    """
    fields = {field.encode_name: field.type for field in _fields(kind)}
    given = _pairs(request.scope["query_string"])
    values = {name: _typed(texts, fields[name]) for name, texts in given.items() if name in fields}
    errors = [_unknown(name, fields) for name in given.keys() - fields.keys()]
    errors += [
        _repeated(name) for name, texts in given.items() if _is_repeated(name, texts, fields)
    ]
    errors += [_of_parameter(fault) for fault in _query_faults(values, kind)]
    if errors:
        raise Problem("invalid-parameter", "The query has faults.", errors=errors)
    return msgspec.convert(values, kind)


def _query_faults(values: dict[str, Any], kind: type) -> list[Fault]:
    return merged(list(irregularities(values)), faults_of(values, kind))


def _fields(kind: type) -> tuple[inspect.Field, ...]:
    info = type_info(kind)
    return info.fields if isinstance(info, inspect.StructType) else ()


def _pairs(raw: bytes) -> dict[str, list[str]]:
    try:
        pairs = parse_qsl(raw.decode(), keep_blank_values=True, errors="strict", max_num_fields=100)
    except ValueError:
        raise _unreadable() from None
    given: dict[str, list[str]] = {}
    for name, text in pairs:
        given.setdefault(name, []).append(text)
    return given


def _typed(texts: list[str], kind: inspect.Type) -> Any:
    match kind:
        case inspect.Metadata():
            return _typed(texts, kind.type)
        case inspect.UnionType():
            parts = [part for part in kind.types if not isinstance(part, inspect.NoneType)]
            return _typed(texts, parts[0])
        case inspect.ListType() | inspect.VarTupleType():
            return [_typed([text], kind.item_type) for text in texts]
    return _scalar(texts[0], kind)


def _scalar(text: str, kind: inspect.Type) -> Any:
    match kind:
        case inspect.IntType() if re.fullmatch("-?[0-9]{1,18}", text):
            return int(text)
        case inspect.FloatType() if re.fullmatch(r"-?[0-9]{1,18}(\.[0-9]{1,18})?", text):
            return float(text)
        case inspect.BoolType() if text in _BOOLEANS:
            return _BOOLEANS[text]
    return text


_BOOLEANS = {"true": True, "false": False}


def _is_repeated(name: str, texts: list[str], fields: Mapping[str, inspect.Type]) -> bool:
    return name in fields and len(texts) > 1 and not isinstance(_typed(texts, fields[name]), list)


def _repeated(name: str) -> ProblemError:
    return parameter_fault(
        "query", name, code="repeated-parameter", detail=f"{name!r} is given more than once",
        allowed="once", remedy="Keep one of them.",
    )  # fmt: skip


def _unknown(name: str, fields: Mapping[str, inspect.Type]) -> ProblemError:
    allowed = ", ".join(fields) or "no parameters"
    return parameter_fault(
        "query", name, code="unknown-parameter", detail=f"there is no parameter {name!r}",
        allowed=allowed, remedy="Leave it out.",
    )  # fmt: skip


def _of_parameter(fault: Fault) -> ProblemError:
    code = fault.code.replace("-field", "-parameter")
    remedy = fault.remedy.replace("Add Z", "Write + as %2B. Add Z")
    return parameter_fault(
        "query", fault.pointer.split("/")[1] if fault.pointer else "", code=code,
        detail=fault.detail, value=fault.value, allowed=fault.allowed, remedy=remedy,
    )  # fmt: skip


def _unreadable() -> Problem:
    detail = "The query is not UTF-8 or far too long."
    error = parameter_fault(
        "query", "*", code="unreadable-query", detail=detail,
        allowed="at most 100 parameters in percent-encoded UTF-8", remedy="Send fewer, encoded so.",
    )  # fmt: skip
    return Problem("invalid-parameter", detail, errors=[error])
