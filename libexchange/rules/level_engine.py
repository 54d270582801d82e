"""The rule on an engine that may go off while the level is looked at."""

from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Rule
from libexchange.plan.idling import may_not_idle
from libexchange.rules.facts import PlanFacts, transmission_pointer

ENGINE_GOES_OFF = Kind(
    code="engine-off-by-itself-at-level",
    severity="caution",
    title="The engine may go off by itself while the level is looked at",
    remedy="Use the maker's service state that keeps it on, and see that it holds before anything "
    "is opened; at an overflow that is open with the engine off 1 to 2 L run out.",
    source=COMMON_PRACTICE,
)


def engine_goes_off_at_level(facts: PlanFacts) -> list[Finding]:
    """A level for a running engine needs one that keeps running."""
    transmission = facts.transmission
    if transmission.level.engine_running is not True or not may_not_idle(transmission):
        return []
    idles = transmission.engine_idles_on_command
    message = f"The level is for a running engine; the engine idles on command: {idles}."
    pointer = transmission_pointer(facts, "engine_idles_on_command")
    return [ENGINE_GOES_OFF.at(pointer, message, values={"idles_on_command": idles})]


RULES: tuple[Rule[PlanFacts], ...] = (Rule(kind=ENGINE_GOES_OFF, check=engine_goes_off_at_level),)
"""The one rule of this module."""
