"""Entity tags and conditional requests (RFC 9110, 8.8.3 and 13.1)."""

import re
from hashlib import sha256

from litestar import Response
from msgspec import UNSET, UnsetType

from exchange_api.problems import Problem, ProblemError, parameter_fault
from exchange_api.serving import Request

_TAG = re.compile(r'\s*(W/)?"([\x21\x23-\x7e\x80-\xff]*)"\s*')


def etag(content: bytes, *variant: str) -> str:
    """A strong entity tag of one representation; what varies it (units, language) is part of it.

    >>> etag(b"{}")
    '"44136fa355b3678a1146ad16f7e8649e"'
    """
    digest = sha256(content)
    for part in variant:
        digest.update(b"\x00" + part.encode())
    return f'"{digest.hexdigest()[:32]}"'


def matches_strongly(one: str, other: str) -> bool:
    """RFC 9110 8.8.3.2, strong comparison: equal and neither weak."""
    return one == other and not one.startswith("W/")


def matches_weakly(one: str, other: str) -> bool:
    """RFC 9110 8.8.3.2, weak comparison: equal but for the weakness.

    >>> matches_weakly('W/"1"', '"1"')
    True
    """
    return one.removeprefix("W/") == other.removeprefix("W/")


def tags(field: str) -> list[str]:
    """The entity tags of an If-Match or If-None-Match list; what is no tag is left out.

    >>> tags('"a", W/"b,c"')
    ['"a"', 'W/"b,c"']
    """
    return [f'{weak or ""}"{text}"' for weak, text in _TAG.findall(field)]


def not_modified(request: Request, current: str) -> Response[bytes] | None:
    """304 when If-None-Match names the current tag, else None."""
    field = request.headers.get("if-none-match")
    if field is None:
        return None
    if field.strip() == "*" or any(matches_weakly(tag, current) for tag in tags(field)):
        return Response(b"", status_code=304, headers={"ETag": current})
    return None


def check_if_match(request: Request, current: str | None) -> None:
    """Bar a change unless If-Match names the current tag; `current` is None when nothing exists.

    Raises: Problem 428 without the header, 412 when it names another version.
    """
    field = request.headers.get("if-match")
    if field is None:
        raise Problem("precondition-required", _SEND_IT, errors=[_if_match(UNSET, current)])
    if current is not None and field.strip() == "*":
        return
    if current is None or not any(matches_strongly(tag, current) for tag in tags(field)):
        detail = "If-Match does not name the current version."
        raise Problem("stale", detail, errors=[_if_match(field, current)])


_SEND_IT = "Send If-Match with the ETag that you have seen."


def _if_match(given: str | UnsetType, current: str | None) -> ProblemError:
    code, detail = "stale", "it does not name the current version"
    if given is UNSET:
        code, detail = "missing-header", "If-Match is missing"
    return parameter_fault(
        "header", "If-Match", code=code, detail=detail, value=given,
        allowed=current or "nothing, since nothing is there yet",
        remedy="Read it again, look at what has changed, and send the new ETag.",
    )  # fmt: skip
