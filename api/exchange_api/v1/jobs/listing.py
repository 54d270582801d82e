"""Lists of jobs, in the order they changed, so that a caller can follow what is new."""

from functools import lru_cache
from typing import Any

from msgspec import Struct
from sqlalchemy import Select, bindparam, select, tuple_

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOBS
from exchange_api.storage.units import Connection, Unit


class JobSummary(Struct, frozen=True):
    """What a list shows of a job.

    job_id: its id    plan_id: what it works from    created_at: when it was made
    updated_at: of the last change    state: how far it is    version: as in its ETag
    closed_at: null while it is open
    """

    job_id: str
    plan_id: str
    created_at: str
    updated_at: str
    state: str
    version: int
    closed_at: str | None


def page(
    *,
    workshop_id: str,
    filters: dict[str, str],
    after: tuple[str, ...] | None,
    limit: int,
) -> Unit[list[JobSummary]]:
    """Jobs of a workshop, the longest unchanged first, one more than the page holds.

    filters: any of `state`, `plan_id` and `updated_since`
    """
    params: dict[str, Any] = {"workshop_id": workshop_id, "rows": limit + 1, **filters}
    if after is not None:
        params["after_time"], params["after_id"] = after
    statement = _statement(frozenset(filters), after is not None)

    def unit(connection: Connection) -> list[JobSummary]:
        return [JobSummary(*row) for row in connection.execute(statement, params)]

    return unit


@lru_cache(maxsize=16)
def _statement(filters: frozenset[str], after: bool) -> Statement:
    return Statement(_select(filters, after=after))


def _select(filters: frozenset[str], *, after: bool) -> Select[tuple[Any, ...]]:
    columns = [JOBS.c[name] for name in JobSummary.__struct_fields__]
    statement = select(*columns).where(JOBS.c.workshop_id == bindparam("workshop_id"))
    for name in sorted(filters - {"updated_since"}):
        statement = statement.where(JOBS.c[name] == bindparam(name))
    if "updated_since" in filters:
        statement = statement.where(JOBS.c.updated_at >= bindparam("updated_since"))
    if after:
        # compared as a row, for PostgreSQL starts in the middle of an index only then
        last = tuple_(bindparam("after_time"), bindparam("after_id"))
        statement = statement.where(tuple_(JOBS.c.updated_at, JOBS.c.job_id) > last)
    return statement.order_by(JOBS.c.updated_at, JOBS.c.job_id).limit(bindparam("rows"))
