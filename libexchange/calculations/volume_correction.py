"""Bring a volume to 15 degC."""

from typing import Any

from msgspec import Struct

from libexchange.calculations._faults import (
    density_faults,
    out_of_range,
    raise_if_any,
    temperature_faults,
)
from libexchange.errors import InvalidInput
from libexchange.fluid import volume_correction_factor
from libexchange.quantities import Density, Temperature, Volume

EXAMPLE: dict[str, Any] = {
    "density_15": {"value": 850, "unit": "kg/m3"},
    "temperature": {"value": 80, "unit": "Cel"},
    "volume": {"value": 9.2, "unit": "L"},
}


class VolumeCorrectionRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A fluid by its density at 15 degC, a temperature, and a volume to bring to 15 degC.

    density_15: 800.9 to 1163.5 kg/m3    temperature: -50 to 150 Cel
    """

    density_15: Density
    temperature: Temperature
    volume: Volume | None = None


class VolumeCorrectionAnswer(Struct, frozen=True, kw_only=True):
    """The factor, and the volume at 15 degC where a volume was given."""

    factor: float
    volume_15: Volume | None


def calculate_volume_correction(request: VolumeCorrectionRequest) -> VolumeCorrectionAnswer:
    """The factor that brings a volume to 15 degC, and the volume brought there.

    Raises: InvalidInput outside the range of the correction, which does not extrapolate.
    Source: API MPMS 11.1 / ASTM D1250, lubricating oils.

    >>> request = VolumeCorrectionRequest(
    ...     density_15=Density(850, "kg/m3"), temperature=Temperature(80, "Cel"))
    >>> round(calculate_volume_correction(request).factor, 5)
    0.95137
    """
    raise_if_any(density_faults(request.density_15) + temperature_faults(request.temperature))
    factor = volume_correction_factor(
        density_15_kg_m3=request.density_15.kg_m3, temperature_c=request.temperature.c
    )
    volume = request.volume
    if volume is not None and volume.l * factor > Volume.high:
        raise InvalidInput(out_of_range("/volume", volume, f"at most {Volume.high:g} L at 15 Cel"))
    return VolumeCorrectionAnswer(
        factor=factor, volume_15=None if volume is None else Volume(volume.l * factor, "L")
    )
