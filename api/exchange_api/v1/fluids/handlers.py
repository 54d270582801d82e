"""`/v1/fluids`: search, read and write fluids of the catalogue."""

from litestar import Response, get, put
from msgspec import Struct

from exchange_api.catalogue_operations import first_of, reading, writing
from exchange_api.catalogue_records import FLUID, FluidEntry
from exchange_api.catalogue_serving import list_entries, read_entry, write_entry
from exchange_api.operations import Answer, Operation, operation
from exchange_api.paging import Cursor, Limit
from exchange_api.queries import query
from exchange_api.serving import Request
from libexchange.fields import Slug, Text
from libexchange.invented import red_fluid


class FluidQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which fluids to list.

    `text`: words that the id, name or kinds hold    `kind`: a kind that it is approved as
    """

    text: Text | None = None
    kind: Slug | None = None
    cursor: Cursor | None = None
    limit: Limit = 50


class FluidPage(Struct, frozen=True, kw_only=True):
    """A page of fluids, by id.

    items: what is on this page    next_cursor: asks for the next page; null on the last
    """

    items: list[FluidEntry]
    next_cursor: str | None


_LIST = Operation(
    operation_id="listFluids",
    summary="Search fluids",
    description="`text` is words that the id, name or kinds must hold; `kind` is a fluid kind "
    "that the fluid is approved as.",
    tag="catalogue",
    scope="catalogue:read",
    query=FluidQuery,
    answers={
        200: Answer(description="A page of fluids.", content=FluidPage, links=first_of(FLUID))
    },
)
_GET = reading(FLUID)
_PUT = writing(FLUID, red_fluid())


@get("/v1/fluids", **operation(_LIST))
async def list_fluids(request: Request) -> Response[bytes]:
    """The fluids that the caller's workshop sees."""
    wanted = query(request, FluidQuery)
    return await list_entries(
        request,
        FLUID,
        wanted,
        words=(wanted.text, wanted.kind),
        fits=lambda fluid: wanted.kind is None or wanted.kind in fluid.kinds,
    )


@get("/v1/fluids/{fluid_id:str}", **operation(_GET))
async def get_fluid(request: Request) -> Response[bytes]:
    """One fluid as the caller's workshop sees it."""
    return await read_entry(request, FLUID)


@put("/v1/fluids/{fluid_id:str}", **operation(_PUT))
async def put_fluid(request: Request) -> Response[bytes]:
    """Make an entry or a new version of it."""
    return await write_entry(request, FLUID)


HANDLERS = (list_fluids, get_fluid, put_fluid)
