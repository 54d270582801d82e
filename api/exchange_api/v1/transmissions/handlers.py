"""`/v1/transmissions`: search, read and write transmissions of the catalogue."""

from litestar import Response, get, put
from msgspec import Struct

from exchange_api.catalogue_operations import first_of, reading, writing
from exchange_api.catalogue_records import TRANSMISSION, TransmissionEntry
from exchange_api.catalogue_serving import list_entries, read_entry, write_entry
from exchange_api.operations import Answer, Link, Operation, operation
from exchange_api.paging import Cursor, Limit
from exchange_api.queries import query
from exchange_api.serving import Request
from libexchange.catalogue import Family, TransmissionProfile, VehicleFit, Year
from libexchange.fields import Slug, Text
from libexchange.invented import six_speed


class TransmissionQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which transmissions to list; `model` and `year` must fit one and the same vehicle.

    `text`: words that the id, name, family, fluid kinds or models hold
    """

    text: Text | None = None
    family: Family | None = None
    model: Text | None = None
    year: Year | None = None
    fluid_kind: Slug | None = None
    cursor: Cursor | None = None
    limit: Limit = 50


class TransmissionPage(Struct, frozen=True, kw_only=True):
    """A page of transmissions, by id.

    items: what is on this page    next_cursor: asks for the next page; null on the last
    """

    items: list[TransmissionEntry]
    next_cursor: str | None


_FIRST = first_of(TRANSMISSION) | {
    "plans": Link(
        operation_id="listPlans",
        description="List the plans that named it.",
        parameters={"transmission_id": "$response.body#/items/0/entry/transmission_id"},
    ),
}
_LIST = Operation(
    operation_id="listTransmissions",
    summary="Search transmissions",
    description="`text` is words that the id, name, family, fluid kinds or models must hold; "
    "`model` and `year` must fit one and the same vehicle. An open-ended range of years fits.",
    tag="catalogue",
    scope="catalogue:read",
    query=TransmissionQuery,
    answers={
        200: Answer(description="A page of transmissions.", content=TransmissionPage, links=_FIRST)
    },
)
_GET = reading(TRANSMISSION)
_PUT = writing(TRANSMISSION, six_speed())


@get("/v1/transmissions", **operation(_LIST))
async def list_transmissions(request: Request) -> Response[bytes]:
    """The transmissions that the caller's workshop sees."""
    wanted = query(request, TransmissionQuery)
    return await list_entries(
        request,
        TRANSMISSION,
        wanted,
        words=(wanted.text, wanted.model, wanted.fluid_kind),
        family=wanted.family,
        fits=lambda profile: _fits(profile, wanted),
    )


@get("/v1/transmissions/{transmission_id:str}", **operation(_GET))
async def get_transmission(request: Request) -> Response[bytes]:
    """One transmission as the caller's workshop sees it."""
    return await read_entry(request, TRANSMISSION)


@put("/v1/transmissions/{transmission_id:str}", **operation(_PUT))
async def put_transmission(request: Request) -> Response[bytes]:
    """Make an entry or a new version of it."""
    return await write_entry(request, TRANSMISSION)


HANDLERS = (list_transmissions, get_transmission, put_transmission)


def _fits(profile: TransmissionProfile, wanted: TransmissionQuery) -> bool:
    if wanted.fluid_kind is not None and wanted.fluid_kind not in profile.fluid_kinds:
        return False
    if wanted.model is None and wanted.year is None:
        return True
    return any(_carries(fit, wanted) for fit in profile.fits)


def _carries(fit: VehicleFit, wanted: TransmissionQuery) -> bool:
    year = wanted.year
    return (wanted.model or "").casefold() in fit.model.casefold() and (
        year is None or (fit.year_from or year) <= year <= (fit.year_to or year)
    )
