"""Times and quotation lines of a route; amounts only where the caller gave prices."""

from decimal import ROUND_HALF_UP, Decimal

from msgspec import Struct

from libexchange.catalogue import TransmissionProfile
from libexchange.fields import Money
from libexchange.plan.priors import PRIORS
from libexchange.plan.records import QuoteLine
from libexchange.plan.request import Prices
from libexchange.plan.routes import LINE_ROUTES, PAN_ROUTES, Outcome
from libexchange.quantities import Duration, Volume

FURTHER_CYCLE_H = 0.6
"""Hands-on time of each drain cycle after the first [h] (common practice)."""

WINDOW_WAIT_H = 0.3
"""Waiting for the level window [h] (common practice)."""

WARM_UP_WAIT_H = 0.6
COOL_DOWN_WAIT_H = 1.2
"""Waiting around a line exchange with a low level window [h] (common practice)."""


class Times(Struct, frozen=True, kw_only=True):
    """How long a route takes: hands on, on the lift, and by the clock [h]."""

    hands_on_h: float
    lift_h: float
    elapsed_h: float


def times_of(transmission: TransmissionProfile, outcome: Outcome) -> Times:
    """Typical times of a route on this family, waiting for heat included in the elapsed time."""
    hands_on_h = _hands_on_h(transmission, outcome)
    wait_h = WINDOW_WAIT_H * (outcome.cycles or 1)
    if outcome.route in LINE_ROUTES:
        wait_h += WARM_UP_WAIT_H + COOL_DOWN_WAIT_H
    elapsed_h = hands_on_h + wait_h
    # routes on the lift occupy it while waiting; only arrival check and drive are off it
    return Times(hands_on_h=hands_on_h, lift_h=max(elapsed_h - 0.4, 0.3), elapsed_h=elapsed_h)


def quote_lines(
    transmission: TransmissionProfile, outcome: Outcome, prices: Prices | None
) -> tuple[QuoteLine, ...]:
    """Labour, fluid, parts and used fluid of a route, priced where prices were given."""
    prices = prices or Prices()
    labour = Duration(round(times_of(transmission, outcome).hands_on_h, 2), "h")
    litres = Volume(round(outcome.litres, 1), "L")
    lines = [
        _line("labour", "Labour", prices.labour_per_hour, duration=labour),
        _line("fluid", "Fresh fluid", prices.fluid_per_litre, volume=litres),
    ]
    if outcome.route in PAN_ROUTES:
        lines.append(_line("part", "Filter, gasket and seals", prices.filter_kit, count=1))
    lines.append(
        _line("used_fluid", "Used fluid disposal", prices.used_fluid_per_litre, volume=litres)
    )
    return tuple(lines)


def cost_of(lines: tuple[QuoteLine, ...]) -> Money | None:
    """The sum of the lines; None unless every line has an amount."""
    amounts = [line.amount for line in lines if line.amount is not None]
    if len(amounts) < len(lines) or not amounts:
        return None
    total = sum((amount.decimal for amount in amounts), Decimal(0))
    return Money(_cents(total), amounts[0].currency)


def _line(
    kind: str,
    title: str,
    unit_price: Money | None,
    *,
    duration: Duration | None = None,
    volume: Volume | None = None,
    count: int | None = None,
) -> QuoteLine:
    amounts = (duration.value if duration else None, volume.value if volume else None, count)
    quantity = next(amount for amount in amounts if amount is not None)  # 0 L is an amount too
    return QuoteLine(
        line_id=f"line-{kind.replace('_', '-')}",
        kind=kind,  # type: ignore[arg-type]  # callers pass the literals
        title=title,
        volume=volume,
        duration=duration,
        count=count,
        unit_price=unit_price,
        amount=_amount(quantity, unit_price),
    )


def _amount(quantity: float, unit_price: Money | None) -> Money | None:
    if unit_price is None:
        return None
    return Money(_cents(Decimal(repr(quantity)) * unit_price.decimal), unit_price.currency)


def _cents(amount: Decimal) -> str:
    return str(amount.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP))


def _hands_on_h(transmission: TransmissionProfile, outcome: Outcome) -> float:
    priors = PRIORS[transmission.family]
    if outcome.route == "pan_and_filter_then_line":
        return priors.hands_on_pan_and_line_h
    if outcome.route == "line_exchange":
        return priors.hands_on_line_h
    if outcome.route == "pan_and_filter":
        return priors.hands_on_pan_h
    return priors.hands_on_drain_h + FURTHER_CYCLE_H * ((outcome.cycles or 1) - 1)
