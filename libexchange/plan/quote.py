"""Times and quotation lines of a route; amounts only where the caller gave prices."""

from decimal import ROUND_HALF_UP, Decimal

from msgspec import Struct
from msgspec.structs import replace

from libexchange.catalogue import TransmissionProfile
from libexchange.fields import Money
from libexchange.plan.card_records import PlannedDose
from libexchange.plan.draft import OPEN_BELOW
from libexchange.plan.heat import cool_down_from, expected_h, warm_up_to
from libexchange.plan.offer import QuoteLine
from libexchange.plan.priors import PRIORS
from libexchange.plan.request import Prices
from libexchange.plan.routes import PAN_ROUTES, Outcome
from libexchange.plan.supplies import at_hand, containers_of, price_of
from libexchange.plan.waits import COOL_DOWN_WAIT_H, WARM_UP_WAIT_H, waiting_h
from libexchange.quantities import Duration, Volume

FURTHER_CYCLE_H = 0.6
"""Hands-on time of each drain cycle after the first [h] (common practice)."""

BATCH_H = 0.1
"""Hands-on time of pumping one batch out and pouring it in [h] (common practice)."""

LEVEL_ONLY_H = 0.6
"""Hands-on time of arrival check, level and leak check [h] (common practice)."""

WINDOW_WAIT_H = 0.3
"""Mixing at idle, and looking until the level is met in its window [h] (common practice)."""

DOSE_H = 0.2
"""Hands-on time of drawing off and adding an additive [h] (common practice)."""

PRICE_OF_KIND = {
    "labour": "labour_per_hour",
    "fluid": "fluid_per_litre",
    "part": "filter_kit",
    "used_fluid": "used_fluid_per_litre",
}
"""Which price of the request a line of a kind takes."""


class Times(Struct, frozen=True, kw_only=True):
    """How long a route takes: hands on, on the lift, and by the clock [h]."""

    hands_on_h: float
    lift_h: float
    elapsed_h: float


def times_of(
    transmission: TransmissionProfile, outcome: Outcome, doses: tuple[PlannedDose, ...] = ()
) -> Times:
    """Typical times of a route on this family, waiting for heat included in the elapsed time."""
    hands_on_h = _hands_on_h(transmission, outcome) + sum(map(_dose_hands_on_h, doses))
    batches = outcome.route == "line_batches"  # no waiting for a level between them
    wait_h = WINDOW_WAIT_H * (1 if batches else outcome.cycles or 1)
    wait_h += waiting_h(transmission, outcome)
    wait_h += sum(_dose_wait_h(transmission, dose) for dose in doses)
    elapsed_h = hands_on_h + wait_h
    # routes on the lift occupy it while waiting; only arrival check and drive are off it
    return Times(hands_on_h=hands_on_h, lift_h=max(elapsed_h - 0.4, 0.3), elapsed_h=elapsed_h)


def quote_lines(
    transmission: TransmissionProfile,
    outcome: Outcome,
    prices: Prices | None,
    doses: tuple[PlannedDose, ...] = (),
) -> tuple[QuoteLine, ...]:
    """Labour, fluid, parts, additives and used fluid of a route, priced where prices were given."""
    prices = prices or Prices()
    labour = Duration(round(times_of(transmission, outcome, doses).hands_on_h, 2), "h")
    used = Volume(round(outcome.litres, 1), "L")
    lines = [
        _line("labour", "Labour", prices.labour_per_hour, labour.value, duration=labour),
        *_fluid(outcome, prices),
    ]
    if outcome.route in PAN_ROUTES:
        lines.append(_line("part", "Filter, gasket and seals", prices.filter_kit, 1, count=1))
    lines += [_additive(dose, prices) for dose in doses]
    disposal = prices.used_fluid_per_litre
    lines.append(_line("used_fluid", "Used fluid disposal", disposal, used.value, volume=used))
    return tuple(lines)


def unpriced(lines: tuple[QuoteLine, ...]) -> list[str]:
    """Which prices the lines lack, by their names in the request.

    >>> line = _line("part", "Filter, gasket and seals", None, 1, count=1)
    >>> unpriced((line,))
    ['filter_kit']
    """
    return [_price_name(line) for line in lines if line.amount is None]


def _price_name(line: QuoteLine) -> str:
    if line.kind == "additive":
        return f"{line.line_id.removeprefix('line-')}_per_pack"
    return PRICE_OF_KIND[line.kind]


def _additive(dose: PlannedDose, prices: Prices) -> QuoteLine:
    """The packs to open; what is sold loose is one dose."""
    cleaner = dose.kind == "cleaner"
    price = prices.cleaner_per_pack if cleaner else prices.conditioner_per_pack
    count = dose.packs or 1
    line = _line("additive", dose.name, price, count, volume=dose.pack or dose.dose, count=count)
    return replace(line, line_id=f"line-{dose.kind}")


def _fluid(outcome: Outcome, prices: Prices) -> list[QuoteLine]:
    """The containers to open where they have prices, else the litres planned."""
    offered = prices.fluid_containers
    chosen = containers_of(at_hand(planned_l=outcome.litres), offered)
    if chosen is None:
        litres = Volume(round(outcome.litres, 1), "L")
        price = prices.fluid_per_litre
        return [_line("fluid", "Fresh fluid", price, litres.value, volume=litres)]
    return [
        _line(
            "fluid",
            f"Fresh fluid, containers of {one.size.value:g} {one.size.unit}",
            price_of(one.size, offered),
            one.count,
            volume=one.size,
            count=one.count,
            number=number,
        )
        for number, one in enumerate(chosen, 1)
    ]


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
    quantity: float,
    *,
    duration: Duration | None = None,
    volume: Volume | None = None,
    count: int | None = None,
    number: int | None = None,
) -> QuoteLine:
    """A line of `quantity` times the unit price; `number` tells several lines of a kind apart."""
    told_apart = f"-{number}" if number else ""
    return QuoteLine(
        line_id=f"line-{kind.replace('_', '-')}{told_apart}",
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


def _dose_hands_on_h(dose: PlannedDose) -> float:
    """Adding it, and somebody at the selector while a cleaner acts."""
    return DOSE_H + (dose.contact.s / 3600 if dose.contact else 0.0)


def _dose_wait_h(transmission: TransmissionProfile, dose: PlannedDose) -> float:
    """Warming up until a cleaner acts, and cooling down before anything is opened."""
    if dose.contact_above is None:
        return 0.0
    acts_c = dose.contact_above.c
    cool = cool_down_from(transmission, acts_c, OPEN_BELOW.c)
    return expected_h(warm_up_to(transmission, acts_c), WARM_UP_WAIT_H) + expected_h(
        cool, COOL_DOWN_WAIT_H
    )


def _hands_on_h(transmission: TransmissionProfile, outcome: Outcome) -> float:
    priors = PRIORS[transmission.family]
    if outcome.route == "pan_and_filter_then_line":
        return priors.hands_on_pan_and_line_h
    if outcome.route == "line_exchange":
        return priors.hands_on_line_h
    if outcome.route == "line_batches":
        return priors.hands_on_line_h + BATCH_H * (outcome.cycles or 1)
    if outcome.route == "level_only":
        return LEVEL_ONLY_H
    if outcome.route == "pan_and_filter":
        return priors.hands_on_pan_h
    return priors.hands_on_drain_h + FURTHER_CYCLE_H * ((outcome.cycles or 1) - 1)
