"""A line exchange while it runs: the running balance with its limits, and whether to go on."""

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from libexchange.job.fluids import Move, line_litres
from libexchange.job.share import ReachedShare, exchanged_l, on_curve
from libexchange.plan.card_records import OfflineCard
from libexchange.plan.records import Plan
from libexchange.quantities import Volume, VolumeChange

STOP_GAIN = 0.18
"""An exchange ends where the next litre would renew less than this over the total litres [-].

2 %-points a litre where the unit holds 9 L (common practice).
"""

ALMOST_L = 0.05
"""So little of the planned litres counts as through [L]."""

DIGITS = 6

Further = Literal["as_planned", "worth_it", "not_worth_it", "cannot_tell"]
"""Whether further litres are worth it: the planned ones are, then the stop rule says."""

WORDS: dict[Further, str] = {
    "as_planned": "Go on: the planned litres are not through yet.",
    "worth_it": "The planned litres are through; a further litre would still renew enough.",
    "not_worth_it": "The planned litres are through; further ones renew next to nothing.",
    "cannot_tell": "What a further litre renews cannot be told from what was recorded.",
}


class LineNow(Struct, frozen=True, kw_only=True):
    """Litres at 15 degC through the lines so far, the limits of their difference, and what is left.

    `marginal_gain_per_litre` is the share that the next litre renews, calculated, not measured; a
    further one is worth it from 0.18 over the total litres on.

    in_15: fed    out_15: returned    difference: in less out    verdict: by the limits
    warn_from, stop_from: of the difference    planned: litres of the plan    left: of these
    further: whether more is worth it    text: the same in words
    """

    in_15: Volume
    out_15: Volume
    difference: VolumeChange | None
    verdict: Literal["ok", "warn", "stop"]
    warn_from: Volume
    stop_from: Volume
    planned: Volume
    left: Volume
    marginal_gain_per_litre: float | None
    further: Further
    text: str


def line_now(plan: Plan, moves: Sequence[Move], share: ReachedShare | None) -> LineNow | None:
    """The line exchange as it stands; null where the plan has none.

    share: reached so far; null where it cannot be told    Source: common practice.
    """
    card = plan.offline_card
    if card is None or card.exchange is None:
        return None
    so_far, through_l = line_litres(card, moves), exchanged_l(moves)
    gain = _gain_per_l(plan, card, through_l, share)
    further = _further(card, card.exchange.l - through_l, gain)
    return LineNow(
        in_15=so_far.in_15 if so_far else Volume(0.0, "L"),
        out_15=so_far.out_15 if so_far else Volume(0.0, "L"),
        difference=so_far.difference if so_far else VolumeChange(0.0, "L"),
        verdict=so_far.verdict if so_far else "ok",
        warn_from=card.balance_warning,
        stop_from=card.balance_stop,
        planned=card.exchange,
        left=Volume(round(max(card.exchange.l - through_l, 0.0), 2), "L"),
        marginal_gain_per_litre=gain,
        further=further,
        text=WORDS[further],
    )


def _gain_per_l(
    plan: Plan, card: OfflineCard, through_l: float, share: ReachedShare | None
) -> float | None:
    """(1 - outflow share) / total, on the plan's curve; None where the curve does not hold."""
    untold = share is None and through_l > 0
    if plan.forecast is None or not plan.forecast.curve or untold:
        return None
    outflow = on_curve(
        [(point.exchanged.l, point.outflow_fresh_share) for point in plan.forecast.curve],
        through_l,
    )
    return round((1 - outflow) / card.total.l, DIGITS)


def _further(card: OfflineCard, left_l: float, gain: float | None) -> Further:
    if left_l > ALMOST_L:
        return "as_planned"
    if gain is None:
        return "cannot_tell"
    return "worth_it" if gain >= round(STOP_GAIN / card.total.l, DIGITS) else "not_worth_it"
