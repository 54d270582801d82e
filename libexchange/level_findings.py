"""What can be wrong with a look at the fluid level: the finding codes of `level_verdict`."""

from libexchange.catalogue import TemperatureWindow
from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind

FAHRENHEIT_LOOK_C = (95.0, 113.0)
HOTTEST_WINDOW_C = 110.0
"""No work on the fluid is done hotter, so that no level window ends there (common practice)."""

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
    remedy="Compare the window with the maker's data: 95 to 113 °F is 35 to 45 °C.",
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
    title="What may be added as a correction is used up",
    remedy="Stop adding. Look for a leak and compare what went in with what came out.",
    source=COMMON_PRACTICE,
)
RAN_OUT = Kind(
    code="level-ran-out-beyond-added",
    severity="caution",
    title="More ran out than was added",
    remedy="Close and compare what went in with what came out. More than 1 L beyond it is no "
    "correction: look whether the overflow tube is in and the engine ran, put back what is "
    "missing and look again.",
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
ENGINE_STATE = Kind(
    code="engine-state-wrong-at-level-check",
    severity="stop",
    title="The level was read with the engine in the wrong state",
    remedy="Read it as the maker says, running or off; with the engine off the converter runs back "
    "and the level seems too high.",
    source=MEMORY,
)
LEVEL_SLOPE = Kind(
    code="level-read-on-slope",
    severity="caution",
    title="The vehicle did not stand level when the level was read",
    remedy="Bring it within half a degree and look again; a degree is worth about 0.24 L on 9 L.",
    source=MEMORY,
)
NOT_STEADY = Kind(
    code="level-read-while-temperature-changes",
    severity="caution",
    title="The temperature changed too fast for this way of reading the level",
    remedy="Idle until it changes by less than 1 K/min and read again.",
    source=COMMON_PRACTICE,
)
WARMING_FAST = Kind(
    code="level-read-while-warming-fast",
    severity="caution",
    title="The fluid warmed faster than it does at idle while the overflow was read",
    remedy="Idle without load and read again. What runs out is swelling fluid, or the sensor is "
    "wrong: read the fault memory.",
    source=COMMON_PRACTICE,
)
TUBE_MISSING = Kind(
    code="overflow-tube-missing",
    severity="stop",
    title="The overflow tube is missing or loose",
    remedy="Close the plug at once: without its tube the unit runs empty. Fit the tube, put back "
    "what ran out and look again.",
    source=COMMON_PRACTICE,
)
SELECTOR = Kind(
    code="selector-not-as-required",
    severity="caution",
    title="The selector was not moved or does not stand as the maker says",
    remedy="Hold every position as long as the maker says, end in the one the maker wants, and "
    "look again: empty clutches make the level seem too high.",
    source=COMMON_PRACTICE,
)
FOAM = Kind(
    code="level-fluid-aerated",
    severity="caution",
    title="There is foam in the fluid, so it reads too high",
    remedy="Correct nothing. Let it stand until the foam is gone, idle gently, and look again.",
    source=COMMON_PRACTICE,
)
NOT_SETTLED = Kind(
    code="level-not-settled",
    severity="note",
    title="The fluid has not settled since it was last moved",
    remedy="Wait 30 s at a plug, 1 min at a stick, 2 min at a sight tube or read-out.",
    source=COMMON_PRACTICE,
)
SEEN_TOO_BRIEFLY = Kind(
    code="overflow-seen-too-briefly",
    severity="note",
    title="What runs out first may be the content of the tube or a passing wave",
    remedy="Watch for 30 s and more before it is called a thread or a stream.",
    source=COMMON_PRACTICE,
)
STICK_DIFFERS = Kind(
    code="stick-readings-differ",
    severity="caution",
    title="Two readings of the stick differ",
    remedy="Wipe it, seat it fully and read both sides again; the lower one counts.",
    source=COMMON_PRACTICE,
)
COLD_MARKS = Kind(
    code="level-by-cold-marks",
    severity="note",
    title="The level was read by the cold marks, which are only a reference",
    remedy="Warm up into the window and read the hot marks.",
    source=COMMON_PRACTICE,
)
COLD_MARKS_HOT = Kind(
    code="cold-marks-read-hot",
    severity="caution",
    title="The cold marks were read on warm fluid",
    remedy="Read the hot marks of the right side and the right stick.",
    source=COMMON_PRACTICE,
)
FAR_OFF = Kind(
    code="level-far-off",
    severity="caution",
    title="The level is further off than a correction explains",
    remedy="Correct it before the vehicle is driven; driving does not settle it. Further off than "
    "twice that, do not run the engine. Look for the cause.",
    source=MEMORY,
)
REFILL_INCOMPLETE = Kind(
    code="refill-not-complete",
    severity="note",
    title="Fluid of the refill is still outstanding",
    remedy="With the engine running add the rest at once; it is refill and no correction. Where "
    "fluid runs out already, compare what came out with what went in.",
    source=COMMON_PRACTICE,
)
NOT_SURE_ENOUGH = Kind(
    code="level-not-sure-enough",
    severity="caution",
    title="The look is less sure than the level has to be",
    remedy="Improve what is least sure, slope, temperature or reading, and look again.",
    source=MEMORY,
)
MEASURED_NOT_SEEN = Kind(
    code="level-measured-not-seen",
    severity="caution",
    title="The fluid was put back by measure and nobody has seen the level",
    remedy="Mark the level as not verified; look at it in the window as soon as there is a way.",
    source=COMMON_PRACTICE,
)
SMOKE = Kind(
    code="smoke-at-level-check",
    severity="stop",
    title="There is smoke while the level is set",
    remedy="Engine off. Look for fluid on the exhaust and for a vent that foams over, clean it, "
    "and find the cause before anything is added.",
    source=COMMON_PRACTICE,
)
OFF_AGAIN = Kind(
    code="level-off-again-after-drive",
    severity="stop",
    title="After a drive the level is off once more",
    remedy="Do not correct it again. Look for a leak and for what the first looks missed, and let "
    "a supervisor decide; the level is not in order.",
    source=COMMON_PRACTICE,
)
TEMPERATURE_FOREIGN = Kind(
    code="level-temperature-not-by-own-sensor",
    severity="caution",
    title="The temperature of the look does not come from the transmission's own sensor",
    remedy="Read it with a scan tool. A dashboard, an infrared gun or a sensor on the line does "
    "not tell the temperature in the sump.",
    source=COMMON_PRACTICE,
)
REFILL_BEYOND_TOTAL = Kind(
    code="refill-beyond-total",
    severity="caution",
    title="What came out and what went in differ by more than the unit holds",
    remedy="Check both amounts and their units: a quart is not a litre, and a mass is no volume.",
    source=COMMON_PRACTICE,
)
KINDS = (
    SMOKE, OFF_AGAIN, TEMPERATURE_FOREIGN, REFILL_BEYOND_TOTAL, WINDOW_UNKNOWN,
    WINDOW_LOOKS_LIKE_FAHRENHEIT, ENGINE_OFF, ENGINE_STATE, LEVEL_SLOPE,
    BELOW_WINDOW, ABOVE_WINDOW, COOLING, NOT_STEADY, TUBE_MISSING, SELECTOR, FOAM, NOT_SETTLED,
    SEEN_TOO_BRIEFLY, STICK_DIFFERS, COLD_MARKS, COLD_MARKS_HOT, FAR_OFF, REFILL_INCOMPLETE,
    NOT_SURE_ENOUGH, MEASURED_NOT_SEEN, BEYOND_LIMIT, RAN_OUT, TOO_MANY_ROUNDS, SCALE_UNKNOWN,
    WARMING_FAST,
)  # fmt: skip
"""Every finding code of this module."""


def window_suspicion(window: TemperatureWindow, pointer: str) -> list[Finding]:
    """A finding when both edges of a level window lie in 95 to 113 Cel, or it ends above 110 Cel.

    Readings are never judged so: fluid at 100 Cel is real. Source: common practice.

    >>> from libexchange.quantities import Temperature
    >>> window = TemperatureWindow(low=Temperature(95, "Cel"), high=Temperature(113, "Cel"))
    >>> [finding.code for finding in window_suspicion(window, "#/window")]
    ['window-looks-like-fahrenheit']
    """
    edges = {"low_c": window.low.c, "high_c": window.high.c}
    low_c, high_c = FAHRENHEIT_LOOK_C
    both = all(low_c <= edge <= high_c for edge in edges.values())
    if not both and window.high.c <= HOTTEST_WINDOW_C:
        return []
    text = f"The window is given as {window.low.c:g} to {window.high.c:g} °C."
    return [WINDOW_LOOKS_LIKE_FAHRENHEIT.at(pointer, text, values=edges)]
