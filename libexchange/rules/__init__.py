"""The rules of planning, one module a family, all listed here."""

from libexchange.findings import Finding, Rule
from libexchange.rules import (
    access,
    additives,
    arrival,
    filling,
    fluid_choice,
    heat,
    history,
    level_engine,
    level_setting,
    prices,
    vehicle,
)
from libexchange.rules.facts import PlanFacts, RouteFacts

PLAN_RULES: tuple[Rule[PlanFacts], ...] = (
    *filling.RULES,
    *fluid_choice.RULES,
    *level_setting.RULES,
    *level_engine.RULES,
    *history.RULES,
    *vehicle.RULES,
)
"""Rules on a request as a whole."""

ROUTE_RULES: tuple[Rule[RouteFacts], ...] = (
    *arrival.RULES,
    *access.RULES,
    *additives.RULES,
    *heat.RULES,
    *prices.RULES,
)
"""Rules on each route; a stop refuses the route, a caution needs an acknowledgement."""


def plan_findings(facts: PlanFacts) -> list[Finding]:
    """What the rules find in a request, in the order of the rules."""
    return [finding for rule in PLAN_RULES for finding in rule.check(facts)]


def route_findings(facts: RouteFacts) -> list[Finding]:
    """What the rules find against a route, in the order of the rules, and against its doses."""
    found = [finding for rule in ROUTE_RULES for finding in rule.check(facts)]
    return [*found, *additives.additive_findings(facts)]
