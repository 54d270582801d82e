"""How many requests a key and an address may make in a minute, over all processes of a database.

A process admits the first twentieth of a limit (a share) on its own, at no cost. Beyond that it
takes shares from a counter in the database, one small write for a share of requests, and counts in
what it admitted alone. So in one window:

- never more than `limit + (processes - 1) * share` requests pass;
- nobody is refused before `limit - (processes - 1) * share` requests have passed.

The window is a minute of the clock; around its turn up to twice the limit can pass in a minute.
While the database is away each process goes by the limit alone: rather too much than an outage.
"""

import asyncio
from ipaddress import IPv6Address, ip_address
from typing import Literal

from msgspec import Struct
from sqlalchemy import bindparam, delete
from sqlalchemy.dialects.postgresql import insert

from exchange_api.outside import Outside
from exchange_api.problems import Problem, parameter_fault
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import RATE_WINDOWS
from exchange_api.storage.units import Connection, Database, StorageUnavailable, Unit

WINDOW_S = 60
SHARES = 20
MOST_SUBJECTS = 100_000
"""Beyond that many in one minute the newcomers count as one, so that memory is bounded."""

Kind = Literal["address", "key"]

_NEW = insert(RATE_WINDOWS).values({c.name: bindparam(c.name) for c in RATE_WINDOWS.columns})
_TAKE = Statement(
    _NEW.on_conflict_do_update(
        index_elements=["began_at", "subject"],
        set_={"taken": RATE_WINDOWS.c.taken + _NEW.excluded.taken},
    ).returning(RATE_WINDOWS.c.taken)
)
_FORGET = Statement(delete(RATE_WINDOWS).where(RATE_WINDOWS.c.began_at < bindparam("before")))


class Standing(Struct, frozen=True, kw_only=True):
    """Where a caller stands: what is left of the limit as this process knows, and until when."""

    kind: Kind
    limit: int
    left: int
    resets_s: int
    is_admitted: bool

    @property
    def headers(self) -> dict[str, str]:
        """The fields of the IETF draft on rate limits for HTTP; Retry-After for who must wait."""
        made = {
            "RateLimit-Policy": f'"{self.kind}";q={self.limit};w={WINDOW_S}',
            "RateLimit": f'"{self.kind}";r={self.left};t={self.resets_s}',
        }
        return made if self.is_admitted else made | {"Retry-After": str(self.resets_s)}


class _Subject:
    """What is known of one caller in the present window."""

    def __init__(self, share: int) -> None:
        self.admitted = 0
        self.allowed = share  # how many may be admitted before more must be taken
        self.taken = 0  # by all processes, as of the last time this one took something
        self.is_alone = True
        self.is_over = False
        self.taking = asyncio.Lock()


class Limiter:
    """Counts the requests of one kind of caller.

    limit: how many a minute, 0 for no limit
    """

    def __init__(self, kind: Kind, limit: int, *, database: Database, outside: Outside) -> None:
        self._kind: Kind = kind
        self._limit = limit
        self._share = max(1, limit // SHARES)
        self._database = database
        self._outside = outside
        self._window = 0
        self._subjects: dict[str, _Subject] = {}

    async def admit(self, name: str) -> Standing | None:
        """Count one request of a caller; None when there is no limit."""
        if not self._limit:
            return None
        now = int(self._outside.now().timestamp())
        window = now - now % WINDOW_S
        subject = self._subject(name, window)
        while subject.admitted >= subject.allowed and not subject.is_over:
            async with subject.taking:
                if subject.admitted >= subject.allowed and not subject.is_over:
                    await self._take(subject, name, window)
        is_admitted = subject.admitted < subject.allowed
        subject.admitted += is_admitted
        return Standing(
            kind=self._kind,
            limit=self._limit,
            left=self._left(subject) if is_admitted else 0,
            resets_s=window + WINDOW_S - now,
            is_admitted=is_admitted,
        )

    def _subject(self, name: str, window: int) -> _Subject:
        if window != self._window:
            self._window, self._subjects = window, {}
        known = self._subjects.get(name)
        if known is None and len(self._subjects) >= MOST_SUBJECTS:
            name = ""
            known = self._subjects.get(name)
        if known is None:
            known = self._subjects[name] = _Subject(min(self._share, self._limit))
        return known

    def _left(self, subject: _Subject) -> int:
        unused = subject.allowed - subject.admitted
        if subject.is_alone:
            return self._limit - subject.admitted
        return max(0, self._limit - subject.taken) + unused

    async def _take(self, subject: _Subject, name: str, window: int) -> None:
        """Take one more share; on the first time what was admitted alone is counted in."""
        wanted = self._share + (subject.admitted if subject.is_alone else 0)
        unit = _taking(subject=f"{self._kind} {name}", began_at=window, taken=wanted)
        try:
            taken = await self._database.write(unit)
        except StorageUnavailable:
            subject.is_over = subject.admitted >= self._limit
            subject.allowed = min(self._limit, subject.allowed + self._share)
            return
        before = taken - self._share
        granted = max(0, min(self._share, self._limit - before))
        subject.is_alone = False
        subject.taken = taken
        subject.allowed += granted
        subject.is_over = granted == 0


def _taking(**row: str | int) -> Unit[int]:
    def unit(connection: Connection) -> int:
        ((taken_by_all,),) = connection.execute(_TAKE, row)
        return int(taken_by_all)

    return unit


def forget(*, now_s: int) -> Unit[None]:
    """A unit: drop the windows that have long ended."""

    def unit(connection: Connection) -> None:
        connection.execute(_FORGET, {"before": now_s - 10 * WINDOW_S})

    return unit


def too_many(standing: Standing) -> Problem:
    """The problem of who must wait."""
    detail = f"The {standing.kind} has made its {standing.limit} requests of this minute."
    error = parameter_fault(
        "header", "Authorization" if standing.kind == "key" else "*", code="too-many-requests",
        detail=f"the {standing.kind} has no request left in this minute",
        allowed=f"{standing.limit} requests a minute", remedy=f"Wait {standing.resets_s} s.",
    )  # fmt: skip
    return Problem("too-many-requests", detail, errors=[error], headers=standing.headers)


def address_of(client: tuple[str, int] | None) -> str:
    """Whom an address stands for: itself, or the network of 64 bits that IPv6 gives to one caller.

    >>> address_of(("192.0.2.7", 5000)), address_of(("2001:db8:1:2:3::4", 5000))
    ('192.0.2.7', '2001:db8:1:2::')
    """
    host = client[0] if client else ""
    try:
        parsed = ip_address(host)
    except ValueError:
        return host
    if isinstance(parsed, IPv6Address):
        return str(IPv6Address(int(parsed) >> 64 << 64))
    return host
