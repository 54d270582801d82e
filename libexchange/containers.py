"""Least-cost cover of a volume by container sizes.

All arithmetic is exact: volumes are fractions of a litre as typed, so that ten quarts cover ten
quarts, and money is decimal. What cannot be solved exactly in a fraction of a second is refused.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from math import lcm
from typing import Annotated

from msgspec import Meta, Struct

from libexchange._factors import FACTORS
from libexchange._least_cover import least_cover
from libexchange.errors import Fault, InvalidInput
from libexchange.fields import Money
from libexchange.quantities import Volume

MOST_SIZES = 12
LARGEST_VOLUME_L = 1000.0
SMALLEST_SIZE_L = 0.001
LARGEST_SIZE_L = 1000.0
HIGHEST_PRICE = Decimal(1_000_000)
PRICE_STEPS = 10_000
MOST_FAULTS = 100
"""So many are told at once."""


class ContainerSize(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A container that can be bought full: what it holds, 0.001 to 1,000 L, and what it costs.

    size: what it holds    price: 0 to 1,000,000
    """

    size: Volume
    price: Money


class ChosenContainers(Struct, frozen=True, kw_only=True):
    """How many of a size are opened.

    size: of the container    count: to open
    """

    size: Volume
    count: Annotated[int, Meta(ge=1)]


class ContainerCover(Struct, frozen=True, kw_only=True):
    """The containers to open, in the order of the request, what they cost and leave over.

    choice: sizes and counts    cost: of all    leftover: beyond what was needed
    """

    choice: tuple[ChosenContainers, ...]
    cost: Money
    leftover: Volume


def cover_volume(*, volume: Volume, sizes: Sequence[ContainerSize]) -> ContainerCover:
    """The containers that hold at least `volume` at the least cost.

    Ties go to the least left over, then to the fewest containers, then to the order given.

    volume: 0 to 1,000 L    sizes: 1 to 12, all prices in one currency
    Returns: choice, cost and what is left over    Raises: InvalidInput with every fault, the first
    100; also where sizes of nearly one price per litre on a fine grid make too many combinations to
    be sure, which has been seen above 120 L on a grid of 1 mL
    Source: exact integer optimisation; no published table.

    >>> quart = ContainerSize(size=Volume(1, "[qt_us]"), price=Money("11.50", "USD"))
    >>> cover = cover_volume(volume=Volume(10, "[qt_us]"), sizes=[quart])
    >>> cover.choice[0].count, cover.cost.amount, cover.leftover.l
    (10, '115.00', 0.0)
    """
    faults = [*_volume_faults(volume), *size_faults(sizes), *_currency_faults(sizes)]
    if faults:
        raise InvalidInput(*faults[:MOST_FAULTS])
    needed_l, sizes_l = _litres(volume), [_litres(size.size) for size in sizes]
    counts = _counts(needed_l, sizes_l, sizes)
    held_l = sum((n * size_l for n, size_l in zip(counts, sizes_l, strict=True)), Fraction(0))
    return ContainerCover(
        choice=tuple(
            ChosenContainers(size=given.size, count=n)
            for given, n in zip(sizes, counts, strict=True)
            if n
        ),
        cost=_cost(counts, sizes),
        leftover=Volume(float(held_l - needed_l), "L"),
    )


def _litres(volume: Volume) -> Fraction:
    """The volume as typed, in litres: its shortest decimal times the exact factor."""
    multiplier, _, divisor = FACTORS[volume.unit]
    return Fraction(repr(volume.value)) * multiplier / divisor


def _counts(
    needed_l: Fraction, sizes_l: Sequence[Fraction], sizes: Sequence[ContainerSize]
) -> list[int]:
    grid = lcm(*(size_l.denominator for size_l in (needed_l, *sizes_l)))
    counts = least_cover(
        needed=int(needed_l * grid),
        sizes=[int(size_l * grid) for size_l in sizes_l],
        costs=[int(given.price.decimal * PRICE_STEPS) for given in sizes],
    )
    if counts is None:
        raise InvalidInput(_TOO_MANY)
    return counts


def _cost(counts: Sequence[int], sizes: Sequence[ContainerSize]) -> Money:
    """The sum with as many decimals as the finest price was given with."""
    priced = zip(counts, sizes, strict=True)
    total = sum((count * given.price.decimal for count, given in priced), Decimal(0))
    return Money(f"{total:f}", sizes[0].price.currency)


_TOO_MANY = Fault(
    pointer="/sizes",
    code="too-many-combinations",
    detail="too many combinations to find the cheapest one for certain",
    allowed="up to 120 L with sizes on a common grid of 1 mL, or fewer sizes of nearly one price",
    remedy="Give fewer sizes, round them to a common grid, or split the volume.",
)


def size_faults(sizes: Sequence[ContainerSize]) -> Iterator[Fault]:
    """Why sizes cannot be covered with: too few or many, or what one holds or costs.

    >>> [fault.pointer for fault in size_faults([])]
    ['/sizes']
    """
    if not 1 <= len(sizes) <= MOST_SIZES:
        yield _fault("/sizes", "out-of-range", len(sizes), f"1 to {MOST_SIZES} sizes")
    for index, given in enumerate(sizes):
        if not SMALLEST_SIZE_L <= given.size.l <= LARGEST_SIZE_L:
            allowed = f"{SMALLEST_SIZE_L:g} to {LARGEST_SIZE_L:g} L"
            yield _fault(f"/sizes/{index}/size", "out-of-range", given.size, allowed)
        if not 0 <= given.price.decimal <= HIGHEST_PRICE:
            pointer = f"/sizes/{index}/price/amount"
            yield _fault(pointer, "out-of-range", given.price.amount, "0 to 1000000")


def _volume_faults(volume: Volume) -> Iterator[Fault]:
    if volume.l > LARGEST_VOLUME_L:
        yield _fault("/volume", "out-of-range", volume, f"0 to {LARGEST_VOLUME_L:g} L")


def _currency_faults(sizes: Sequence[ContainerSize]) -> Iterator[Fault]:
    for index, given in enumerate(sizes):
        if given.price.currency != (currency := sizes[0].price.currency):
            pointer = f"/sizes/{index}/price/currency"
            yield _fault(pointer, "mixed-currencies", given.price.currency, currency)


def _fault(pointer: str, code: str, value: object, allowed: str) -> Fault:
    return Fault(
        pointer=pointer,
        code=code,
        detail="cannot be computed",
        value=value,
        allowed=allowed,
        remedy="Check the number, its unit and its currency.",
    )
