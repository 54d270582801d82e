"""Rules on which routes the state on arrival leaves open."""

from msgspec import Struct

from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, Finding, Kind, Rule, Severity
from libexchange.plan.request import Condition
from libexchange.plan.routes import OPEN_LINE_ROUTES
from libexchange.plan.stated import judged
from libexchange.rules.facts import RouteFacts, line_work_described
from libexchange.used_fluid_findings import (
    BURNT,
    BURNT_AND_SLIPPING,
    SOLIDS,
    WITHOUT_DRIVE,
    Decision,
)

COOLANT_IN_FLUID = Kind(
    code="coolant-in-fluid",
    severity="stop",
    title="Coolant or water is in the fluid",
    remedy="Do not exchange, refill or run: tag and tow. Repair the leak and follow the maker's "
    "advice on stripping the unit.",
    source="maker data: makers ask for strip-down after coolant contamination",
)
LEAK_ON_ARRIVAL = Kind(
    code="leak-on-arrival",
    severity="caution",
    title="The unit leaks",
    remedy="Repair the leak first, or together with the pan and filter service.",
    source=COMMON_PRACTICE,
)
NEVER_SERVICED = Kind(
    code="high-distance-never-serviced",
    severity="note",
    title="High distance and never serviced",
    remedy="Record the state first and go in small steps; the risk is wear that is already there.",
    source=COMMON_PRACTICE,
)
SHIFT_COMPLAINT = Kind(
    code="no-complaint-free-baseline",
    severity="note",
    title="There is a shift complaint before the service",
    remedy="Read fault codes and drive first; no more than a drain or pan and filter until the "
    "cause is known.",
    source=COMMON_PRACTICE,
)
UNDER_WARRANTY = Kind(
    code="route-outside-maker-procedure",
    severity="caution",
    title="The unit is under warranty and the maker is not known to describe this route",
    remedy="Keep to the maker's own amount and schedule, or have the maker agree in writing.",
    source=MAKER_DATA,
)


class Gravity(Struct, frozen=True, kw_only=True):
    """How grave a condition is through the lines, for cycles, and for one opening or the level."""

    through_lines: Severity
    cycles: Severity
    by_opening: Severity


_EVERYWHERE = Gravity(through_lines="stop", cycles="stop", by_opening="stop")
_ONE_OPENING = Gravity(through_lines="stop", cycles="stop", by_opening="note")
_WITH_REPAIR = Gravity(through_lines="stop", cycles="stop", by_opening="caution")
_SMALL_STEPS = Gravity(through_lines="caution", cycles="caution", by_opening="note")

BY_DECISION: dict[Decision, Gravity] = {
    "proceed_gently": _ONE_OPENING,
    "stop_mechanical": _EVERYWHERE,
    "stop_coolant": _EVERYWHERE,
}
"""How grave on each route what the used fluid shows is, by what it decides at the bench."""


def _on_condition(kind: Kind, condition: Condition, gravity: Gravity) -> Rule[RouteFacts]:
    """A rule that a condition on arrival sets off."""

    def check(facts: RouteFacts) -> list[Finding]:
        if condition not in facts.plan.request.conditions:
            return []
        severity = gravity.by_opening
        if facts.route in OPEN_LINE_ROUTES:
            severity = gravity.through_lines
        elif facts.route in ("drain_cycles", "suction"):
            severity = gravity.cycles
        return [kind.at("#/conditions", f"{kind.title} (stated on arrival).", severity=severity)]

    return Rule(kind=kind, check=check)


def _on_used_fluid(kind: Kind, condition: Condition) -> Rule[RouteFacts]:
    """A rule on a condition that the bench checks decide on."""
    return _on_condition(kind, condition, BY_DECISION[judged((condition,)).decision])


def route_outside_maker_procedure(facts: RouteFacts) -> list[Finding]:
    """Under warranty a line exchange needs the maker's own description."""
    described = line_work_described(facts) == "yes"
    under_warranty = "under_warranty" in facts.plan.request.conditions
    if described or not under_warranty or facts.route not in OPEN_LINE_ROUTES:
        return []
    return [UNDER_WARRANTY.at("#/conditions", "The unit is under warranty.")]


RULES: tuple[Rule[RouteFacts], ...] = (
    _on_used_fluid(COOLANT_IN_FLUID, "coolant_in_fluid"),
    _on_used_fluid(WITHOUT_DRIVE, "no_drive"),
    _on_used_fluid(BURNT_AND_SLIPPING, "burnt_and_slipping"),
    _on_used_fluid(SOLIDS, "debris_in_pan"),
    _on_condition(LEAK_ON_ARRIVAL, "leak", _WITH_REPAIR),
    _on_used_fluid(BURNT, "burnt_smell"),
    _on_condition(NEVER_SERVICED, "high_distance_never_serviced", _SMALL_STEPS),
    _on_condition(SHIFT_COMPLAINT, "shift_complaint", _ONE_OPENING),
    Rule(kind=UNDER_WARRANTY, check=route_outside_maker_procedure),
)
"""The rules on the state on arrival, in the order they are reported."""
