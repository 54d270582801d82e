"""Quantities with units: one frozen record per dimension, `{"value": 9.2, "unit": "L"}`.

Units are UCUM codes, case-sensitive and closed per dimension. Equality means "as typed"; compare
by the base value (`.l`, `.c`, `.mm2_s`). A quantity that exists is finite and within its range,
whether it came from JSON or from Python.
"""

from typing import Annotated, Literal

from msgspec import Meta

from libexchange._quantity import Quantity, from_base, to_base, units_of
from libexchange.sample_quantities import AcidNumber, Content, ParticleCount

__all__ = [
    "AcidNumber", "Angle", "Content", "Density", "Distance", "DoseRate", "Duration", "Flow",
    "KinematicViscosity", "Length", "Mass", "ParticleCount", "Pressure", "Quantity", "Share",
    "Temperature", "TemperatureDifference", "TemperatureRate", "Torque", "Volume", "VolumeChange",
    "from_base", "to_base", "units_of",
]  # fmt: skip

VolumeUnit = Literal["L", "mL", "[qt_us]", "[pt_us]", "[gal_us]", "[foz_us]", "[qt_br]", "[gal_br]"]


class Volume(Quantity, frozen=True, forbid_unknown_fields=True):
    """An amount of fluid, 0 to 100,000 L.

    >>> Volume(1, "[gal_us]").l
    3.785411784
    """

    low, high = 0.0, 1e5
    unit: VolumeUnit

    @property
    def l(self) -> float:  # noqa: E743 -- the litre's own symbol
        """Volume [L]."""
        return self.base


class VolumeChange(Quantity, frozen=True, forbid_unknown_fields=True):
    """A signed correction: positive adds fluid, negative takes it out; -1,000 to 1,000 L.

    >>> VolumeChange(-0.25, "L").l
    -0.25
    """

    low, high = -1000.0, 1000.0
    unit: VolumeUnit

    @property
    def l(self) -> float:  # noqa: E743 -- the litre's own symbol
        """Change of volume [L]."""
        return self.base


class Temperature(Quantity, frozen=True, forbid_unknown_fields=True):
    """A temperature, -90 to 400 Cel.

    >>> Temperature(104, "[degF]").c
    40.0
    """

    low, high = -90.0, 400.0
    unit: Literal["Cel", "[degF]"]

    @property
    def c(self) -> float:
        """Temperature [degC]."""
        return self.base


class TemperatureDifference(Quantity, frozen=True, forbid_unknown_fields=True):
    """A difference of temperatures, which has no zero point; -500 to 500 K.

    >>> TemperatureDifference(18, "[degR]").k
    10.0
    """

    low, high = -500.0, 500.0
    unit: Literal["K", "[degR]"]

    @property
    def k(self) -> float:
        """Difference [K]."""
        return self.base


class TemperatureRate(Quantity, frozen=True, forbid_unknown_fields=True):
    """How fast a temperature changes, -100 to 100 K/min.

    >>> TemperatureRate(3.6, "[degR]/min").k_per_min
    2.0
    """

    low, high = -100.0, 100.0
    unit: Literal["K/min", "[degR]/min"]

    @property
    def k_per_min(self) -> float:
        """Rate [K/min]."""
        return self.base


class Distance(Quantity, frozen=True, forbid_unknown_fields=True):
    """A driven distance, 0 to 10,000,000 km.

    >>> Distance(60000, "[mi_i]").km
    96560.64
    """

    low, high = 0.0, 1e7
    unit: Literal["km", "[mi_i]"]

    @property
    def km(self) -> float:
        """Distance [km]."""
        return self.base


class Length(Quantity, frozen=True, forbid_unknown_fields=True):
    """A length on a part or a stick, 0 to 100,000 mm.

    >>> Length(1, "[in_i]").mm
    25.4
    """

    low, high = 0.0, 1e5
    unit: Literal["mm", "cm", "[in_i]"]

    @property
    def mm(self) -> float:
        """Length [mm]."""
        return self.base


class Angle(Quantity, frozen=True, forbid_unknown_fields=True):
    """A slope, -90 to 90 deg.

    >>> Angle(0.5, "deg").deg
    0.5
    """

    low, high = -90.0, 90.0
    unit: Literal["deg"]

    @property
    def deg(self) -> float:
        """Angle [deg]."""
        return self.base


class Duration(Quantity, frozen=True, forbid_unknown_fields=True):
    """A span of time, 0 to 3,600,000 s.

    >>> Duration(1.5, "min").s
    90.0
    """

    low, high = 0.0, 3.6e6
    unit: Literal["s", "min", "h"]

    @property
    def s(self) -> float:
        """Duration [s]."""
        return self.base


class Mass(Quantity, frozen=True, forbid_unknown_fields=True):
    """A mass, 0 to 100,000 kg.

    >>> Mass(850, "g").kg
    0.85
    """

    low, high = 0.0, 1e5
    unit: Literal["kg", "g", "[lb_av]"]

    @property
    def kg(self) -> float:
        """Mass [kg]."""
        return self.base


class Pressure(Quantity, frozen=True, forbid_unknown_fields=True):
    """A gauge pressure, -1 to 1,000 bar.

    >>> round(Pressure(30, "[psi]").bar, 11)
    2.06842718795
    """

    low, high = -1.0, 1000.0
    unit: Literal["bar", "kPa", "[psi]"]

    @property
    def bar(self) -> float:
        """Pressure [bar]."""
        return self.base


class Torque(Quantity, frozen=True, forbid_unknown_fields=True):
    """A tightening torque, 0 to 2,000 N.m.

    >>> round(Torque(88, "[lbf_av].[in_i]").n_m, 2)
    9.94
    """

    low, high = 0.0, 2000.0
    unit: Literal["N.m", "[lbf_av].[ft_i]", "[lbf_av].[in_i]"]

    @property
    def n_m(self) -> float:
        """Torque [N.m]."""
        return self.base


class Flow(Quantity, frozen=True, forbid_unknown_fields=True):
    """A volume flow, 0 to 1,000 L/min; no flow is 0, backwards is another finding.

    >>> Flow(1, "[gal_us]/min").l_per_min
    3.785411784
    """

    low, high = 0.0, 1000.0
    unit: Literal["L/min", "[gal_us]/min"]

    @property
    def l_per_min(self) -> float:
        """Flow [L/min]."""
        return self.base


class Density(Quantity, frozen=True, forbid_unknown_fields=True):
    """A density, 500 to 2,000 kg/m3.

    >>> Density(0.85, "g/cm3").kg_m3
    850.0
    """

    low, high = 500.0, 2000.0
    unit: Literal["kg/m3", "g/cm3"]

    @property
    def kg_m3(self) -> float:
        """Density [kg/m3]."""
        return self.base


class KinematicViscosity(Quantity, frozen=True, forbid_unknown_fields=True):
    """A kinematic viscosity, 0.2 to 1,000,000 mm2/s.

    >>> KinematicViscosity(7.4, "cSt").mm2_s
    7.4
    """

    low, high = 0.2, 1e6
    unit: Literal["mm2/s", "cSt"]

    @property
    def mm2_s(self) -> float:
        """Kinematic viscosity [mm2/s]."""
        return self.base


class DoseRate(Quantity, frozen=True, forbid_unknown_fields=True):
    """How much of an additive goes to a litre of fluid, 0 to 1,000 mL/L.

    >>> DoseRate(35, "mL/L").ml_per_l
    35.0
    """

    low, high = 0.0, 1000.0
    unit: Literal["mL/L"]

    @property
    def ml_per_l(self) -> float:
        """Dose rate [mL/L]."""
        return self.base


Share = Annotated[float, Meta(ge=0, le=1, description="A share from 0 to 1.")]
"""A share of a whole, a plain JSON number from 0 to 1."""
