"""Which containers a plan asks for, how it is quoted by them, and what a missing price means."""

from decimal import Decimal
from typing import Any

import msgspec
import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.containers import ContainerSize, cover_volume
from libexchange.errors import InvalidInput, OutOfRange
from libexchange.fields import Money
from libexchange.plan.quote import cost_of
from libexchange.plan.records import Plan
from libexchange.plan.request import Prices
from libexchange.plan.supplies import at_hand, containers_of, price_of
from libexchange.quantities import Volume
from tests.libexchange.plan_desk import alternative, found, planned


def size(litres: float, price: str, currency: str = "EUR") -> ContainerSize:
    return ContainerSize(size=Volume(litres, "L"), price=Money(price, currency))


OFFER = (size(1, "12.00"), size(4, "42.00"), size(5, "50.00"), size(20, "170.00"))
FINE = (
    0.1251583, 0.1212219, 0.1035734, 0.1681246, 0.1999719, 0.1638471, 0.1803669, 0.1860244,
)  # fmt: skip
"""Sizes that cannot be told apart for certain when they cost the same by the litre."""

ALL_PRICES = Prices(
    fluid_containers=OFFER,
    labour_per_hour=Money("96.00", "EUR"),
    filter_kit=Money("52.10", "EUR"),
    used_fluid_per_litre=Money("0.60", "EUR"),
)


def chosen(plan: Plan) -> list[tuple[float, int]]:
    return [(one.size.value, one.count) for one in plan.containers or ()]


@pytest.mark.parametrize(
    ("planned_l", "litres"),
    [(0.0, 1.0), (8.4, 9.4), (9.99, 11.0), (10.0, 11.0), (11.0, 12.1), (40.0, 44.0)],
)
def test_the_reserve_is_one_litre_or_a_tenth_whichever_is_more(
    planned_l: float, litres: float
) -> None:
    assert at_hand(planned_l=planned_l) == Volume(litres, "L")


def test_the_containers_cover_the_litres_to_have_at_hand_at_the_least_cost() -> None:
    plan = planned(prices=ALL_PRICES, route="pan_and_filter_then_line")

    assert plan.litres is not None
    assert plan.litres.maximum.l == 9.4
    cheapest = cover_volume(volume=plan.litres.maximum, sizes=OFFER)
    assert chosen(plan) == [(one.size.value, one.count) for one in cheapest.choice]
    assert chosen(plan) == [(5, 2)]


def test_the_fluid_is_quoted_by_the_containers_where_they_have_prices() -> None:
    prices = replace(ALL_PRICES, fluid_per_litre=Money("99.00", "EUR"))

    plan = planned(prices=prices, route="drain")

    lines = {line.line_id: line for line in plan.quote_lines}
    assert plan.litres is not None
    assert plan.litres.maximum.l == 5.1
    assert chosen(plan) == [(1, 1), (5, 1)]
    one, five = lines["line-fluid-1"], lines["line-fluid-2"]
    assert (one.volume, one.count, one.amount) == (Volume(1, "L"), 1, Money("12.00", "EUR"))
    assert (five.count, five.unit_price, five.amount) == (1, OFFER[2].price, OFFER[2].price)


def test_the_cost_of_every_route_is_the_sum_of_its_own_lines() -> None:
    plan = planned(prices=ALL_PRICES, route="pan_and_filter_then_line")

    amounts = [line.amount.decimal for line in plan.quote_lines if line.amount]
    assert len(amounts) == len(plan.quote_lines)
    assert alternative(plan, "pan_and_filter_then_line").cost == Money(str(sum(amounts)), "EUR")
    assert sum(amounts) == Decimal("230.40") + Decimal("100.00") + Decimal("52.10") + Decimal(
        "5.04"
    )
    assert None not in {one.cost for one in plan.alternatives}


def test_sizes_of_the_catalogue_choose_the_least_left_over_and_cost_nothing() -> None:
    sizes = tuple(Volume(litres, "L") for litres in (1.0, 4.0, 5.0, 20.0))
    fluid = replace(invented.red_fluid(), containers=sizes)

    plan = planned(fluid=fluid, route="drain")

    assert chosen(plan) == [(1, 1), (5, 1)]
    assert [line.amount for line in plan.quote_lines] == [None] * 3
    assert [line.count for line in plan.quote_lines if line.kind == "fluid"] == [None]


def test_prices_of_the_request_go_before_the_sizes_of_the_catalogue() -> None:
    fluid = replace(invented.red_fluid(), containers=(Volume(0.5, "L"),))

    plan = planned(fluid=fluid, prices=ALL_PRICES, route="drain")

    assert chosen(plan) == [(1, 1), (5, 1)]


def test_without_any_size_there_are_no_containers() -> None:
    assert planned().containers is None
    assert planned(prices=Prices(fluid_per_litre=Money("14.50", "EUR"))).containers is None


def test_a_plan_without_a_route_asks_for_no_containers() -> None:
    assert planned(prices=ALL_PRICES, conditions=("coolant_in_fluid",)).containers is None


def test_a_size_offered_twice_is_bought_at_its_lower_price() -> None:
    offer = (size(1, "12.00"), size(1, "9.50"), size(5, "60.00"))

    assert price_of(Volume(1, "L"), offer) == Money("9.50", "EUR")
    plan = planned(prices=Prices(fluid_containers=offer), route="drain")
    fluid = next(line for line in plan.quote_lines if line.kind == "fluid")
    assert (fluid.count, fluid.amount) == (6, Money("57.00", "EUR"))


@pytest.mark.parametrize(
    ("left_out", "route", "missing"),
    [
        ("labour_per_hour", "drain", "labour_per_hour"),
        ("used_fluid_per_litre", "drain", "used_fluid_per_litre"),
        ("filter_kit", "pan_and_filter", "filter_kit"),
    ],
)
def test_a_missing_price_is_named_and_leaves_the_cost_open(
    left_out: str, route: str, missing: str
) -> None:
    plan = planned(prices=replace(ALL_PRICES, **{left_out: None}), route=route)

    assert alternative(plan, route).cost is None
    told = found(plan.findings, "price-missing")
    assert (told.severity, told.pointer, told.values) == ("note", "#/prices", {"missing": missing})
    assert missing in told.message


def test_a_price_that_the_route_does_not_need_is_not_missed() -> None:
    plan = planned(prices=replace(ALL_PRICES, filter_kit=None), route="drain")

    drain, pan = (alternative(plan, route) for route in ("drain", "pan_and_filter"))
    assert drain.cost is not None
    assert [f for f in drain.reasons if f.code == "price-missing"] == []
    assert found(pan.reasons, "price-missing").values == {"missing": "filter_kit"}


def test_sizes_that_cannot_be_chosen_for_certain_fall_back_to_the_litre() -> None:
    fine = tuple(size(litres, f"{10 * litres:.4f}") for litres in FINE)
    assert containers_of(Volume(5.1, "L"), fine) is None

    prices = Prices(fluid_containers=fine, fluid_per_litre=Money("10.00", "EUR"))
    plan = planned(prices=prices, route="drain")

    fluid = next(line for line in plan.quote_lines if line.kind == "fluid")
    assert plan.containers is None
    assert (fluid.count, fluid.amount) == (None, Money("41.00", "EUR"))
    assert found(plan.findings, "containers-undecided").severity == "note"


@pytest.mark.parametrize(
    ("prices", "pointer"),
    [
        ({"fluid_containers": [(1, "12.00", "EUR"), (4, "42.00", "CHF")]}, "/prices"),
        ({"fluid_containers": [(0.0009, "12.00", "EUR")]}, "/prices/fluid_containers/0/size"),
        ({"fluid_containers": [(1000.1, "12.00", "EUR")]}, "/prices/fluid_containers/0/size"),
        (
            {"fluid_containers": [(1, "-0.01", "EUR")]},
            "/prices/fluid_containers/0/price/amount",
        ),
    ],
)
def test_prices_that_cannot_be_computed_with_are_refused(
    prices: dict[str, Any], pointer: str
) -> None:
    offer = tuple(size(*one) for one in prices["fluid_containers"])

    with pytest.raises(InvalidInput) as refused:
        planned(prices=Prices(fluid_containers=offer))

    assert [fault.pointer for fault in refused.value.faults] == [pointer]


def test_a_container_price_in_another_currency_than_labour_is_refused() -> None:
    prices = Prices(fluid_containers=OFFER, labour_per_hour=Money("96", "CHF"))

    with pytest.raises(InvalidInput, match="CHF and EUR"):
        planned(prices=prices)


@pytest.mark.parametrize(("litres", "fits"), [(0.001, True), (0.0009, False), (1000, True),
                                              (1000.1, False)])  # fmt: skip
def test_a_fluid_lists_containers_of_a_millilitre_to_a_thousand_litres(
    litres: float, fits: bool
) -> None:
    sizes = (Volume(litres, "L"),)
    if fits:
        assert replace(invented.red_fluid(), containers=sizes).containers == sizes
        return
    with pytest.raises(OutOfRange, match="containers"):
        replace(invented.red_fluid(), containers=sizes)


def test_a_plan_with_containers_is_read_back_from_its_own_json() -> None:
    plan = planned(prices=ALL_PRICES)

    assert plan.containers
    assert msgspec.json.decode(msgspec.json.encode(plan), type=Plan) == plan


def test_no_lines_have_no_cost() -> None:
    assert cost_of(()) is None
