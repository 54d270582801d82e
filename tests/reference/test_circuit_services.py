"""Uneven flow, batches, suction and drains against shares that were printed elsewhere."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from libexchange.circuit import (
    Circuit,
    CircuitState,
    all_old,
    drain_and_refill,
    exchange_curve,
    fresh_share,
    idle,
    lower_reference,
    mixed_reference,
    plug_flow,
    refilled_l,
)
from libexchange.circuit_moves import exchange_uneven, line_batch, suction

VECTORS = tomllib.loads(Path(__file__).with_name("circuits.toml").read_text("utf-8"))
CIRCUITS = {case["name"]: case for case in VECTORS["circuit"]}
NINE_DIGITS = 5.1e-10
THREE_DIGITS = 5.1e-4

Case = dict[str, Any]
Service = Callable[[CircuitState], CircuitState]


def each(kind: str) -> pytest.MarkDecorator:
    names = [f"{case['name']} [computed] computed independently" for case in VECTORS[kind]]
    return pytest.mark.parametrize("case", VECTORS[kind], ids=names)


def circuit_named(name: str) -> Circuit:
    return Circuit(**CIRCUITS[name]["circuit"])


@each("uneven")
def test_uneven_flow_meets_its_vector(case: Case) -> None:
    tank = Circuit(sump_l=case["sump_l"])
    after = exchange_uneven(
        circuit=tank,
        state=all_old(tank),
        out_l=case["out_l"],
        fed_per_out=case["fed_per_out"],
    )

    assert 1 - after.state.sump == pytest.approx(case["old_sump"], rel=0, abs=NINE_DIGITS)
    assert after.circuit.sump_l == pytest.approx(case["sump_after_l"], rel=1e-14)


@each("printed")
def test_the_lines_alone_meet_their_table(case: Case) -> None:
    circuit = circuit_named(case["name"])
    curve = exchange_curve(circuit=circuit, state=all_old(circuit))

    shares = [curve.fresh_share(fills * circuit.total_l) for fills in case["fills"]]
    assert shares == pytest.approx(case["continuous"], rel=0, abs=THREE_DIGITS)


@each("printed")
def test_the_pan_first_and_then_the_lines_meet_their_table(case: Case) -> None:
    circuit, drain = circuit_named(case["name"]), CIRCUITS[case["name"]]["drain"]
    drained = drain_and_refill(circuit=circuit, state=all_old(circuit), **drain)
    curve = exchange_curve(circuit=circuit, state=drained)

    used_l = refilled_l(circuit=circuit, **drain)
    shares = [curve.fresh_share(fills * circuit.total_l - used_l) for fills in case["fills"]]
    assert shares == pytest.approx(case["pan_first"], rel=0, abs=THREE_DIGITS)


@pytest.mark.parametrize(
    ("name", "reference"),
    [("plug", plug_flow), ("mixed", mixed_reference), ("lower", lower_reference)],
    ids=lambda v: f"[computed] computed independently {v}" if isinstance(v, str) else "",
)
def test_a_reference_meets_its_table(name: str, reference: Callable[..., float]) -> None:
    case = VECTORS["printed"][0]
    circuit = circuit_named(case["name"])

    shares = [
        reference(circuit=circuit, state=all_old(circuit), exchanged_l=fills * circuit.total_l)
        for fills in case["fills"]
    ]
    assert shares == pytest.approx(case[name], rel=0, abs=THREE_DIGITS)


@each("changed")
def test_a_changed_coefficient_meets_its_table(case: Case) -> None:
    circuit = Circuit(**CIRCUITS["A, six speeds"]["circuit"], **case["change"])
    curve = exchange_curve(circuit=circuit, state=all_old(circuit))

    shares = [curve.fresh_share(fills * circuit.total_l) for fills in case["fills"]]
    assert shares == pytest.approx(case["continuous"], rel=0, abs=THREE_DIGITS)


@each("cycles")
def test_repeated_services_meet_their_shares(case: Case) -> None:
    circuit = circuit_named(case["circuit"])
    service, state = service_of(case, circuit), all_old(circuit)
    shares: list[float] = []
    for _ in case["shares"]:
        if shares:
            state = idle(circuit=circuit, state=state, circulated_l=case["idled_l"])
        state = service(state)
        shares.append(fresh_share(circuit=circuit, state=state))

    assert shares == pytest.approx(case["shares"], rel=0, abs=case["tolerance"])


def service_of(case: Case, circuit: Circuit) -> Service:
    drain = CIRCUITS[case["circuit"]]["drain"]
    services: dict[str, Service] = {
        "drain": lambda state: drain_and_refill(circuit=circuit, state=state, **drain),
        "suction": lambda state: suction(
            circuit=circuit, state=state, sump_share=case["sump_share"]
        ),
        "batch": lambda state: line_batch(circuit=circuit, state=state, batch_l=case["batch_l"]),
    }
    return services[case["kind"]]
