"""Typical values per family, used only where a profile does not give its own.

Splits, run-back and exchange coefficients are from memory at training-textbook level; times are
common practice. Each is replaced by maker or measured data as soon as a profile has them.
"""

from msgspec import Struct

from libexchange.catalogue import CompartmentShares, ExchangeCoefficients, Family


class FamilyPriors(Struct, frozen=True, kw_only=True):
    """What is typical of a family.

    shares: of the total fill [-]    sump_drained: of the sump by the drain plug [-]
    sump_with_pan: of the sump with the pan off [-]    run-backs: of converter and pockets [-]
    thumb_surplus_l: litres above the total in the trade's rule of thumb [L]
    """

    shares: CompartmentShares
    sump_drained: float = 0.88
    sump_with_pan: float = 0.96
    converter_run_back: float = 0.05
    pockets_run_back: float = 0.15
    coefficients: ExchangeCoefficients = ExchangeCoefficients(
        pocket_exchange=0.12, internal_return=1.0, short_cut=0.05
    )
    thumb_surplus_l: float = 3.5
    hands_on_drain_h: float = 0.9
    hands_on_pan_h: float = 1.6
    hands_on_line_h: float = 1.0
    hands_on_pan_and_line_h: float = 2.4


def _shares(sump: float, converter: float, line: float, pockets: float) -> CompartmentShares:
    stranded = round(1 - sump - converter - line - pockets, 6)
    return CompartmentShares(
        sump=sump, converter=converter, line=line, pockets=pockets, stranded=stranded
    )


_DUAL_CLUTCH_COEFFICIENTS = ExchangeCoefficients(
    pocket_exchange=0.15, internal_return=1.0, short_cut=0.05
)
_CVT_COEFFICIENTS = ExchangeCoefficients(pocket_exchange=0.1, internal_return=1.0, short_cut=0.05)

PRIORS: dict[Family, FamilyPriors] = {
    "converter_automatic": FamilyPriors(shares=_shares(0.48, 0.30, 0.07, 0.12)),
    "converter_automatic_light_truck": FamilyPriors(shares=_shares(0.47, 0.32, 0.08, 0.11)),
    "converter_automatic_many_speeds": FamilyPriors(shares=_shares(0.50, 0.22, 0.07, 0.18)),
    "wet_dual_clutch": FamilyPriors(
        shares=_shares(0.75, 0.0, 0.05, 0.16),
        converter_run_back=0.0,
        pockets_run_back=0.25,
        coefficients=_DUAL_CLUTCH_COEFFICIENTS,
        thumb_surplus_l=2.5,
        hands_on_drain_h=0.8,
        hands_on_pan_h=1.3,
    ),
    "cvt_with_converter": FamilyPriors(
        shares=_shares(0.57, 0.20, 0.07, 0.12),
        pockets_run_back=0.10,
        coefficients=_CVT_COEFFICIENTS,
        thumb_surplus_l=2.5,
        hands_on_drain_h=1.0,
        hands_on_pan_h=1.8,
    ),
    "cvt_with_start_clutch": FamilyPriors(
        shares=_shares(0.72, 0.0, 0.05, 0.19),
        converter_run_back=0.0,
        pockets_run_back=0.10,
        coefficients=_CVT_COEFFICIENTS,
        thumb_surplus_l=2.5,
        hands_on_drain_h=1.0,
        hands_on_pan_h=1.8,
    ),
    "heavy_duty_automatic": FamilyPriors(
        shares=_shares(0.52, 0.23, 0.14, 0.08), pockets_run_back=0.20, hands_on_drain_h=2.0,
        hands_on_pan_h=3.0, hands_on_line_h=2.0, hands_on_pan_and_line_h=4.0,
    ),
    "power_split_hybrid": FamilyPriors(
        shares=_shares(0.90, 0.0, 0.0, 0.08), converter_run_back=0.0, thumb_surplus_l=2.5
    ),
}  # fmt: skip
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
