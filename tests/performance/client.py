"""A light load client: HTTP/1.1 over raw sockets, ready-made requests, one thread.

Each caller waits for its answer before it asks again, so what is shown is a closed loop: when the
server is slow the callers ask less often.
"""

import asyncio
import gc
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from time import perf_counter, process_time

import uvloop

from tests.performance.figures import Sample

LENGTH = re.compile(rb"\r\ncontent-length: ([0-9]+)\r\n", re.IGNORECASE)
HEAD_END = b"\r\n\r\n"
ANSWER_WITHIN_S = 60


class WrongAnswer(AssertionError):
    """The server answered something else than was asked for."""


class _Caller(asyncio.Protocol):
    """One connection that asks until the time is over."""

    def __init__(self, requests: Iterator[bytes], *, status: int, until: float) -> None:
        self.done: asyncio.Future[list[float]] = asyncio.get_running_loop().create_future()
        self._requests = requests
        self._status = b"HTTP/1.1 %d " % status
        self._until = until
        self._latencies_s: list[float] = []
        self._transport: asyncio.Transport | None = None
        self._got = b""
        self._wanted = 0  # bytes of the answer, 0 while its head is incomplete

    async def connect(self, port: int) -> None:
        """Begin to ask the server at this port."""
        loop = asyncio.get_running_loop()
        await loop.create_connection(lambda: self, "127.0.0.1", port)

    def close(self) -> None:
        """End the connection if there is one."""
        if self._transport is not None:
            self._transport.close()

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]  # what TCP connections get
        self._transport = transport
        self._ask()

    def data_received(self, data: bytes) -> None:
        if self.done.done():
            return
        self._got = self._got + data if self._got else data
        if not self._wanted:
            self._wanted = self._length()
        if self._wanted and len(self._got) >= self._wanted:
            self._answered()

    def connection_lost(self, exc: Exception | None) -> None:
        if not self.done.done():
            self.done.set_exception(WrongAnswer(f"the connection was lost: {exc}"))

    def _ask(self) -> None:
        assert self._transport is not None
        self._got, self._wanted = b"", 0
        request = next(self._requests)
        self._asked_at = perf_counter()
        self._transport.write(request)

    def _length(self) -> int:
        head_end = self._got.find(HEAD_END)
        if head_end < 0:
            return 0
        told = LENGTH.search(self._got, 0, head_end + 2)
        if told is None or not self._got.startswith(self._status):
            self._fail()
            return 0
        return head_end + len(HEAD_END) + int(told[1])

    def _answered(self) -> None:
        now = perf_counter()
        self._latencies_s.append(now - self._asked_at)
        if now < self._until:
            self._ask()
            return
        self.done.set_result(self._latencies_s)

    def _fail(self) -> None:
        self.done.set_exception(WrongAnswer(self._got[:2000].decode(errors="replace")))


def load(
    ports: Sequence[int], callers: Sequence[Iterator[bytes]], *, status: int, seconds: float
) -> Sample:
    """Let callers ask for so many seconds, each with requests of its own, spread over the ports.

    Every request that was sent is waited for and counted. Raises: WrongAnswer.
    """
    with _undisturbed(), asyncio.Runner(loop_factory=uvloop.new_event_loop) as runner:
        return runner.run(_load(ports, callers, status=status, seconds=seconds))


async def _load(
    ports: Sequence[int], callers: Sequence[Iterator[bytes]], *, status: int, seconds: float
) -> Sample:
    began, worked_s = perf_counter(), process_time()
    asking = [_Caller(one, status=status, until=began + seconds) for one in callers]
    try:
        async with asyncio.timeout(seconds + ANSWER_WITHIN_S):
            for number, caller in enumerate(asking):
                await caller.connect(ports[number % len(ports)])
            answered = await asyncio.gather(*(caller.done for caller in asking))
        elapsed_s, client_s = perf_counter() - began, process_time() - worked_s
    finally:
        for caller in asking:
            caller.close()
        await asyncio.sleep(0)  # a turn of the loop, in which connections are closed
    return Sample(
        elapsed_s=elapsed_s,
        latencies_s=[latency for latencies in answered for latency in latencies],
        client_s=client_s,
    )


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Without collections of garbage, which would look like slow answers."""
    gc.collect()
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
