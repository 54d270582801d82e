"""Edges of dose formulas and of the contact timer: just within and just beyond."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from math import exp

import pytest

from libexchange.circuit import Circuit, idle
from libexchange.contact import ContactReading, contact
from libexchange.dose import (
    FillRange,
    FixedByFill,
    Percent,
    PerRefill,
    PerTotal,
    WholePacks,
    dosed,
    draw_off_l,
    share_kept,
    spread_limit_l,
    wanted_l,
    whole_packs,
)
from libexchange.errors import OutOfRange
from libexchange.quantities import DoseRate, Temperature, Volume

RATE = DoseRate(35, "mL/L")
START = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
EDGES: list[tuple[str, float, float, Callable[[float], object]]] = [
    ("total_l", 0.5, 500, lambda x: wanted_l(treat=PerTotal(RATE), total_l=x)),
    ("refill_l", 0, 9, lambda x: wanted_l(treat=PerRefill(RATE), total_l=9, refill_l=x)),
    ("treats_l", 0.05, 1000, lambda x: wanted_l(treat=packs(x), total_l=9)),
    ("wanted_l", 0, 1000, lambda x: whole_packs(wanted_l=x, pack_l=1, rule="ceil", cap_l=1)),
    ("pack_l", 0.001, 100, lambda x: whole_packs(wanted_l=1, pack_l=x, rule="ceil", cap_l=1)),
    ("cap_l", 0, 1000, lambda x: whole_packs(wanted_l=1, pack_l=1, rule="nearest", cap_l=x)),
    ("dose_l", 0, 1000, lambda x: draw_off_l(dose_l=x)),
    ("missing_l", 0, 1000, lambda x: draw_off_l(dose_l=1, missing_l=x)),
    ("sump_l", 0.05, 500, lambda x: spread_limit_l(sump_l=x)),
    ("needed_s", 60, 3600, lambda x: contact([], needed_s=x)),
    ("operating_c", 20, 120, lambda x: contact([], operating_c=x)),
    ("gap_s", 1, 3600, lambda x: contact([], gap_s=x)),
]


def packs(treats_l: float) -> WholePacks:
    return WholePacks(pack=Volume(0.3, "L"), treats=Volume(treats_l, "L"))


def seen(second: float, celsius: float = 70) -> ContactReading:
    return ContactReading(
        at=START + timedelta(seconds=second),
        temperature=Temperature(celsius, "Cel"),
        engine_running=True,
    )


@pytest.mark.parametrize(("name", "low", "high", "formula"), EDGES)
def test_edges_are_computed_and_beyond_them_nothing(
    name: str, low: float, high: float, formula: Callable[[float], object]
) -> None:
    formula(low)
    formula(high)
    for bad in (low - 1e-6, high + 1e-6):
        with pytest.raises(OutOfRange, match=name):
            formula(bad)


@pytest.mark.parametrize(("total", "litres"), [(5.99, None), (6, 0.3), (9, 0.3), (9.01, None)])
def test_both_ends_of_a_fill_range_belong_to_it(total: float, litres: float | None) -> None:
    one = FillRange(low=Volume(6, "L"), high=Volume(9, "L"), dose=Volume(0.3, "L"))

    assert wanted_l(treat=FixedByFill((one,)), total_l=total) == litres


def test_a_percentage_is_of_the_total_and_a_refill_rate_of_the_refill() -> None:
    assert wanted_l(treat=Percent(100), total_l=9) == 9
    assert wanted_l(treat=PerRefill(RATE), total_l=9, refill_l=9) == pytest.approx(0.315)
    assert wanted_l(treat=PerRefill(RATE), total_l=9, refill_l=0) == 0


@pytest.mark.parametrize(
    ("wanted", "cap", "opened"), [(0.149, 9, 1), (0.449, 9, 1), (0.45, 9, 2), (0.75, 0.89, 2)]
)
def test_the_nearest_number_of_packs_rounds_half_up_within_the_cap(
    wanted: float, cap: float, opened: int
) -> None:
    assert whole_packs(wanted_l=wanted, pack_l=0.3, rule="nearest", cap_l=cap) == opened


def test_a_cleaner_is_mixed_over_four_total_fills_unless_said_otherwise() -> None:
    unit = Circuit(sump_l=5, converter_l=3, pockets_l=1)
    unmixed = dosed(circuit=unit, dosed_l=0.3, circulated_l=0.0)

    assert dosed(circuit=unit, dosed_l=0.3) == idle(
        circuit=unit, state=unmixed, circulated_l=4 * 9.0
    )
    assert unmixed.sump == pytest.approx(0.06)


def test_a_dose_as_large_as_what_carries_it_is_all_there_is() -> None:
    kept = share_kept(circuit=Circuit(sump_l=9), dosed_l=1, spread_l=1)

    assert kept == pytest.approx(9 * (1 - exp(-1 / 9)), rel=1e-9)
    with pytest.raises(OutOfRange, match="dosed_l"):
        share_kept(circuit=Circuit(sump_l=9), dosed_l=1.001, spread_l=1)


@pytest.mark.parametrize(("gap", "counted"), [(60, 60), (60.001, 0)])
def test_a_gap_of_more_than_a_minute_does_not_count(gap: float, counted: float) -> None:
    assert contact([seen(0), seen(gap)]).counted_s == counted


@pytest.mark.parametrize(
    ("seconds", "state"), [(719, "running"), (720, "done"), (1800, "done"), (1801, "too_long")]
)
def test_twelve_minutes_are_enough_and_thirty_the_most(seconds: int, state: str) -> None:
    readings = [seen(second) for second in range(0, seconds, 30)] + [seen(seconds)]

    assert contact(readings)[:3] == (seconds, state, 0)


@pytest.mark.parametrize(("celsius", "counted"), [(60, 60), (59.999, 0)])
def test_the_timer_runs_from_60_celsius(celsius: float, counted: float) -> None:
    assert contact([seen(0, celsius), seen(60, celsius)]).counted_s == counted
