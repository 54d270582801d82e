"""Quantities that a fluid sample is judged by; `quantities` offers them with the others."""

from typing import Literal

from libexchange._quantity import Quantity

__all__ = ["AcidNumber", "Content", "ParticleCount"]


class Content(Quantity, frozen=True, forbid_unknown_fields=True):
    """A content by mass in a fluid, 0 to 1,000,000 [ppm].

    >>> Content(0.2, "%").ppm
    2000.0
    """

    low, high = 0.0, 1e6
    unit: Literal["[ppm]", "%"]

    @property
    def ppm(self) -> float:
        """Content [ppm]."""
        return self.base


class AcidNumber(Quantity, frozen=True, forbid_unknown_fields=True):
    """An acid number in mg of KOH per g of fluid, 0 to 1,000 mg/g.

    >>> AcidNumber(1.2, "mg/g").mg_per_g
    1.2
    """

    low, high = 0.0, 1000.0
    unit: Literal["mg/g"]

    @property
    def mg_per_g(self) -> float:
        """Acid number [mg KOH/g]."""
        return self.base


class ParticleCount(Quantity, frozen=True, forbid_unknown_fields=True):
    """Particles of a size and larger in a millilitre, 0 to 1,000,000,000 /mL.

    >>> ParticleCount(1305, "/mL").per_ml
    1305.0
    """

    low, high = 0.0, 1e9
    unit: Literal["/mL"]

    @property
    def per_ml(self) -> float:
        """Particle count [1/mL]."""
        return self.base
