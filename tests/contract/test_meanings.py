"""What callers send says what each of its properties means."""

import json
from collections.abc import Iterator
from typing import Any

from exchange_api.app import contract_bytes

REFS = "#/components/schemas/"

NOT_YET = """
AcidNumberPair: fresh used
Arrived: towing
BalanceRequest: entries
BenchChecks: blotter colour crackle debris glycol_strip shifts smell
ContactReading: at engine_running temperature
DipstickReading: between_marks height high_mark low_mark marks other_side surface
DoseCase: conditions electric_machine_in_fluid family fluid_friction_modified kind placed
DoseContact: readings
DoseExchange: circuit
DoseRequest: case contact exchange pack treat
DoseStep: dosed substance
DrainCyclesRequest: cycles target_fresh_share
ExchangeCoefficients: internal_return pocket_exchange short_cut
ExchangeRequest: before circuit
FillRange: dose high low
FixedByFill: ranges
GateRequest: at kind protection_confirmed readings
LaboratoryResults: acid_number aluminium copper glycol iron lead particles potassium silicon
    sodium tin viscosity_100 viscosity_40 water
LeakChecked: result
LevelRequest: checked_with_engine_running density_15 engine_running foam_seen gears_cycled
    method observed overflow_tube_fitted rate reading selector_right smoke_seen
LineBatchStep: batch
MeasuredDensity: density temperature
MeasuredRefill: in_15 out_15
Note: text
OutflowReference: uncertainty value
OutflowRequest: fresh_reference old_reference samples
OutflowSample: exchanged
Pack: rule size
ParticleCounts: at_14_um at_4_um at_6_um counted
PerRefill: rate
PerTotal: rate
Percent: percent
RequiredExchangeRequest: before circuit
ServiceSequenceRequest: circuit
TestDriven: distance result when
UsedFluidRequest: bench laboratory
VinRequest: vin
ViscosityPair: fresh used
VolumeCorrectionRequest: volume
WarmUpRequest: ambient start total
WholePacks: pack treats
"""
"""Properties whose meaning is still to be written, by schema; one that is described leaves it."""


def bodies(document: dict[str, Any]) -> set[str]:
    """Names of all schemas that request bodies are made of."""
    schemas = document["components"]["schemas"]
    found: set[str] = set()
    waiting = [
        told["requestBody"]
        for methods in document["paths"].values()
        for told in methods.values()
        if "requestBody" in told
    ]
    while waiting:
        fresh = {name for name in named(waiting.pop()) if name not in found}
        found |= fresh
        waiting.extend(schemas[name] for name in fresh)
    return found


def named(part: Any) -> Iterator[str]:
    """Names of the schemas that a part of the document refers to."""
    if isinstance(part, dict):
        if str(part.get("$ref", "")).startswith(REFS):
            yield part["$ref"].removeprefix(REFS)
        for inner in part.values():
            yield from named(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from named(inner)


def undescribed(document: dict[str, Any]) -> set[tuple[str, str]]:
    """Schema and property, of request bodies, without a description."""
    schemas = document["components"]["schemas"]
    return {
        (name, field)
        for name in bodies(document)
        for field, schema in schemas[name].get("properties", {}).items()
        if not schema.get("description")
    }


def still_to_write() -> set[tuple[str, str]]:
    """What `NOT_YET` lists, as pairs."""
    text = NOT_YET.replace("\n    ", " ").strip()
    lines = [line.partition(": ") for line in text.splitlines()]
    return {(name, field) for name, _, fields in lines for field in fields.split()}


def test_every_property_that_is_sent_says_what_it_means() -> None:
    assert undescribed(json.loads(contract_bytes())) == still_to_write()


def test_a_property_without_a_meaning_is_noticed() -> None:
    document = json.loads(contract_bytes())
    properties = document["components"]["schemas"]["PlanRequest"]["properties"]
    properties["colour"] = {"type": "string"}

    assert undescribed(document) - still_to_write() == {("PlanRequest", "colour")}
