"""The service in a process of its own that can be killed at any moment, and started again."""

import multiprocessing
import os
import socket
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep

import httpx

from exchange_api.cli import main

# a process that has imported everything and is forked for each start: rounds of 0.5 s, not of 2 s
_FORKED = multiprocessing.get_context("forkserver")
_FORKED.set_forkserver_preload(["tests.faults.serving"])
READY_WITHIN_S = 60
# every caller of these tests comes from one address
UNLIMITED = {"EXCHANGE_API_KEY_RATE": "0", "EXCHANGE_API_ADDRESS_RATE": "0"}


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return int(listener.getsockname()[1])


class Served:
    """A service over a database; `log` is what it says of itself, `more` further settings."""

    def __init__(self, database: str, log: Path, more: Mapping[str, str] = UNLIMITED) -> None:
        self.database = database
        self.log = log
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        told = ["serve", "--port", str(self.port), "--database", database, "--log-level", "error"]
        self._process = _FORKED.Process(
            target=_serve, args=(told, str(log), dict(more)), daemon=True
        )
        self._process.start()

    @property
    def pid(self) -> int:
        """The process, for those that limit it."""
        assert self._process.pid is not None
        return self._process.pid

    def wait_until_ready(self) -> None:
        """Wait until it answers that it can work."""
        end = monotonic() + READY_WITHIN_S
        while monotonic() < end and self._process.is_alive():
            try:
                if httpx.get(f"{self.url}/health/ready", timeout=5).status_code == 200:
                    return
            except httpx.TransportError:
                sleep(0.01)
        raise RuntimeError(f"the service did not start: {self.log.read_text()}")

    def kill(self) -> None:
        """SIGKILL: nothing of it runs any more, whatever it was doing."""
        self._process.kill()
        self._process.join()

    def stop(self) -> int:
        """SIGTERM: it finishes what it has begun; its exit code."""
        self._process.terminate()
        self._process.join(60)
        assert self._process.exitcode is not None
        return self._process.exitcode

    def failures(self) -> list[str]:
        """What it logged as errors."""
        return [line for line in self.log.read_text().splitlines() if '"level":"error"' in line]


def _serve(told: list[str], log: str, environ: dict[str, str]) -> None:
    descriptor = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    os.dup2(descriptor, 1)
    os.dup2(descriptor, 2)
    os._exit(main(told, environ=environ))


@contextmanager
def serving(database: str, folder: Path, **more: str) -> Iterator[Served]:
    """A service that is ready; `more` are environment variables."""
    served = Served(database, folder / f"log-{free_port()}", UNLIMITED | more)
    try:
        served.wait_until_ready()
        yield served
    finally:
        served.kill()


@contextmanager
def speaking(served: Served, key: str) -> Iterator[httpx.Client]:
    """A client of a service."""
    headers = {"Authorization": f"Bearer {key}"}
    with httpx.Client(base_url=served.url, headers=headers, timeout=30) as client:
        yield client
