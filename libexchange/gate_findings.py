"""Why a gate is not open and which readings were left out: the finding codes of `gate`."""

from collections.abc import Collection, Iterable

from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind
from libexchange.readings import Reading, Source, blind_in_line, plausible

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
    remedy="Feed and engine off. Loop the line, warm up and look for a shut bypass or a kink.",
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
SOURCE_CANNOT_GATE = Kind(
    code="reading-source-cannot-gate",
    severity="note",
    title="Readings of a source that this gate cannot rely on were left out",
    remedy="Use a scan tool; a line exchange also takes an in-line or clamp-on sensor.",
    source=MEMORY,
)
IMPLAUSIBLE = Kind(
    code="reading-implausible",
    severity="caution",
    title="Readings outside -40 to 150 Cel were left out",
    remedy="Check the sensor and the fault memory.",
    source=MEMORY,
)
WITHOUT_FLOW = Kind(
    code="in-line-reading-without-flow",
    severity="note",
    title="In-line temperatures without flow were left out",
    remedy="Give the flow with each in-line temperature; without flow the sensor tells nothing.",
    source=MEMORY,
)
CLAMP_ON = Kind(
    code="clamp-on-reads-low",
    severity="note",
    title="The temperature comes from a clamp-on sensor",
    remedy="Expect the fluid to be 5 to 15 K hotter and the reading 1 to 2 min late.",
    source=MEMORY,
)
TYPED = Kind(
    code="reading-typed-by-hand",
    severity="note",
    title="The temperature was typed in from a scan tool",
    remedy="Keep a photo of the value; it counts for 60 s and is less sure.",
    source=COMMON_PRACTICE,
)
KINDS = (
    READING_MISSING, READING_STALE, FLOW_NOT_SEEN, FLOW_TOO_LOW, BELOW_LOW, ABOVE_HIGH, NOT_HELD,
    FALLING, WINDOW_PASSED, SOURCE_CANNOT_GATE, IMPLAUSIBLE, WITHOUT_FLOW, CLAMP_ON, TYPED,
)  # fmt: skip
"""Every finding code of a gate."""


def left_out(readings: Iterable[Reading], *, sources: Collection[Source]) -> list[Finding]:
    """One finding for each reason why readings were not relied on, with how many there were.

    sources: what the gate may rely on

    >>> left_out([], sources=["scan_tool"])
    []
    """
    seen = set(readings)
    of_source = [reading for reading in seen if reading.source in sources]
    counts = (
        (SOURCE_CANNOT_GATE, len(seen) - len(of_source)),
        (IMPLAUSIBLE, sum(not plausible(reading) for reading in of_source)),
        (WITHOUT_FLOW, sum(map(blind_in_line, of_source))),
    )
    return [
        kind.at("#/readings", f"{count} of {len(seen)} readings.", values={"readings": count})
        for kind, count in counts
        if count
    ]
