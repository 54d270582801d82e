"""`/v1/additives`: search, read and write additives of the catalogue."""

from litestar import Response, get, put
from msgspec import Struct

from exchange_api.catalogue_operations import first_of, reading, writing
from exchange_api.catalogue_records import ADDITIVE, AdditiveEntry
from exchange_api.catalogue_serving import list_entries, read_entry, write_entry
from exchange_api.operations import Answer, Operation, operation
from exchange_api.paging import Cursor, Limit
from exchange_api.queries import query
from exchange_api.serving import Request
from libexchange.catalogue import AdditiveKind
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
    """A page of additives, by id.

    items: what is on this page    next_cursor: asks for the next page; null on the last
    """

    items: list[AdditiveEntry]
    next_cursor: str | None


_LIST = Operation(
    operation_id="listAdditives",
    summary="Search additives",
    description="`text` is words that the id or name must hold; `kind` is what the additive is.",
    tag="catalogue",
    scope="catalogue:read",
    query=AdditiveQuery,
    answers={
        200: Answer(
            description="A page of additives.", content=AdditivePage, links=first_of(ADDITIVE)
        )
    },
)
_GET = reading(ADDITIVE)
_PUT = writing(ADDITIVE, cleaner())


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
