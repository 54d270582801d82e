"""Cover a volume by whole containers at the least cost."""

from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.containers import MOST_SIZES, ContainerCover, ContainerSize, cover_volume
from libexchange.quantities import Volume

EXAMPLE: dict[str, Any] = {
    "volume": {"value": 9.0, "unit": "L"},
    "sizes": [
        {"size": {"value": 1, "unit": "L"}, "price": {"amount": "12.00", "currency": "EUR"}},
        {"size": {"value": 4, "unit": "L"}, "price": {"amount": "42.00", "currency": "EUR"}},
        {"size": {"value": 5, "unit": "L"}, "price": {"amount": "50.00", "currency": "EUR"}},
        {"size": {"value": 20, "unit": "L"}, "price": {"amount": "170.00", "currency": "EUR"}},
    ],
}


class ContainersRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A volume and the containers on offer, each with the price of a full one.

    volume: 0 to 1,000 L    sizes: 0.001 to 1,000 L each, prices in one currency; the order decides
    between covers that are alike in cost, what is left over and number
    """

    volume: Volume
    sizes: Annotated[
        list[ContainerSize],
        # only told here: `cover_volume` counts them, so that a wrong number hides no other fault
        Meta(extra_json_schema={"minItems": 1, "maxItems": MOST_SIZES}),
    ]


def calculate_containers(request: ContainersRequest) -> ContainerCover:
    """The containers to open, exact to the last cent and drop.

    Raises: InvalidInput, also where too many combinations tie to be sure of the cheapest
    Source: exact integer optimisation; no published table.

    >>> import msgspec
    >>> answer = calculate_containers(msgspec.convert(EXAMPLE, ContainersRequest))
    >>> [(chosen.size.l, chosen.count) for chosen in answer.choice], answer.cost.amount
    ([(4.0, 1), (5.0, 1)], '92.00')
    """
    return cover_volume(volume=request.volume, sizes=request.sizes)
