"""A real service on a real socket, for tests; each test gets a workshop of its own in it."""

import asyncio
import io
from asyncio import AbstractEventLoop, Runner
from collections.abc import Coroutine, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from time import sleep
from typing import Any, BinaryIO

import httpx
import uvloop
from litestar.types import ControllerRouterHandler

from exchange_api import keys
from exchange_api.app import HANDLERS, create_app
from exchange_api.logs import Log
from exchange_api.outside import Outside, real_outside
from exchange_api.scopes import ADMINISTRATOR, SCOPES
from exchange_api.server import build, listen
from exchange_api.serving import Service
from exchange_api.settings import Settings
from exchange_api.storage.units import T, Unit


class Running:
    """A service that runs in a thread of its own."""

    def __init__(
        self, *, url: str, service: Service, loop: AbstractEventLoop, announced: list[str]
    ) -> None:
        self.url = url
        self.service = service
        self.announced = announced
        self._loop = loop

    def write(self, unit: Unit[T]) -> T:
        """Run a unit of work in the service's own database."""
        return self.wait(self.service.database.write(unit))

    def wait(self, work: Coroutine[Any, Any, T]) -> T:
        """Do something in the service's own loop."""
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(10)

    def key(self, *, workshop: str, scopes: frozenset[str] = frozenset(SCOPES)) -> str:
        """A new key; the workshop is made when there is none of this name."""
        key = keys.new_key(self.service.outside)
        workshop_id = self.service.outside.new_id()
        self.write(
            keys.keep_key(
                key, workshop=workshop, region="north", scopes=scopes, workshop_id=workshop_id
            )
        )
        return key.text

    @contextmanager
    def client(self, *, key: str | None = None, **more: Any) -> Iterator[httpx.Client]:
        """A client with a key, or without one."""
        headers = {"Authorization": f"Bearer {key}"} if key else {}
        with httpx.Client(base_url=self.url, headers=headers, **more) as client:
            yield client

    @contextmanager
    def client_of(self, workshop: str, *, scopes: str = "*", **more: Any) -> Iterator[httpx.Client]:
        """A client of a workshop: `*` for all scopes, `administrator` for those and that one."""
        held = {"*": frozenset(SCOPES), ADMINISTRATOR: frozenset({*SCOPES, ADMINISTRATOR})}
        key = self.key(workshop=workshop, scopes=held.get(scopes, frozenset(scopes.split(","))))
        with self.client(key=key, **more) as client:
            yield client


@contextmanager
def running(
    database: Path | str,
    *,
    outside: Outside | None = None,
    log: BinaryIO | None = None,
    more_handlers: tuple[ControllerRouterHandler, ...] = (),
    **settings: Any,
) -> Iterator[Running]:
    """Start a service over a database, and stop it cleanly.

    database: its URL, or a folder for one on SQLite
    """
    if isinstance(database, Path):
        database = f"sqlite:///{database}/exchange.db"
    usual = {"key_rate": 0, "address_rate": 0}  # every test comes from one address
    in_house = {"webhook_hosts": frozenset({"127.0.0.1"})}  # and tells no other
    told = Settings(port=0, database=database, **(usual | in_house | settings))
    outside, announced = outside or real_outside(), list[str]()
    app = create_app(
        told,
        outside=outside,
        log=Log(now=outside.now, stream=log or io.BytesIO()),
        announce=announced.append,
        handlers=HANDLERS + more_handlers,
    )
    listener = listen(told)
    server = build(app, told)
    with Runner(loop_factory=uvloop.new_event_loop) as runner:
        thread = Thread(target=runner.run, args=(server.serve(sockets=[listener]),))
        thread.start()
        while not server.started and thread.is_alive():
            sleep(0.005)
        url = f"http://127.0.0.1:{listener.getsockname()[1]}"
        try:
            yield Running(url=url, service=app.service, loop=runner.get_loop(), announced=announced)
        finally:
            server.should_exit = True
            thread.join()
