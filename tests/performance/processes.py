"""Servers in processes of their own, the service with its default settings but without rates.

What they log as an error is passed on to stderr: figures with errors beside them say less.
"""

import multiprocessing
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from multiprocessing.process import BaseProcess
from pathlib import Path
from time import monotonic, sleep

import httpx

from exchange_api import cli
from tests.faults.serving import READY_WITHIN_S, UNLIMITED, free_port
from tests.performance import bare

# as in tests.faults.serving, whose import it preloads: a start takes 0.1 s, not 1 s
_FORKED = multiprocessing.get_context("forkserver")
STOPS_WITHIN_S = 60


def services(database: str, folder: Path, *, count: int) -> AbstractContextManager[list[int]]:
    """Ports of so many processes of the service over one database, which both kinds allow."""
    told = ["serve", "--database", database, "--port"]
    return _processes(_serve, told, "/health/ready", folder, count)


def bare_routes(document: Path, *, count: int) -> AbstractContextManager[list[int]]:
    """Ports of so many processes that do no work; the document is what they answer."""
    return _processes(bare.main, [str(document)], bare.PATH, document.parent, count)


def _serve(told: list[str]) -> int:
    return cli.main(told, environ=UNLIMITED)


@contextmanager
def _processes(
    main: Callable[[list[str]], int], told: list[str], ready: str, folder: Path, count: int
) -> Iterator[list[int]]:
    ports = [free_port() for _ in range(count)]
    with ExitStack() as stack:
        for port in ports:
            log = folder / f"log-{port}"
            process = stack.enter_context(_running(main, [*told, str(port)], log))
            _wait_until_ready(process, f"http://127.0.0.1:{port}{ready}", log)
        yield ports


@contextmanager
def _running(main: Callable[[list[str]], int], told: list[str], log: Path) -> Iterator[BaseProcess]:
    log.touch()
    process = _FORKED.Process(target=_run, args=(main, told, str(log)), daemon=True)
    process.start()
    try:
        yield process
        _stop(process, log)
    finally:
        process.kill()
        process.join()
        log.unlink()


def _run(main: Callable[[list[str]], int], told: list[str], log: str) -> None:
    descriptor = os.open(log, os.O_WRONLY | os.O_APPEND)
    os.dup2(descriptor, 1)
    os.dup2(descriptor, 2)
    os._exit(main(told))


def _stop(process: BaseProcess, log: Path) -> None:
    process.terminate()
    process.join(STOPS_WITHIN_S)
    if process.exitcode != 0:
        raise RuntimeError(f"a server ended with {process.exitcode}: {_end_of(log)}")
    with log.open("rb") as lines:
        for line in lines:
            if b'"level":"error"' in line:
                print(line.decode(), file=sys.stderr)


def _wait_until_ready(process: BaseProcess, url: str, log: Path) -> None:
    end = monotonic() + READY_WITHIN_S
    while monotonic() < end and process.is_alive():
        try:
            if httpx.get(url, timeout=5).status_code == 200:
                return
        except httpx.TransportError:
            sleep(0.02)
    raise RuntimeError(f"a server did not start: {_end_of(log)}")


def _end_of(log: Path) -> str:
    return log.read_text(errors="replace")[-4000:]
