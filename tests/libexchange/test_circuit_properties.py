"""What holds for every circuit, whatever its volumes and coefficients."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import asdict, replace

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
    mixed_reference,
    plug_flow,
    refilled_l,
)

ROUNDING = 1e-12
SHARES = st.floats(0, 1)
FILLS = st.floats(0, 3)
MAYBE = st.just(0.0)

CIRCUIT = settings(max_examples=60, deadline=None)  # a stiff circuit may take its time


@st.composite
def circuits(draw: st.DrawFn, *, no_short_cut: bool = False) -> Circuit:
    return Circuit(
        sump_l=draw(st.floats(0.5, 50)),
        converter_l=draw(MAYBE | st.floats(0.5, 20)),
        line_l=draw(MAYBE | st.floats(0.2, 10)),
        pockets_l=draw(MAYBE | st.floats(0.1, 10)),
        stranded_l=draw(MAYBE | st.floats(0.1, 2)),
        converter_cells=draw(st.integers(1, 4)),
        line_cells=draw(st.integers(1, 5)),
        pocket_exchange=draw(MAYBE | st.floats(0.001, 1)),
        internal_return=draw(st.floats(1, 4)),
        short_cut=0.0 if no_short_cut else draw(st.floats(0, 0.3)),
    )


@st.composite
def started(draw: st.DrawFn) -> tuple[Circuit, CircuitState]:
    circuit = draw(circuits())
    state = CircuitState(
        sump=draw(SHARES),
        converter=tuple(draw(SHARES) for _ in range(circuit.converters)),
        line=tuple(draw(SHARES) for _ in range(circuit.lines)),
        pockets=draw(SHARES) if circuit.pockets_l else 0.0,
        stranded=draw(SHARES) if circuit.stranded_l else 0.0,
    )
    return circuit, state


def cells(state: CircuitState) -> list[float]:
    return [state.sump, *state.converter, *state.line, state.pockets, state.stranded]


@CIRCUIT
@given(start=started(), fills=FILLS, more=st.floats(0, 1))
def test_case_75_the_share_grows_with_the_litres_and_stays_under_its_bounds(
    start: tuple[Circuit, CircuitState], fills: float, more: float
) -> None:
    circuit, state = start
    curve = exchange_curve(circuit=circuit, state=state)
    litres = fills * circuit.total_l
    share, further = curve.fresh_share(litres), curve.fresh_share(litres + more)

    assert 0 <= fresh_share(circuit=circuit, state=state) <= share + ROUNDING <= 1 + ROUNDING
    assert share <= further + ROUNDING
    assert share <= plug_flow(circuit=circuit, state=state, exchanged_l=litres) + ROUNDING
    assert share <= ceiling(circuit=circuit, state=state) + ROUNDING
    assert 0 <= curve.outflow_fresh_share(litres) <= 1


@CIRCUIT
@given(circuit=circuits(no_short_cut=True), fills=FILLS)
def test_without_a_short_cut_the_lower_reference_is_a_bound(circuit: Circuit, fills: float) -> None:
    old, litres = all_old(circuit), fills * circuit.total_l
    share = exchange_curve(circuit=circuit, state=old).fresh_share(litres)

    assert share >= lower_reference(circuit=circuit, state=old, exchanged_l=litres) - ROUNDING


@CIRCUIT
@given(start=started(), fills=FILLS)
def test_the_references_order_themselves(start: tuple[Circuit, CircuitState], fills: float) -> None:
    circuit, state = start
    litres = fills * circuit.total_l
    begun = fresh_share(circuit=circuit, state=state)
    lower = lower_reference(circuit=circuit, state=state, exchanged_l=litres)
    mixed = mixed_reference(circuit=circuit, state=state, exchanged_l=litres)

    assert begun - ROUNDING <= lower <= 1
    assert begun - ROUNDING <= mixed <= begun + litres / circuit.total_l + ROUNDING


@CIRCUIT
@given(start=started(), fills=FILLS)
def test_idling_mixes_and_adds_nothing(start: tuple[Circuit, CircuitState], fills: float) -> None:
    circuit, state = start
    mixed = idle(circuit=circuit, state=state, circulated_l=fills * circuit.total_l)

    before = fresh_share(circuit=circuit, state=state)
    assert fresh_share(circuit=circuit, state=mixed) == pytest.approx(before, rel=0, abs=ROUNDING)
    assert min(cells(mixed)) >= min(cells(state)) - ROUNDING
    assert max(cells(mixed)) <= max(cells(state)) + ROUNDING


@CIRCUIT
@given(start=started(), fills=FILLS, more=FILLS)
def test_two_exchanges_are_one_of_their_sum(
    start: tuple[Circuit, CircuitState], fills: float, more: float
) -> None:
    circuit, state = start
    first, second = fills * circuit.total_l, more * circuit.total_l
    halfway = exchange(circuit=circuit, state=state, exchanged_l=first)
    twice = exchange(circuit=circuit, state=halfway, exchanged_l=second)
    once = exchange(circuit=circuit, state=state, exchanged_l=first + second)

    assert cells(twice) == pytest.approx(cells(once), rel=0, abs=ROUNDING)


@CIRCUIT
@given(start=started(), target=SHARES)
def test_the_inverse_brings_the_target_back(
    start: tuple[Circuit, CircuitState], target: float
) -> None:
    circuit, state = start
    curve = exchange_curve(circuit=circuit, state=state)
    litres = curve.exchanged_l_for(target)

    if litres is None:
        reached = curve.fresh_share(curve.limit_l)
        assert target >= min(reached, ceiling(circuit=circuit, state=state)) - ROUNDING
    elif litres == 0:
        assert target <= fresh_share(circuit=circuit, state=state) + ROUNDING
    else:
        assert curve.fresh_share(litres) == pytest.approx(target, rel=0, abs=ROUNDING)


@CIRCUIT
@given(start=started(), fills=FILLS, scale=st.sampled_from([0.5, 0.946352946, 2, 3.785411784]))
def test_shares_do_not_depend_on_the_unit_of_volume(
    start: tuple[Circuit, CircuitState], fills: float, scale: float
) -> None:
    circuit, state = start
    volumes = {
        name: value * scale for name, value in asdict(circuit).items() if name.endswith("_l")
    }
    litres = fills * circuit.total_l
    scaled = exchange(circuit=replace(circuit, **volumes), state=state, exchanged_l=litres * scale)

    plain = exchange(circuit=circuit, state=state, exchanged_l=litres)
    assert cells(scaled) == pytest.approx(cells(plain), rel=0, abs=ROUNDING)


@CIRCUIT
@given(start=started(), drained=SHARES, converter=SHARES, pockets=SHARES)
def test_a_drain_freshens_every_part_that_it_reaches(
    start: tuple[Circuit, CircuitState], drained: float, converter: float, pockets: float
) -> None:
    circuit, state = start
    after = drain_and_refill(
        circuit=circuit,
        state=state,
        drained_l=drained * circuit.sump_l,
        converter_run_back=converter,
        pockets_run_back=pockets,
    )

    assert after.sump >= state.sump - ROUNDING
    assert after.line == state.line
    assert after.stranded == state.stranded
    assert all(0 <= share <= 1 for share in cells(after))


@CIRCUIT
@given(start=started(), fills=FILLS)
def test_the_marginal_gain_is_the_slope_of_the_curve(
    start: tuple[Circuit, CircuitState], fills: float
) -> None:
    circuit, state = start
    curve = exchange_curve(circuit=circuit, state=state)
    litres, step = (fills + 0.1) * circuit.total_l, 1e-5 * circuit.total_l

    slope = (curve.fresh_share(litres + step) - curve.fresh_share(litres - step)) / (2 * step)
    assert curve.marginal_gain_per_l(litres) == pytest.approx(slope, rel=1e-4, abs=1e-7)


@settings(CIRCUIT)
@given(start=started(), beyond=SHARES)
def test_no_litres_reach_the_ceiling_or_more(
    start: tuple[Circuit, CircuitState], beyond: float
) -> None:
    circuit, state = start
    highest = ceiling(circuit=circuit, state=state)
    target = highest + beyond * (1 - highest)
    curve = exchange_curve(circuit=circuit, state=state)

    assert curve.exchanged_l_for(target) == (0 if curve.fresh_share(0) >= target else None)


@settings(CIRCUIT)
@given(start=started(), drained=SHARES, converter=SHARES, pockets=SHARES)
def test_a_drain_gains_the_refill_less_the_fresh_that_left(
    start: tuple[Circuit, CircuitState], drained: float, converter: float, pockets: float
) -> None:
    circuit, state = start
    run_back = {"converter_run_back": converter, "pockets_run_back": pockets}
    drained_l = drained * circuit.sump_l
    after = drain_and_refill(circuit=circuit, state=state, drained_l=drained_l, **run_back)

    refill_l = refilled_l(circuit=circuit, drained_l=drained_l, **run_back)
    fresh_out_l = drained_l * state.sump + pockets * circuit.pockets_l * state.pockets
    for cell in state.converter:
        fresh_out_l += converter * circuit.converter_l / circuit.converters * cell
    gained = fresh_share(circuit=circuit, state=after) - fresh_share(circuit=circuit, state=state)
    assert circuit.total_l * gained == pytest.approx(refill_l - fresh_out_l, rel=0, abs=1e-11)
