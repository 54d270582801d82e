"""Typical values per family, used only where a profile does not give its own.

Splits, run-back and exchange coefficients are the typical values of `spreads`, which says how
uncertain each is and where it comes from; times are common practice. Each is replaced by maker or
measured data as soon as a profile has them.
"""

from msgspec import Struct

from libexchange.catalogue import CompartmentShares, ExchangeCoefficients, Family
from libexchange.plan.spreads import SPREADS, FamilySpreads


class FamilyPriors(Struct, frozen=True, kw_only=True):
    """What is typical of a family, or what is assumed of it.

    shares: of the total fill [-]    sump_drained: of the sump by the drain plug [-]
    sump_with_pan: of the sump with the pan off [-]    run-backs: of converter and pockets [-]
    thumb_surplus_l: litres above the total in the trade's rule of thumb [L]
    """

    shares: CompartmentShares
    sump_drained: float
    sump_with_pan: float
    converter_run_back: float
    pockets_run_back: float
    coefficients: ExchangeCoefficients
    thumb_surplus_l: float = 3.5
    hands_on_drain_h: float = 0.9
    hands_on_pan_h: float = 1.6
    hands_on_line_h: float = 1.0
    hands_on_pan_and_line_h: float = 2.4


def _priors(spreads: FamilySpreads, **habits: float) -> FamilyPriors:
    """The typical values of the spreads, and the family's own times and surplus."""
    typical = {name: getattr(spreads, name).typical for name in spreads.__struct_fields__}
    shares = {name: typical.pop(name) for name in CompartmentShares.__struct_fields__}
    coefficients = {name: typical.pop(name) for name in ExchangeCoefficients.__struct_fields__}
    return FamilyPriors(
        shares=CompartmentShares(**shares),
        coefficients=ExchangeCoefficients(**coefficients),
        **typical,
        **habits,
    )


_HABITS: dict[Family, dict[str, float]] = {
    "wet_dual_clutch": {"thumb_surplus_l": 2.5, "hands_on_drain_h": 0.8, "hands_on_pan_h": 1.3},
    "cvt_with_converter": {"thumb_surplus_l": 2.5, "hands_on_drain_h": 1.0, "hands_on_pan_h": 1.8},
    "cvt_with_start_clutch": {
        "thumb_surplus_l": 2.5, "hands_on_drain_h": 1.0, "hands_on_pan_h": 1.8,
    },
    "heavy_duty_automatic": {
        "hands_on_drain_h": 2.0, "hands_on_pan_h": 3.0, "hands_on_line_h": 2.0,
        "hands_on_pan_and_line_h": 4.0,
    },
    "power_split_hybrid": {"thumb_surplus_l": 2.5},
}  # fmt: skip

PRIORS: dict[Family, FamilyPriors] = {
    family: _priors(spreads, **_HABITS.get(family, {})) for family, spreads in SPREADS.items()
}
"""The typical values of every family."""

CONVERTER_FAMILIES: frozenset[Family] = frozenset(
    family for family, priors in PRIORS.items() if priors.shares.converter > 0
)
"""Families that usually have a converter; a profile may say otherwise."""

TYPICAL_DENSITY_15_KG_M3 = 850.0
"""Density of transmission fluid at 15 degC where the fluid's own is unknown (common practice)."""

TARGET_SHARE = {"routine": 0.80, "heavy_use": 0.88, "wrong_fluid": 0.95}
"""Fresh share aimed at by reason (common practice); the other reasons aim at none."""

SEALED_SYSTEM_LIMIT_L = 12.0
"""Largest total the rule of thumb for line exchange is used on [L] (common practice)."""
