"""What figures depend on, said beside them."""

import os
import platform
import sqlite3
from collections.abc import Iterable
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from statistics import median
from time import perf_counter

import psycopg
from sqlalchemy.engine import make_url

PARTS = ("litestar", "uvicorn", "uvloop", "httptools", "msgspec", "sqlalchemy", "psycopg")
SYNCS = 50


def conditions(databases: Iterable[str], folder: Path) -> list[str]:
    """Lines that say on what machine, with which versions and which promise of durability."""
    cores = len(os.sched_getaffinity(0))
    parts = ", ".join(f"{name} {version(name)}" for name in PARTS)
    load = os.getloadavg()[0]
    return [
        f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC, {platform.machine()}, load {load:.1f} before",
        f"{cores} cores, which client, servers and databases share",
        f"Python {platform.python_version()}, {parts}",
        f"write and sync of 4 KiB where the databases lie: {_sync_ms(folder):.2f} ms (median)",
        *map(_promise, databases),
    ]


def _promise(database: str) -> str:
    if make_url(database).drivername == "sqlite":
        return f"SQLite {sqlite3.sqlite_version}: WAL, synchronous=FULL, synced at every commit"
    with psycopg.connect(database) as connection:
        fsync = connection.execute("SHOW fsync").fetchall()[0][0]
        told = connection.info.server_version
    return (
        f"PostgreSQL {told // 10_000}.{told % 10_000}: as it comes, fsync {fsync},"
        " synchronous_commit on, over a local socket"
    )


def _sync_ms(folder: Path) -> float:
    path, taken = folder / "sync", []
    with path.open("wb", buffering=0) as file:
        for _ in range(SYNCS):
            began = perf_counter()
            file.write(bytes(4096))
            os.fsync(file.fileno())
            taken.append(perf_counter() - began)
    path.unlink()
    return median(taken) * 1000
