"""Rules on what the level step needs to know before the vehicle is opened."""

from libexchange.findings import Finding, Rule
from libexchange.level_findings import (
    WINDOW_LOOKS_LIKE_FAHRENHEIT,
    WINDOW_UNKNOWN,
    window_suspicion,
)
from libexchange.rules.facts import PlanFacts, transmission_pointer


def level_window_unknown(facts: PlanFacts) -> list[Finding]:
    """A level without a window can be put back but not verified."""
    if facts.transmission.level.window is not None:
        return []
    message = (
        "The profile has no level window: put back exactly what came out, mark the level as not "
        "verified and hold the release until the window is known."
    )
    pointer = transmission_pointer(facts, "level/window")
    return [WINDOW_UNKNOWN.at(pointer, message, severity="caution")]


def window_looks_like_fahrenheit(facts: PlanFacts) -> list[Finding]:
    """A window of 95 to 113 Cel is nearly always one of 35 to 45 Cel typed in degF."""
    window = facts.transmission.level.window
    if window is None:
        return []
    return window_suspicion(window, transmission_pointer(facts, "level/window"))


RULES: tuple[Rule[PlanFacts], ...] = (
    Rule(kind=WINDOW_UNKNOWN, check=level_window_unknown),
    Rule(kind=WINDOW_LOOKS_LIKE_FAHRENHEIT, check=window_looks_like_fahrenheit),
)
"""The rules on the level, in the order they are reported."""
