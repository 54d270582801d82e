"""Rules on which routes the state on arrival leaves open."""

from msgspec import Struct

from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, Finding, Kind, Rule, Severity
from libexchange.plan.request import Condition
from libexchange.plan.routes import LINE_ROUTES
from libexchange.rules.facts import RouteFacts

COOLANT_IN_FLUID = Kind(
    code="coolant-in-fluid",
    severity="stop",
    title="Coolant or water is in the fluid",
    remedy="Do not exchange, refill or run: tag and tow. Repair the leak and follow the maker's "
    "advice on stripping the unit.",
    source="maker data: makers ask for strip-down after coolant contamination",
)
NO_DRIVE = Kind(
    code="no-drive",
    severity="stop",
    title="The vehicle does not drive",
    remedy="Diagnose first; fresh fluid does not repair a unit that does not drive.",
    source=COMMON_PRACTICE,
)
BURNT_AND_SLIPPING = Kind(
    code="burnt-and-slipping",
    severity="stop",
    title="The fluid is burnt and the unit slips",
    remedy="Offer a diagnosis, not an exchange: the exchange would be blamed for the failure.",
    source=COMMON_PRACTICE,
)
DEBRIS_IN_PAN = Kind(
    code="debris-in-pan",
    severity="stop",
    title="Flakes, slivers or lining material are in the pan",
    remedy="Offer a diagnosis, not an exchange.",
    source=COMMON_PRACTICE,
)
LEAK_ON_ARRIVAL = Kind(
    code="leak-on-arrival",
    severity="caution",
    title="The unit leaks",
    remedy="Repair the leak first, or together with the pan and filter service.",
    source=COMMON_PRACTICE,
)
BURNT_SMELL = Kind(
    code="burnt-smell",
    severity="note",
    title="The fluid smells burnt",
    remedy="Drain or pan and filter only, and check again after 500 to 1,500 km.",
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
    """How grave a condition is through the lines, for drain cycles, and for one opening."""

    through_lines: Severity
    cycles: Severity
    by_opening: Severity


_EVERYWHERE = Gravity(through_lines="stop", cycles="stop", by_opening="stop")
_ONE_OPENING = Gravity(through_lines="stop", cycles="stop", by_opening="note")
_WITH_REPAIR = Gravity(through_lines="stop", cycles="stop", by_opening="caution")
_SMALL_STEPS = Gravity(through_lines="caution", cycles="caution", by_opening="note")


def _on_condition(kind: Kind, condition: Condition, gravity: Gravity) -> Rule[RouteFacts]:
    """A rule that a condition on arrival sets off."""

    def check(facts: RouteFacts) -> list[Finding]:
        if condition not in facts.plan.request.conditions:
            return []
        severity = gravity.by_opening
        if facts.route in LINE_ROUTES:
            severity = gravity.through_lines
        elif facts.route == "drain_cycles":
            severity = gravity.cycles
        return [kind.at("#/conditions", f"{kind.title} (stated on arrival).", severity=severity)]

    return Rule(kind=kind, check=check)


def route_outside_maker_procedure(facts: RouteFacts) -> list[Finding]:
    """Under warranty a line exchange needs the maker's own description."""
    described = facts.plan.transmission.line_exchange_in_maker_procedure == "yes"
    under_warranty = "under_warranty" in facts.plan.request.conditions
    if described or not under_warranty or facts.route not in LINE_ROUTES:
        return []
    return [UNDER_WARRANTY.at("#/conditions", "The unit is under warranty.")]


RULES: tuple[Rule[RouteFacts], ...] = (
    _on_condition(COOLANT_IN_FLUID, "coolant_in_fluid", _EVERYWHERE),
    _on_condition(NO_DRIVE, "no_drive", _EVERYWHERE),
    _on_condition(BURNT_AND_SLIPPING, "burnt_and_slipping", _EVERYWHERE),
    _on_condition(DEBRIS_IN_PAN, "debris_in_pan", _EVERYWHERE),
    _on_condition(LEAK_ON_ARRIVAL, "leak", _WITH_REPAIR),
    _on_condition(BURNT_SMELL, "burnt_smell", _ONE_OPENING),
    _on_condition(NEVER_SERVICED, "high_distance_never_serviced", _SMALL_STEPS),
    _on_condition(SHIFT_COMPLAINT, "shift_complaint", _ONE_OPENING),
    Rule(kind=UNDER_WARRANTY, check=route_outside_maker_procedure),
)
"""The rules on the state on arrival, in the order they are reported."""
