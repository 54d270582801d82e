"""How much of an additive a unit gets, and what of it stays.

A rate gives the wanted dose, a pack rule makes whole packs of it, and caps judge the result. What
stays is told by the circuit: a dosed substance obeys the same flows as fresh fluid does.
"""

from math import ceil, floor
from typing import Annotated, Literal, NamedTuple

from msgspec import Meta, Struct

from libexchange.circuit import (
    Circuit,
    CircuitState,
    all_old,
    drain_and_refill,
    exchange,
    exchange_curve,
    fresh_share,
    idle,
)
from libexchange.errors import OutOfRange, check_range
from libexchange.quantities import DoseRate, Volume

CAP_SHARE, HARD_CAP_SHARE = 0.05, 0.06
LEAST_OF_WANTED = 0.7
USUAL_LEAST_SHARE = 0.01
"""A stated dose below this share of the total is unusual: 20 to 60 mL/L are usual (memory)."""

SHARE_LEFT_LIMIT, SHARE_LEFT_WARNING = 0.005, 0.01
SPREAD_L, SPREAD_OF_SUMP = 2.0, 0.4
MIXING_FILLS = 4.0
"""Total fills that pass the line while a cleaner acts: 12 min at idle flow (common practice)."""

LARGEST_DOSE_L = 1000.0

SAME = 1e-9
"""Amounts closer than this part are the same: a third pack is not opened for a rounding error."""

PackRule = Literal["ceil", "nearest"]
"""`ceil` opens a pack more, `nearest` the nearest whole number that the cap allows."""


class PerTotal(Struct, tag="per_total", tag_field="style", frozen=True, forbid_unknown_fields=True):
    """So much per litre of everything in the unit.

    rate: of the additive in the total fill
    """

    rate: DoseRate


class PerRefill(
    Struct, tag="per_refill", tag_field="style", frozen=True, forbid_unknown_fields=True
):
    """So much per litre that goes back in.

    rate: of the additive in the refill
    """

    rate: DoseRate


class Percent(Struct, tag="percent", tag_field="style", frozen=True, forbid_unknown_fields=True):
    """So many percent by volume of everything in the unit."""

    percent: Annotated[float, Meta(gt=0, le=100, description="by volume of the total fill")]


class FillRange(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One dose for every total fill within a range, both ends included.

    low, high: of the total fill    dose: for any fill between them
    """

    low: Volume
    high: Volume
    dose: Volume


class FixedByFill(
    Struct, tag="fixed_by_fill", tag_field="style", frozen=True, forbid_unknown_fields=True
):
    """A fixed dose by range of total fill, as "one dose for 6 to 9 L"; the first that fits.

    ranges: looked through in the order given
    """

    ranges: Annotated[tuple[FillRange, ...], Meta(min_length=1, max_length=20)]


class WholePacks(
    Struct, tag="whole_packs", tag_field="style", frozen=True, forbid_unknown_fields=True
):
    """Packs that each treat so much of the total fill, as "one pack for up to 6 L".

    pack: content of one    treats: the total fill that one pack is for
    """

    pack: Volume
    treats: Volume


TreatRate = PerTotal | PerRefill | Percent | FixedByFill | WholePacks
"""How the maker of an additive states its dose."""


def wanted_l(*, treat: TreatRate, total_l: float, refill_l: float | None = None) -> float | None:
    """The dose as the maker of the additive states it, before packs are counted.

    total_l: 0.5 to 500, everything in the unit [L]
    refill_l: 0 to total_l, what goes back in; only `PerRefill` needs it [L]
    Returns: dose [L]; None where no range fits, or the refill is not known
    Raises: OutOfRange    Source: common practice.

    >>> wanted_l(treat=PerTotal(DoseRate(35, "mL/L")), total_l=9)
    0.315
    >>> wanted_l(treat=Percent(3.5), total_l=9)
    0.315
    """
    check_range(name="total_l", value=total_l, low=0.5, high=500, unit="L")
    match treat:
        case PerTotal(rate):
            return rate.ml_per_l * total_l / 1000
        case PerRefill(rate):
            return None if refill_l is None else rate.ml_per_l * _refill(refill_l, total_l) / 1000
        case Percent(percent):
            return percent * total_l / 100
        case FixedByFill(ranges):
            fits = (one.dose.l for one in ranges if one.low.l <= total_l <= one.high.l)
            return next(fits, None)
    check_range(name="treats_l", value=treat.treats.l, low=0.05, high=1000, unit="L")
    return treat.pack.l * total_l / treat.treats.l


def whole_packs(*, wanted_l: float, pack_l: float, rule: PackRule, cap_l: float) -> int:
    """Number of packs for a dose.

    `ceil` ignores the cap, which then judges the dose; `nearest` keeps to it and takes at least one
    pack where the cap allows one. Where nothing is wanted no pack is opened.

    wanted_l, cap_l: 0 to 1,000 [L]    pack_l: 0.001 to 100 [L]
    Returns: packs [-]    Raises: OutOfRange    Source: common practice.

    >>> [whole_packs(wanted_l=0.315, pack_l=0.25, rule=rule, cap_l=0.45)
    ...  for rule in ("ceil", "nearest")]
    [2, 1]
    """
    check_range(name="wanted_l", value=wanted_l, low=0, high=LARGEST_DOSE_L, unit="L")
    check_range(name="pack_l", value=pack_l, low=0.001, high=100, unit="L")
    check_range(name="cap_l", value=cap_l, low=0, high=LARGEST_DOSE_L, unit="L")
    packs = wanted_l / pack_l
    if rule == "ceil":
        return ceil(packs * (1 - SAME))
    least = 1 if wanted_l > 0 else 0
    return min(max(floor(packs * (1 + SAME) + 0.5), least), floor(cap_l / pack_l * (1 + SAME)))


def draw_off_l(*, dose_l: float, missing_l: float = 0.0) -> float:
    """What has to be drawn off first, since a dose raises the level by its own volume.

    dose_l: 0 to 1,000 [L]    missing_l: 0 to 1,000, how much the level is known to be low [L]
    Returns: volume [L]    Raises: OutOfRange    Source: fluid balance.

    >>> draw_off_l(dose_l=0.3), draw_off_l(dose_l=0.3, missing_l=0.5)
    (0.3, 0.0)
    """
    check_range(name="dose_l", value=dose_l, low=0, high=LARGEST_DOSE_L, unit="L")
    check_range(name="missing_l", value=missing_l, low=0, high=LARGEST_DOSE_L, unit="L")
    return max(dose_l - missing_l, 0.0)


class Drain(NamedTuple):
    """A drain and refill after the cleaner: litres from the sump, and run-back as shares."""

    drained_l: float
    converter_run_back: float = 0.0
    pockets_run_back: float = 0.0


def dosed(*, circuit: Circuit, dosed_l: float, circulated_l: float | None = None) -> CircuitState:
    """Share of a substance in each cell after it was put into the sump and mixed by idling.

    As much is drawn off the sump first.

    dosed_l: 0 to sump_l [L]    circulated_l: through the line, 4 total fills unless given [L]
    Returns: state of the substance    Raises: OutOfRange    Source: compartment model of `circuit`.

    >>> unit = Circuit(sump_l=6, converter_l=3)
    >>> round(dosed(circuit=unit, dosed_l=0.3, circulated_l=100).sump, 6)
    0.033333
    """
    check_range(name="dosed_l", value=dosed_l, low=0, high=circuit.sump_l, unit="L")
    # the sump drained and refilled with the substance alone: that is what a dose does to its share
    pure = drain_and_refill(circuit=circuit, state=all_old(circuit), drained_l=dosed_l)
    if circulated_l is None:
        limit_l = exchange_curve(circuit=circuit, state=pure).limit_l
        circulated_l = min(MIXING_FILLS * circuit.total_l, limit_l)
    return idle(circuit=circuit, state=pure, circulated_l=circulated_l)


def share_left(
    *, circuit: Circuit, state: CircuitState, exchanged_l: float, drain: Drain | None = None
) -> float:
    """Share of the whole that is still the dosed substance after an exchange without it.

    state: share of the substance per cell, from `dosed`    drain: before the exchange
    exchanged_l: 0 to the limit of the circuit [L]
    Returns: share [-]    Raises: OutOfRange    Source: compartment model of `circuit`.

    >>> unit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> state = dosed(circuit=unit, dosed_l=0.3)
    >>> round(share_left(circuit=unit, state=state, exchanged_l=9), 5)
    0.00815
    """
    rest = _drained(circuit, state, drain)
    rest = exchange(circuit=circuit, state=rest, exchanged_l=exchanged_l, incoming_share=0.0)
    return fresh_share(circuit=circuit, state=rest)


def exchanged_l_for_share_left(
    *, circuit: Circuit, state: CircuitState, limit: float, drain: Drain | None = None
) -> float | None:
    """Litres of exchange until no more than `limit` of the whole is the dosed substance.

    state, drain: as `share_left`    limit: 0 to 1 [-]
    Returns: exchanged [L], None where none suffice    Raises: OutOfRange
    Source: inverse of the compartment model.

    >>> unit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> state = dosed(circuit=unit, dosed_l=0.3)
    >>> round(exchanged_l_for_share_left(circuit=unit, state=state, limit=0.005), 1)
    12.1
    """
    check_range(name="limit", value=limit, low=0, high=1)
    # what is free of the substance grows like fresh fluid, since all that comes in is free of it
    free = _complement(_drained(circuit, state, drain))
    return exchange_curve(circuit=circuit, state=free).exchanged_l_for(1 - limit)


def share_kept(
    *, circuit: Circuit, dosed_l: float, spread_l: float, following_l: float = 0.0
) -> float:
    """Part of a dose that stays in the unit when it is spread over litres of an exchange.

    dosed_l: above 0 to spread_l [L]    spread_l: above 0, litres that carry the dose [L]
    following_l: exchanged after them, without any of it [L]
    Returns: part of the dose, 0 to 1 [-]    Raises: OutOfRange
    Source: compartment model of `circuit`.

    >>> unit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> [round(share_kept(circuit=unit, dosed_l=0.3, spread_l=x), 2) for x in (2, 4, 8)]
    [1.0, 0.95, 0.78]
    """
    if not 0 < dosed_l <= spread_l:
        allowed = f"above 0 to {spread_l:g} L"
        raise OutOfRange(name="dosed_l", value=dosed_l, allowed=allowed)
    state = exchange(
        circuit=circuit,
        state=all_old(circuit),
        exchanged_l=spread_l,
        incoming_share=dosed_l / spread_l,
    )
    left = share_left(circuit=circuit, state=state, exchanged_l=following_l)
    return min(1.0, left * circuit.total_l / dosed_l)


def spread_limit_l(*, sump_l: float) -> float:
    """The last litres over which a conditioner may be spread, min(2 L, 0.4 x sump).

    sump_l: 0.05 to 500 [L]    Returns: volume [L]    Raises: OutOfRange    Source: common practice.

    >>> spread_limit_l(sump_l=4.3)
    1.72
    """
    check_range(name="sump_l", value=sump_l, low=0.05, high=500, unit="L")
    return min(SPREAD_L, SPREAD_OF_SUMP * sump_l)


def _refill(refill_l: float, total_l: float) -> float:
    check_range(name="refill_l", value=refill_l, low=0, high=total_l, unit="L")
    return refill_l


def _drained(circuit: Circuit, state: CircuitState, drain: Drain | None) -> CircuitState:
    if drain is None:
        return state
    return drain_and_refill(circuit=circuit, state=state, incoming_share=0.0, **drain._asdict())


def _complement(state: CircuitState) -> CircuitState:
    return CircuitState(
        sump=1 - state.sump,
        converter=tuple(1 - share for share in state.converter),
        line=tuple(1 - share for share in state.line),
        pockets=1 - state.pockets,
        stranded=1 - state.stranded,
    )
