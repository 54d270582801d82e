"""What stays of a cleaner and of a conditioner, against shares that were computed independently."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from libexchange.circuit import Circuit
from libexchange.dose import Drain, dosed, exchanged_l_for_share_left, share_kept, share_left

VECTORS = tomllib.loads(Path(__file__).with_name("circuits.toml").read_text("utf-8"))
A, B, C = (Circuit(**case["circuit"]) for case in VECTORS["circuit"][:3])
DOSE_L = 0.3


def left(unit: Circuit, fills: float, **drain: Any) -> float:
    state = dosed(circuit=unit, dosed_l=DOSE_L)
    litres = fills * unit.total_l
    return share_left(
        circuit=unit, state=state, exchanged_l=litres, drain=Drain(**drain) if drain else None
    )


@pytest.mark.parametrize(
    ("fills", "factor"),
    [(0.5, 0.52), (1, 0.25), (1.5, 0.12)],
    ids=lambda v: f"[computed] computed independently {v}",
)
def test_a_cleaner_in_first_decays_like_old_fluid(fills: float, factor: float) -> None:
    """0.30 L in unit A start at 3.3 %; the factors are ratios of percents to two digits."""
    assert left(A, fills) / (DOSE_L / 9) == pytest.approx(factor, abs=0.006)


@pytest.mark.parametrize(
    ("fills", "percent"),
    [(1, 0.82), (1.5, 0.41)],
    ids=lambda v: f"[computed] computed independently {v}",
)
def test_what_is_left_of_a_cleaner_after_a_fill_and_after_one_and_a_half(
    fills: float, percent: float
) -> None:
    assert 100 * left(A, fills) == pytest.approx(percent, abs=0.0051)


def test_what_is_left_with_the_pan_off_and_4_9_litres_more() -> None:
    """[computed] computed independently: 0.53 %."""
    rest = left(A, 4.9 / 9, drained_l=3.8, converter_run_back=0.05, pockets_run_back=0.15)

    assert 100 * rest == pytest.approx(0.53, abs=0.0051)


def test_what_is_left_where_more_hides_in_pockets() -> None:
    """[computed] computed independently: 0.57 % in unit B after one and a half fills."""
    assert 100 * left(B, 1.5) == pytest.approx(0.57, abs=0.0051)


def test_half_a_percent_takes_about_1_4_fills_or_the_pan_and_0_6() -> None:
    """[computed] computed independently, printed to the tenth."""
    state = dosed(circuit=A, dosed_l=DOSE_L)
    alone = exchanged_l_for_share_left(circuit=A, state=state, limit=0.005)
    with_pan = exchanged_l_for_share_left(
        circuit=A, state=state, limit=0.005, drain=Drain(3.8, 0.05, 0.15)
    )

    assert alone is not None
    assert with_pan is not None
    assert alone / 9 == pytest.approx(1.4, abs=0.06)
    assert with_pan / 9 == pytest.approx(0.6, abs=0.06)


@pytest.mark.parametrize(
    ("unit", "percents"),
    [(A, (100, 99.5, 95, 78)), (B, (100, 99, 92, 74)), (C, (99.9, 98, 89, 68))],
    ids=[f"[computed] computed independently {name}" for name in "ABC"],
)
def test_a_conditioner_with_the_last_1_2_4_or_8_litres_keeps(
    unit: Circuit, percents: tuple[float, ...]
) -> None:
    kept = [100 * share_kept(circuit=unit, dosed_l=DOSE_L, spread_l=x) for x in (1, 2, 4, 8)]

    assert kept == pytest.approx(percents, abs=0.51)
