"""The calculations on fresh shares: exchange, required exchange and drain cycles."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import convert

from libexchange.calculations.circuit_record import CircuitRecord, circuit_of, start_of
from libexchange.calculations.exchange import ExchangeAnswer, ExchangeRequest, calculate_exchange
from libexchange.calculations.required_exchange import (
    RequiredExchangeAnswer,
    RequiredExchangeRequest,
    calculate_required_exchange,
)
from libexchange.circuit import exchange_curve
from libexchange.errors import InvalidInput


def litres(value: float, unit: str = "L") -> dict[str, object]:
    return {"value": value, "unit": unit}


CIRCUIT: dict[str, Any] = {
    "sump": litres(4.3),
    "converter": litres(2.9),
    "line": litres(0.8),
    "pockets": litres(0.8),
    "stranded": litres(0.2),
}


def exchange(exchanged: float, **changes: object) -> ExchangeAnswer:
    request = {"circuit": CIRCUIT, "exchanged": litres(exchanged)} | changes
    return calculate_exchange(convert(request, ExchangeRequest))


def required(target: float, **changes: object) -> RequiredExchangeAnswer:
    request = {"circuit": CIRCUIT, "target_fresh_share": target} | changes
    return calculate_required_exchange(convert(request, RequiredExchangeRequest))


def pointers(error: InvalidInput) -> list[str]:
    return [fault.pointer for fault in error.faults]


def test_a_sump_is_all_that_has_to_be_given() -> None:
    answer = exchange(9, circuit={"sump": litres(9)})

    assert answer.fresh_share.expected == pytest.approx(0.632120559)
    assert answer.fresh_share.expected == pytest.approx(answer.mixed_reference)


def test_the_curve_has_51_points_unless_said_otherwise_with_both_ends() -> None:
    answer = exchange(9)

    assert len(answer.curve) == 51
    assert [p.exchanged.l for p in (answer.curve[0], answer.curve[1], answer.curve[-1])] == [
        0, pytest.approx(0.18), 9,
    ]  # fmt: skip
    assert answer.curve[-1].fresh_share == answer.fresh_share.expected
    assert answer.curve[-1].outflow_fresh_share == answer.outflow_fresh_share


@pytest.mark.parametrize("points", [2, 500])
def test_a_curve_has_the_points_asked_for(points: int) -> None:
    assert len(exchange(9, points=points).curve) == points


def test_no_exchange_at_all_is_where_it_started() -> None:
    before = {"drained": litres(3.8), "converter_run_back": 0.05, "pockets_run_back": 0.15}
    answer = exchange(0, before=before, points=3)

    assert answer.fresh_share.low == answer.fresh_share.expected
    assert answer.fresh_share.expected == pytest.approx(0.451666667)
    assert {point.exchanged.l for point in answer.curve} == {0}
    assert {point.fresh_share for point in answer.curve} == {answer.fresh_share.expected}


def test_the_band_is_about_five_hundredths_and_said_to_be_typical() -> None:
    answer = exchange(9)

    share, [note] = answer.fresh_share, answer.findings
    assert share.expected - share.low == pytest.approx(0.055, abs=5e-4)
    assert share.high - share.expected == pytest.approx(0.027, abs=5e-4)
    assert note.code == "band-not-measured"
    assert note.values == {"low": share.low, "high": share.high}


@settings(max_examples=60)
@given(
    sump=st.floats(0.05, 30),
    converter=st.just(0.0) | st.floats(0.05, 15),
    pockets=st.just(0.0) | st.floats(0.05, 5),
    stranded=st.just(0.0) | st.floats(0.05, 5),
    kappa=st.floats(0, 1),
    drained=st.floats(0, 1),
    exchanged=st.floats(0, 100),
)
def test_the_band_keeps_between_the_start_and_what_is_possible(
    sump: float,
    converter: float,
    pockets: float,
    stranded: float,
    kappa: float,
    drained: float,
    exchanged: float,
) -> None:
    circuit = {
        "sump": litres(sump),
        "converter": litres(converter),
        "pockets": litres(pockets),
        "stranded": litres(stranded),
        "pocket_exchange": kappa,
    }
    answer = exchange(
        exchanged, circuit=circuit, before={"drained": litres(drained * sump)}, points=2
    )
    share, top = answer.fresh_share, min(answer.plug_flow, answer.ceiling)

    assert answer.curve[0].fresh_share <= share.low + 1e-12
    assert share.low <= share.expected <= share.high
    assert share.high <= top + 1e-9
    assert answer.lower_reference <= share.expected + 1e-9


@settings(max_examples=40)
@given(target=st.floats(0, 0.97))
def test_the_litres_for_a_share_reach_that_share(target: float) -> None:
    answer = required(target)

    assert answer.exchanged is not None
    reached = exchange(answer.exchanged.l, points=2)
    assert reached.fresh_share.expected == pytest.approx(target, abs=1e-9)
    assert answer.marginal_gain_per_litre == pytest.approx(
        (1 - reached.outflow_fresh_share) / 9.0, abs=1e-9
    )


@pytest.mark.parametrize("target", [0.98, 1.0])
def test_a_target_above_the_ceiling_has_no_litres(target: float) -> None:
    answer = required(target)

    assert (answer.exchanged, answer.marginal_gain_per_litre) == (None, None)
    assert answer.ceiling == pytest.approx(1 - 0.2 / 9)
    assert [(f.code, f.values["ceiling"]) for f in answer.findings] == [
        ("target-above-ceiling", answer.ceiling)
    ]


def test_a_target_below_the_ceiling_may_still_take_more_than_can_be_computed() -> None:
    circuit = CIRCUIT | {"converter": litres(0.05), "converter_cells": 10, "pocket_exchange": 1e-6}
    record = convert(circuit, CircuitRecord)
    unit = circuit_of(record)
    curve = exchange_curve(circuit=unit, state=start_of(unit, None))
    beyond = curve.fresh_share(curve.limit_l) + 0.01
    answer = required(beyond, circuit=circuit)

    assert beyond < answer.ceiling
    assert answer.exchanged is None
    assert [finding.code for finding in answer.findings] == ["target-beyond-limit"]


def test_a_target_that_is_already_met_needs_nothing() -> None:
    answer = required(0.3, before={"drained": litres(3.8)})

    assert answer.exchanged is not None
    assert (answer.exchanged.l, answer.findings) == (0, [])


def test_every_fault_of_a_circuit_is_told_at_once() -> None:
    circuit = {"sump": litres(0.01), "line": litres(0.02), "stranded": litres(600)}
    with pytest.raises(InvalidInput) as caught:
        exchange(9, circuit=circuit, before={"drained": litres(1)})

    assert pointers(caught.value) == [
        "/circuit/sump", "/circuit/line", "/circuit/stranded", "/before/drained",
    ]  # fmt: skip
    assert [fault.allowed for fault in caught.value.faults][:2] == [
        "0.05 to 500 L", "0, or 0.05 to 500 L",
    ]  # fmt: skip


def test_more_litres_than_can_be_computed_are_refused_with_the_limit() -> None:
    circuit = {"sump": litres(0.05)}
    with pytest.raises(InvalidInput) as caught:
        exchange(6000, circuit=circuit)

    assert pointers(caught.value) == ["/exchanged"]
    assert caught.value.faults[0].allowed == "0 to 5000 L with this circuit"
    assert exchange(5000, circuit=circuit).fresh_share.expected == pytest.approx(1)
