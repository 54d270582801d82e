"""`/v1/exports`: anonymised plans of all workshops, in closed monthly releases."""

from collections.abc import AsyncIterator
from typing import Annotated, Literal

import msgspec
from litestar import Response, get
from litestar.response import Stream
from msgspec import Meta, Struct
from msgspec.structs import replace

from exchange_api.audit import INSTALLATION, Trace, digest_of
from exchange_api.changing import change
from exchange_api.operations import Answer, Operation, operation
from exchange_api.paging import Cursor, cursor, position
from exchange_api.problems import Problem, parameter_fault
from exchange_api.queries import query
from exchange_api.serving import Request, answer, service
from exchange_api.storage.units import Database
from exchange_api.v1.exports import store
from exchange_api.v1.exports.store import ExportTrailer
from libexchange.anonymise import ExportRow

NDJSON = "application/x-ndjson"
ROWS_PER_PIECE = 200  # about 64 kB

Month = Annotated[
    str,
    Meta(pattern=r"^[0-9]{4}-(0[1-9]|1[0-2])(?!\n)$", examples=["2026-03"]),
]
_LONGEST_POSITION = 12


class ExportQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which rows of which release; without a limit all that are left."""

    release: Annotated[Month, Meta(description="The closed month, YYYY-MM.")]
    cursor: Cursor | None = None
    limit: Annotated[int, Meta(ge=1, le=10_000_000)] | None = None


class ExportRelease(Struct, frozen=True, kw_only=True):
    """A closed month: `cut` for good, or `due` to be cut by the first pull.

    `rows`, `suppressed`, `k` and `cut_at` are null until it is cut.

    release: the month    state: cut for good, or due    suppressed: rows that were left out
    rows: that are released    k: least number of plans that look alike    cut_at: when
    """

    release: str
    state: Literal["cut", "due"]
    rows: int | None
    suppressed: int | None
    k: int | None
    cut_at: str | None


class ExportReleases(Struct, frozen=True, kw_only=True):
    """Every release, by month."""

    items: list[ExportRelease]


class ExportLine(Struct, frozen=True, kw_only=True):
    """The last line of an answer."""

    trailer: ExportTrailer


_RELEASES = Operation(
    operation_id="listExportReleases",
    summary="The releases for the data team",
    tag="exports",
    scope="exports:read",
    answers={200: Answer(description="Closed months with plans.", content=ExportReleases)},
)
_PLANS = Operation(
    operation_id="exportPlans",
    summary="Anonymised plans of a release",
    description="One ExportRow a line, at last one line with the `trailer`: `release`, `rows`, "
    "`suppressed`, `k`, `rules_version`, `complete`, `next_cursor`; an answer without it was cut "
    "short. Every row looks like at least nine others in month, family, model year band, odometer "
    "band and region, as they are given; where it takes that, bands and region are null. "
    "A release is cut at the first pull after its month has ended (UTC) and then never changes. "
    "Plans that are kept later go into the next release. A plan that another one supersedes is "
    "left out. Each kept plan counts, also several for one vehicle.",
    tag="exports",
    scope="exports:read",
    query=ExportQuery,
    changes=True,
    problems=("not-found",),
    answers={200: Answer(description="Rows.", content=ExportRow, media_types=(NDJSON,))},
)


@get("/v1/exports/releases", **operation(_RELEASES))
async def list_export_releases(request: Request) -> Response[bytes]:
    """Every month that was cut or can be."""
    database = service(request).database
    cuts = await database.read(store.cuts)
    due = await database.read(store.due_months(before=_this_month(request)))
    return answer(ExportReleases(items=[*map(_cut_release, cuts), *map(_due_release, due)]))


@get("/v1/exports/plans", **operation(_PLANS))
async def export_plans(request: Request) -> Stream:
    """The rows of a release, which is cut if it must be."""
    wanted = query(request, ExportQuery)
    bound = {"release": wanted.release}
    after = _after(wanted.cursor, bound) if wanted.cursor else 0
    whole = await _trailer(request, wanted.release)
    to = min(after + (wanted.limit or whole.rows), whole.rows)
    trailer = whole
    if to < whole.rows:
        next_cursor = cursor([str(to)], operation_id=_PLANS.operation_id, filters=bound)
        trailer = replace(whole, complete=False, next_cursor=next_cursor)
    return Stream(_lines(service(request).database, trailer, after, to), media_type=NDJSON)


HANDLERS = (list_export_releases, export_plans)


async def _trailer(request: Request, release: str) -> ExportTrailer:
    if release >= _this_month(request):
        detail = f"The month {release} has not ended (UTC); a release is cut after that."
        raise _no_release(release, "month-not-ended", detail)
    running = service(request)
    found = await running.database.read(store.trailer(release=release))
    if found is None:
        unit = store.cut(release=release, now=running.outside.stamp())
        found = await change(request, unit, _cut_trace, owner=INSTALLATION)
    if found is None:
        detail = f"There is no release {release}; /v1/exports/releases lists those that there are."
        raise _no_release(release, "unknown-id", detail)
    return found


def _no_release(release: str, code: str, detail: str) -> Problem:
    error = parameter_fault(
        "query", "release", code=code, detail=detail, value=release,
        allowed="a month that has ended and has plans", remedy="Look it up in the list.",
    )  # fmt: skip
    return Problem("not-found", detail, errors=[error])


def _cut_trace(made: ExportTrailer | None) -> Trace | None:
    if made is None:
        return None
    return Trace(target=f"releases/{made.release}", after=digest_of(made))


async def _lines(
    database: Database, trailer: ExportTrailer, after: int, to: int
) -> AsyncIterator[bytes]:
    for start in range(after, to, ROWS_PER_PIECE):
        end = min(start + ROWS_PER_PIECE, to)
        rows = await database.read(store.rows(release=trailer.release, after=start, to=end))
        yield b"\n".join(rows) + b"\n"
    yield msgspec.json.encode(ExportLine(trailer=trailer)) + b"\n"


def _this_month(request: Request) -> str:
    return service(request).outside.stamp()[: len("2026-03")]


def _after(text: str, bound: dict[str, str]) -> int:
    (found,) = position(text, operation_id=_PLANS.operation_id, filters=bound, width=1)
    if found.isdecimal() and len(found) <= _LONGEST_POSITION:
        return int(found)
    error = parameter_fault(
        "query",
        "cursor",
        code="wrong-cursor",
        detail="the cursor is damaged",
        allowed="the next_cursor of the trailer before",
        remedy="Begin again without a cursor.",
    )
    raise Problem("invalid-parameter", "The cursor does not fit.", errors=[error])


def _cut_release(cut: store.Cut) -> ExportRelease:
    return ExportRelease(
        release=cut.trailer.release,
        state="cut",
        rows=cut.trailer.rows,
        suppressed=cut.trailer.suppressed,
        k=cut.trailer.k,
        cut_at=cut.created_at,
    )


def _due_release(month: str) -> ExportRelease:
    return ExportRelease(
        release=month, state="due", rows=None, suppressed=None, k=None, cut_at=None
    )
