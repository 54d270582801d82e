"""Rules on what a route costs."""

from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Rule
from libexchange.plan.quote import quote_lines, unpriced
from libexchange.plan.request import prices_by_name
from libexchange.plan.supplies import at_hand, containers_of
from libexchange.rules.facts import RouteFacts, doses_on

PRICE_MISSING = Kind(
    code="price-missing",
    severity="note",
    title="The cost cannot be told: a price is missing",
    remedy="Send the prices that are named, or leave all prices out.",
    source=COMMON_PRACTICE,
)
CONTAINERS_UNDECIDED = Kind(
    code="containers-undecided",
    severity="note",
    title="The cheapest choice of containers cannot be found for certain",
    remedy="Offer fewer sizes, or sizes rounded to a common grid such as 1 mL.",
    source="computed from the sizes on offer",
)


def price_missing(facts: RouteFacts) -> list[Finding]:
    """A cost is told in full or not at all; what it lacks is named."""
    prices = facts.plan.request.prices
    if facts.outcome is None or not prices_by_name(prices):
        return []
    doses = doses_on(facts.plan, facts.outcome)
    lacking = unpriced(quote_lines(facts.plan.transmission, facts.outcome, prices, doses))
    if not lacking:
        return []
    named = ", ".join(lacking)
    return [PRICE_MISSING.at("#/prices", f"Missing: {named}.", values={"missing": named})]


def containers_undecided(facts: RouteFacts) -> list[Finding]:
    """Priced containers that cannot be chosen for certain are not quoted by."""
    prices = facts.plan.request.prices
    if facts.outcome is None or prices is None or not prices.fluid_containers:
        return []
    volume = at_hand(planned_l=facts.outcome.litres)
    if containers_of(volume, prices.fluid_containers) is not None:
        return []
    text = f"For {volume.l:g} L; the fluid is quoted by the litre."
    return [CONTAINERS_UNDECIDED.at("#/prices/fluid_containers", text)]


RULES: tuple[Rule[RouteFacts], ...] = (
    Rule(kind=PRICE_MISSING, check=price_missing),
    Rule(kind=CONTAINERS_UNDECIDED, check=containers_undecided),
)
"""The rules on cost, in the order they are reported."""
