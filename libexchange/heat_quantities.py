"""Quantities of heat: power, heat capacity and heat transfer, in the manner of `quantities`."""

from typing import Literal

from libexchange._quantity import Quantity

__all__ = ["HeatCapacity", "HeatTransfer", "Power"]


class Power(Quantity, frozen=True, forbid_unknown_fields=True):
    """A heating power, 0 to 1,000 kW.

    >>> Power(0.5, "kW").kw
    0.5
    """

    low, high = 0.0, 1000.0
    unit: Literal["kW"]

    @property
    def kw(self) -> float:
        """Power [kW]."""
        return self.base


class HeatCapacity(Quantity, frozen=True, forbid_unknown_fields=True):
    """The heat that warms a whole unit by one degree, 0 to 100,000 kJ/K.

    >>> HeatCapacity(50, "kJ/K").kj_per_k
    50.0
    """

    low, high = 0.0, 1e5
    unit: Literal["kJ/K"]

    @property
    def kj_per_k(self) -> float:
        """Heat capacity [kJ/K]."""
        return self.base


class HeatTransfer(Quantity, frozen=True, forbid_unknown_fields=True):
    """The heat flow per degree of difference, coefficient times area; 0 to 100,000 W/K.

    >>> HeatTransfer(11.5, "W/K").w_per_k
    11.5
    """

    low, high = 0.0, 1e5
    unit: Literal["W/K"]

    @property
    def w_per_k(self) -> float:
        """Heat transfer [W/K]."""
        return self.base
