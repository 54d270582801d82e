"""What a handler declares of itself; the contract, the guards and the body limits read it."""

from typing import Any

from msgspec import Struct

from exchange_api.scopes import Need

JSON = "application/json"


class Link(Struct, frozen=True, kw_only=True):
    """An operation that can follow, and what of this answer it is called with.

    parameters: name of the parameter to a runtime expression such as `$response.body#/plan_id`
    body: the whole body, its values such expressions too; None where the link tells no body
    """

    operation_id: str
    description: str
    parameters: dict[str, str] = {}
    body: dict[str, str] | None = None


class Answer(Struct, frozen=True, kw_only=True):
    """One way an operation succeeds.

    content: the record it answers, None for no body or for `media_types` that are not JSON
    headers: names of RESPONSE_HEADERS in the contract    links: by name
    """

    description: str
    content: Any = None
    media_types: tuple[str, ...] = (JSON,)
    headers: tuple[str, ...] = ()
    links: dict[str, Link] = {}


class Operation(Struct, frozen=True, kw_only=True):
    """An operation of the contract.

    scope: what the key must allow, `any` for every valid key, None when no key is needed
    body: what the body is read as, `bytes` where it is taken as it is
    body_alternatives: media types that it is read in besides `body_media_type`
    body_limit: bytes, None for the usual limit
    is_limited: whether it counts for the rate limits
    changes: whether it can change what is kept, and so leaves a row in the audit log
    problems: slugs beyond those that follow from the rest
    headers: names of REQUEST_HEADERS in the contract    examples: bodies by name
    """

    operation_id: str
    summary: str
    description: str = ""
    tag: str
    scope: Need | None
    answers: dict[int, Answer]
    body: Any = None
    body_media_type: str = JSON
    body_alternatives: tuple[str, ...] = ()
    body_limit: int | None = None
    query: Any = None
    headers: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    examples: dict[str, Any] = {}
    changes: bool = False
    is_limited: bool = True

    @property
    def media_types(self) -> tuple[str, ...]:
        """What it can answer with when it succeeds, the usual one first."""
        return tuple(dict.fromkeys(name for a in self.answers.values() for name in a.media_types))


def operation(declared: Operation, /) -> dict[str, Any]:
    """The keyword arguments that give an operation to a Litestar handler.

    >>> live = Operation(operation_id="live", summary="Is it alive?", tag="health", scope=None,
    ...                  answers={200: Answer(description="It is.")})
    >>> operation(live)["status_code"]
    200
    """
    return {
        "opt": {"operation": declared},
        "status_code": min(declared.answers),
        "operation_id": declared.operation_id,
    }
