"""What every quantity has in common: exact factors, a closed unit set, finiteness and a range."""

from typing import ClassVar, Self, get_args, get_type_hints

from msgspec import Struct
from msgspec.structs import force_setattr

from libexchange._factors import BASE_UNITS, FACTORS
from libexchange.errors import OutOfRange

LARGEST = 1e300

TEMPERATURE_SIGNS = {"Cel": "°C", "[degF]": "°F"}
"""How people write a temperature; its codes are for machines."""


def to_base(value: float, unit: str) -> float:
    """A value in the base unit of its dimension, by exact rational factors.

    value: any    unit: a UCUM code of the closed set    Raises: KeyError for another code
    Source: UCUM; NIST SP 811.

    >>> to_base(176, "[degF]"), to_base(10, "[qt_us]")
    (80.0, 9.46352946)
    """
    multiplier, offset, divisor = FACTORS[unit]
    return (value * multiplier + offset) / divisor


def from_base(base_value: float, unit: str) -> float:
    """A base value in another unit of its dimension; the inverse of `to_base`.

    >>> from_base(80.0, "[degF]")
    176.0
    """
    multiplier, offset, divisor = FACTORS[unit]
    return (base_value * divisor - offset) / multiplier


class Quantity(Struct, frozen=True, forbid_unknown_fields=True):
    """A number with its unit; every dimension is a class of its own.

    Raises: OutOfRange when the value is not finite, not a number or outside the dimension's range,
    or when the unit is not one of the dimension.
    """

    value: float
    unit: str

    low: ClassVar[float]
    """Smallest accepted value [base unit]."""
    high: ClassVar[float]
    """Largest accepted value [base unit]."""

    def __post_init__(self) -> None:
        value = self.value
        if self.unit not in units_of(type(self)):
            raise ValueError(f"unit {self.unit!r}, allowed is {', '.join(units_of(type(self)))}")
        if isinstance(value, bool) or not isinstance(value, float | int):
            raise TypeError(f"value {value!r} is not a number")
        # a huge int compares with a float but does not divide into one
        if not (abs(value) < LARGEST and self.low <= to_base(value, self.unit) <= self.high):
            raise OutOfRange(name="value", value=value, allowed=self._range_text())
        force_setattr(self, "value", float(value) + 0.0)  # -0.0 becomes 0

    def _range_text(self) -> str:
        low, high = (from_base(edge, self.unit) for edge in (self.low, self.high))
        return f"{low:g} to {high:g} {TEMPERATURE_SIGNS.get(self.unit, self.unit)}"

    @classmethod
    def base_unit(cls) -> str:
        """The unit that base values are in.

        >>> from libexchange.quantities import Volume
        >>> Volume.base_unit()
        'L'
        """
        return BASE_UNITS[units_of(cls)[0]]

    @property
    def base(self) -> float:
        """The value in the base unit.

        >>> from libexchange.quantities import Volume
        >>> Volume(500, "mL").base
        0.5
        """
        return to_base(self.value, self.unit)

    def to(self, unit: str) -> Self:
        """The same quantity in another unit of its dimension.

        >>> from libexchange.quantities import Temperature
        >>> Temperature(80, "Cel").to("[degF]")
        Temperature(value=176.0, unit='[degF]')
        """
        return type(self)(from_base(self.base, unit), unit)


_UNITS: dict[type, tuple[str, ...]] = {}


def units_of(kind: type[Quantity]) -> tuple[str, ...]:
    """The unit codes a dimension accepts, the base unit first.

    >>> from libexchange.quantities import Temperature
    >>> units_of(Temperature)
    ('Cel', '[degF]')
    """
    if kind not in _UNITS:
        _UNITS[kind] = get_args(get_type_hints(kind)["unit"])
    return _UNITS[kind]
