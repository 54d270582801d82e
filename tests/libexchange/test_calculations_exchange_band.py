"""The band of the exchange calculation: its spreads, and its edges against 10,000 draws."""

from typing import Any

import numpy as np
import pytest

from libexchange.calculations.circuit_record import DrainBefore
from libexchange.calculations.exchange_band import (
    share_edges,
    share_with,
    spreads_about,
    spreads_before,
)
from libexchange.circuit import Circuit, all_old, exchange_curve
from libexchange.findings import MEMORY
from libexchange.plan.unit import Opening
from libexchange.quantities import Volume
from libexchange.uncertainty import Spread
from tests.libexchange.drawn_shares import after_line, closed

DRAWS = 10_000
A = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
LEAKING = Circuit(
    sump_l=5.2, converter_l=2.2, line_l=0.9, pockets_l=1.4, stranded_l=0.3, internal_return=1.6
)
WET_CLUTCH = Circuit(sump_l=5.1, line_l=0.4, pockets_l=1.0, stranded_l=0.3, pocket_exchange=0.15)
HEAVY = Circuit(
    sump_l=19.5, converter_l=9, line_l=5.5, pockets_l=3, stranded_l=1, short_cut=0.05
)  # fmt: skip
BEFORE = DrainBefore(drained=Volume(3.8, "L"), converter_run_back=0.05, pockets_run_back=0.15)
LIMITS = {
    "pocket_exchange": (0.0, 1.0),
    "internal_return": (1.0, 4.0),
    "short_cut": (0.0, 0.3),
    "converter_run_back": (0.0, 1.0),
    "pockets_run_back": (0.0, 1.0),
}


def numbers(spread: Spread) -> tuple[float, float, float]:
    return spread.low, spread.typical, spread.high


def drawn(spreads: dict[str, Spread]) -> list[dict[str, float]]:
    scores = np.random.default_rng(20_260_302).standard_normal((DRAWS, len(spreads)))
    return [
        {
            name: float(np.clip(spread.at(score), *LIMITS.get(name, (0.05, 500.0))))
            for (name, spread), score in zip(spreads.items(), row, strict=True)
        }
        for row in scores.tolist()
    ]


def circuit_with(circuit: Circuit, values: dict[str, float]) -> Circuit:
    fields: dict[str, Any] = {name: getattr(circuit, name) for name in circuit.__struct_fields__}
    return Circuit(**fields | {name: v for name, v in values.items() if name in fields})


@pytest.mark.parametrize("totals", [0.5, 1.0, 1.5])
@pytest.mark.parametrize("circuit", [A, LEAKING, WET_CLUTCH, HEAVY])
def test_the_edges_are_those_of_ten_thousand_draws(circuit: Circuit, totals: float) -> None:
    exchanged_l = totals * circuit.total_l
    curve = exchange_curve(circuit=circuit, state=all_old(circuit))

    edges = share_edges(circuit=circuit, before=None, exchanged_l=exchanged_l)

    circuits = [circuit_with(circuit, values) for values in drawn(spreads_about(circuit))]
    shares = after_line(circuits, [closed()] * DRAWS, exchanged_l)
    reached = curve.fresh_share(exchanged_l) + np.array(edges)
    assert reached == pytest.approx(np.quantile(shares, [0.05, 0.95]), abs=0.01)


@pytest.mark.parametrize("exchanged_l", [2.0, 5.0, 9.0])
def test_the_edges_after_a_drain_are_those_of_ten_thousand_draws(exchanged_l: float) -> None:
    expected = share_with(circuit=A, before=BEFORE, exchanged_l=exchanged_l, values={})

    edges = share_edges(circuit=A, before=BEFORE, exchanged_l=exchanged_l)

    draws = drawn(spreads_about(A) | spreads_before(BEFORE))
    circuits = [circuit_with(A, values) for values in draws]
    openings = [
        Opening(
            sump_l=min(values["drained"], circuit.sump_l),
            converter_run_back=values["converter_run_back"],
            pockets_run_back=values["pockets_run_back"],
        )
        for circuit, values in zip(circuits, draws, strict=True)
    ]
    shares = after_line(circuits, openings, exchanged_l)
    assert expected + np.array(edges) == pytest.approx(
        np.quantile(shares, [0.05, 0.95]), abs=0.01
    )  # fmt: skip


def test_what_each_number_may_be_is_stated() -> None:
    spreads = spreads_about(HEAVY)

    assert numbers(spreads["sump_l"]) == pytest.approx((16.575, 19.5, 22.425))
    assert numbers(spreads["stranded_l"]) == pytest.approx((0.85, 1.0, 1.15))
    assert numbers(spreads["pocket_exchange"]) == pytest.approx((0.03, 0.12, 0.48))
    assert numbers(spreads["internal_return"]) == (1.0, 1.0, 1.5)
    assert numbers(spreads["short_cut"]) == pytest.approx((0.0, 0.05, 0.15))
    assert {spread.source for spread in spreads.values()} == {MEMORY}


def test_what_is_above_the_least_may_be_less_too() -> None:
    spreads = spreads_about(Circuit(sump_l=5, internal_return=1.6, short_cut=0.1))

    assert numbers(spreads["internal_return"]) == pytest.approx((1.3, 1.6, 2.1))
    assert numbers(spreads["short_cut"]) == pytest.approx((0.05, 0.1, 0.2))


def test_what_is_not_there_stays_away() -> None:
    spreads = spreads_about(Circuit(sump_l=5, pocket_exchange=0.0))

    assert set(spreads) == {"sump_l", "internal_return", "short_cut"}


def test_no_number_leaves_its_range() -> None:
    edge = Circuit(
        sump_l=500, line_l=0.05, pocket_exchange=0.5, internal_return=3.8, short_cut=0.25
    )
    spreads = spreads_about(edge)

    assert spreads["sump_l"].high == 500
    assert spreads["line_l"].low == 0.05
    assert spreads["pocket_exchange"].high == 1.0
    assert spreads["internal_return"].high == 4.0
    assert spreads["short_cut"].high == 0.3


def test_a_drain_before_has_its_own_spreads() -> None:
    spreads = spreads_before(BEFORE)

    assert spreads_before(None) == {}
    assert numbers(spreads["drained"]) == pytest.approx((3.61, 3.8, 3.99))
    assert numbers(spreads["converter_run_back"]) == pytest.approx((0.05 / 3, 0.05, 0.25 / 3))
    assert numbers(spreads["pockets_run_back"]) == pytest.approx((0.05, 0.15, 0.25))
    high = DrainBefore(drained=Volume(3.8, "L"), pockets_run_back=0.9)
    assert spreads_before(high)["pockets_run_back"].high == 1.0


def test_a_drain_takes_no_more_than_the_sump_holds() -> None:
    all_of_it = share_with(
        circuit=A, before=BEFORE, exchanged_l=0, values={"sump_l": 3.6, "drained": 3.99}
    )

    assert all_of_it == pytest.approx((3.6 + 0.05 * 2.9 + 0.15 * 0.8) / 8.3)


def test_fixed_litres_of_nothing_known_otherwise_have_no_band() -> None:
    assert share_edges(circuit=A, before=None, exchanged_l=0) == (0.0, 0.0)
