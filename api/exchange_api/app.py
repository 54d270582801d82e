"""The application: every resource, the guards, the problem handlers, start and stop."""

import asyncio
import gc
from collections.abc import AsyncGenerator, Callable
from contextlib import asynccontextmanager
from typing import Any

from litestar import Litestar
from litestar.datastructures import State
from litestar.exceptions import HTTPException
from litestar.routes import HTTPRoute
from litestar.types import ControllerRouterHandler

from exchange_api import first_start, stamping, upkeep, webhook_sending
from exchange_api.asgi import Edge
from exchange_api.attachment_store import drop_abandoned
from exchange_api.contract import contract
from exchange_api.forgetting import forget_old_keys
from exchange_api.logs import Log
from exchange_api.metrics import Metrics
from exchange_api.outside import Outside, real_outside
from exchange_api.problems import answer_problem
from exchange_api.queries import check_no_query
from exchange_api.rates import Limiter
from exchange_api.room import Room
from exchange_api.security import authorise, check_accept
from exchange_api.serving import Service
from exchange_api.settings import Settings
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate, newest_revision
from exchange_api.v1.additives import handlers as additives
from exchange_api.v1.api_keys import handlers as api_keys
from exchange_api.v1.attachments import handlers as attachments
from exchange_api.v1.audit_log import handlers as audit_log
from exchange_api.v1.calculations import handlers as calculations
from exchange_api.v1.contract import handlers as contract_handlers
from exchange_api.v1.exports import handlers as exports
from exchange_api.v1.findings import handlers as findings
from exchange_api.v1.fluids import handlers as fluids
from exchange_api.v1.health import handlers as health
from exchange_api.v1.jobs import handlers as jobs
from exchange_api.v1.me import handlers as me
from exchange_api.v1.metrics import handlers as metrics
from exchange_api.v1.plans import handlers as plans
from exchange_api.v1.problems import handlers as problems
from exchange_api.v1.records import handlers as records
from exchange_api.v1.transmissions import handlers as transmissions
from exchange_api.v1.webhook_endpoints import handlers as webhook_endpoints
from exchange_api.v1.well_known import handlers as well_known

HANDLERS: tuple[ControllerRouterHandler, ...] = (
    *additives.HANDLERS,
    *api_keys.HANDLERS,
    *attachments.HANDLERS,
    *audit_log.HANDLERS,
    *calculations.HANDLERS,
    *contract_handlers.HANDLERS,
    *exports.HANDLERS,
    *findings.HANDLERS,
    *fluids.HANDLERS,
    *health.HANDLERS,
    *jobs.HANDLERS,
    *me.HANDLERS,
    *metrics.HANDLERS,
    *plans.HANDLERS,
    *problems.HANDLERS,
    *records.HANDLERS,
    *transmissions.HANDLERS,
    *webhook_endpoints.HANDLERS,
    *well_known.HANDLERS,
)
"""Every resource of the service; a new one is added here."""


def create_app(
    settings: Settings,
    *,
    outside: Outside | None = None,
    log: Log | None = None,
    announce: Callable[[str], None] = print,
    handlers: tuple[ControllerRouterHandler, ...] = HANDLERS,
) -> Edge:
    """The service as an ASGI app, ready for a server that runs its lifespan.

    announce: told the administrator's key when the database is empty
    """
    outside = outside or real_outside()
    log = log or Log(now=outside.now, level=settings.log_level)
    app = _framework(handlers)
    database = database_at(settings.database)
    shared: dict[str, Any] = {"database": database, "outside": outside}
    app.state.service = Service(
        settings=settings,
        database=database,
        outside=outside,
        log=log,
        contract=contract(app.routes),
        revision=newest_revision(),
        keys=Limiter("key", settings.key_rate, **shared),
        addresses=Limiter("address", settings.address_rate, **shared),
        room=Room(settings.body_memory),
        metrics=Metrics(),
    )
    app.state.announce = announce
    return Edge(app, service=app.state.service, methods=_methods(app))


def contract_bytes() -> bytes:
    """The contract of the whole service."""
    return contract(_framework(HANDLERS).routes)


def _framework(handlers: tuple[ControllerRouterHandler, ...]) -> Litestar:
    return Litestar(
        route_handlers=handlers,
        guards=[authorise, check_accept, check_no_query],
        exception_handlers={HTTPException: answer_problem, Exception: answer_problem},
        lifespan=[_running],
        state=State(),
        logging_config=None,
        openapi_config=None,
        request_max_body_size=None,  # bodies.py keeps the limits
    )


def _methods(app: Litestar) -> dict[str, frozenset[str]]:
    routes = [route for route in app.routes if isinstance(route, HTTPRoute)]
    return {route.path_format: frozenset(map(str, route.methods)) for route in routes}


@asynccontextmanager
async def _running(app: Litestar) -> AsyncGenerator[None, None]:
    running: Service = app.state.service
    await asyncio.to_thread(migrate, running.settings.database)
    await running.database.open()
    try:
        await first_start.run(running.database, running.outside, announce=app.state.announce)
        await forget_old_keys(running.database, running.outside)
        await drop_abandoned(running.database, running.outside)
        gc.collect()
        gc.freeze()  # what was made at start lives on, so collections need not walk it
        async with _upkeep(running):
            yield
    finally:
        await running.database.close()


@asynccontextmanager
async def _upkeep(running: Service) -> AsyncGenerator[None, None]:
    stop = asyncio.Event()
    works = (upkeep.until, webhook_sending.until, stamping.until)
    working = [asyncio.create_task(work(stop, running)) for work in works]
    try:
        yield
    finally:
        stop.set()
        await asyncio.gather(*working)
