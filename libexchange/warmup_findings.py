"""What can be wrong with a warm-up: the finding codes of its forecast."""

from libexchange.findings import COMMON_PRACTICE, MEMORY, Kind

WILL_NOT_GET_THERE = Kind(
    code="temperature-not-reached",
    severity="caution",
    title="It will not get to this temperature as it stands",
    remedy="For a bypass that does not open at idle: warm up on the road, hold the bypass by the "
    "maker's tool, or take another route. Never warm up by a stall test.",
    source=COMMON_PRACTICE,
)
WILL_NOT_COOL = Kind(
    code="temperature-not-cooled-to",
    severity="caution",
    title="It will not cool to this temperature as it stands",
    remedy="Bring it to cooler air or let a fan blow at it, with the engine off; or take another "
    "temperature.",
    source=COMMON_PRACTICE,
)
MAY_NOT_GET_THERE = Kind(
    code="temperature-perhaps-not-reached",
    severity="caution",
    title="It may not get to this temperature as it stands",
    remedy="Watch the readings; have a road warm-up or another route ready.",
    source=COMMON_PRACTICE,
)
HEAT_ASSUMED = Kind(
    code="heat-values-assumed",
    severity="note",
    title="Heat values that were not given are typical of a car",
    remedy="Readings of this unit tell better; a heavy unit needs its own heat capacity.",
    source=MEMORY,
)
CANNOT_TELL = Kind(
    code="heating-cannot-be-told",
    severity="note",
    title="The readings do not tell yet where the temperature settles",
    remedy="Read on until the rise has clearly slowed down.",
    source="computed from the readings",
)
HOT = Kind(
    code="hotter-than-work-allows",
    severity="caution",
    title="It starts or settles hotter than any work on the fluid is done",
    remedy="Stop the engine before it gets there and let it cool; above 110 °C no work begins, "
    "and above 130 °C the fluid counts as damaged.",
    source=COMMON_PRACTICE,
)
READINGS_FEW = Kind(
    code="readings-too-few-to-fit",
    severity="note",
    title="There are too few readings for a fit",
    remedy="Give at least six readings of one source at different times.",
    source="computed from the readings",
)
KINDS = (
    WILL_NOT_GET_THERE, WILL_NOT_COOL, MAY_NOT_GET_THERE, HEAT_ASSUMED, CANNOT_TELL, HOT,
    READINGS_FEW,
)  # fmt: skip
"""Every finding code of a warm-up."""
