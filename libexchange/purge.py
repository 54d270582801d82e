"""Another kind of fluid in the equipment: what hangs in it, and how much is run through it first.

What is purged is used oil and a loss of stock. Fluid of dual clutches or CVTs and fluid of other
units are better moved with separate sets.
"""

from math import ceil, exp, log
from typing import Annotated

from msgspec import Meta, Struct

from libexchange.errors import check_range
from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.quantities import Volume

FOREIGN_SHARE_LIMIT = 0.005
LARGEST_HOLD_UP_L = 100.0
LARGEST_PURGE_L = 1000.0

TOO_SHORT = Kind(
    code="purge-too-short",
    severity="stop",
    title="Too much fluid of another kind is left in the equipment",
    remedy="Run more of the new kind through it before it is connected, and count that as used "
    "oil; or take a set that is kept for this kind.",
    source=COMMON_PRACTICE,
)
KINDS = (TOO_SHORT,)
"""Every finding code of a change of kind."""


class KindChange(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A change of fluid kind in the equipment ahead of the work.

    hold_up: what hangs in hoses, pump and filter, 0 to 100 L.    purged: null counts as nothing.
    limit: foreign fluid that may reach the unit, 0.0001 to 1 of its total fill; null is 0.005.
    """

    hold_up: Volume
    purged: Volume | None = None
    limit: Annotated[float, Meta(ge=1e-4, le=1)] | None = None


def foreign_share_after_purge(*, purged_l: float, hold_up_l: float, total_l: float) -> float:
    """Fluid of the former kind that the equipment still brings, as part of the total fill.

    h exp(-p / h) / V: the hold-up as one mixed tank, which is the safe side; plug flow leaves less.

    purged_l: 0 to 1,000 [L]    hold_up_l: 0 to 100 [L]    total_l: 0.5 to 500 [L]
    Returns: share, at most 1 [-]    Raises: OutOfRange    Source: mixed dilution; common practice.

    >>> round(foreign_share_after_purge(purged_l=3.1, hold_up_l=1.0, total_l=9), 4)
    0.005
    """
    check_range(name="purged_l", value=purged_l, low=0, high=LARGEST_PURGE_L, unit="L")
    _check_unit(hold_up_l, total_l)
    if hold_up_l == 0:
        return 0.0
    return min(hold_up_l * exp(-purged_l / hold_up_l) / total_l, 1.0)


def purge_needed_l(
    *, hold_up_l: float, total_l: float, limit_share: float = FOREIGN_SHARE_LIMIT
) -> float:
    """What has to run through the equipment until no more than a share of another kind is left.

    h ln(h / (limit V)), nothing where the hold-up is within the limit.

    hold_up_l: 0 to 100 [L]    total_l: 0.5 to 500 [L]    limit_share: 0.0001 to 1 [-]
    Returns: volume [L]    Raises: OutOfRange
    Source: inverse of `foreign_share_after_purge`; the limit of 0.5 % is common practice.

    >>> round(purge_needed_l(hold_up_l=1.0, total_l=9), 1)
    3.1
    """
    _check_unit(hold_up_l, total_l)
    check_range(name="limit_share", value=limit_share, low=1e-4, high=1)
    allowed_l = limit_share * total_l
    return 0.0 if hold_up_l <= allowed_l else hold_up_l * log(hold_up_l / allowed_l)


def purge_findings(*, foreign_share: float, limit_share: float, needed_l: float) -> list[Finding]:
    """Whether more of another kind is left than may be.

    foreign_share, limit_share: of the total fill [-]    needed_l: purge that would do [L]
    Source: common practice.

    >>> [f.severity for f in purge_findings(foreign_share=0.1, limit_share=0.005, needed_l=3.1)]
    ['stop']
    """
    if foreign_share <= limit_share * (1 + 1e-9):
        return []
    text = (
        f"{100 * foreign_share:.3g} % of the fill would be of another kind, {100 * limit_share:g} %"
        f" may be; purge {ceil(10 * needed_l) / 10:.1f} L in all."
    )
    values = {"foreign_share": foreign_share, "limit": limit_share, "needed_l": needed_l}
    return [TOO_SHORT.at("#/kind_change", text, values=values)]


def _check_unit(hold_up_l: float, total_l: float) -> None:
    check_range(name="hold_up_l", value=hold_up_l, low=0, high=LARGEST_HOLD_UP_L, unit="L")
    check_range(name="total_l", value=total_l, low=0.5, high=500, unit="L")
