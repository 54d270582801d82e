"""Kinematic viscosity at a temperature, and the viscosity index."""

from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from libexchange.calculations._faults import (
    fault,
    out_of_range,
    raise_if_any,
    temperature_faults,
)
from libexchange.errors import Fault, InvalidInput, OutOfRange
from libexchange.findings import MEMORY, Finding, Kind
from libexchange.quantities import KinematicViscosity, Temperature
from libexchange.viscosity import (
    COLD_FLOW,
    HIGHEST_VISCOSITY_MM2_S,
    LOWEST_INDEXED_MM2_S,
    LOWEST_VISCOSITY_MM2_S,
    cold_flow_caution,
    viscosity_at_mm2_s,
    viscosity_index,
)

USUAL_AT_100_MM2_S = (3.0, 16.0)
USUAL_INDEX = (80.0, 250.0)
HIGHEST_ANSWER_MM2_S = min(HIGHEST_VISCOSITY_MM2_S, KinematicViscosity.high)

EXAMPLE: dict[str, Any] = {
    "kv40": {"value": 34.5, "unit": "mm2/s"},
    "kv100": {"value": 7.4, "unit": "mm2/s"},
    "temperature": {"value": 20, "unit": "Cel"},
}

INDEX_UNDEFINED = Kind(
    code="viscosity-index-undefined",
    severity="note",
    title="There is no viscosity index below 2 mm2/s at 100 °C",
    remedy="Compare the viscosities themselves; check that 100 °C is what was measured at.",
    source="ASTM D2270 / ISO 2909",
)
INDEX_UNUSUAL = Kind(
    code="viscosity-index-unusual",
    severity="caution",
    title="The viscosity index is not that of a transmission fluid",
    remedy="Check both viscosities, their order and the temperatures that they were measured at.",
    source=MEMORY,
)
NOT_OF_A_TRANSMISSION = Kind(
    code="viscosity-not-of-a-transmission-fluid",
    severity="note",
    title="The fluid is thinner or thicker than transmission fluids are",
    remedy="Check the number and its unit.",
    source=MEMORY,
)
KINDS = (COLD_FLOW, INDEX_UNDEFINED, INDEX_UNUSUAL, NOT_OF_A_TRANSMISSION)
"""Every finding code of this module."""


class ViscosityRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A fluid by its viscosities at 40 and 100 degC, and a temperature.

    kv40, kv100: from 0.21 mm2/s, the second not higher    temperature: -50 to 150 Cel
    """

    kv40: KinematicViscosity
    kv100: KinematicViscosity
    temperature: Temperature


class ViscosityAnswer(Struct, frozen=True, kw_only=True):
    """The viscosity at the temperature, and the index to the nearest whole number.

    `viscosity_index` is null below 2 mm2/s at 100 degC, where it is not defined.

    viscosity: kinematic    viscosity_index: null in the range where it is undefined
    findings: doubts
    """

    viscosity: KinematicViscosity
    viscosity_index: int | None
    findings: list[Finding]


def calculate_viscosity(request: ViscosityRequest) -> ViscosityAnswer:
    """The viscosity at a temperature from those at 40 and 100 degC, and the viscosity index.

    Raises: InvalidInput    Source: ASTM D341; ASTM D2270 / ISO 2909.

    >>> import msgspec
    >>> answer = calculate_viscosity(msgspec.convert(EXAMPLE, ViscosityRequest))
    >>> round(answer.viscosity.mm2_s, 1), answer.viscosity_index
    (76.8, 189)
    """
    raise_if_any([*_faults(request), *temperature_faults(request.temperature)])
    viscosity_mm2_s = _viscosity_mm2_s(request)
    index = viscosity_index(kv40_mm2_s=request.kv40.mm2_s, kv100_mm2_s=request.kv100.mm2_s)
    caution = cold_flow_caution(
        temperature_c=request.temperature.c, viscosity_mm2_s=viscosity_mm2_s
    )
    return ViscosityAnswer(
        viscosity=KinematicViscosity(viscosity_mm2_s, "mm2/s"),
        viscosity_index=None if index is None else round(index),
        findings=[*caution, *_unusual_thickness(request), *_index_findings(index)],
    )


def _viscosity_mm2_s(request: ViscosityRequest) -> float:
    """The answer, refused where it leaves the chart or the quantity."""
    try:
        viscosity_mm2_s = viscosity_at_mm2_s(
            kv40_mm2_s=request.kv40.mm2_s,
            kv100_mm2_s=request.kv100.mm2_s,
            temperature_c=request.temperature.c,
        )
    except OutOfRange as error:
        raise InvalidInput(_off_the_chart(request)) from error
    if viscosity_mm2_s > HIGHEST_ANSWER_MM2_S:
        raise InvalidInput(_off_the_chart(request))
    return viscosity_mm2_s


def _off_the_chart(request: ViscosityRequest) -> Fault:
    low, high = LOWEST_VISCOSITY_MM2_S, HIGHEST_ANSWER_MM2_S
    allowed = f"a temperature at which the viscosity is {low:g} to {high:g} mm2/s"
    return out_of_range("/temperature", request.temperature, allowed)


def _faults(request: ViscosityRequest) -> Iterator[Fault]:
    for name in ("kv40", "kv100"):
        given: KinematicViscosity = getattr(request, name)
        if given.mm2_s < LOWEST_VISCOSITY_MM2_S:
            allowed = f"{LOWEST_VISCOSITY_MM2_S:g} mm2/s and more"
            yield out_of_range(f"/{name}", given, allowed)
    if request.kv100.mm2_s > request.kv40.mm2_s:
        yield fault(
            "/kv100",
            "kv100-above-kv40",
            "the fluid would be thicker in the heat",
            value=request.kv100,
            allowed=f"at most {request.kv40.mm2_s:g} mm2/s",
            remedy="Check whether the two are swapped.",
        )


def _unusual_thickness(request: ViscosityRequest) -> list[Finding]:
    low, high = USUAL_AT_100_MM2_S
    kv100 = request.kv100.mm2_s
    if low <= kv100 <= high:
        return []
    text = f"{kv100:g} mm2/s at 100 °C; usual is {low:g} to {high:g}."
    return [NOT_OF_A_TRANSMISSION.at("#/kv100", text, values={"kv100_mm2_s": kv100})]


def _index_findings(index: float | None) -> list[Finding]:
    low, high = USUAL_INDEX
    if index is None:
        text = f"The index begins at {LOWEST_INDEXED_MM2_S:g} mm2/s at 100 °C."
        return [INDEX_UNDEFINED.at("#/kv100", text)]
    if low <= index <= high:
        return []
    text = f"The index is {index:.0f}; usual is {low:g} to {high:g}."
    return [INDEX_UNUSUAL.at("#/kv40", text, values={"viscosity_index": index})]
