"""Textbook models of an exchange: mixed, plug, tanks in series, drain cycles, and inverses.

They take a unit as one vessel. The compartment model of `circuit` is the estimate; these stand
beside it as references and bounds.
"""

from itertools import accumulate
from math import exp, expm1, log
from operator import mul

from libexchange.errors import OutOfRange, check_range

SMALLEST_TOTAL_L = 0.05
LARGEST_TOTAL_L = 500.0
LARGEST_EXCHANGE_L = 1e5
MOST_TANKS = 100
MOST_CYCLES = 1000
SAME_SHARE = 1e-12
"""Shares closer than this are the same share: a few roundings of the arithmetic."""


def mixed_share(
    *, exchanged_l: float, total_l: float, initial_share: float = 0.0, incoming_share: float = 1.0
) -> float:
    """Share in one perfectly mixed vessel after a continuous exchange.

    incoming + (initial - incoming) exp(-exchanged / total)

    exchanged_l: 0 to 100,000 [L]    total_l: 0.05 to 500 [L]
    initial_share, incoming_share: 0 to 1 [-], of the fluid in the vessel and of the feed
    Returns: share [-]    Raises: OutOfRange
    Source: Branan, Rules of Thumb for Chemical Engineers, dilution purging.

    >>> round(mixed_share(exchanged_l=9, total_l=9), 6)
    0.632121
    """
    _check_exchanged(exchanged_l)
    _check_total(total_l)
    _check_shares(initial_share=initial_share, incoming_share=incoming_share)
    reached = -expm1(-exchanged_l / total_l)
    return initial_share + (incoming_share - initial_share) * reached


def mixed_exchanged_l(
    *, share: float, total_l: float, initial_share: float = 0.0, incoming_share: float = 1.0
) -> float | None:
    """Litres after which one perfectly mixed vessel holds `share`; the inverse of `mixed_share`.

    total ln((incoming - initial) / (incoming - share))

    share, initial_share, incoming_share: 0 to 1 [-]    total_l: 0.05 to 500 [L]
    Returns: exchanged [L], None when the share lies on the far side of the start or of the feed,
    which is only approached    Raises: OutOfRange    Source: as `mixed_share`.

    >>> round(mixed_exchanged_l(share=0.8, total_l=9), 3)
    14.485
    >>> mixed_exchanged_l(share=1.0, total_l=9)
    """
    _check_total(total_l)
    _check_shares(share=share, initial_share=initial_share, incoming_share=incoming_share)
    if share == initial_share:
        return 0.0
    if share == incoming_share or (share - initial_share) / (incoming_share - share) < 0:
        return None
    return total_l * log((incoming_share - initial_share) / (incoming_share - share))


def plug_share(*, exchanged_l: float, total_l: float, stranded_l: float = 0.0) -> float:
    """Fresh share when fresh pushes old out ahead of it, unmixed: nothing can do better.

    min(exchanged, total - stranded) / total

    exchanged_l: 0 to 100,000 [L]    total_l: 0.05 to 500 [L]    stranded_l: 0 to total [L]
    Returns: share [-]    Raises: OutOfRange
    Source: Levenspiel, Chemical Reaction Engineering, plug flow.

    >>> round(plug_share(exchanged_l=9, total_l=9, stranded_l=0.2), 4)
    0.9778
    """
    _check_exchanged(exchanged_l)
    _check_total(total_l)
    check_range(name="stranded_l", value=stranded_l, low=0, high=total_l, unit="L")
    return min(exchanged_l, total_l - stranded_l) / total_l


def plug_exchanged_l(*, share: float, total_l: float, stranded_l: float = 0.0) -> float | None:
    """Litres for a fresh share in plug flow; the inverse of `plug_share`.

    share: 0 to 1 [-]    total_l: 0.05 to 500 [L]    stranded_l: 0 to total [L]
    Returns: exchanged [L], None above the share without the stranded litres
    Raises: OutOfRange    Source: as `plug_share`.

    >>> plug_exchanged_l(share=0.5, total_l=9)
    4.5
    """
    _check_total(total_l)
    _check_shares(share=share)
    check_range(name="stranded_l", value=stranded_l, low=0, high=total_l, unit="L")
    exchanged_l = share * total_l
    return None if share > 1 - stranded_l / total_l + SAME_SHARE else exchanged_l


def tanks_outlet_share(*, exchanged_l: float, total_l: float, tanks: int) -> float:
    """Fresh share of what leaves equal mixed tanks in series that held old fluid.

    1 - exp(-n theta) sum over k < n of (n theta)^k / k!, theta = exchanged / total

    exchanged_l: 0 to 100,000 [L]    total_l: 0.05 to 500, of all tanks [L]    tanks: 1 to 100 [-]
    Returns: share [-]    Raises: OutOfRange
    Source: Levenspiel, Chemical Reaction Engineering, tanks in series.

    >>> round(tanks_outlet_share(exchanged_l=9, total_l=9, tanks=5), 6)
    0.559507
    """
    return 1 - _old_shares(exchanged_l, total_l, tanks)[-1]


def tanks_inside_share(*, exchanged_l: float, total_l: float, tanks: int) -> float:
    """Fresh share inside equal mixed tanks in series, which runs ahead of what leaves them.

    exchanged_l: 0 to 100,000 [L]    total_l: 0.05 to 500, of all tanks [L]    tanks: 1 to 100 [-]
    Returns: share [-]    Raises: OutOfRange    Source: as `tanks_outlet_share`, averaged.

    >>> round(tanks_inside_share(exchanged_l=9, total_l=9, tanks=3), 6)
    0.775958
    """
    return 1 - sum(_old_shares(exchanged_l, total_l, tanks)) / tanks


def cycle_fresh_share(*, drained_l: float, total_l: float, stranded_l: float = 0.0) -> float:
    """Part of the reachable fluid that one drain and refill renews.

    drained / (total - stranded)

    total_l: 0.05 to 500 [L]    stranded_l: 0 to below total [L]
    drained_l: 0 to total - stranded [L]
    Returns: share [-]    Raises: OutOfRange    Source: definition.

    >>> cycle_fresh_share(drained_l=4, total_l=10, stranded_l=2)
    0.5
    """
    _check_total(total_l)
    if not 0 <= stranded_l < total_l:
        raise OutOfRange(
            name="stranded_l", value=stranded_l, allowed=f"0 to less than {total_l:g} L"
        )
    reachable_l = total_l - stranded_l
    check_range(name="drained_l", value=drained_l, low=0, high=reachable_l, unit="L")
    return drained_l / reachable_l


def cycles_ceiling(*, total_l: float, stranded_l: float = 0.0) -> float:
    """Fresh share that drain cycles approach and never exceed, 1 - stranded / total.

    total_l: 0.05 to 500 [L]    stranded_l: 0 to total [L]
    Returns: share [-]    Raises: OutOfRange    Source: definition.

    >>> cycles_ceiling(total_l=10, stranded_l=2)
    0.8
    """
    _check_total(total_l)
    check_range(name="stranded_l", value=stranded_l, low=0, high=total_l, unit="L")
    return 1 - stranded_l / total_l


def fresh_share_after_cycles(
    *, cycles: int, drained_l: float, total_l: float, stranded_l: float = 0.0
) -> float:
    """Fresh share of the whole after equal drains and refills, mixed by driving in between.

    (1 - stranded / total) (1 - (1 - q)^cycles), q of `cycle_fresh_share`

    cycles: 0 to 1,000 [-]    drained_l: 0 to total - stranded, each time [L]
    total_l: 0.05 to 500 [L]    stranded_l: 0 to below total [L]
    Returns: share [-]    Raises: OutOfRange
    Source: Branan, Rules of Thumb for Chemical Engineers, pressure-cycle purging.

    >>> [round(fresh_share_after_cycles(cycles=n, drained_l=4, total_l=10), 5) for n in (1, 2, 5)]
    [0.4, 0.64, 0.92224]
    """
    check_range(name="cycles", value=cycles, low=0, high=MOST_CYCLES)
    renewed = cycle_fresh_share(drained_l=drained_l, total_l=total_l, stranded_l=stranded_l)
    return cycles_ceiling(total_l=total_l, stranded_l=stranded_l) * (1 - (1 - renewed) ** cycles)


def cycles_for_share(
    *, target_share: float, drained_l: float, total_l: float, stranded_l: float = 0.0
) -> int | None:
    """Drain cycles after which the fresh share is at least the target.

    Counted up with `fresh_share_after_cycles`, never by logarithm, so that a target which n cycles
    meet exactly needs n of them and not n + 1.

    target_share: 0 to 1 [-]    others: as `fresh_share_after_cycles`
    Returns: cycles [-], None at or above `cycles_ceiling`; a None below it means that 1,000 cycles
    are not enough    Raises: OutOfRange    Source: as `fresh_share_after_cycles`.

    >>> cycles_for_share(target_share=0.64, drained_l=4, total_l=10)
    2
    >>> cycles_for_share(target_share=0.98, drained_l=4, total_l=10, stranded_l=0.2)
    """
    _check_shares(target_share=target_share)
    ceiling = cycles_ceiling(total_l=total_l, stranded_l=stranded_l)
    if target_share >= ceiling - SAME_SHARE:
        return None
    for cycles in range(MOST_CYCLES + 1):
        reached = fresh_share_after_cycles(
            cycles=cycles, drained_l=drained_l, total_l=total_l, stranded_l=stranded_l
        )
        if reached >= target_share - SAME_SHARE:
            return cycles
    return None


def _old_shares(exchanged_l: float, total_l: float, tanks: int) -> list[float]:
    """Old share of each tank: the partial sums of the Poisson terms."""
    _check_exchanged(exchanged_l)
    _check_total(total_l)
    check_range(name="tanks", value=tanks, low=1, high=MOST_TANKS)
    renewals = tanks * exchanged_l / total_l
    terms = accumulate((renewals / k for k in range(1, tanks)), mul, initial=exp(-renewals))
    return [min(old, 1.0) for old in accumulate(terms)]


def _check_exchanged(exchanged_l: float) -> None:
    check_range(name="exchanged_l", value=exchanged_l, low=0, high=LARGEST_EXCHANGE_L, unit="L")


def _check_total(total_l: float) -> None:
    check_range(name="total_l", value=total_l, low=SMALLEST_TOTAL_L, high=LARGEST_TOTAL_L, unit="L")


def _check_shares(**shares: float) -> None:
    for name, share in shares.items():
        check_range(name=name, value=share, low=0, high=1)
