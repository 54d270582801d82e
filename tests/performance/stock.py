"""A database with workshops and plans, filled in bulk through the service's own units of work.

A plan that is seeded is a copy of a real one under an id and a time of its own, so its rows have
the sizes of real rows; only the digest inside of it is that of the plan that it was copied from.
"""

import asyncio
from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

import psycopg
from msgspec.structs import replace
from sqlalchemy import func, select

from exchange_api import audit
from exchange_api.audit import Trace, digest_of
from exchange_api.conditional import etag
from exchange_api.keys import Principal, keep_key, new_key
from exchange_api.outside import as_stamp, real_outside
from exchange_api.scopes import SCOPES
from exchange_api.storage.migrate import migrate
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import PLANS
from exchange_api.storage.units import Connection, Database, Unit
from exchange_api.v1.plans import store
from exchange_api.v1.plans.making import new_plan
from exchange_api.v1.plans.store import NewPlan, StoredPlan
from libexchange.plan.planning import make_plan
from libexchange.plan.records import CatalogueVersions
from tests.exchange_api.test_databases import using
from tests.performance.calls import Customer, plan_requests

PERIOD = timedelta(days=80)  # younger than Idempotency-Keys that a start of the service forgets
PLANS_IN_A_UNIT = 100
UNITS_AT_ONCE = 4

_COUNT = Statement(select(func.count()).select_from(PLANS))


class Stock:
    """A new database's workshops and plans; plan n belongs to workshop n modulo their number.

    most: how many plans will be seeded at last; their times are spread over the last 80 days
    """

    def __init__(self, url: str, *, workshops: int, most: int) -> None:
        migrate(url)
        self.url = url
        self.plan_ids: list[str] = []
        self.outside = real_outside()
        self._began = self.outside.now() - PERIOD
        self._step = PERIOD / most
        self.customers = using(url, lambda database: self._customers(database, workshops))
        self.templates = self._templates()

    async def _customers(self, database: Database, count: int) -> list[Customer]:
        return [await self._customer(database, f"Workshop {number}") for number in range(count)]

    async def _customer(self, database: Database, name: str) -> Customer:
        key = new_key(self.outside)
        unit = keep_key(key, workshop=name, region="north", scopes=frozenset(SCOPES),
                        workshop_id=self.outside.new_id())  # fmt: skip
        return Customer(workshop_id=await database.write(unit), key=key.text)

    def _templates(self) -> list[NewPlan]:
        holder = Principal(
            workshop_id="", workshop="", region="north", key_id="",
            scopes=frozenset(), administrator=False,
        )  # fmt: skip
        versions = CatalogueVersions(transmission=None, fluid=None)
        made = []
        for request in plan_requests():
            assert request.transmission is not None
            plan = make_plan(
                request=request, transmission=request.transmission, fluid=request.fluid,
                plan_id=UUID(self.outside.new_id()), created_at=self.outside.now(),
                catalogue_versions=versions,
            )  # fmt: skip
            made.append(new_plan(plan, holder, key="", request_sha256="0" * 64))
        return made

    def created_at(self, number: int) -> str:
        """When a plan was made, by its number."""
        return as_stamp(self._began + number * self._step)

    def customer(self, number: int) -> Customer:
        """Whose plan it is, by its number."""
        return self.customers[number % len(self.customers)]

    def count(self) -> int:
        """How many plans are kept, by the database itself."""
        ((count,),) = using(self.url, lambda one: one.read(lambda c: c.execute(_COUNT)))
        return int(count)

    def grow(self, plans: int) -> None:
        """Seed so many plans in all, and leave the database as its upkeep would."""
        using(self.url, lambda database: self._grow(database, plans))
        if self.url.startswith("postgresql"):
            with psycopg.connect(self.url, autocommit=True) as connection:
                connection.execute("VACUUM ANALYZE")  # the server does both by itself, but later
                connection.execute("CHECKPOINT")

    async def _grow(self, database: Database, plans: int) -> None:
        while len(self.plan_ids) < plans:
            units = [self._next_unit(plans) for _ in range(UNITS_AT_ONCE)]
            await asyncio.gather(*map(database.write, units))
        while await database.write(audit.seal):
            pass

    def _next_unit(self, plans: int) -> Unit[None]:
        first = len(self.plan_ids)
        numbers = range(first, min(first + PLANS_IN_A_UNIT, plans))
        self.plan_ids += [self.outside.new_id() for _ in numbers]
        return _one_after_the_other([self.keeping(self._copy(number)) for number in numbers])

    def _copy(self, number: int) -> NewPlan:
        template = self.templates[number // len(self.customers) % len(self.templates)]
        plan_id, created_at = self.plan_ids[number], self.created_at(number)
        document = template.document.replace(template.plan_id.encode(), plan_id.encode())
        document = document.replace(template.created_at.encode(), created_at.encode())
        return replace(
            template, workshop_id=self.customer(number).workshop_id, key=str(uuid4()),
            plan_id=plan_id, created_at=created_at, document=document, etag=etag(document),
        )  # fmt: skip

    def keeping(self, new: NewPlan, sha256: str | None = None) -> Unit[StoredPlan]:
        """The unit that makes a plan kept: its key, the plan and its row in the audit log."""
        about = audit.entry(
            self.outside, actor="key", operation=store.OPERATION, owner=new.workshop_id,
            request_id=self.outside.new_id(),
        )  # fmt: skip
        left = Trace(target=f"plans/{new.plan_id}", after=sha256 or digest_of(new.document))
        return audit.recorded(store.keep(new), about, lambda _: left)


def _one_after_the_other(units: Iterable[Unit[Any]]) -> Unit[None]:
    def unit(connection: Connection) -> None:
        for one in units:
            one(connection)

    return unit
