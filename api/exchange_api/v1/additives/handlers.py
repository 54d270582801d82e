"""`/v1/additives`: search, read and write additives of the catalogue."""

from litestar import Response, get, put
from msgspec import Struct

from exchange_api.catalogue_records import ADDITIVE, AdditiveEntry
from exchange_api.catalogue_serving import PUT_DESCRIPTION, list_entries, read_entry, write_entry
from exchange_api.operations import Answer, Link, Operation, operation
from exchange_api.paging import Cursor, Limit
from exchange_api.queries import query
from exchange_api.serving import Request
from libexchange.catalogue import Additive, AdditiveKind
from libexchange.fields import Text
from libexchange.invented import cleaner


class AdditiveQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which additives to list.

    `text`: words that the id or name hold    `kind`: cleaner or conditioner
    """

    text: Text | None = None
    kind: AdditiveKind | None = None
    cursor: Cursor | None = None
    limit: Limit = 50


class AdditivePage(Struct, frozen=True, kw_only=True):
    """A page of additives, by id."""

    items: list[AdditiveEntry]
    next_cursor: str | None


_READ = Link(
    operation_id="getAdditive",
    description="Read the entry again.",
    parameters={"additive_id": "$request.path.additive_id"},
)
_CHANGE = Link(
    operation_id="putAdditive",
    description="Change the entry as it was seen.",
    parameters={
        "additive_id": "$request.path.additive_id",
        "If-Match": "$response.header.ETag",
    },
)
_FIRST = {
    "first": Link(
        operation_id="getAdditive",
        description="Read the first of them.",
        parameters={"additive_id": "$response.body#/items/0/entry/additive_id"},
    ),
}
_LIST = Operation(
    operation_id="listAdditives",
    summary="Search additives",
    description="`text` is words that the id or name must hold; `kind` is what the additive is.",
    tag="catalogue",
    scope="catalogue:read",
    query=AdditiveQuery,
    answers={200: Answer(description="A page of additives.", content=AdditivePage, links=_FIRST)},
)
_GET = Operation(
    operation_id="getAdditive",
    summary="Read an additive",
    tag="catalogue",
    scope="catalogue:read",
    headers=("If-None-Match",),
    answers={
        200: Answer(
            description="The entry.",
            content=AdditiveEntry,
            headers=("ETag",),
            links={"change": _CHANGE},
        )
    },
)
_PUT = Operation(
    operation_id="putAdditive",
    summary="Write an additive",
    description=PUT_DESCRIPTION,
    tag="catalogue",
    changes=True,
    scope="catalogue:write",
    body=Additive,
    headers=("If-Match",),
    examples={"invented": cleaner()},
    answers={
        200: Answer(description="Changed.", content=AdditiveEntry, headers=("ETag",)),
        201: Answer(
            description="Created.",
            content=AdditiveEntry,
            headers=("ETag", "Location"),
            links={"read": _READ, "change": _CHANGE},
        ),
    },
)


@get("/v1/additives", **operation(_LIST))
async def list_additives(request: Request) -> Response[bytes]:
    """The additives that the caller's workshop sees."""
    wanted = query(request, AdditiveQuery)
    return await list_entries(
        request,
        ADDITIVE,
        wanted,
        words=(wanted.text,),
        fits=lambda additive: wanted.kind in (None, additive.kind),
    )


@get("/v1/additives/{additive_id:str}", **operation(_GET))
async def get_additive(request: Request) -> Response[bytes]:
    """One additive as the caller's workshop sees it."""
    return await read_entry(request, ADDITIVE)


@put("/v1/additives/{additive_id:str}", **operation(_PUT))
async def put_additive(request: Request) -> Response[bytes]:
    """Make an entry or a new version of it."""
    return await write_entry(request, ADDITIVE)


HANDLERS = (list_additives, get_additive, put_additive)
