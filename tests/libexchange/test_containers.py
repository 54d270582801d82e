"""Covers: ties, limits, faults, and the edge cases of units and prices."""

from decimal import Decimal
from random import Random

import pytest

from libexchange.containers import ContainerCover, ContainerSize, cover_volume
from libexchange.errors import InvalidInput
from libexchange.fields import Money
from libexchange.quantities import Volume

LITRES = [0.5, 1, 4, 5, 20, 60, 205, 0.946, 3.785, 4.73, 18.9, 208.2]
"""The sizes that fluid is sold in, US sizes rounded to the millilitre (common practice)."""


def offer(size: float, price: str, unit: str = "L", currency: str = "EUR") -> ContainerSize:
    volume = Volume(size, unit)  # type: ignore[arg-type]  # tests write units as plain text
    return ContainerSize(size=volume, price=Money(price, currency))


@pytest.mark.parametrize("litres", [9.2, 12.34, 60.001, 100.0])
def test_sizes_as_sold_at_one_price_per_litre_are_solved(litres: float) -> None:
    sizes = [offer(size, f"{size * 11.9:.2f}") for size in LITRES]

    cover = cover_volume(volume=Volume(litres, "L"), sizes=sizes)
    held = sum(chosen.count * chosen.size.l for chosen in cover.choice)
    assert held - litres == pytest.approx(cover.leftover.l, abs=1e-9)
    assert float(cover.cost.amount) >= litres * 11.9 - 0.01 * len(LITRES)


def test_too_many_combinations_are_refused_rather_than_guessed() -> None:
    random = Random(2)  # noqa: S311 -- seeded instance
    fine = [random.randrange(10**8, 10**9) for _ in range(12)]
    sizes = [offer(size / 10**8, f"{size / 10**8 * 12:.4f}") for size in fine]

    with pytest.raises(InvalidInput) as refused:
        cover_volume(volume=Volume(299.123456789, "L"), sizes=sizes)
    assert [fault.code for fault in refused.value.faults] == ["too-many-combinations"]


def chosen(cover: ContainerCover) -> list[tuple[float, int]]:
    return [(one.size.value, one.count) for one in cover.choice]


def test_ties_go_to_the_least_left_over() -> None:
    cover = cover_volume(volume=Volume(5, "L"), sizes=[offer(8, "10"), offer(6, "10")])

    assert chosen(cover) == [(6, 1)]


def test_ties_then_go_to_the_fewest_containers() -> None:
    cover = cover_volume(volume=Volume(4, "L"), sizes=[offer(1, "3"), offer(4, "12")])

    assert chosen(cover) == [(4, 1)]


def test_ties_then_go_to_the_order_given() -> None:
    one, other = offer(5, "10.0"), offer(5000, "10.00", "mL")

    first = cover_volume(volume=Volume(5, "L"), sizes=[one, other])
    second = cover_volume(volume=Volume(5, "L"), sizes=[other, one])
    assert (first.choice[0].size, second.choice[0].size) == (one.size, other.size)


def test_nothing_is_needed_for_no_volume() -> None:
    cover = cover_volume(volume=Volume(0, "L"), sizes=[offer(5, "10.00")])

    assert (cover.choice, cover.cost, cover.leftover.l) == ((), Money("0.00", "EUR"), 0.0)


def test_free_containers_are_taken_no_more_than_needed() -> None:
    cover = cover_volume(volume=Volume(9, "L"), sizes=[offer(5, "0"), offer(9, "1")])

    assert (chosen(cover), cover.cost.amount) == ([(5, 2)], "0")


def test_money_stays_exact() -> None:
    sizes = [offer(1, "0.1"), offer(100, "99.9999")]

    cover = cover_volume(volume=Volume(3, "L"), sizes=sizes)
    assert Decimal(cover.cost.amount) == Decimal("0.3")


@pytest.mark.parametrize("unit", ["[qt_us]", "[pt_us]", "[gal_us]", "[foz_us]", "[qt_br]", "mL"])
@pytest.mark.parametrize("count", [3, 7, 10, 22])
def test_whole_containers_cover_their_own_number_exactly(unit: str, count: int) -> None:
    volume = Volume(count * 10, unit)  # type: ignore[arg-type]  # a unit of the parameter list

    cover = cover_volume(volume=volume, sizes=[offer(10, "7", unit)])
    assert (cover.choice[0].count, cover.leftover.l) == (count, 0.0)


def test_tenths_of_a_litre_add_up() -> None:
    cover = cover_volume(volume=Volume(0.3, "L"), sizes=[offer(0.1, "1")])

    assert (cover.choice[0].count, cover.leftover.l) == (3, 0.0)


def test_case_01_a_quart_is_not_a_litre() -> None:
    cover = cover_volume(volume=Volume(12, "L"), sizes=[offer(1, "9", "[qt_us]")])

    assert cover.choice[0].count == 13


def test_case_02_a_us_gallon_is_not_a_british_one() -> None:
    sizes = [offer(1, "30", "[gal_us]"), offer(1, "30", "[gal_br]")]

    cover = cover_volume(volume=Volume(4.5, "L"), sizes=sizes)
    assert [one.size.unit for one in cover.choice] == ["[gal_br]"]


def test_case_98_containers_hold_what_is_used_and_what_is_left_over() -> None:
    cover = cover_volume(volume=Volume(8.6, "L"), sizes=[offer(4, "40"), offer(1, "11")])

    held = sum(one.count * one.size.l for one in cover.choice)
    assert held == pytest.approx(8.6 + cover.leftover.l, rel=1e-15)


def test_case_100_prices_per_quart_beside_litres() -> None:
    sizes = [offer(1, "10", "[qt_us]"), offer(1, "10.50")]

    cover = cover_volume(volume=Volume(5, "L"), sizes=sizes)
    assert [(one.size.unit, one.count) for one in cover.choice] == [("L", 5)]
    assert cover.cost.amount == "52.50"


def refused_pointers(volume: Volume, sizes: list[ContainerSize]) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as refused:
        cover_volume(volume=volume, sizes=sizes)
    return [(fault.pointer, fault.code) for fault in refused.value.faults]


def test_every_fault_is_told_at_once() -> None:
    sizes = [
        offer(0.0009, "1"),
        offer(1001, "-0.01"),
        offer(1, "1000000.01"),
        offer(1, "1", currency="USD"),
    ]

    assert refused_pointers(Volume(1000.1, "L"), sizes) == [
        ("/volume", "out-of-range"),
        ("/sizes/0/size", "out-of-range"),
        ("/sizes/1/size", "out-of-range"),
        ("/sizes/1/price/amount", "out-of-range"),
        ("/sizes/2/price/amount", "out-of-range"),
        ("/sizes/3/price/currency", "mixed-currencies"),
    ]


def test_a_wrong_number_of_sizes_hides_no_other_fault() -> None:
    sizes = [offer(0.0009, "1"), *[offer(1, "-1")] * 11, offer(1, "1", currency="USD")]

    pointers = [pointer for pointer, _ in refused_pointers(Volume(1000.1, "L"), sizes)]
    assert pointers[:4] == ["/volume", "/sizes", "/sizes/0/size", "/sizes/1/price/amount"]
    assert pointers[-1] == "/sizes/12/price/currency"
    assert len(pointers) == 15


def test_at_most_a_hundred_faults_are_told() -> None:
    assert len(refused_pointers(Volume(1, "L"), [offer(1, "-1")] * 150)) == 100


@pytest.mark.parametrize("litres", [0.001, 1000])
def test_the_edges_of_what_a_container_holds_and_costs(litres: float) -> None:
    sizes = [offer(litres, "1000000"), offer(1, "0")]

    assert cover_volume(volume=Volume(1000, "L"), sizes=sizes).cost.decimal == 0


@pytest.mark.parametrize("count", [0, 13])
def test_one_to_twelve_sizes_are_taken(count: int) -> None:
    sizes = [offer(1, "1")] * count

    assert refused_pointers(Volume(1, "L"), sizes) == [("/sizes", "out-of-range")]
