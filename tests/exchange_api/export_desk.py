"""A service whose clock stands still, filled with plans, for the tests of exports."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import httpx
import msgspec
from msgspec.structs import replace
from sqlalchemy import insert

from exchange_api.keys import keep_key, new_key
from exchange_api.outside import real_outside
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import PLANS
from libexchange.anonymise import ExportFacts
from tests.exchange_api.running import Running, running

WORKSHOP = str(UUID(int=7))
ADD_PLAN = Statement(insert(PLANS))
FACTS = ExportFacts(
    month="2026-03",
    family="converter_automatic",
    model_year=2019,
    odometer_km=87_654.3,
    region="north",
    reason="routine",
    route="drain_cycles",
    feasible=True,
    litres_planned_l=12.3,
    fresh_share_expected=0.81,
    target_fresh_share=0.8,
    findings=(),
)


class Desk:
    """A service whose clock stands in April 2026 until it is set, and the data team's client."""

    def __init__(self, app: Running, client: httpx.Client, clock: list[datetime]) -> None:
        self.app = app
        self.client = client
        self.clock = clock

    def keep(self, count: int, *, supersedes: str | None = None, **changed: Any) -> list[str]:
        """Plans with these facts, as the service keeps them; their ids."""
        facts = replace(FACTS, **changed)
        ids = [str(uuid4()) for _ in range(count)]
        rows = [plan_row(facts, plan_id, supersedes) for plan_id in ids]
        self.app.write(lambda connection: connection.execute_many(ADD_PLAN, rows))
        return ids

    def pull(self, release: str = "2026-03", **more: str) -> tuple[list[Any], dict[str, Any]]:
        """The rows and the trailer of an answer."""
        answer = self.client.get("/v1/exports/plans", params={"release": release, **more})
        assert answer.status_code == 200, answer.text
        *rows, last = [msgspec.json.decode(line) for line in answer.content.splitlines()]
        return rows, last["trailer"]

    def releases(self) -> list[tuple[Any, ...]]:
        """Month, state, rows, suppressed and k of each release."""
        items = self.client.get("/v1/exports/releases").json()["items"]
        names = ("release", "state", "rows", "suppressed", "k")
        return [tuple(item[name] for name in names) for item in items]


def plan_row(facts: ExportFacts, plan_id: str, supersedes: str | None) -> dict[str, Any]:
    row = dict.fromkeys(PLANS.columns.keys())
    return row | {
        "workshop_id": WORKSHOP,
        "plan_id": plan_id,
        "created_at": "2026-03-04T05:06:07.000000Z",
        "service_date": f"{facts.month}-17",
        "feasible": 1,
        "supersedes": supersedes,
        "etag": '"x"',
        "document": b"{}",
        "facts": msgspec.json.encode(facts),
    }


@contextmanager
def desk_in(database: Path | str) -> Iterator[Desk]:
    """A desk over a new database."""
    clock = [datetime(2026, 4, 1, tzinfo=UTC)]
    outside = replace(real_outside(), now=lambda: clock[0])
    with running(database, outside=outside) as app:
        key, scopes = new_key(outside), frozenset({"exports:read"})
        app.write(keep_key(key, workshop="Data", region="x", scopes=scopes, workshop_id=WORKSHOP))
        with app.client(key=key.text) as client:
            yield Desk(app, client, clock)
