"""The fluid to have at hand for a route, and the containers that hold it."""

from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

from libexchange.catalogue import FluidProduct
from libexchange.containers import ContainerSize, cover_volume
from libexchange.errors import InvalidInput
from libexchange.fields import Money
from libexchange.plan.offer import ContainerChoice
from libexchange.plan.request import Prices
from libexchange.quantities import Volume

RESERVE_L, RESERVE_SHARE = 1.0, 0.1
"""At hand beyond what is planned, whichever is more [L, -] (common practice)."""

_NO_PRICE = Money("0", "XXX")
"""What a size without a price counts with, in the currency code that stands for none."""


def at_hand(*, planned_l: float) -> Volume:
    """Litres to have at hand: those planned and a reserve of 1 L or 10 %, whichever is more.

    planned_l: 0 or more [L]    Returns: to a tenth of a litre    Source: common practice.

    >>> at_hand(planned_l=8.4).value, at_hand(planned_l=20.04).value
    (9.4, 22.0)
    """
    return Volume(round(planned_l + max(RESERVE_L, RESERVE_SHARE * planned_l), 1), "L")


def sizes_on_offer(fluid: FluidProduct | None, prices: Prices | None) -> tuple[ContainerSize, ...]:
    """The containers on offer: those priced by the caller, else those of the catalogue, unpriced.

    >>> sizes_on_offer(None, None)
    ()
    """
    if prices is not None and prices.fluid_containers:
        return prices.fluid_containers
    listed = fluid.containers if fluid else ()
    return tuple(ContainerSize(size=size, price=_NO_PRICE) for size in listed)


@lru_cache(maxsize=1024)
def containers_of(
    volume: Volume, sizes: Sequence[ContainerSize]
) -> tuple[ContainerChoice, ...] | None:
    """The containers to open, at the least cost, or with the least left over without prices.

    None where no size is known, or where the cheapest choice cannot be found for certain.

    >>> five = ContainerSize(size=Volume(5, "L"), price=Money("42.00", "EUR"))
    >>> [(one.size.l, one.count) for one in containers_of(Volume(9, "L"), (five,))]
    [(5.0, 2)]
    """
    if not sizes:
        return None
    try:
        cover = cover_volume(volume=volume, sizes=sizes)
    except InvalidInput:
        return None
    return tuple(ContainerChoice(size=one.size, count=one.count) for one in cover.choice)


def price_of(size: Volume, sizes: Sequence[ContainerSize]) -> Money:
    """The price of a full container of a size; the lowest where a size is offered twice."""
    return min((one.price for one in sizes if one.size == size), key=_amount)


def _amount(price: Money) -> Decimal:
    return price.decimal
