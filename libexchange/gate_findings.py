"""Why a gate is not open, and what to know where it is: the finding codes of `gate`."""

from libexchange import reading_findings
from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, MEMORY, Kind

READING_MISSING = Kind(
    code="gate-reading-missing",
    severity="caution",
    title="No reading that this gate may rely on",
    remedy="Read the transmission's own temperature with a scan tool.",
    source=COMMON_PRACTICE,
)
READING_STALE = Kind(
    code="gate-reading-stale",
    severity="caution",
    title="The newest reading is too old",
    remedy="Read again and go on at once.",
    source=COMMON_PRACTICE,
)
FLOW_NOT_SEEN = Kind(
    code="gate-flow-not-seen",
    severity="caution",
    title="Nobody has seen flow in the line",
    remedy="Loop the line through the meter and read the flow for 20 s.",
    source=COMMON_PRACTICE,
)
FLOW_TOO_LOW = Kind(
    code="gate-flow-too-low",
    severity="caution",
    title="Too little flow in the line",
    remedy="Feed and engine off; never rev it. Loop the line, warm up and look for a shut bypass, "
    "a kink, or a line opened on the wrong side of the bypass.",
    source=COMMON_PRACTICE,
)
BELOW_LOW = Kind(
    code="gate-temperature-below-low",
    severity="note",
    title="The fluid is too cold for this gate",
    remedy="Wait for it to warm up; in a line exchange with feed and engine off.",
    source=COMMON_PRACTICE,
)
ABOVE_HIGH = Kind(
    code="gate-temperature-above-high",
    severity="caution",
    title="The fluid is too hot for this gate",
    remedy="Engine off, let it cool and look for the cause.",
    source=COMMON_PRACTICE,
)
NOT_HELD = Kind(
    code="gate-not-held-long-enough",
    severity="note",
    title="The condition has not held long enough",
    remedy="Keep it there and keep reading.",
    source=COMMON_PRACTICE,
)
FALLING = Kind(
    code="gate-temperature-falling",
    severity="caution",
    title="The fluid cools down in the level window",
    remedy="Let it warm up again; a level seen while cooling is void.",
    source=COMMON_PRACTICE,
)
WINDOW_PASSED = Kind(
    code="level-window-passed",
    severity="caution",
    title="The fluid went over the top of the level window",
    remedy="Close. Cool below the window, or 3 K below its top, and let it rise again.",
    source=COMMON_PRACTICE,
)
ENGINE_STATE = Kind(
    code="gate-engine-state-wrong",
    severity="caution",
    title="The engine is not as the level check needs it",
    remedy="Run or stop it as the maker's level check says, and read again. With the engine off "
    "the converter runs back and 1 to 2 L leave through an overflow plug.",
    source=MEMORY,
)
NOT_STEADY = Kind(
    code="gate-temperature-not-steady",
    severity="caution",
    title="The temperature is not steady enough for this way of reading the level",
    remedy="Idle until it changes by less than 1 K/min; sticks, sight tubes and read-outs want "
    "that.",
    source=COMMON_PRACTICE,
)
TYPED_NEAR_TOP = Kind(
    code="typed-reading-near-top",
    severity="caution",
    title="The fluid may have passed the top of the window since the value was typed",
    remedy="Read again and go on at once, or connect the scan tool.",
    source=MEMORY,
)
STAYS_SHUT = Kind(
    code="gate-stays-shut-at-idle",
    severity="caution",
    title="Idling will not open this gate",
    remedy="Warm up on the road, hold the bypass by the maker's tool, or take another route. Never "
    "warm up by a stall test.",
    source=COMMON_PRACTICE,
)
HEAT_NOT_NEEDED = Kind(
    code="temperature-gate-not-needed",
    severity="note",
    title="This line flows cold, so its temperature does not hold the gate",
    remedy="Go by the flow. Without a bypass, or with one inside the cooler, a temperature to wait "
    "for is a false refusal.",
    source=COMMON_PRACTICE,
)
FLOW_WHILE_SHUT = Kind(
    code="flow-while-bypass-shut",
    severity="caution",
    title="Fluid flows although the bypass should still be shut",
    remedy="Look where the bypass sits and on which side of it the line was opened; measure with "
    "the line closed through the meter. These litres do not count as exchanged.",
    source=COMMON_PRACTICE,
)
FLOW_FALLING = Kind(
    code="gate-flow-falling",
    severity="caution",
    title="The flow falls and will soon be too low",
    remedy="Be ready to switch feed and engine off; loop the line and reheat.",
    source=COMMON_PRACTICE,
)
FLOW_PULSES = Kind(
    code="gate-flow-pulses",
    severity="caution",
    title="The flow swings as if there were air in the line",
    remedy="Feed and engine off. Look at the stream: air ends the exchange until its cause is "
    "found.",
    source=COMMON_PRACTICE,
)
PRESSURE_WITHOUT_FLOW = Kind(
    code="pressure-without-flow",
    severity="stop",
    title="The feed pressure is up and nothing flows",
    remedy="Feed and engine off at once. Look for reversed lines, a shut bypass, a clogged cooler "
    "or check valve, a kink.",
    source=COMMON_PRACTICE,
)
PRESSURE_HIGH = Kind(
    code="feed-pressure-high",
    severity="caution",
    title="The feed pressure is too high",
    remedy="Slow the feed below 2 bar; from 3 bar feed and engine off.",
    source=COMMON_PRACTICE,
)
TIMER_RUNS = Kind(
    code="contact-time-running",
    severity="note",
    title="The cleaner has not acted long enough",
    remedy="Keep the engine idling and the fluid warm; the time pauses with either.",
    source=COMMON_PRACTICE,
)
TIMER_PAUSED = Kind(
    code="contact-time-paused",
    severity="caution",
    title="The contact time of the cleaner is paused",
    remedy="Start the engine and keep the fluid warm; what has counted so far stays.",
    source=COMMON_PRACTICE,
)
TIMER_EXCEEDED = Kind(
    code="contact-time-exceeded",
    severity="caution",
    title="The cleaner has been in too long",
    remedy="Engine off and get it out now, though it may not have acted long enough.",
    source=COMMON_PRACTICE,
)
TOO_HOT_TO_OPEN = Kind(
    code="opening-too-hot",
    severity="caution",
    title="The fluid is too hot to open anything",
    remedy="Engine off and wait. Where the maker demands hot work, wear the protection and "
    "acknowledge the caution hot-fluid with the reason.",
    source=COMMON_PRACTICE,
)
OPENING_TEMPERATURE_UNKNOWN = Kind(
    code="opening-temperature-unknown",
    severity="caution",
    title="Nobody has read the temperature before opening",
    remedy="Read it with a scan tool or in the line. With the engine off it counts for 5 min, a "
    "typed value for 60 s.",
    source=COMMON_PRACTICE,
)
GLOVES = Kind(
    code="opening-needs-gloves",
    severity="note",
    title="The fluid is hot enough for gloves and face shield",
    remedy="Wear gloves and a face shield from 45 °C.",
    source=COMMON_PRACTICE,
)
HOT_BY_MAKER = Kind(
    code="opening-hot-by-maker-data",
    severity="caution",
    title="The work is hot because the maker's data demand it",
    remedy="Keep gloves, face shield and sleeves on until it is closed again.",
    source=MAKER_DATA,
)
PROTECTION_MISSING = Kind(
    code="opening-protection-not-confirmed",
    severity="caution",
    title="Nobody has confirmed the protection for hot work",
    remedy="Wear gloves, face shield and sleeves, and confirm it.",
    source=COMMON_PRACTICE,
)
OVERHEATED = Kind(
    code="fluid-overheated",
    severity="stop",
    title="The fluid is hotter than any work on it needs",
    remedy="Engine off, let it cool and look for the cause. Above 130 °C check the fluid at the "
    "bench.",
    source=COMMON_PRACTICE,
)
USUAL_BYPASS_C = (70.0, 103.0)
"""What a line exchange usually waits for, 3 K above the opening included (common practice)."""

BYPASS_UNUSUAL = Kind(
    code="bypass-temperature-unusual",
    severity="caution",
    title="The line gate waits for a temperature that bypasses rarely open at",
    remedy="Check the number and its unit: 176 °F are 80 °C. Usual is 70 to 103 °C, margin "
    "included.",
    source=COMMON_PRACTICE,
)
KINDS = (
    READING_MISSING, READING_STALE, FLOW_NOT_SEEN, FLOW_TOO_LOW, BELOW_LOW, ABOVE_HIGH, NOT_HELD,
    FALLING, WINDOW_PASSED, ENGINE_STATE, NOT_STEADY, TYPED_NEAR_TOP, STAYS_SHUT, HEAT_NOT_NEEDED,
    FLOW_WHILE_SHUT, FLOW_FALLING, FLOW_PULSES, PRESSURE_WITHOUT_FLOW, PRESSURE_HIGH, TIMER_RUNS,
    TIMER_PAUSED, TIMER_EXCEEDED, TOO_HOT_TO_OPEN, OPENING_TEMPERATURE_UNKNOWN, GLOVES,
    HOT_BY_MAKER, PROTECTION_MISSING, OVERHEATED, BYPASS_UNUSUAL, *reading_findings.KINDS,
)  # fmt: skip
"""Every finding code of a gate, those of its readings included."""
