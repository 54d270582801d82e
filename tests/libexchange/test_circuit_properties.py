"""What holds for every circuit and every start, whatever its volumes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from libexchange.circuit import (
    Circuit,
    CircuitState,
    all_old,
    ceiling,
    drain_and_refill,
    exchange,
    exchange_curve,
    fresh_share,
    idle,
    lower_reference,
    plug_flow,
    refilled_l,
)

ROUNDING = 1e-11
"""What the tail of the series and some thousand additions may leave of a share."""

SHARES = st.floats(0, 1)
VOLUMES = st.floats(0.05, 8)
MAYBE_VOLUMES = st.just(0.0) | VOLUMES
SOME_CIRCUITS = settings(max_examples=60, deadline=None)  # small cells need thousands of terms


@st.composite
def circuits(draw: st.DrawFn, short_cut: st.SearchStrategy[float] | None = None) -> Circuit:
    return Circuit(
        sump_l=draw(VOLUMES),
        converter_l=draw(MAYBE_VOLUMES),
        line_l=draw(MAYBE_VOLUMES),
        pockets_l=draw(MAYBE_VOLUMES),
        stranded_l=draw(MAYBE_VOLUMES),
        converter_cells=draw(st.integers(1, 10)),
        line_cells=draw(st.integers(1, 10)),
        pocket_exchange=draw(st.just(0.0) | st.floats(0.02, 1)),
        internal_return=draw(st.floats(1, 4)),
        short_cut=draw(st.floats(0, 0.3) if short_cut is None else short_cut),
    )


@st.composite
def states(draw: st.DrawFn, circuit: Circuit) -> CircuitState:
    return CircuitState(
        sump=draw(SHARES),
        converter=tuple(draw(SHARES) for _ in range(circuit.converters)),
        line=tuple(draw(SHARES) for _ in range(circuit.lines)),
        pockets=draw(SHARES) if circuit.pockets_l else 0.0,
        stranded=draw(SHARES) if circuit.stranded_l else 0.0,
    )


STARTED = circuits().flatmap(lambda circuit: st.tuples(st.just(circuit), states(circuit)))
IN_TOTALS = st.floats(0, 1.5)


def cells_of(state: CircuitState) -> list[float]:
    return [state.sump, *state.converter, *state.line, state.pockets, state.stranded]


def litres_of(circuit: Circuit, in_totals: float) -> float:
    limit_l = exchange_curve(circuit=circuit, state=all_old(circuit)).limit_l
    return min(in_totals * circuit.total_l, limit_l / 2)


@SOME_CIRCUITS
@given(STARTED, IN_TOTALS)
def test_shares_stay_between_0_and_1(
    started: tuple[Circuit, CircuitState], in_totals: float
) -> None:
    circuit, state = started
    litres = litres_of(circuit, in_totals)
    curve = exchange_curve(circuit=circuit, state=state)

    after = exchange(circuit=circuit, state=state, exchanged_l=litres)

    assert all(0 <= share <= 1 for share in cells_of(after))
    assert 0 <= curve.fresh_share(litres) <= 1
    assert 0 <= curve.outflow_fresh_share(litres) <= 1


@SOME_CIRCUITS
@given(STARTED, IN_TOTALS)
def test_the_curve_is_the_share_of_the_state_it_ends_in(
    started: tuple[Circuit, CircuitState], in_totals: float
) -> None:
    circuit, state = started
    litres = litres_of(circuit, in_totals)

    share = exchange_curve(circuit=circuit, state=state).fresh_share(litres)

    after = exchange(circuit=circuit, state=state, exchanged_l=litres)
    assert share == pytest.approx(fresh_share(circuit=circuit, state=after), abs=ROUNDING)


@SOME_CIRCUITS
@given(STARTED, IN_TOTALS, IN_TOTALS)
def test_more_litres_never_leave_less_fresh(
    started: tuple[Circuit, CircuitState], one: float, other: float
) -> None:
    circuit, state = started
    fewer_l, more_l = (litres_of(circuit, totals) for totals in sorted((one, other)))
    curve = exchange_curve(circuit=circuit, state=state)

    assert curve.fresh_share(fewer_l) <= curve.fresh_share(more_l) + ROUNDING


@SOME_CIRCUITS
@given(circuits(), IN_TOTALS, IN_TOTALS)
def test_from_all_old_the_gain_falls_and_its_ends_enclose_the_mean(
    circuit: Circuit, one: float, other: float
) -> None:
    fewer_l, more_l = (litres_of(circuit, totals) for totals in sorted((one, other)))
    curve = exchange_curve(circuit=circuit, state=all_old(circuit))

    gained = curve.fresh_share(more_l) - curve.fresh_share(fewer_l)

    step_l = more_l - fewer_l
    assert gained <= curve.marginal_gain_per_l(fewer_l) * step_l + ROUNDING
    assert gained >= curve.marginal_gain_per_l(more_l) * step_l - ROUNDING


@SOME_CIRCUITS
@given(STARTED, IN_TOTALS)
def test_plug_flow_is_never_exceeded(
    started: tuple[Circuit, CircuitState], in_totals: float
) -> None:
    circuit, state = started
    litres = litres_of(circuit, in_totals)

    share = exchange_curve(circuit=circuit, state=state).fresh_share(litres)

    assert share <= plug_flow(circuit=circuit, state=state, exchanged_l=litres) + ROUNDING
    assert share <= ceiling(circuit=circuit, state=state) + ROUNDING


@SOME_CIRCUITS
@given(circuits(short_cut=st.just(0.0)), IN_TOTALS)
def test_from_all_old_without_short_cut_the_lower_reference_is_a_bound(
    circuit: Circuit, in_totals: float
) -> None:
    litres, state = litres_of(circuit, in_totals), all_old(circuit)

    share = exchange_curve(circuit=circuit, state=state).fresh_share(litres)

    assert share >= lower_reference(circuit=circuit, state=state, exchanged_l=litres) - ROUNDING


@SOME_CIRCUITS
@given(STARTED, IN_TOTALS)
def test_idling_keeps_what_is_fresh(
    started: tuple[Circuit, CircuitState], in_totals: float
) -> None:
    circuit, state = started
    before = fresh_share(circuit=circuit, state=state)

    after = idle(circuit=circuit, state=state, circulated_l=litres_of(circuit, in_totals))

    assert fresh_share(circuit=circuit, state=after) == pytest.approx(before, abs=ROUNDING)


@SOME_CIRCUITS
@given(STARTED, IN_TOTALS, IN_TOTALS)
def test_two_exchanges_are_one_of_their_sum(
    started: tuple[Circuit, CircuitState], one: float, other: float
) -> None:
    circuit, state = started
    first_l, second_l = litres_of(circuit, one / 2), litres_of(circuit, other / 2)

    halfway = exchange(circuit=circuit, state=state, exchanged_l=first_l)
    twice = exchange(circuit=circuit, state=halfway, exchanged_l=second_l)

    once = exchange(circuit=circuit, state=state, exchanged_l=first_l + second_l)
    assert cells_of(twice) == pytest.approx(cells_of(once), abs=ROUNDING)


def times(circuit: Circuit, factor: float) -> Circuit:
    """The circuit with every volume so many times as large."""
    names = ("sump_l", "converter_l", "line_l", "pockets_l", "stranded_l")
    return replace(circuit, **{name: factor * getattr(circuit, name) for name in names})


@SOME_CIRCUITS
@given(STARTED, IN_TOTALS, st.floats(1, 40))
def test_a_unit_many_times_as_large_needs_as_many_times_the_litres(
    started: tuple[Circuit, CircuitState], in_totals: float, factor: float
) -> None:
    circuit, state = started
    litres = litres_of(circuit, in_totals)
    larger = exchange_curve(circuit=times(circuit, factor), state=state)

    curve = exchange_curve(circuit=circuit, state=state)

    assert larger.fresh_share(factor * litres) == pytest.approx(
        curve.fresh_share(litres), abs=ROUNDING
    )
    assert larger.outflow_fresh_share(factor * litres) == pytest.approx(
        curve.outflow_fresh_share(litres), abs=ROUNDING
    )


@SOME_CIRCUITS
@given(STARTED, st.floats(0, 0.9))
def test_the_inverse_gives_the_litres_that_reach_the_share(
    started: tuple[Circuit, CircuitState], part: float
) -> None:
    circuit, state = started
    start = fresh_share(circuit=circuit, state=state)
    target = start + part * (ceiling(circuit=circuit, state=state) - start)
    curve = exchange_curve(circuit=circuit, state=state)

    litres = curve.exchanged_l_for(target)

    if litres is None:
        assert curve.fresh_share(curve.limit_l) < target
    else:
        assert curve.fresh_share(litres) == pytest.approx(target, abs=1e-9)


@SOME_CIRCUITS
@given(STARTED, SHARES)
def test_no_litres_reach_the_ceiling_or_more(
    started: tuple[Circuit, CircuitState], part: float
) -> None:
    circuit, state = started
    most = ceiling(circuit=circuit, state=state)
    curve = exchange_curve(circuit=circuit, state=state)

    litres = curve.exchanged_l_for(most + part * (1 - most))

    nothing_left = curve.fresh_share(0) >= most
    assert litres == (0 if nothing_left and part == 0 else None)


@given(STARTED, SHARES, SHARES, SHARES)
def test_a_drain_gains_the_refill_less_the_fresh_that_left(
    started: tuple[Circuit, CircuitState], part: float, from_converter: float, from_pockets: float
) -> None:
    circuit, state = started
    drained_l = part * circuit.sump_l

    after = drain_and_refill(
        circuit=circuit,
        state=state,
        drained_l=drained_l,
        converter_run_back=from_converter,
        pockets_run_back=from_pockets,
    )

    refill_l = refilled_l(
        circuit=circuit,
        drained_l=drained_l,
        converter_run_back=from_converter,
        pockets_run_back=from_pockets,
    )
    fresh_out_l = drained_l * state.sump + from_pockets * circuit.pockets_l * state.pockets
    for cell in state.converter:
        fresh_out_l += from_converter * circuit.converter_l / circuit.converters * cell
    gained = fresh_share(circuit=circuit, state=after) - fresh_share(circuit=circuit, state=state)
    assert circuit.total_l * gained == pytest.approx(refill_l - fresh_out_l, abs=1e-10)
