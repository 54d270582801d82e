"""How many calls a second the service answers, beside a bare route of the same framework.

    python -m tests.performance.serving --seconds 5 --rounds 3

Each round measures every cell once, so that what disturbs the machine disturbs all alike. Callers
wait for their answer before they ask again. Plans are about 16 transmissions that the servers have
seen before, or, where it says so, about ones that they never saw. A wrong answer, or a plan that
was answered with 201 and is not kept, ends the command.
"""

import argparse
import sys
import tempfile
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path

from msgspec import Struct

from tests.faults.kill import database
from tests.performance.figures import Figures, Sample, figures
from tests.performance.kinds import (
    BARE_GET,
    BARE_POST,
    CREATE,
    CREATE_UNSEEN,
    GET,
    PREVIEW,
    Kind,
    acquaint,
    measure,
)
from tests.performance.machine import conditions
from tests.performance.processes import bare_routes, services
from tests.performance.stock import Stock
from tests.performance.tables import HEAD, cells, ratios, table
from tests.performance.writer import writes

WORKSHOPS = 8
NONE = "-"
BACKENDS = ("sqlite", "postgresql")
WRITER = "writer alone"


class Told(Struct, frozen=True, kw_only=True):
    """What is measured, and for how long.

    processes: numbers of server processes    plans: how many are kept before the first call
    """

    seconds: float
    rounds: int
    callers: int
    writers: int
    processes: tuple[int, ...]
    plans: int


class Cell(Struct, frozen=True):
    """A line of the table: bare routes have no database, the writer alone has no server."""

    backend: str
    processes: int
    call: str


class Run:
    """One run over databases, by the names of their backends."""

    def __init__(self, told: Told, databases: Mapping[str, str], folder: Path) -> None:
        self._told = told
        self._folder = folder
        self._samples: dict[Cell, list[Sample]] = {}
        self._stocks = {
            backend: Stock(url, workshops=WORKSHOPS, most=told.plans)
            for backend, url in databases.items()
        }
        for stock in self._stocks.values():
            stock.grow(told.plans)

    def figures(self) -> dict[Cell, Figures]:
        """Measure everything. Raises: WrongAnswer, RuntimeError when a server fails."""
        for _ in range(self._told.rounds):
            for processes in self._told.processes:
                self._bare(processes)
                for backend in self._stocks:
                    self._service(backend, processes)
            for backend, stock in self._stocks.items():
                sample = writes(stock, callers=self._told.writers, seconds=self._told.seconds)
                self._note(Cell(backend, 0, WRITER), sample)
        return {cell: figures(samples) for cell, samples in self._samples.items()}

    def _bare(self, processes: int) -> None:
        stock = next(iter(self._stocks.values()))
        document = self._folder / "document"
        document.write_bytes(stock.templates[0].document)
        with bare_routes(document, count=processes) as ports:
            for kind in (BARE_POST, BARE_GET):
                self._measure(NONE, kind, ports, stock)

    def _service(self, backend: str, processes: int) -> None:
        stock = self._stocks[backend]
        with services(stock.url, self._folder, count=processes) as ports:
            acquaint(ports, stock)
            self._measure(backend, PREVIEW, ports, stock)
            self._measure(backend, GET, ports, stock)
            before = stock.count()
            answered = sum(
                self._measure(backend, kind, ports, stock) for kind in (CREATE, CREATE_UNSEEN)
            )
            if (kept := stock.count() - before) != answered:
                raise RuntimeError(f"{answered} plans were answered, {kept} are kept")

    def _measure(self, backend: str, kind: Kind, ports: list[int], stock: Stock) -> int:
        told = self._told
        sample, asked = measure(kind, ports, stock, callers=told.callers, seconds=told.seconds)
        self._note(Cell(backend, len(ports), kind.name), sample)
        return asked

    def _note(self, cell: Cell, sample: Sample) -> None:
        self._samples.setdefault(cell, []).append(sample)
        print(".", end="", file=sys.stderr, flush=True)


def shown(measured: Mapping[Cell, Figures]) -> str:
    """The table, each line beside the bare route with as many processes."""
    head = ["database", "servers", "call", *HEAD, "rounds", "rate/bare", "p50/bare", "p99/bare"]
    rows = [
        [cell.backend, str(cell.processes or "-"), cell.call, *cells(one),
         f"{one.lowest:,.0f}..{one.highest:,.0f}", *ratios(one, measured[beside(cell)])]
        for cell, one in measured.items()
    ]  # fmt: skip
    return table(head, rows)


def beside(cell: Cell) -> Cell:
    """The bare route that a line is compared with; for the writer that of one process."""
    if cell.backend == NONE:
        return cell
    kind = BARE_GET if cell.call == GET.name else BARE_POST
    return Cell(NONE, cell.processes or 1, kind.name)


def main() -> int:
    told = _arguments()
    what = Told(
        seconds=told.seconds, rounds=told.rounds, callers=told.callers, writers=told.writers,
        processes=(1, 2), plans=told.plans,
    )  # fmt: skip
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        databases = {name: stack.enter_context(database(name, folder)) for name in told.backend}
        print(*conditions(databases.values(), folder), sep="\n")
        print(
            f"{told.rounds} rounds of {told.seconds:g} s a cell; {told.callers} callers, "
            f"{told.writers} of the writer alone; {told.plans:,} plans of {WORKSHOPS} workshops "
            "kept before",
            flush=True,
        )
        measured = Run(what, databases, folder).figures()
    print(f"\n{shown(measured)}")
    return 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=5)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--callers", type=int, default=32)
    parser.add_argument("--writers", type=int, default=256)
    parser.add_argument("--plans", type=int, default=1000)
    parser.add_argument("--backend", nargs="+", choices=BACKENDS, default=BACKENDS)
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
