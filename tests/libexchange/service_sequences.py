"""What the tests of the sequence of services ask it with."""

from typing import Any

import pytest
from msgspec import convert

from libexchange.calculations.service_sequence import (
    ServiceSequenceAnswer,
    ServiceSequenceRequest,
    calculate_service_sequence,
)
from libexchange.circuit import Circuit
from libexchange.errors import InvalidInput

UNIT = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
TANK = {"sump": {"value": 4, "unit": "L"}}

Json = dict[str, Any]


def litres(value: float, unit: str = "L") -> Json:
    return {"value": value, "unit": unit}


CIRCUIT = {
    name: litres(getattr(UNIT, f"{name}_l"))
    for name in ("sump", "converter", "line", "pockets", "stranded")
}
DRAIN = {
    "kind": "drain",
    "drained": litres(3.8),
    "converter_run_back": 0.05,
    "pockets_run_back": 0.15,
}


def line(out_l: float, **further: object) -> Json:
    return {"kind": "line_exchange", "exchanged": litres(out_l), **further}


def dose(substance: str, dosed_l: float) -> Json:
    return {"kind": "dose", "substance": substance, "dosed": litres(dosed_l)}


def answer(*steps: Json, circuit: Json = CIRCUIT) -> ServiceSequenceAnswer:
    request = {"circuit": circuit, "steps": list(steps)}
    return calculate_service_sequence(convert(request, ServiceSequenceRequest))


def refused(*steps: Json, circuit: Json = CIRCUIT) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as caught:
        answer(*steps, circuit=circuit)
    return [(fault.pointer, fault.allowed) for fault in caught.value.faults]


def codes(found: ServiceSequenceAnswer) -> list[tuple[str, str, str]]:
    return [(f.code, f.pointer, f.severity) for f in found.findings[:-1]]
