"""The guards that every request passes before its handler runs."""

from contextlib import suppress
from typing import Any

from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler

from exchange_api.keys import Found, Principal, find, read_key, touch
from exchange_api.operations import Operation
from exchange_api.problems import Problem, parameter_fault
from exchange_api.rates import too_many
from exchange_api.scopes import Need
from exchange_api.serving import Request, Service, media_type_for
from exchange_api.storage.units import StorageUnavailable

_HOUR = len("2026-03-01T12")
_CHALLENGE = {"WWW-Authenticate": 'Bearer realm="exchange-api"'}


def principal(request: Request) -> Principal:
    """Who asks; there is one in every handler that declares a scope."""
    found: Principal = request.scope["state"]["principal"]
    return found


async def authorise(
    connection: ASGIConnection[Any, Any, Any, Any], handler: BaseRouteHandler
) -> None:
    """Let a request through when its key allows what the handler declares.

    Raises: Problem 401 without a valid key, 403 when the key lacks the scope.
    """
    declared: Operation | None = handler.opt.get("operation")
    if declared is None or declared.scope is None:
        return
    service: Service = connection.app.state.service
    holder = await _holder(service, connection.headers.get("authorization", ""))
    connection.scope["state"]["principal"] = holder
    await _check_rate(service, connection, holder)
    _check_scope(holder, declared.scope)


def check_accept(connection: ASGIConnection[Any, Any, Any, Any], handler: BaseRouteHandler) -> None:
    """Let a request through when the handler can answer with something that it accepts.

    Raises: Problem 406.
    """
    if "operation" in handler.opt:
        media_type_for(handler.opt["operation"], connection.headers.get("accept"))


async def _holder(service: Service, authorization: str) -> Principal:
    scheme, _, text = authorization.partition(" ")
    if scheme.lower() != "bearer":
        raise _unauthenticated("missing-key", "No API key was given.")
    parts = read_key(text.strip())
    if parts is None:
        raise _unauthenticated("mistyped-key", "The API key is mistyped.")
    now = service.outside.stamp()
    found = await service.database.read(find(parts, now=now))
    if found is None:
        raise _unauthenticated("invalid-key", "The API key is not valid.")
    await _note_use(service, found, now)
    return found.principal


async def _note_use(service: Service, found: Found, now: str) -> None:
    """Once an hour, so that a read does not cost a write."""
    if (found.last_used_at or "")[:_HOUR] < now[:_HOUR]:
        with suppress(StorageUnavailable):  # a full disk must not bar reading
            await service.database.write(touch(key_id=found.principal.key_id, now=now))


async def _check_rate(
    service: Service, connection: ASGIConnection[Any, Any, Any, Any], holder: Principal
) -> None:
    standing = await service.keys.admit(holder.key_id)
    if standing is None:
        return
    connection.scope["state"]["standing"] = standing  # the edge tells it
    if not standing.is_admitted:
        service.metrics.count_limited("key")
        raise too_many(standing)


def _check_scope(holder: Principal, needed: Need) -> None:
    if needed != "any" and needed not in holder.scopes:
        detail, allowed = f"The API key lacks the scope {needed}.", f"a key with the scope {needed}"
        raise _forbidden("missing-scope", detail, allowed=allowed)


def for_administrators(detail: str) -> Problem:
    """The problem of a key that is not an administrator's where one is needed."""
    return _forbidden("not-administrator", detail, allowed="an administrator's key")


def _forbidden(code: str, detail: str, *, allowed: str) -> Problem:
    error = parameter_fault(
        "header", "Authorization", code=code, detail=detail, allowed=allowed,
        remedy="Ask whoever gives out keys for such a one.",
    )  # fmt: skip
    return Problem("forbidden", detail, errors=[error])


def _unauthenticated(code: str, detail: str) -> Problem:
    error = parameter_fault(
        "header", "Authorization", code=code, detail=detail,
        allowed="Bearer and a key that is known, not expired and not revoked",
        remedy="Send Authorization: Bearer with such a key.",
    )  # fmt: skip
    return Problem("unauthenticated", detail, errors=[error], headers=_CHALLENGE)
