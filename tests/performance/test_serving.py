"""That the commands measure what they say and stop at a wrong answer; never how fast a thing is."""

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from tests.performance import growth, serving
from tests.performance.client import WrongAnswer, load
from tests.performance.figures import Sample, figures
from tests.performance.kinds import BARE_POST, LATE_PAGE, Kind
from tests.performance.processes import services
from tests.performance.serving import NONE, WRITER, Cell
from tests.performance.stock import Stock

SHORT_S = 0.05


@pytest.fixture
def stock(url: str) -> Stock:
    stock = Stock(url, workshops=2, most=240)
    stock.grow(240)
    return stock


def test_a_run_has_every_cell_beside_the_bare_route(backend: str, url: str, tmp_path: Path) -> None:
    told = serving.Told(seconds=SHORT_S, rounds=1, callers=4, writers=8, processes=(1,), plans=20)
    measured = serving.Run(told, {backend: url}, tmp_path).figures()

    assert list(measured) == [
        Cell(NONE, 1, "bare post"),
        Cell(NONE, 1, "bare get"),
        Cell(backend, 1, "preview"),
        Cell(backend, 1, "get"),
        Cell(backend, 1, "create"),
        Cell(backend, 1, "create, unseen"),
        Cell(backend, 0, WRITER),
    ]
    assert all(one.calls and one.p50_ms <= one.p99_ms for one in measured.values())
    assert serving.shown(measured).count("\n") == len(measured) + 1


def test_two_processes_serve_and_a_wrong_answer_is_told(stock: Stock, tmp_path: Path) -> None:
    def callers(kind: Kind) -> list[Iterator[bytes]]:
        return [kind.requests(stock, number, Random(1)) for number in range(4)]  # noqa: S311 -- which plan is asked for

    with services(stock.url, tmp_path, count=2) as ports:
        sample = load(ports, callers(LATE_PAGE), status=200, seconds=SHORT_S)
        with pytest.raises(WrongAnswer, match="404"):
            load(ports, callers(BARE_POST), status=201, seconds=SHORT_S)

    assert len(sample.latencies_s) >= 4


def test_what_is_seeded_is_kept_as_the_service_keeps_it(stock: Stock) -> None:
    assert stock.count() == len(set(stock.plan_ids)) == 240


def test_figures_take_all_rounds_together() -> None:
    quick = Sample(elapsed_s=1, latencies_s=[0.001] * 98, client_s=0.5)
    slow = Sample(elapsed_s=3, latencies_s=[0.02, 0.01], client_s=0.5)

    told = figures([quick, slow])

    assert (told.calls, told.rate, told.lowest, told.highest) == (100, 25, 2 / 3, 98)
    assert (told.p50_ms, told.p99_ms, told.client) == (1, 10, 0.25)


def test_growth_shows_each_size_beside_the_first() -> None:
    small, large = (
        figures([Sample(elapsed_s=1, latencies_s=[latency] * 10, client_s=0)])
        for latency in (0.001, 0.003)
    )
    measured = {
        growth.Cell("sqlite", "get", 10): small,
        growth.Cell("sqlite", "get", 100): large,
    }

    last = growth.shown(measured).splitlines()[-1].split("|")
    assert [part.strip() for part in last[1:4]] == ["sqlite", "get", "100"]
    assert [part.strip() for part in last[-4:-1]] == ["1.000", "3.00", "3.00"]
