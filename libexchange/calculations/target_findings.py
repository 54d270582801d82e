"""What can be wrong with a target share and with the band of a forecast."""

from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind
from libexchange.plan.routes import MOST_LITRES_IN_TOTALS
from libexchange.rules.filling import DRAINED_SHARE_UNUSUAL, TARGET_ABOVE_CEILING, ceiling_text
from libexchange.rules.history import LITRES_BEYOND_USE

MOST_EXCHANGED_IN_TOTALS = 3.0
USUAL_DRAINED_SHARE = (0.25, 0.85)

TARGET_BEYOND_LIMIT = Kind(
    code="target-beyond-limit",
    severity="caution",
    title="The target is not reached within what can be computed",
    remedy="Lower the target, or plan a second visit after driving.",
    source="computed from the request",
)
TARGET_TAKES_MANY_LITRES = Kind(
    code="target-takes-many-litres",
    severity="caution",
    title="The target takes more than 1.8 total fills",
    remedy="Lower it, drain or take the pan off first, or plan a second visit after driving: the "
    "last litres renew next to nothing.",
    source=COMMON_PRACTICE,
)
BAND_NOT_MEASURED = Kind(
    code="band-not-measured",
    severity="note",
    title="The share is calculated from typical values, not measured on this unit",
    remedy="Show low and high beside it; take +-0.08 where total or drained amount is not the "
    "maker's.",
    source=MEMORY,
)
KINDS = (
    TARGET_ABOVE_CEILING,
    TARGET_BEYOND_LIMIT,
    TARGET_TAKES_MANY_LITRES,
    BAND_NOT_MEASURED,
    DRAINED_SHARE_UNUSUAL,
    LITRES_BEYOND_USE,
)
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


def many_litres(*, exchanged_l: float, total_l: float, gain_per_l: float) -> list[Finding]:
    """Whether a target takes more litres through the line than are planned for one visit.

    >>> many_litres(exchanged_l=16.2, total_l=9, gain_per_l=0.01)
    []
    """
    if exchanged_l <= MOST_LITRES_IN_TOTALS * total_l * (1 + 1e-9):
        return []
    text = (
        f"It takes {exchanged_l:.1f} L, the unit holds {total_l:.1f} L; the last of them renews "
        f"{100 * gain_per_l:.1f} %."
    )
    values = {
        "exchanged_l": exchanged_l, "total_l": total_l, "marginal_gain_per_litre": gain_per_l
    }  # fmt: skip
    return [TARGET_TAKES_MANY_LITRES.at("#/target_fresh_share", text, values=values)]


def litres_beyond_use(*, exchanged_l: float, total_l: float) -> list[Finding]:
    """Whether more than three total fills are to go through the line.

    >>> litres_beyond_use(exchanged_l=27, total_l=9)
    []
    """
    if exchanged_l <= MOST_EXCHANGED_IN_TOTALS * total_l * (1 + 1e-9):
        return []
    text = f"{exchanged_l:g} L asked for, the unit holds {total_l:g} L."
    values = {"exchanged_l": exchanged_l, "total_l": total_l}
    return [LITRES_BEYOND_USE.at("#/exchanged", text, values=values)]


def drained_share_unusual(*, drained_l: float, total_l: float) -> list[Finding]:
    """Whether one drain leaves an unusual part of the unit behind.

    >>> drained_share_unusual(drained_l=4, total_l=9)
    []
    """
    share, (low, high) = drained_l / total_l, USUAL_DRAINED_SHARE
    if low - 1e-9 <= share <= high + 1e-9:
        return []
    text = f"{drained_l:g} L of {total_l:g} L is a share of {share:.2f}."
    values = {"total_l": total_l, "drained_l": drained_l, "share": share}
    return [DRAINED_SHARE_UNUSUAL.at("#/drained_per_cycle", text, values=values)]
