"""Circuits, drains and factors against vectors that were computed independently."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from libexchange.circuit import (
    Circuit,
    all_old,
    drain_and_refill,
    exchange,
    exchange_curve,
    fresh_share,
    refilled_l,
)
from libexchange.circuit_transform import share_after_exchange
from libexchange.fluid import volume_correction_factor

VECTORS = tomllib.loads(Path(__file__).with_name("circuits.toml").read_text("utf-8"))
SOURCE = "[computed] computed independently"
NINE_DIGITS = 5.1e-10

Case = dict[str, Any]


def having(key: str) -> pytest.MarkDecorator:
    found = [case for case in VECTORS["circuit"] if case.get(key)]
    return pytest.mark.parametrize("case", found, ids=[f"{c['name']} {SOURCE}" for c in found])


@having("renewed")
def test_line_exchange_meets_its_vectors(case: Case) -> None:
    circuit = Circuit(**case["circuit"])
    curve = exchange_curve(circuit=circuit, state=all_old(circuit))

    shares = [curve.fresh_share(fills * circuit.total_l) for fills in (0.5, 1, 1.5)]
    assert shares == pytest.approx(case["renewed"], rel=0, abs=NINE_DIGITS)


@having("renewed")
def test_the_transform_meets_its_vectors(case: Case) -> None:
    """It is not exact, but six digits hold."""
    circuit = Circuit(**case["circuit"])

    shares = [
        share_after_exchange(
            circuit=circuit, state=all_old(circuit), exchanged_l=fills * circuit.total_l
        )
        for fills in (0.5, 1, 1.5)
    ]
    assert shares == pytest.approx(case["renewed"], rel=0, abs=1e-6)


@having("litres_for")
def test_the_inverse_meets_its_vectors(case: Case) -> None:
    circuit = Circuit(**case["circuit"])
    curve = exchange_curve(circuit=circuit, state=all_old(circuit))

    litres = [curve.exchanged_l_for(target) for target in (0.8, 0.9, 0.95)]
    expected = case["litres_for"]
    assert litres[: len(expected)] == pytest.approx(expected, rel=0, abs=case["litres_tolerance"])


@having("drain")
def test_a_drain_meets_its_vector(case: Case) -> None:
    circuit = Circuit(**case["circuit"])
    drained = drain_and_refill(circuit=circuit, state=all_old(circuit), **case["drain"])

    share = fresh_share(circuit=circuit, state=drained)
    assert refilled_l(circuit=circuit, **case["drain"]) == pytest.approx(case["refilled_l"])
    assert share == pytest.approx(case["drained_share"], rel=0, abs=NINE_DIGITS)


@having("then_5_l_share")
def test_a_drain_and_then_the_lines_meet_their_vector(case: Case) -> None:
    circuit = Circuit(**case["circuit"])
    drained = drain_and_refill(circuit=circuit, state=all_old(circuit), **case["drain"])

    share = exchange_curve(circuit=circuit, state=drained).fresh_share(5)
    assert share == pytest.approx(case["then_5_l_share"], rel=0, abs=NINE_DIGITS)


@pytest.mark.parametrize(
    "case", VECTORS["tanks"], ids=[f"{c['name']} {SOURCE}" for c in VECTORS["tanks"]]
)
def test_two_tanks_meet_the_hand_formula(case: Case) -> None:
    circuit = Circuit(**case["circuit"])
    reached = exchange(circuit=circuit, state=all_old(circuit), exchanged_l=case["exchanged_l"])

    second = reached.converter[0] if circuit.converters else reached.pockets
    old_second = case.get("old_converter", case.get("old_pockets"))
    assert 1 - reached.sump == pytest.approx(case["old_sump"], rel=0, abs=NINE_DIGITS)
    assert 1 - second == pytest.approx(old_second, rel=0, abs=NINE_DIGITS)


@pytest.mark.parametrize("case", VECTORS["volume_correction"], ids=[f"VCF {SOURCE}"])
def test_volume_correction_meets_its_vectors(case: Case) -> None:
    factors = [
        volume_correction_factor(
            density_15_kg_m3=case["density_15_kg_m3"], temperature_c=temperature
        )
        for temperature in case["temperatures_c"]
    ]

    assert factors == pytest.approx(case["factors"], rel=0, abs=NINE_DIGITS)
