"""What a handler works with: the request, the service behind it, and the answer."""

from collections.abc import Mapping
from typing import Any, TypeAlias
from uuid import UUID

import litestar
import msgspec
from litestar import Response
from litestar.datastructures import State
from msgspec import Struct

from exchange_api.logs import Log
from exchange_api.media import best
from exchange_api.metrics import Metrics
from exchange_api.operations import JSON, Operation
from exchange_api.outside import Outside
from exchange_api.problems import Problem, parameter_fault
from exchange_api.rates import Limiter
from exchange_api.room import Room
from exchange_api.settings import Settings
from exchange_api.storage.units import Database

Request: TypeAlias = litestar.Request[Any, Any, State]

_encode = msgspec.json.Encoder().encode


class Service(Struct, frozen=True, kw_only=True):
    """What one running service has, made once at start."""

    settings: Settings
    database: Database
    outside: Outside
    log: Log
    contract: bytes
    revision: str | None
    keys: Limiter
    addresses: Limiter
    room: Room
    metrics: Metrics


def service(request: Request) -> Service:
    """The service that answers this request."""
    found: Service = request.app.state.service
    return found


def operation_of(request: Request) -> Operation:
    """What the handler of this request declares."""
    declared: Operation = request.route_handler.opt["operation"]
    return declared


def media_type(request: Request) -> str:
    """The media type to answer with, by the Accept header.

    Raises: Problem 406 when none of the declared ones is accepted.
    """
    return media_type_for(operation_of(request), request.headers.get("accept"))


def media_type_for(declared: Operation, accept: str | None) -> str:
    """The media type that an operation answers with for an Accept header; Problem 406 if none."""
    offered = declared.media_types
    chosen = best(accept, offered) if offered else JSON
    if chosen is None:
        raise _not_acceptable(accept, offered)
    return chosen


def check_accepted(request: Request, made: str) -> None:
    """Raises: Problem 406 when the one media type that can be made is not accepted."""
    accept = request.headers.get("accept")
    if best(accept, (made,)) is None:
        raise _not_acceptable(accept, (made,))


def _not_acceptable(accept: str | None, offered: tuple[str, ...]) -> Problem:
    error = parameter_fault(
        "header", "Accept", code="not-acceptable", detail="nothing that is accepted can be made",
        value=accept, allowed=", ".join(offered), remedy="Name one of these, or leave it out.",
    )  # fmt: skip
    return Problem("not-acceptable", "No accepted media type can be made.", errors=[error])


def answer(
    content: Any, *, status: int = 200, headers: Mapping[str, str] | None = None
) -> Response[bytes]:
    """A JSON answer; bytes are sent as they are, records are encoded."""
    raw = content if isinstance(content, bytes) else _encode(content)
    return Response(raw, status_code=status, media_type=JSON, headers=headers)


def header(request: Request, name: str) -> str:
    """A request header that must be there.

    Raises: Problem 400 that names it.
    """
    given = request.headers.get(name.lower())
    if given:
        return given
    error = parameter_fault(
        "header", name, code="missing-header", detail=f"{name} is missing",
        allowed="1 to 255 printable characters", remedy=f"Send {name}.",
    )  # fmt: skip
    raise Problem("invalid-parameter", f"{name} is missing.", errors=[error])


def path_uuid(request: Request, name: str) -> str:
    """A path part that is a UUID, in its usual form.

    Raises: Problem 404 when it is none, because nothing can be there.
    """
    try:
        return str(UUID(request.path_params[name]))
    except ValueError:
        raise nothing_at(name, request.path_params[name]) from None


def nothing_at(name: str, value: str) -> Problem:
    """The problem of a path part that names nothing of the caller's workshop."""
    error = parameter_fault(
        "path", name, code="unknown-id", detail=f"this workshop has no such {name}", value=value,
        allowed=f"a {name} of this workshop", remedy="Look it up in the list.",
    )  # fmt: skip
    return Problem("not-found", f"There is no such {name}.", errors=[error])
