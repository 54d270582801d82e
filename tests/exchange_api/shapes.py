"""Small records of every kind, with handlers that take them, for the tests of decoding."""

from datetime import date, datetime
from typing import Annotated, Any, Literal
from uuid import UUID

import msgspec
from litestar import Response, get, post
from msgspec import Meta, Struct

from exchange_api.bodies import body
from exchange_api.operations import Answer, Operation, operation
from exchange_api.queries import query
from exchange_api.serving import Request, answer
from libexchange.errors import Fault, InvalidInput, OutOfRange


class Litres(Struct, frozen=True, forbid_unknown_fields=True):
    value: float
    unit: Literal["L", "mL"]

    def __post_init__(self) -> None:
        if not 0 <= self.value <= 100:
            raise OutOfRange(name="value", value=self.value, allowed=f"0 to 100 {self.unit}")


class Reading(Struct, frozen=True, tag="reading", tag_field="kind", forbid_unknown_fields=True):
    at: Annotated[datetime, Meta(tz=True)]
    c: Annotated[float, Meta(ge=-50, lt=400)]


class Remark(Struct, frozen=True, tag="remark", tag_field="kind", forbid_unknown_fields=True):
    text: Annotated[str, Meta(min_length=2, max_length=10)]


class Order(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    sump: Litres
    line: Litres | None = None
    cells: Annotated[int, Meta(ge=1, le=10)] = 2
    code: Annotated[str, Meta(pattern=r"^[a-z]+(?!\n)$")] | None = None
    day: date | None = None
    id: UUID | None = None
    hot: bool = False
    events: Annotated[list[Reading | Remark], Meta(max_length=3)] = []
    notes: dict[str, Annotated[int, Meta(ge=0)]] = {}
    anything: Any = None

    def __post_init__(self) -> None:
        if self.hot and self.cells == 1:
            raise InvalidInput(
                Fault(
                    pointer="/cells",
                    code="too-few",
                    detail="hot needs more cells",
                    value=1,
                    allowed="2 to 10",
                    remedy="Say 2.",
                )
            )


class Search(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    limit: Annotated[int, Meta(ge=1, le=50)] = 20
    since: Annotated[datetime, Meta(tz=True)] | None = None
    states: list[Literal["open", "closed"]] = []
    all: bool = False
    share: Annotated[float, Meta(ge=0, le=1)] | None = None
    text: Annotated[str, Meta(min_length=1, max_length=10)] | None = None


def _declared(name: str, **more: Any) -> dict[str, Any]:
    answers = {200: Answer(description="As it was read.", content=dict)}
    return operation(
        Operation(
            operation_id=name, summary=name, tag="shapes", scope=None, answers=answers, **more
        )
    )


@post("/orders", **_declared("order", body=Order))
async def take_order(request: Request) -> Response[bytes]:
    return answer(msgspec.json.encode(await body(request, Order)))


@get("/search", **_declared("search", query=Search))
async def search(request: Request) -> Response[bytes]:
    return answer(msgspec.json.encode(query(request, Search)))


HANDLERS = (take_order, search)
