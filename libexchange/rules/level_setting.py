"""Rules on what the level step needs to know before the vehicle is opened."""

from libexchange.catalogue import TemperatureWindow
from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Rule, Severity
from libexchange.level_barriers import OVERFLOWS
from libexchange.level_findings import (
    HOTTEST_WINDOW_C,
    WINDOW_LOOKS_LIKE_FAHRENHEIT,
    WINDOW_UNKNOWN,
    window_suspicion,
)
from libexchange.rules.facts import PlanFacts, transmission_pointer

COLDEST_WINDOW_C, HOTTEST_PLUG_C, NARROWEST_WINDOW_K = 0.0, 80.0, 3.0
"""No level is set colder; plugs are rarely read hotter; a person does not meet a narrower window
(common practice)."""

WINDOW_UNUSUAL = Kind(
    code="level-window-unusual",
    severity="caution",
    title="The temperature window of the level is not one that is met with",
    remedy="Compare both edges and their unit with the maker's data: 95 to 113 °F is 35 to 45 °C.",
    source=COMMON_PRACTICE,
)


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


def window_unusual(facts: PlanFacts) -> list[Finding]:
    """A window that no work is done in, that is rare at a plug, or that is too narrow to meet."""
    window = facts.transmission.level.window
    judged = None if window is None else _judged(window, plug=_by_plug(facts))
    if window is None or judged is None:
        return []
    severity, why = judged
    message = f"The window is {window.low.c:g} to {window.high.c:g} °C; {why}."
    values = {"low_c": window.low.c, "high_c": window.high.c}
    pointer = transmission_pointer(facts, "level/window")
    return [WINDOW_UNUSUAL.at(pointer, message, values=values, severity=severity)]


def _by_plug(facts: PlanFacts) -> bool:
    return (facts.transmission.level.method or "overflow_plug") in OVERFLOWS


def _judged(window: TemperatureWindow, *, plug: bool) -> tuple[Severity, str] | None:
    if window.low.c > HOTTEST_WINDOW_C:
        return "stop", f"no work on the fluid is done above {HOTTEST_WINDOW_C:g} °C"
    if window.high.c < COLDEST_WINDOW_C:
        return "stop", f"no level is set below {COLDEST_WINDOW_C:g} °C"
    if plug and window.high.c > HOTTEST_PLUG_C and not window_suspicion(window, "#"):
        return "caution", f"a plug is rarely open above {HOTTEST_PLUG_C:g} °C"
    if window.high.c - window.low.c < NARROWEST_WINDOW_K - 1e-9:
        return "caution", f"it should be {NARROWEST_WINDOW_K:g} K wide or more to be met"
    return None


RULES: tuple[Rule[PlanFacts], ...] = (
    Rule(kind=WINDOW_UNKNOWN, check=level_window_unknown),
    Rule(kind=WINDOW_LOOKS_LIKE_FAHRENHEIT, check=window_looks_like_fahrenheit),
    Rule(kind=WINDOW_UNUSUAL, check=window_unusual),
)
"""The rules on the level, in the order they are reported."""
