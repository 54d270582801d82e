"""Units that wait for a worker thread, and the answer to whoever awaits them."""

import asyncio
from collections.abc import Callable, Iterable
from queue import Empty, SimpleQueue
from threading import Thread
from typing import Any, Generic, TypeVar

from msgspec import Struct

from exchange_api.storage.units import StorageUnavailable, Unit

T = TypeVar("T")


class Outcome(Struct, frozen=True):
    """What came of a unit: its value, or the exception that its caller must see."""

    value: Any = None
    error: BaseException | None = None


class Job(Generic[T]):
    """A unit that waits for its turn, and the future that its caller awaits."""

    def __init__(self, unit: Unit[T], future: asyncio.Future[T]) -> None:
        self.unit = unit
        self.future = future


class Queue:
    """Jobs in the order they came, and the threads that take them."""

    def __init__(self) -> None:
        self._jobs: SimpleQueue[Job[Any] | None] = SimpleQueue()
        self._threads: list[Thread] = []
        self._is_open = False

    def open(self, workers: Iterable[Callable[[], None]]) -> None:
        """Start one thread for each worker; the running event loop is the one that is answered."""
        self._loop = asyncio.get_running_loop()
        self._threads = [Thread(target=worker) for worker in workers]
        for thread in self._threads:
            thread.start()
        self._is_open = True

    async def close(self) -> None:
        """Let the threads finish what waits, and end."""
        self._is_open = False
        for _ in self._threads:
            self._jobs.put(None)
        for thread in self._threads:
            await asyncio.to_thread(thread.join)

    async def run(self, unit: Unit[T]) -> T:
        """Hand a unit in and wait for what comes of it. Raises: StorageUnavailable when closed."""
        if not self._is_open:
            raise StorageUnavailable("the database is closed")
        future: asyncio.Future[T] = self._loop.create_future()
        self._jobs.put(Job(unit, future))
        return await future

    def take(self) -> Job[Any] | None:
        """The next job, waited for; None when the worker must end."""
        return self._jobs.get()

    def take_waiting(self, most: int) -> list[Job[Any]]:
        """The jobs that wait already."""
        jobs: list[Job[Any]] = []
        while len(jobs) < most:
            try:
                job = self._jobs.get_nowait()
            except Empty:
                break
            if job is None:
                self._jobs.put(None)  # the end must still be seen after these
                break
            jobs.append(job)
        return jobs

    def answer(self, outcomes: list[tuple[Job[Any], Outcome]]) -> None:
        """Tell the callers, all in one turn of their loop."""
        self._loop.call_soon_threadsafe(_deliver, outcomes)


def _deliver(outcomes: list[tuple[Job[Any], Outcome]]) -> None:
    for job, outcome in outcomes:
        if job.future.done():  # its caller has gone
            continue
        if outcome.error is None:
            job.future.set_result(outcome.value)
        else:
            job.future.set_exception(outcome.error)
