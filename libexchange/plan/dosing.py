"""Additives that a plan was asked for: how much, when, and what of it stays on a route.

A cleaner goes in before anything is opened and leaves with pan and exchange; a conditioner goes
into the last litres of an exchange, or in at level setting.
"""

from functools import lru_cache
from math import ceil
from typing import NamedTuple

from libexchange.catalogue import Additive
from libexchange.contact import NEEDED_S, OPERATING_C
from libexchange.dose import (
    CAP_SHARE,
    LARGEST_DOSE_L,
    SHARE_LEFT_LIMIT,
    Drain,
    WholePacks,
    dosed,
    draw_off_l,
    exchanged_l_for_share_left,
    share_kept,
    share_left,
    spread_limit_l,
    wanted_l,
    whole_packs,
)
from libexchange.dose_rules import Placed
from libexchange.plan.card_records import PlannedDose
from libexchange.plan.routes import LINE_ROUTES, PAN_ROUTES, Aim, Outcome, pan_and_filter
from libexchange.plan.unit import Unit
from libexchange.quantities import Duration, Temperature, Volume

TOTALS_L = (0.5, 200.0)
"""Total fills that doses are computed for [L]."""


class Amount(NamedTuple):
    """A dose as stated and as packs make it [L]; packs are null where it is sold loose."""

    stated_l: float
    dose_l: float
    packs: int | None
    pack_l: float | None


class Rest(NamedTuple):
    """What of a cleaner is left on a route, and the litres of exchange that would be enough."""

    share_left: float
    needed_l: float | None


def amount_of(additive: Additive, unit: Unit, outcome: Outcome) -> Amount | None:
    """The dose for a route; None where its maker states none for this fill.

    Source: common practice.

    >>> from libexchange.invented import cleaner, six_speed
    >>> from libexchange.plan.unit import unit_of
    >>> unit = unit_of(six_speed(), None)
    >>> amount_of(cleaner(), unit, pan_and_filter(unit, Aim(target_share=None, exchanged_l=None)))
    Amount(stated_l=0.315, dose_l=0.325, packs=1, pack_l=0.325)
    """
    total_l = unit.circuit.total_l
    if not TOTALS_L[0] <= total_l <= TOTALS_L[1]:
        return None
    refill_l = outcome.refilled_l if additive.kind == "cleaner" else outcome.litres
    treat = additive.treat
    stated_l = wanted_l(treat=treat, total_l=total_l, refill_l=min(refill_l, total_l))
    if stated_l is None or stated_l > LARGEST_DOSE_L:
        return None
    pack = additive.pack or (treat.pack if isinstance(treat, WholePacks) else None)
    if pack is None:
        return Amount(stated_l, stated_l, None, None)
    cap_l = (additive.largest_share or CAP_SHARE) * total_l
    rule = additive.pack_rule
    packs = whole_packs(wanted_l=stated_l, pack_l=pack.l, rule=rule, cap_l=cap_l)
    return Amount(stated_l, packs * pack.l, packs, pack.l)


@lru_cache(maxsize=256)
def cleaner_rest(unit: Unit, outcome: Outcome, dose_l: float) -> Rest | None:
    """What of a cleaner is left; None without the pan off, or where the dose does not fit.

    Source: compartment model of `circuit`.
    """
    if outcome.route not in PAN_ROUTES or not 0 < dose_l <= unit.circuit.sump_l:
        return None
    state, drain = dosed(circuit=unit.circuit, dosed_l=dose_l), _pan_off(unit)
    left = share_left(
        circuit=unit.circuit, state=state, exchanged_l=outcome.exchanged_l, drain=drain
    )
    needed_l = exchanged_l_for_share_left(
        circuit=unit.circuit, state=state, limit=SHARE_LEFT_LIMIT, drain=drain
    )
    return Rest(left, needed_l)


@lru_cache(maxsize=256)
def least_exchanged_l(cleaner: Additive | None, unit: Unit) -> float:
    """Litres through the lines, after the pan was off, until 0.5 % of a cleaner are left.

    Rounded up to a tenth, as plans show litres. 0 without a cleaner, and where none suffice.
    """
    if cleaner is None:
        return 0.0
    opened = pan_and_filter(unit, Aim(target_share=None, exchanged_l=None))
    amount = amount_of(cleaner, unit, opened)
    rest = cleaner_rest(unit, opened, amount.dose_l) if amount else None
    if rest is None or rest.needed_l is None:
        return 0.0
    return ceil(rest.needed_l * 10 - 1e-6) / 10


def spread_l(unit: Unit, outcome: Outcome) -> float:
    """The last litres of a line exchange that may carry a conditioner; 0 without one [L]."""
    if outcome.route not in LINE_ROUTES:
        return 0.0
    return min(spread_limit_l(sump_l=unit.circuit.sump_l), outcome.exchanged_l)


def placed_at(additive: Additive, unit: Unit, outcome: Outcome, dose_l: float) -> Placed:
    """When it goes in; a conditioner that the last litres cannot carry waits for the level."""
    if additive.kind == "cleaner":
        return "before_exchange"
    return "last_litres" if dose_l <= spread_l(unit, outcome) else "level_setting"


def doses_of(
    unit: Unit, outcome: Outcome, additives: tuple[Additive | None, ...]
) -> tuple[PlannedDose, ...]:
    """The doses of a route, of the additives for which one can be told."""
    planned = (planned_dose(one, unit, outcome) for one in additives if one is not None)
    return tuple(one for one in planned if one is not None)


def planned_dose(additive: Additive, unit: Unit, outcome: Outcome) -> PlannedDose | None:
    """The dose of an additive on a route; None where it cannot be told."""
    amount = amount_of(additive, unit, outcome)
    if amount is None or not 0 < amount.dose_l <= unit.circuit.sump_l:
        return None
    kept = _kept(additive, unit, outcome, amount.dose_l)
    rest = cleaner_rest(unit, outcome, amount.dose_l)
    share_of_total = amount.dose_l / unit.circuit.total_l
    left = kept * share_of_total if kept is not None else rest.share_left if rest else None
    if left is None:
        return None  # a cleaner without the pan off is refused
    cleaner = additive.kind == "cleaner"
    placed = placed_at(additive, unit, outcome, amount.dose_l)
    off_l = draw_off_l(dose_l=amount.dose_l) if placed != "last_litres" else 0.0
    return PlannedDose(
        additive_id=additive.additive_id,
        name=additive.name,
        kind=additive.kind,
        placed=placed,
        dose=_shown_l(amount.dose_l),
        packs=amount.packs,
        pack=_shown_l(amount.pack_l) if amount.pack_l else None,
        share_of_total=round(share_of_total, 6),
        draw_off=_shown_l(off_l),
        share_left=round(left, 6),
        share_kept=round(kept, 6) if kept is not None else None,
        contact=contact_of(additive) if cleaner else None,
        contact_above=contact_above(additive) if cleaner else None,
    )


def contact_of(cleaner: Additive) -> Duration:
    """How long a cleaner acts: its maker's time, else 12 min (common practice)."""
    return cleaner.contact or Duration(NEEDED_S / 60, "min")


def contact_above(cleaner: Additive) -> Temperature:
    """From which fluid temperature its time counts: its maker's, else 60 degC."""
    return cleaner.contact_above or Temperature(OPERATING_C, "Cel")


def _kept(additive: Additive, unit: Unit, outcome: Outcome, dose_l: float) -> float | None:
    """Part of a conditioner's dose that stays; None of a cleaner."""
    if additive.kind == "cleaner":
        return None
    if placed_at(additive, unit, outcome, dose_l) == "level_setting":
        return 1.0
    return share_kept(circuit=unit.circuit, dosed_l=dose_l, spread_l=spread_l(unit, outcome))


def _pan_off(unit: Unit) -> Drain:
    opening = unit.with_pan
    return Drain(opening.sump_l, opening.converter_run_back, opening.pockets_run_back)


def _shown_l(litres: float) -> Volume:
    """To a millilitre."""
    return Volume(round(litres, 3), "L")
