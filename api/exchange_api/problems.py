"""Problem documents (RFC 9457): what every answer of 400 and above looks like."""

from collections.abc import Iterable, Mapping
from typing import Any

import msgspec
from litestar import Request, Response
from litestar.exceptions import HTTPException
from msgspec import UNSET, Struct, UnsetType

from exchange_api.logs import Log
from exchange_api.problem_types import PROBLEMS, ProblemType
from exchange_api.storage.units import StorageUnavailable
from libexchange.errors import Fault, InvalidInput, OutOfRange

MEDIA_TYPE = "application/problem+json"
RETRY_AFTER_S = 2

_LONGEST_VALUE = 120
_SERVER_ERROR = 500
_INT64 = range(-(2**63), 2**63)


class Parameter(Struct, frozen=True, rename={"in_": "in"}):
    """A parameter of the request: where it stands and its name."""

    in_: str
    name: str


class ProblemError(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One fault: where it is, what was given, what is allowed, what to do.

    `pointer` leads into the body, `parameter` names a query parameter, header or path part, or all
    of its kind by `*`; one of the two is there.

    pointer: JSON pointer into the body    parameter: query parameter, header or path part
    code: kebab-case kind of fault    detail: what is wrong    value: what was given, if anything
    allowed: what is accepted    remedy: what to do
    """

    pointer: str | UnsetType = UNSET
    parameter: Parameter | UnsetType = UNSET
    code: str
    detail: str
    value: Any = UNSET
    allowed: str
    remedy: str


class ProblemDocument(Struct, frozen=True, kw_only=True):
    """What went wrong, for programs and for people; `type` can be read without a key.

    type: address of the description of its kind    title: its kind, in words
    status: of the answer    detail: what went wrong this time    errors: every fault found
    request_id: the id of this exchange, as in `X-Request-Id`
    """

    type: str
    title: str
    status: int
    detail: str
    request_id: str
    errors: list[ProblemError]


class Problem(Exception):
    """Raised anywhere in a request to answer it with a problem document.

    slug: a key of PROBLEMS    errors: every fault found    headers: further ones for the answer
    """

    def __init__(
        self,
        slug: str,
        detail: str,
        *,
        errors: Iterable[Fault | ProblemError] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.kind = PROBLEMS[slug]
        self.detail = detail
        self.errors = [_as_error(error) for error in errors]
        self.headers = dict(headers or {})


def parameter_fault(
    in_: str, name: str, *, code: str, detail: str, allowed: str, remedy: str, value: Any = UNSET
) -> ProblemError:
    """A fault of a query parameter (`query`), a header (`header`) or a path part (`path`)."""
    return ProblemError(
        parameter=Parameter(in_, name),
        code=code,
        detail=detail,
        value=shortened(value),
        allowed=allowed,
        remedy=remedy,
    )


def problem_bytes(problem: Problem, *, request_id: str) -> bytes:
    """The document of a problem."""
    document = ProblemDocument(
        type=problem.kind.uri,
        title=problem.kind.title,
        status=problem.kind.status,
        detail=problem.detail,
        request_id=request_id,
        errors=problem.errors,
    )
    return msgspec.json.encode(document)


def shortened(value: Any) -> Any:
    """A given value as it may be repeated in an answer: short, and always encodable.

    >>> shortened(10**30), shortened(float("nan")), shortened({"a": "x" * 200})["a"][-4:]
    ('1000000000000000000000000000000', 'NaN', 'x...')
    """
    match value:
        case str():
            return _short_text(value.encode("utf-8", "replace").decode())
        case int() if not isinstance(value, bool) and value not in _INT64:
            return _short_text(str(value))
        case float() if value - value != 0:
            return _NOT_FINITE[str(value)]
        case dict():
            return {_short_text(str(key)): _flat(part) for key, part in list(value.items())[:8]}
        case list():
            return [_flat(part) for part in value[:8]]
    return value


_NOT_FINITE = {"nan": "NaN", "inf": "Infinity", "-inf": "-Infinity"}


def _short_text(text: str) -> str:
    return text if len(text) <= _LONGEST_VALUE else text[: _LONGEST_VALUE - 3] + "..."


def _flat(value: Any) -> Any:
    return "..." if isinstance(value, dict | list) else shortened(value)


def _as_error(error: Fault | ProblemError) -> ProblemError:
    if isinstance(error, ProblemError):
        return error
    return ProblemError(
        pointer="#" + error.pointer.removeprefix("#"),
        code=error.code,
        detail=error.detail,
        value=shortened(error.value),
        allowed=error.allowed,
        remedy=error.remedy,
    )


def _fault_of(error: OutOfRange) -> Fault:
    return Fault(
        pointer="",
        code="out-of-range",
        detail=str(error),
        value=error.value,
        allowed=error.allowed,
        remedy=f"Change what {error.name} follows from.",
    )


_UNKNOWN_ADDRESS = parameter_fault(
    "path", "*", code="unknown-address", detail="no operation has this address",
    allowed="an address of the contract", remedy="Look it up in /openapi.json or /docs.",
)  # fmt: skip
_WRONG_METHOD = parameter_fault(
    "path", "*", code="wrong-method", detail="the address does not take this method",
    allowed="the methods of the Allow header", remedy="Use one of them.",
)  # fmt: skip
_PLACES = {"not-found": [_UNKNOWN_ADDRESS], "method-not-allowed": [_WRONG_METHOD]}
_BY_STATUS = {
    400: "invalid-parameter",
    401: "unauthenticated",
    403: "forbidden",
    404: "not-found",
    405: "method-not-allowed",
    413: "body-too-large",
    503: "storage-unavailable",
}


def problem_of(error: Exception) -> Problem:
    """The problem that an exception stands for; what we do not know is an internal error."""
    match error:
        case Problem():
            return error
        case InvalidInput():
            return Problem("invalid-body", "The body cannot be computed.", errors=error.faults)
        case OutOfRange():
            return Problem(
                "invalid-body", "The body cannot be computed.", errors=[_fault_of(error)]
            )
        case StorageUnavailable():
            headers = {"Retry-After": str(RETRY_AFTER_S)}
            detail = "Nothing is acknowledged. Send the same request again."
            return Problem("storage-unavailable", detail, headers=headers)
        case HTTPException(status_code=status) if status in _BY_STATUS:
            kind: ProblemType = PROBLEMS[_BY_STATUS[status]]
            errors = _PLACES.get(kind.slug, [])
            return Problem(kind.slug, kind.title + ".", errors=errors, headers=error.headers)
    return Problem("internal-error", "The service failed; the request_id finds it in the log.")


def answer_problem(request: Request[Any, Any, Any], error: Exception) -> Response[bytes]:
    """The exception handler of the whole app: any exception becomes a problem document."""
    problem = problem_of(error)
    request_id = str(request.scope["state"]["request_id"])  # the edge put it there
    if problem.kind.status >= _SERVER_ERROR and not isinstance(error, Problem):
        log: Log = request.app.state.service.log
        log.error("failure", request_id=request_id, exception=error)
    return Response(
        problem_bytes(problem, request_id=request_id),
        status_code=problem.kind.status,
        media_type=MEDIA_TYPE,
        headers=problem.headers,
    )
