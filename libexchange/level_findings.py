"""What can be wrong with a look at the fluid level: the finding codes of `level_verdict`."""

from libexchange.catalogue import TemperatureWindow
from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind

FAHRENHEIT_LOOK_C = (95.0, 113.0)

WINDOW_UNKNOWN = Kind(
    code="level-window-unknown",
    severity="stop",
    title="The temperature window of the level check is not known",
    remedy="Ask the vehicle maker's service data, a dealer of the make or the maker of the "
    "transmission. Until then put back by weight exactly what came out, mark the level as "
    "unverified and hold the release.",
    source=COMMON_PRACTICE,
)
WINDOW_LOOKS_LIKE_FAHRENHEIT = Kind(
    code="window-looks-like-fahrenheit",
    severity="caution",
    title="The level window looks like degrees Fahrenheit entered as Celsius",
    remedy="Compare the window with the maker's data: 95 to 113 degF is 35 to 45 Cel.",
    source=COMMON_PRACTICE,
)
ENGINE_OFF = Kind(
    code="engine-off-at-overflow-plug",
    severity="stop",
    title="The engine is off while the overflow plug is open",
    remedy="Close the plug at once, start the engine, put back what ran out and check again.",
    source=MEMORY,
)
BELOW_WINDOW = Kind(
    code="level-read-below-window",
    severity="note",
    title="The fluid is colder than the level window",
    remedy="Close and let it warm up into the window.",
    source=COMMON_PRACTICE,
)
ABOVE_WINDOW = Kind(
    code="level-read-above-window",
    severity="caution",
    title="The fluid is hotter than the level window",
    remedy="Close. Cool below the window and check again where the maker's data say so; otherwise "
    "correct by the computed amount and accept with remarks.",
    source=COMMON_PRACTICE,
)
COOLING = Kind(
    code="level-read-while-cooling",
    severity="caution",
    title="The fluid was cooling while the overflow plug was read",
    remedy="Close, warm the fluid slowly and look again while the temperature rises.",
    source=COMMON_PRACTICE,
)
BEYOND_LIMIT = Kind(
    code="level-correction-beyond-limit",
    severity="stop",
    title="More was added than a correction can explain",
    remedy="Stop adding. Look for a leak and compare what went in with what came out.",
    source=COMMON_PRACTICE,
)
TOO_MANY_ROUNDS = Kind(
    code="level-rounds-beyond-limit",
    severity="stop",
    title="The level does not settle",
    remedy="Stop adding. Look for a leak and check slope, selector steps and overflow tube.",
    source=COMMON_PRACTICE,
)
SCALE_UNKNOWN = Kind(
    code="dipstick-scale-unknown",
    severity="note",
    title="It is not known how much fluid lies between the marks of the stick",
    remedy="Change the level a little at a time, wait a minute at idle and read again.",
    source=COMMON_PRACTICE,
)
KINDS = (
    WINDOW_UNKNOWN, WINDOW_LOOKS_LIKE_FAHRENHEIT, ENGINE_OFF, BELOW_WINDOW, ABOVE_WINDOW, COOLING,
    BEYOND_LIMIT, TOO_MANY_ROUNDS, SCALE_UNKNOWN,
)  # fmt: skip
"""Every finding code of this module."""


def window_suspicion(window: TemperatureWindow, pointer: str) -> list[Finding]:
    """A finding when both edges of a level window lie in 95 to 113 Cel.

    Readings are never judged so: fluid at 100 Cel is real. Source: common practice.

    >>> from libexchange.quantities import Temperature
    >>> window = TemperatureWindow(low=Temperature(95, "Cel"), high=Temperature(113, "Cel"))
    >>> [finding.code for finding in window_suspicion(window, "#/window")]
    ['window-looks-like-fahrenheit']
    """
    edges = {"low_c": window.low.c, "high_c": window.high.c}
    low_c, high_c = FAHRENHEIT_LOOK_C
    if not all(low_c <= edge <= high_c for edge in edges.values()):
        return []
    text = f"The window is given as {window.low.c:g} to {window.high.c:g} Cel."
    return [WINDOW_LOOKS_LIKE_FAHRENHEIT.at(pointer, text, values=edges)]
