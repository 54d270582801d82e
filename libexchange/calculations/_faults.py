"""What several calculations check before they compute: ranges that make an answer impossible."""

from collections.abc import Iterable

from msgspec import UNSET, UnsetType

from libexchange.errors import Fault, InvalidInput
from libexchange.fluid import (
    HIGHEST_DENSITY_15_KG_M3,
    HIGHEST_TEMPERATURE_C,
    LOWEST_DENSITY_15_KG_M3,
    LOWEST_TEMPERATURE_C,
)
from libexchange.quantities import Density, Temperature, Volume

TOTAL_L = (0.5, 500.0)


def fault(
    pointer: str,
    code: str,
    detail: str,
    *,
    allowed: str,
    remedy: str,
    value: object | UnsetType = UNSET,
) -> Fault:
    """A fault at a JSON pointer.

    >>> fault("/high", "missing-field", "needed", allowed="a temperature", remedy="Add it.").pointer
    '/high'
    """
    return Fault(
        pointer=pointer, code=code, detail=detail, value=value, allowed=allowed, remedy=remedy
    )


def raise_if_any(faults: Iterable[Fault]) -> None:
    """Raise InvalidInput with all faults when there are any.

    >>> raise_if_any([])
    """
    if found := list(faults):
        raise InvalidInput(*found)


def out_of_range(pointer: str, value: object, allowed: str) -> Fault:
    """The fault of a quantity outside the range that can be computed.

    >>> out_of_range("/total", 900, "0.5 to 500 L").detail
    'outside the range that can be computed'
    """
    return fault(
        pointer,
        "out-of-range",
        "outside the range that can be computed",
        value=value,
        allowed=allowed,
        remedy="Check the number and its unit.",
    )


def density_faults(density_15: Density) -> list[Fault]:
    """A fault unless the density lies in the range of the volume correction.

    >>> density_faults(Density(850, "kg/m3"))
    []
    """
    low, high = LOWEST_DENSITY_15_KG_M3, HIGHEST_DENSITY_15_KG_M3
    if low <= density_15.kg_m3 <= high:
        return []
    return [out_of_range("/density_15", density_15, f"{low:g} to {high:g} kg/m3")]


def temperature_faults(temperature: Temperature, pointer: str = "/temperature") -> list[Fault]:
    """A fault unless the temperature lies in the range of the volume correction.

    >>> temperature_faults(Temperature(20, "Cel"))
    []
    """
    low, high = LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C
    if low <= temperature.c <= high:
        return []
    return [out_of_range(pointer, temperature, f"{low:g} to {high:g} °C")]


def total_faults(total: Volume) -> list[Fault]:
    """A fault unless the total is one of a transmission: 0.5 to 500 L.

    >>> total_faults(Volume(9, "L"))
    []
    """
    low, high = TOTAL_L
    return (
        [] if low <= total.l <= high else [out_of_range("/total", total, f"{low:g} to {high:g} L")]
    )
