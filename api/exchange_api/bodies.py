"""Bodies, decoded strictly; a refusal names every fault."""

from collections.abc import AsyncIterator
from contextlib import suppress
from functools import cache
from typing import Any, TypeVar

import msgspec

from exchange_api.faults import faults_of
from exchange_api.json_text import irregularities, is_syntax, parse
from exchange_api.media import bare, is_json
from exchange_api.problems import RETRY_AFTER_S, Problem, parameter_fault
from exchange_api.serving import Request, operation_of, service
from libexchange.errors import Fault

T = TypeVar("T")

_JSON = "application/json"


_DECODERS: dict[Any, msgspec.json.Decoder[Any]] = {}


def decoder(kind: Any) -> msgspec.json.Decoder[Any]:
    """The decoder of a type, made once."""
    if (known := _DECODERS.get(kind)) is None:
        known = _DECODERS[kind] = msgspec.json.Decoder(kind)
    return known


async def body(request: Request, kind: type[T]) -> T:
    """The JSON body of a request as a record.

    Raises: Problem 415 for another media type, 413 when it is too large, 400 for what is not JSON,
    422 for JSON that is not such a record.
    """
    return decode(await raw_body(request, media_type=_JSON), kind)


async def raw_body(request: Request, *, media_type: str) -> bytes:
    """The bytes of a body, read no further than its limit.

    Raises: Problem 415 unless it is of the media type or one that the operation reads besides,
    413 when it is too large.
    """
    _check_media_type(request, (media_type, *operation_of(request).body_alternatives))
    limit = operation_of(request).body_limit or service(request).settings.body_limit
    length = request.headers.get("content-length", "")
    if length.isdecimal() and int(length) > limit:
        raise _too_large(limit, f"it has {length} bytes")
    await make_room(request, int(length) if length.isdecimal() else limit)
    parts, size = [], 0
    async for part in _parts(request):
        size += len(part)
        if size > limit:
            raise _too_large(limit, f"it has more than {limit} bytes")
        parts.append(part)
    return b"".join(parts)


async def make_room(request: Request, wanted: int) -> None:
    """Hold memory for a body until the request has ended; the edge gives it back.

    Raises: Problem 503 when there is none for too long.
    """
    state, running = request.scope["state"], service(request)
    try:
        taken = await running.room.take(wanted)
    except TimeoutError:
        running.metrics.count_turned_away("no-room")
        headers = {"Retry-After": str(RETRY_AFTER_S)}
        raise Problem("overloaded", "There is no room for it now.", headers=headers) from None
    state["room"] = state.get("room", 0) + taken


async def _parts(request: Request) -> AsyncIterator[bytes]:
    more = True
    while more:
        message = await request.receive()
        if message["type"] != "http.request":
            raise Problem("malformed-json", "The connection was cut before the body was complete.")
        yield message["body"]
        more = message["more_body"]


def decode(raw: bytes, kind: type[T]) -> T:
    """A JSON text as a record. Raises: Problem 400 or 422 with every fault.

    >>> decode(b"[1, 2]", list[int])
    [1, 2]
    """
    parsed = parse(raw)
    strange = list(irregularities(parsed.value)) if parsed.suspect else []
    try:
        value: T = decoder(kind).decode(raw)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError, ValueError):
        strange = list(irregularities(parsed.value))
    else:
        if not strange:
            return value
    raise refusal(merged(strange, faults_of(parsed.value, kind)))


def convert(value: Any, kind: type[T]) -> T:
    """An already parsed JSON value as a record, for lists whose items stand each for itself.

    Raises: Problem 422 with every fault.
    """
    strange = list(irregularities(value))
    if not strange:
        with suppress(msgspec.ValidationError, ValueError):
            return _converted(value, kind)  # type: ignore[no-any-return]  # of that kind
    raise refusal(merged(strange, faults_of(value, kind)))


def _converted(value: Any, kind: Any) -> Any:
    held: Any = msgspec.convert({"value": value}, _holder(kind))
    return held.value


@cache
def _holder(kind: Any) -> type[msgspec.Struct]:
    """A record with one value: msgspec keeps what it knows of records, of bare unions it does not.

    That saves nine tenths of the time of an event, which may be of thirty-three kinds.
    """
    return msgspec.defstruct("Holder", [("value", kind)])


def refusal(faults: list[Fault]) -> Problem:
    """The problem that lists these faults of a body."""
    if is_syntax(faults):
        return Problem("malformed-json", "The body breaks the rules of JSON.", errors=faults)
    count = "one fault" if len(faults) == 1 else f"{len(faults)} faults"
    return Problem("invalid-body", f"The body has {count}.", errors=faults)


def merged(strange: list[Fault], typed: list[Fault]) -> list[Fault]:
    """Both lists, without what the type says about a place that is refused whatever the type."""
    places = {fault.pointer for fault in strange}
    return strange + [fault for fault in typed if fault.pointer not in places]


def _check_media_type(request: Request, allowed: tuple[str, ...]) -> None:
    given = request.headers.get("content-type", "")
    if not any(is_json(given) if one == _JSON else bare(given) == one for one in allowed):
        named = " or ".join(allowed)
        in_utf8 = " in UTF-8" if _JSON in allowed else ""
        raise _unsupported("Content-Type", given, named, f"Send {named}{in_utf8}.")
    encoding = request.headers.get("content-encoding", "identity")
    if encoding != "identity":
        raise _unsupported("Content-Encoding", encoding, "identity", "Send it uncompressed.")


def _unsupported(header: str, given: str, allowed: str, remedy: str) -> Problem:
    error = parameter_fault(
        "header", header, code="unsupported", detail="the body is not what the operation reads",
        value=given, allowed=allowed, remedy=remedy,
    )  # fmt: skip
    return Problem("unsupported-media-type", remedy, errors=[error])


def _too_large(limit: int, detail: str) -> Problem:
    fault = Fault(
        pointer="",
        code="body-too-large",
        detail=detail,
        allowed=f"at most {limit} bytes",
        remedy="Send less at once.",
    )
    return Problem("body-too-large", f"The operation takes at most {limit} bytes.", errors=[fault])
