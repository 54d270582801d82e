"""The fresh share that the litres really moved have reached: calculated, never measured."""

from bisect import bisect_right
from collections.abc import Sequence

from msgspec import Struct

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.fluids import Move, settled_l, sum_l
from libexchange.plan.card_records import OfflineCard
from libexchange.plan.records import Forecast, Plan
from libexchange.quantities import Volume

SHARE_UNTOLD = Kind(
    code="fresh-share-cannot-be-told",
    severity="note",
    title="The fresh share cannot be calculated from what was recorded",
    remedy="Record the litres of refill and line exchange with their step; the plan's forecast "
    "holds only for the litres that it plans.",
    source=COMMON_PRACTICE,
)
KINDS = (SHARE_UNTOLD,)
"""Every finding code of the fresh share of a job."""

NEAR_L, NEAR_SHARE = 0.3, 0.1
"""How far a refill may be from the planned one for the plan's curve to hold [L, -]."""

BASIS = "calculated from typical values and the litres recorded, not measured on the vehicle"


class ReachedShare(Struct, frozen=True, kw_only=True):
    """The fresh share of the whole unit after the litres moved so far, with the plan's band.

    `exchanged_15` went through the lines, `refilled_15` went in otherwise; `basis` says in words
    that the share is calculated and not measured.

    low, expected, high: 0 to 1
    """

    low: float
    expected: float
    high: float
    exchanged_15: Volume
    refilled_15: Volume
    basis: str


def reached_share(plan: Plan, card: OfflineCard, moves: Sequence[Move]) -> ReachedShare | None:
    """The share reached so far; null before anything went in and where it cannot be told."""
    forecast = plan.forecast
    through_l = exchanged_l(moves)
    poured_l = sum_l((m for m in moves if m.step != "line_exchange"), "in")
    # what was missing on arrival renewed nothing
    refilled_l = max(poured_l - max(settled_l(moves), 0.0), 0.0)
    if forecast is None or not through_l + refilled_l:
        return None
    expected = _expected(plan, card, forecast, through_l, refilled_l)
    if expected is None:
        return None
    planned = forecast.fresh_share
    return ReachedShare(
        low=max(expected - (planned.expected - planned.low), 0.0),
        expected=expected,
        high=max(min(expected + (planned.high - planned.expected), forecast.ceiling), expected),
        exchanged_15=Volume(through_l, "L"),
        refilled_15=Volume(refilled_l, "L"),
        basis=BASIS,
    )


def untold(share: ReachedShare | None, moves: Sequence[Move]) -> list[Finding]:
    """A finding where fluid went in and still no share can be told."""
    if share is not None or not sum_l(moves, "in"):
        return []
    return [SHARE_UNTOLD.at("#/fresh_share", "The litres recorded do not fit the plan's steps.")]


def exchanged_l(moves: Sequence[Move]) -> float:
    """Litres at 15 degC exchanged through the lines: the lesser side, or the one measured."""
    own = [move for move in moves if move.step == "line_exchange"]
    sides = [side for side in (sum_l(own, "in"), sum_l(own, "out")) if side]
    return min(sides, default=0.0)


def _expected(
    plan: Plan, card: OfflineCard, forecast: Forecast, through_l: float, refilled_l: float
) -> float | None:
    """By the plan's curve with a line exchange, by the plan's own cycles, or by one drain."""
    if plan.route in ("line_exchange", "pan_and_filter_then_line"):
        told = forecast.curve and through_l and _as_planned(card, refilled_l)
        if not told:
            return None
        return on_curve([(one.exchanged.l, one.fresh_share) for one in forecast.curve], through_l)
    if through_l:
        return None
    if plan.route in ("drain_cycles", "suction", "line_batches"):
        return forecast.fresh_share.expected if _as_planned(card, refilled_l) else None
    return min(refilled_l / card.total.l, forecast.ceiling)


def _as_planned(card: OfflineCard, refilled_l: float) -> bool:
    planned_l = card.cycles * card.refill.l if card.refill else 0.0
    return abs(refilled_l - planned_l) <= max(NEAR_L, NEAR_SHARE * planned_l)


def on_curve(points: Sequence[tuple[float, float]], litres: float) -> float:
    """A share at some litres, straight between the points of a curve, its last one beyond its end.

    points: litres and shares, by litres from 0 on    litres: 0 or more

    >>> on_curve([(0, 0.0), (2, 0.4)], 1), on_curve([(0, 0.0), (2, 0.4)], 3)
    (0.2, 0.4)
    """
    after = bisect_right([at for at, _ in points], litres)
    if after == len(points):
        return points[-1][1]
    (left, low), (right, high) = points[after - 1], points[after]
    return low + (litres - left) / (right - left) * (high - low)
