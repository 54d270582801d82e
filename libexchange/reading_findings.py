"""What can be wrong with readings of temperature, flow and pressure: their finding codes."""

from collections.abc import Collection, Iterable

from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind
from libexchange.readings import Reading, Source, blind_in_line, plausible

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
    title="Readings outside -40 to 150 °C were left out",
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
    remedy="Give a photo of the value with it, else it needs an acknowledgement; it counts for "
    "60 s and is less sure.",
    source=COMMON_PRACTICE,
)
SPIKES = Kind(
    code="reading-spikes",
    severity="note",
    title="Single readings far off their neighbours were left out",
    remedy="Check plug and cable of the sensor when it comes again.",
    source=MEMORY,
)
JUMPED = Kind(
    code="reading-jumps",
    severity="caution",
    title="The temperature jumps further than a unit can warm or cool",
    remedy="Read again: one more reading near the new value is taken as true. Check the sensor.",
    source=MEMORY,
)
CHANGES_FAST = Kind(
    code="temperature-changes-fast",
    severity="caution",
    title="The temperature changes faster than it does at idle",
    remedy="More than 5 K/min is unusual at idle. Read the fault memory and a second source.",
    source=MEMORY,
)
CHANGES_TOO_FAST = Kind(
    code="temperature-changes-too-fast",
    severity="caution",
    title="The temperature changes faster than it can at idle",
    remedy="Rely on no reading of this sensor. Read the fault memory; idle, and use another "
    "source.",
    source=MEMORY,
)
STUCK = Kind(
    code="sensor-perhaps-stuck",
    severity="caution",
    title="The temperature stands still where it should have changed",
    remedy="Read the fault memory: a control unit may show a fixed value for a faulty sensor. "
    "Compare with another source.",
    source=COMMON_PRACTICE,
)
SOURCES_DISAGREE = Kind(
    code="scan-and-line-disagree",
    severity="caution",
    title="Scan tool and line sensor are too far apart to rely on either",
    remedy="Read the fault memory, check the line sensor and its flow, and find out which is "
    "wrong before going on.",
    source=MEMORY,
)
OFF_AMBIENT = Kind(
    code="reading-off-ambient-after-stand",
    severity="caution",
    title="After a long stand the first reading is not at the temperature of the air",
    remedy="Read the fault memory: a control unit may show a fixed or computed value for a faulty "
    "sensor. Compare with another source, and check how long it stood and in what air.",
    source=MEMORY,
)
KINDS = (
    OFF_AMBIENT, SOURCE_CANNOT_GATE, IMPLAUSIBLE, WITHOUT_FLOW, CLAMP_ON, TYPED, SPIKES, JUMPED,
    CHANGES_FAST, CHANGES_TOO_FAST, STUCK, SOURCES_DISAGREE,
)  # fmt: skip
"""Every finding code of readings."""


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
