"""What can be wrong with a target share and with the band of a forecast."""

from libexchange.findings import MEMORY, Finding, Kind
from libexchange.rules.filling import TARGET_ABOVE_CEILING, ceiling_text

TARGET_BEYOND_LIMIT = Kind(
    code="target-beyond-limit",
    severity="caution",
    title="The target is not reached within what can be computed",
    remedy="Lower the target, or plan a second visit after driving.",
    source="computed from the request",
)
BAND_NOT_MEASURED = Kind(
    code="band-not-measured",
    severity="note",
    title="The share is calculated from typical values, not measured on this unit",
    remedy="Show low and high beside it; take +-0.08 where total or drained amount is not the "
    "maker's.",
    source=MEMORY,
)
KINDS = (TARGET_ABOVE_CEILING, TARGET_BEYOND_LIMIT, BAND_NOT_MEASURED)
"""Every finding code of the calculations on shares."""


def unreached_target(target: float, ceiling: float, *, above: bool, limit: str) -> Finding:
    """Why a target is not reached: it is above the ceiling, or beyond a limit told in words.

    >>> unreached_target(0.99, 0.95, above=True, limit="50 cycles").code
    'target-above-ceiling'
    """
    values = {"target_fresh_share": target, "ceiling": ceiling}
    if above:
        text = ceiling_text(target=target, ceiling=ceiling)
        return TARGET_ABOVE_CEILING.at("#/target_fresh_share", text, values=values)
    text = f"The target of {target:.6g} takes more than {limit}."
    return TARGET_BEYOND_LIMIT.at("#/target_fresh_share", text, values=values)
