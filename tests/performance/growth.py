"""How long calls take when a database holds ten and a hundred times as many plans.

    python -m tests.performance.growth --plans 10000,100000,1000000 --seconds 5

The plans belong to ten workshops and lie in the last 80 days. First pages hold the newest plans of
a workshop, late ones begin in its oldest tenth; plans to get are of any age. One process serves.
"""

import argparse
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from time import perf_counter

from msgspec import Struct

from tests.faults.kill import database
from tests.performance.figures import Figures, figures
from tests.performance.kinds import (
    BARE_GET,
    BARE_POST,
    CREATE,
    FIRST_PAGE,
    GET,
    LATE_PAGE,
    Kind,
    acquaint,
    measure,
)
from tests.performance.machine import conditions
from tests.performance.processes import bare_routes, services
from tests.performance.serving import BACKENDS
from tests.performance.stock import Stock
from tests.performance.tables import HEAD, cells, ratios, table

WORKSHOPS = 10
KINDS = (FIRST_PAGE, LATE_PAGE, GET, CREATE)
BARE = (BARE_GET, BARE_POST)


class Told(Struct, frozen=True, kw_only=True):
    """At which sizes is measured, and for how long."""

    sizes: tuple[int, ...]
    callers: int
    seconds: float


class Cell(Struct, frozen=True):
    """A line of the table."""

    backend: str
    call: str
    plans: int


class Growing:
    """A database that grows, and what is measured over it."""

    def __init__(self, told: Told, backend: str, url: str, folder: Path) -> None:
        self._told = told
        self._backend = backend
        self._folder = folder
        self._stock = Stock(url, workshops=WORKSHOPS, most=max(told.sizes))

    def figures(self) -> dict[Cell, Figures]:
        """Every call at every size. Raises: WrongAnswer, RuntimeError when a server fails."""
        measured: dict[Cell, Figures] = {}
        for size in sorted(self._told.sizes):
            self._grow(size)
            with services(self._stock.url, self._folder, count=1) as ports:
                acquaint(ports, self._stock)
                measured |= self._measured(KINDS, size, ports)
            document = self._folder / "document"
            document.write_bytes(self._stock.templates[0].document)
            with bare_routes(document, count=1) as ports:
                measured |= self._measured(BARE, size, ports)
        return measured

    def _measured(self, kinds: Sequence[Kind], size: int, ports: list[int]) -> dict[Cell, Figures]:
        told, measured = self._told, {}
        for kind in kinds:
            sample, _ = measure(
                kind, ports, self._stock, callers=told.callers, seconds=told.seconds
            )
            measured[Cell(self._backend, kind.name, size)] = figures([sample])
        return measured

    def _grow(self, size: int) -> None:
        began = perf_counter()
        self._stock.grow(size)
        took_s = perf_counter() - began
        told = f"{self._backend}: {size:,} plans, seeded in {took_s:.0f} s"
        print(told, file=sys.stderr, flush=True)


def shown(measured: Mapping[Cell, Figures]) -> str:
    """The table by call, each line beside the fewest plans; bare routes show the machine's own."""
    fewest = min(cell.plans for cell in measured)
    head = ["database", "call", "plans", *HEAD, "rate/first", "p50/first", "p99/first"]
    rows = [
        [cell.backend, cell.call, f"{cell.plans:,}", *cells(one),
         *ratios(one, measured[Cell(cell.backend, cell.call, fewest)])]
        for cell, one in sorted(measured.items(), key=_by_call)
    ]  # fmt: skip
    return table(head, rows)


def _by_call(line: tuple[Cell, Figures]) -> tuple[int, int, int]:
    cell, _ = line
    order = [kind.name for kind in (*KINDS, *BARE)].index(cell.call)
    return BACKENDS.index(cell.backend), order, cell.plans


def main() -> int:
    told = _arguments()
    what = Told(sizes=tuple(told.plans), callers=told.callers, seconds=told.seconds)
    for backend in told.backend:
        with tempfile.TemporaryDirectory() as name, database(backend, Path(name)) as url:
            print(*conditions([url], Path(name)), sep="\n")
            print(f"{told.seconds:g} s a cell, {told.callers} callers", flush=True)
            measured = Growing(what, backend, url, Path(name)).figures()
        print(f"\n{shown(measured)}\n", flush=True)
    return 0


def _sizes(text: str) -> list[int]:
    return [int(part) for part in text.split(",")]


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plans", type=_sizes, default=[10_000, 100_000, 1_000_000])
    parser.add_argument("--seconds", type=float, default=5)
    parser.add_argument("--callers", type=int, default=8)
    parser.add_argument("--backend", nargs="+", choices=BACKENDS, default=BACKENDS)
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
