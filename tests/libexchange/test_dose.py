"""How much of an additive, and what of it stays; shares against an ODE solver."""

from math import ceil, exp, inf, nan

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from libexchange.circuit import (
    Circuit,
    CircuitState,
    all_old,
    drain_and_refill,
    exchange,
    fresh_share,
)
from libexchange.dose import (
    Drain,
    FillRange,
    FixedByFill,
    PackRule,
    Percent,
    PerRefill,
    PerTotal,
    TreatRate,
    WholePacks,
    dosed,
    draw_off_l,
    exchanged_l_for_share_left,
    share_kept,
    share_left,
    spread_limit_l,
    wanted_l,
    whole_packs,
)
from libexchange.errors import OutOfRange
from libexchange.quantities import DoseRate, Volume

A = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
SIX_TO_NINE = FillRange(low=Volume(6, "L"), high=Volume(9, "L"), dose=Volume(0.3, "L"))
TO_SIX = FillRange(low=Volume(3, "L"), high=Volume(6, "L"), dose=Volume(0.2, "L"))


@pytest.mark.parametrize(
    ("treat", "total", "refill", "litres"),
    [
        (PerTotal(DoseRate(35, "mL/L")), 9, None, 0.315),
        (PerRefill(DoseRate(35, "mL/L")), 9, 4, 0.14),
        (PerRefill(DoseRate(35, "mL/L")), 9, None, None),
        (Percent(3), 9, None, 0.27),
        (FixedByFill((TO_SIX, SIX_TO_NINE)), 9, None, 0.3),
        (FixedByFill((TO_SIX, SIX_TO_NINE)), 6, None, 0.2),
        (FixedByFill((TO_SIX, SIX_TO_NINE)), 9.01, None, None),
        (WholePacks(pack=Volume(300, "mL"), treats=Volume(6, "L")), 9, None, 0.45),
    ],
)
def test_every_style_of_treat_rate(
    treat: TreatRate, total: float, refill: float | None, litres: float | None
) -> None:
    told = wanted_l(treat=treat, total_l=total, refill_l=refill)

    assert told == (litres if litres is None else pytest.approx(litres))


@pytest.mark.parametrize(
    ("wanted", "pack", "rule", "cap", "packs"),
    [
        (0.315, 0.25, "ceil", 0.45, 2),
        (0.315, 0.25, "nearest", 0.45, 1),
        (0.315, 0.2, "nearest", 0.45, 2),
        (0.375, 0.25, "nearest", 1.0, 2),
        (0.375, 0.25, "nearest", 0.45, 1),
        (0.05, 0.3, "nearest", 0.45, 1),
        (0.05, 0.3, "nearest", 0.25, 0),
        (1e-9, 0.3, "nearest", 0.45, 1),
        (0.0, 0.3, "nearest", 0.45, 0),
        (0.0, 0.3, "ceil", 0.45, 0),
        (0.001, 0.3, "ceil", 0.0, 1),
        (0.3, 0.3, "nearest", 0.3, 1),
    ],
)
def test_packs(wanted: float, pack: float, rule: PackRule, cap: float, packs: int) -> None:
    assert whole_packs(wanted_l=wanted, pack_l=pack, rule=rule, cap_l=cap) == packs


@given(total=st.integers(1, 200), packs=st.integers(1, 20))
def test_a_dose_of_whole_packs_opens_no_pack_for_a_rounding_error(total: int, packs: int) -> None:
    wanted = wanted_l(treat=PerTotal(DoseRate(35, "mL/L")), total_l=total)
    assert wanted is not None

    rules: tuple[PackRule, ...] = ("ceil", "nearest")
    for rule in rules:
        assert whole_packs(wanted_l=wanted, pack_l=wanted / packs, rule=rule, cap_l=1000) == packs


@given(wanted=st.floats(0.001, 50), pack=st.floats(0.01, 5))
def test_rounding_up_is_never_too_little_and_never_a_pack_too_much(
    wanted: float, pack: float
) -> None:
    packs = whole_packs(wanted_l=wanted, pack_l=pack, rule="ceil", cap_l=0)

    assert packs * pack >= wanted * (1 - 1e-8)
    assert packs <= ceil(wanted / pack)


def test_case_70_a_dose_raises_the_level_by_its_own_volume() -> None:
    assert draw_off_l(dose_l=0.3) == 0.3
    assert draw_off_l(dose_l=0.3, missing_l=0.1) == pytest.approx(0.2)
    assert draw_off_l(dose_l=0.3, missing_l=0.4) == 0


def test_two_substances_and_fresh_fluid_are_carried_over_the_same_flows() -> None:
    """At any time what is neither fresh nor dosed is what was there before."""
    states = {"fresh": all_old(A), "cleaner": all_old(A), "dye": all_old(A)}
    for litres, feed in ((0.3, "cleaner"), (0.1, "dye"), (3.8, "fresh")):
        states = {
            name: drain_and_refill(
                circuit=A, state=state, drained_l=litres, incoming_share=float(name == feed)
            )
            for name, state in states.items()
        }
    mixed_feed = {"fresh": 0.9, "cleaner": 0.0, "dye": 0.1}
    after = {
        name: exchange(circuit=A, state=state, exchanged_l=5, incoming_share=mixed_feed[name])
        for name, state in states.items()
    }

    together = sum(fresh_share(circuit=A, state=state) for state in after.values())
    one = {
        name: drain_and_refill(circuit=A, state=state, drained_l=0.0)
        for name, state in after.items()
    }
    anything = all_old(A)
    for litres in (0.3, 0.1, 3.8):
        anything = drain_and_refill(circuit=A, state=anything, drained_l=litres)
    anything = exchange(circuit=A, state=anything, exchanged_l=5)
    assert together == pytest.approx(fresh_share(circuit=A, state=anything), abs=1e-12)
    assert one == after


@given(feed=st.floats(0, 1), start=st.floats(0, 1), litres=st.floats(0.1, 15))
@settings(deadline=None, max_examples=25)
def test_any_share_in_the_feed_is_carried_as_the_ode_solver_does(
    feed: float, start: float, litres: float
) -> None:
    unit = Circuit(sump_l=5, converter_l=2, pockets_l=1, converter_cells=1, internal_return=1.5)
    state = CircuitState(sump=start, converter=(1 - start,), line=(), pockets=0.5, stranded=0.0)

    def slope(_: float, cells: NDArray[np.float64]) -> list[float]:
        sump, converter, pockets = cells.tolist()
        into_sump = feed + 0.5 * converter - 1.5 * sump + 0.12 * (pockets - sump)
        return [into_sump / 5, 1.5 * (sump - converter) / 2, 0.12 * (sump - pockets)]

    run = solve_ivp(
        slope, (0, litres), [start, 1 - start, 0.5], method="DOP853", rtol=1e-11, atol=1e-12
    )

    after = exchange(circuit=unit, state=state, exchanged_l=litres, incoming_share=feed)
    assert [after.sump, after.converter[0], after.pockets] == pytest.approx(
        run.y[:, -1].tolist(), abs=1e-8
    )


@pytest.mark.parametrize("feed", [-0.1, 1.1, nan])
def test_a_feed_out_of_range_is_refused(feed: float) -> None:
    with pytest.raises(OutOfRange, match="incoming_share"):
        exchange(circuit=A, state=all_old(A), exchanged_l=1, incoming_share=feed)
    with pytest.raises(OutOfRange, match="incoming_share"):
        drain_and_refill(circuit=A, state=all_old(A), drained_l=1, incoming_share=feed)


def test_one_mixed_tank_by_hand() -> None:
    tank = Circuit(sump_l=9)
    state = dosed(circuit=tank, dosed_l=0.3)

    left = share_left(circuit=tank, state=state, exchanged_l=9)
    needed = exchanged_l_for_share_left(circuit=tank, state=state, limit=0.3 / 9 * exp(-2))

    assert left == pytest.approx(0.3 / 9 * exp(-1), rel=1e-9)
    assert needed == pytest.approx(18, rel=1e-9)


@given(dose=st.floats(0.05, 0.4), limit=st.floats(0.001, 0.01), drained=st.floats(0, 4))
@settings(deadline=None, max_examples=40)
def test_the_litres_needed_leave_the_limit(dose: float, limit: float, drained: float) -> None:
    state, drain = dosed(circuit=A, dosed_l=dose), Drain(drained, 0.05, 0.15)
    litres = exchanged_l_for_share_left(circuit=A, state=state, limit=limit, drain=drain)
    assert litres is not None
    assume(litres > 0)

    left = share_left(circuit=A, state=state, exchanged_l=litres, drain=drain)
    assert left == pytest.approx(limit, rel=1e-6)


def test_nothing_gets_all_of_a_cleaner_out() -> None:
    state = dosed(circuit=A, dosed_l=0.3)

    assert exchanged_l_for_share_left(circuit=A, state=state, limit=0) is None


def test_a_cleaner_in_pockets_that_never_swap_stays() -> None:
    still = Circuit(sump_l=5, pockets_l=2, pocket_exchange=0)
    inside = CircuitState(sump=0.0, converter=(), line=(), pockets=0.05, stranded=0.0)

    assert exchanged_l_for_share_left(circuit=still, state=inside, limit=0.01) is None


def test_a_tiny_cell_limits_the_mixing_that_is_computed() -> None:
    stiff = Circuit(sump_l=400, line_l=0.05, line_cells=10)

    assert dosed(circuit=stiff, dosed_l=4).sump == pytest.approx(0.01, rel=0.01)


def test_a_conditioner_at_level_setting_stays_whole() -> None:
    state = dosed(circuit=A, dosed_l=0.3, circulated_l=0.0)

    assert share_left(circuit=A, state=state, exchanged_l=0) * 9 == pytest.approx(0.3)


def test_case_69_a_conditioner_dosed_first_mostly_leaves() -> None:
    first = share_kept(circuit=A, dosed_l=0.3, spread_l=2, following_l=9)
    last = share_kept(circuit=A, dosed_l=0.3, spread_l=2)

    assert first < 0.35
    assert last > 0.99


@given(spread=st.floats(0.3, 20), following=st.floats(0, 20))
@settings(deadline=None, max_examples=40)
def test_what_is_kept_falls_with_what_follows(spread: float, following: float) -> None:
    alone = share_kept(circuit=A, dosed_l=0.3, spread_l=spread)
    kept = share_kept(circuit=A, dosed_l=0.3, spread_l=spread, following_l=following)

    assert 0 <= kept <= alone + 1e-12 <= 1 + 1e-12


@pytest.mark.parametrize(("sump", "litres"), [(4.3, 1.72), (5, 2), (20, 2)])
def test_a_conditioner_goes_into_the_last_litres(sump: float, litres: float) -> None:
    assert spread_limit_l(sump_l=sump) == pytest.approx(litres)


@pytest.mark.parametrize("bad", [-0.1, nan, inf, 2000.0])
def test_numbers_out_of_range_are_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="total_l"):
        wanted_l(treat=Percent(3), total_l=bad)
    with pytest.raises(OutOfRange, match="refill_l"):
        wanted_l(treat=PerRefill(DoseRate(35, "mL/L")), total_l=9, refill_l=bad)
    with pytest.raises(OutOfRange, match="wanted_l"):
        whole_packs(wanted_l=bad, pack_l=0.3, rule="ceil", cap_l=0.45)
    with pytest.raises(OutOfRange, match="pack_l"):
        whole_packs(wanted_l=0.3, pack_l=bad, rule="ceil", cap_l=0.45)
    with pytest.raises(OutOfRange, match="cap_l"):
        whole_packs(wanted_l=0.3, pack_l=0.3, rule="ceil", cap_l=bad)
    with pytest.raises(OutOfRange, match="dose_l"):
        draw_off_l(dose_l=bad)
    with pytest.raises(OutOfRange, match="missing_l"):
        draw_off_l(dose_l=0.3, missing_l=bad)
    with pytest.raises(OutOfRange, match="sump_l"):
        spread_limit_l(sump_l=bad)
    with pytest.raises(OutOfRange, match="limit"):
        exchanged_l_for_share_left(circuit=A, state=all_old(A), limit=bad)
    with pytest.raises(OutOfRange, match="dosed_l"):
        dosed(circuit=A, dosed_l=bad)


@pytest.mark.parametrize("dose", [0, 2.1, nan])
def test_a_dose_beyond_the_litres_that_carry_it_is_refused(dose: float) -> None:
    with pytest.raises(OutOfRange, match="dosed_l"):
        share_kept(circuit=A, dosed_l=dose, spread_l=2)


def test_packs_that_treat_nothing_are_refused() -> None:
    packs = WholePacks(pack=Volume(0.3, "L"), treats=Volume(0, "L"))

    with pytest.raises(OutOfRange, match="treats_l"):
        wanted_l(treat=packs, total_l=9)
