"""Bring a volume of lubricating oil to 15 degC and to any other base temperature."""

from collections.abc import Iterable
from typing import Any

from msgspec import Struct

from libexchange.calculations._faults import (
    density_faults,
    fault,
    out_of_range,
    raise_if_any,
    temperature_faults,
)
from libexchange.errors import Fault, InvalidInput
from libexchange.findings import MEMORY, Finding, Kind
from libexchange.fluid import (
    HIGHEST_DENSITY_15_KG_M3,
    LOWEST_DENSITY_15_KG_M3,
    density_at_15_kg_m3,
    density_at_kg_m3,
    factor_between,
    volume_correction_factor,
)
from libexchange.quantities import Density, Temperature, Volume

HIGHEST_USUAL_15_KG_M3 = 900.0

EXAMPLE: dict[str, Any] = {
    "density_15": {"value": 850, "unit": "kg/m3"},
    "temperature": {"value": 80, "unit": "Cel"},
    "volume": {"value": 9.2, "unit": "L"},
    "base_temperature": {"value": 20, "unit": "Cel"},
}

DENSITY_UNUSUAL = Kind(
    code="density-not-of-a-transmission-fluid",
    severity="note",
    title="The fluid is heavier than transmission fluids are",
    remedy="Check the density, its unit and the temperature that it was measured at.",
    source=MEMORY,
)
KINDS = (DENSITY_UNUSUAL,)
"""Every finding code of this module."""


class MeasuredDensity(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A density and the temperature that it was measured at, -50 to 150 Cel.

    density: as measured    temperature: of the fluid then
    """

    density: Density
    temperature: Temperature


class VolumeCorrectionRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A fluid by its density, a temperature, and a volume to bring to 15 degC.

    density_15: 800.9 to 1163.5 kg/m3.    measured_density: at another temperature, instead of it;
    exactly one of the two is given.    temperature: -50 to 150 Cel.
    base_temperature: -50 to 150 Cel, a further temperature that the volume is brought to.
    volume: read at `temperature`, null where only the factor is asked for
    """

    density_15: Density | None = None
    measured_density: MeasuredDensity | None = None
    temperature: Temperature
    volume: Volume | None = None
    base_temperature: Temperature | None = None


class VolumeAtBase(Struct, frozen=True, kw_only=True):
    """The factor to the base temperature, the density there, and the volume if one was given.

    factor: to it    density: at it    volume: at it, null where none was given
    """

    factor: float
    density: Density
    volume: Volume | None


class VolumeCorrectionAnswer(Struct, frozen=True, kw_only=True):
    """The factor to 15 degC, and the volume there where one was given.

    density: at the temperature.    density_15: at 15 degC.
    base: the same at the base temperature; null where none was given.
    factor: to 15 degC    volume_15: null where none was given    findings: doubts
    """

    factor: float
    volume_15: Volume | None
    density: Density
    density_15: Density
    base: VolumeAtBase | None
    findings: list[Finding]


def calculate_volume_correction(request: VolumeCorrectionRequest) -> VolumeCorrectionAnswer:
    """The factor that brings a volume to 15 degC or another base, and the volume brought there.

    Raises: InvalidInput outside the range of the correction, which does not extrapolate.
    Source: API MPMS 11.1 / ASTM D1250, lubricating oils.

    >>> request = VolumeCorrectionRequest(
    ...     density_15=Density(850, "kg/m3"), temperature=Temperature(80, "Cel"))
    >>> answer = calculate_volume_correction(request)
    >>> round(answer.factor, 5), round(answer.density.kg_m3, 1)
    (0.95137, 808.7)
    """
    raise_if_any(_faults(request))
    density_15, celsius = _density_15_kg_m3(request), request.temperature.c
    factor = volume_correction_factor(density_15_kg_m3=density_15, temperature_c=celsius)
    density = density_at_kg_m3(density_15_kg_m3=density_15, temperature_c=celsius)
    return VolumeCorrectionAnswer(
        factor=factor,
        volume_15=_corrected(request.volume, factor, "15 °C"),
        density=Density(density, "kg/m3"),
        density_15=Density(density_15, "kg/m3"),
        base=_at_base(request, density_15),
        findings=_unusual(request, density_15),
    )


def _at_base(request: VolumeCorrectionRequest, density_15: float) -> VolumeAtBase | None:
    base = request.base_temperature
    if base is None:
        return None
    factor = factor_between(
        density_15_kg_m3=density_15, temperature_c=request.temperature.c, base_c=base.c
    )
    density = density_at_kg_m3(density_15_kg_m3=density_15, temperature_c=base.c)
    return VolumeAtBase(
        factor=factor,
        density=Density(density, "kg/m3"),
        volume=_corrected(request.volume, factor, f"{base.c:g} °C"),
    )


def _corrected(volume: Volume | None, factor: float, where: str) -> Volume | None:
    if volume is None:
        return None
    if volume.l * factor > Volume.high:
        raise InvalidInput(out_of_range("/volume", volume, f"at most {Volume.high:g} L at {where}"))
    return Volume(volume.l * factor, "L")


def _density_15_kg_m3(request: VolumeCorrectionRequest) -> float:
    measured = request.measured_density
    if measured is None:  # then the other is there: exactly one of them is
        return request.density_15.kg_m3 if request.density_15 else 0.0
    return density_at_15_kg_m3(
        density_kg_m3=measured.density.kg_m3, temperature_c=measured.temperature.c
    )


def _faults(request: VolumeCorrectionRequest) -> Iterable[Fault]:
    if (request.density_15 is None) == (request.measured_density is None):
        yield fault(
            "/density_15",
            "exactly-one-of",
            "neither is given" if request.density_15 is None else "both are given",
            value=request.density_15,
            allowed="exactly one of density_15 and measured_density",
            remedy="Give the density at 15 °C, or a density with its temperature.",
        )
    if request.density_15 is not None:
        yield from density_faults(request.density_15)
    if request.measured_density is not None:
        yield from _measured_faults(request.measured_density)
    yield from temperature_faults(request.temperature)
    if request.base_temperature is not None:
        yield from temperature_faults(request.base_temperature, "/base_temperature")


def _measured_faults(measured: MeasuredDensity) -> Iterable[Fault]:
    if found := temperature_faults(measured.temperature, "/measured_density/temperature"):
        yield from found
        return
    low, high = (
        density_at_kg_m3(density_15_kg_m3=edge, temperature_c=measured.temperature.c)
        for edge in (LOWEST_DENSITY_15_KG_M3, HIGHEST_DENSITY_15_KG_M3)
    )
    if not low <= measured.density.kg_m3 <= high:
        allowed = f"{low:.1f} to {high:.1f} kg/m3 at {measured.temperature.c:g} °C"
        yield out_of_range("/measured_density/density", measured.density, allowed)


def _unusual(request: VolumeCorrectionRequest, density_15: float) -> list[Finding]:
    if density_15 <= HIGHEST_USUAL_15_KG_M3:
        return []
    name = "density_15" if request.measured_density is None else "measured_density/density"
    text = f"{density_15:.1f} kg/m3 at 15 °C; usual is up to {HIGHEST_USUAL_15_KG_M3:g}."
    return [DENSITY_UNUSUAL.at(f"#/{name}", text, values={"density_15_kg_m3": density_15})]
