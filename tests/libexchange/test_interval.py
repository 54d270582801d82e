"""Ageing, partial exchange and the counting of dates."""

from calendar import monthrange
from datetime import date, timedelta
from math import exp, inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.errors import OutOfRange
from libexchange.interval import (
    Use,
    add_months,
    arrhenius_acceleration,
    carried_part,
    damage,
    day_of_use,
    life_factor,
    remaining_damage,
    steady_interval,
    use_left,
)

SHARES = st.floats(0, 1)
DAYS = st.dates(date(1950, 1, 1), date(2100, 12, 31))


@given(temperature=st.floats(70, 200), halving=st.floats(8, 12))
def test_life_halves_with_every_step(temperature: float, halving: float) -> None:
    here = life_factor(temperature_c=temperature, halving_k=halving)
    hotter = life_factor(temperature_c=temperature + halving, halving_k=halving)

    assert hotter == pytest.approx(min(here / 2, 1.0), rel=1e-9) or here == 2.0


@pytest.mark.parametrize("temperature", [70, 40, 0, -40])
def test_cold_fluid_lives_twice_as_long_and_no_longer(temperature: float) -> None:
    assert life_factor(temperature_c=temperature) == 2.0


def test_life_in_kilometres_at_90_to_120_celsius() -> None:
    """[common practice] 80, 40, 20 and 10 thousand km from 160,000 km at 80 degC."""
    lives = [160_000 * life_factor(temperature_c=t) for t in (90, 100, 110, 120)]

    assert lives == [80_000, 40_000, 20_000, 10_000]


@given(
    uses=st.lists(st.builds(Use, st.floats(0, 1e5), st.floats(-40, 160)), max_size=8),
    more=st.builds(Use, st.floats(0, 1e5), st.floats(-40, 160)),
)
def test_damage_adds_up(uses: list[Use], more: Use) -> None:
    together = damage(uses=[*uses, more], reference_life=160_000)
    apart = damage(uses=uses, reference_life=160_000) + damage(uses=[more], reference_life=160_000)

    assert together == pytest.approx(apart)


def test_hours_and_kilometres_count_alike() -> None:
    assert damage(uses=[Use(1000, 90)], reference_life=4000) == 0.5


@given(before=st.floats(0, 5), share=SHARES, factor=st.floats(1, 1.3))
def test_an_exchange_never_makes_it_worse(before: float, share: float, factor: float) -> None:
    after = remaining_damage(damage_before=before, fresh_share=share, remainder_factor=factor)

    assert 0 <= after <= before


@given(share=SHARES)
def test_two_exchanges_leave_the_product(share: float) -> None:
    once = remaining_damage(damage_before=1, fresh_share=share)
    twice = remaining_damage(damage_before=once, fresh_share=share)

    assert twice == pytest.approx(carried_part(fresh_share=share) ** 2)


@given(share=SHARES, life=st.floats(0, 1e6))
def test_without_catalysis_the_steady_interval_is_the_share_of_the_life(
    share: float, life: float
) -> None:
    assert steady_interval(full_life=life, fresh_share=share, remainder_factor=1) == pytest.approx(
        share * life, abs=1e-6
    )


def test_worn_out_fluid_has_nothing_left() -> None:
    assert use_left(damage_now=1.0, damage_per_use=1e-5) == 0
    assert use_left(damage_now=1.7, damage_per_use=1e-5) == 0


@given(day=DAYS, months=st.integers(0, 240))
def test_months_keep_the_day_or_end_with_the_month(day: date, months: int) -> None:
    due = add_months(day=day, months=months)

    assert 12 * (due.year - day.year) + due.month - day.month == months
    assert due.day == min(day.day, monthrange(due.year, due.month)[1])


@given(day=DAYS, months=st.integers(0, 240))
def test_a_later_day_is_never_due_earlier(day: date, months: int) -> None:
    assert add_months(day=day + timedelta(days=1), months=months) >= add_months(
        day=day, months=months
    )


@pytest.mark.parametrize(
    ("day", "months", "due"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2096, 2, 29), 48, date(2100, 2, 28)),
        (date(2023, 12, 31), 2, date(2024, 2, 29)),
        (date(2024, 12, 31), 2, date(2025, 2, 28)),
        (date(2024, 3, 31), 1, date(2024, 4, 30)),
        (date(2024, 11, 30), 1, date(2024, 12, 30)),
    ],
)
def test_case_81_leap_days_and_month_ends(day: date, months: int, due: date) -> None:
    assert add_months(day=day, months=months) == due


def test_case_81_a_year_of_use_ends_on_the_same_day_leap_year_or_not() -> None:
    driven = 15_000.0

    assert day_of_use(day=date(2023, 5, 2), use=driven, use_per_year=driven) == date(2024, 5, 1)
    assert day_of_use(day=date(2024, 5, 2), use=driven, use_per_year=driven) == date(2025, 5, 2)


def test_use_without_end_has_no_day() -> None:
    assert day_of_use(day=date(2024, 5, 2), use=1e9, use_per_year=1e-3) is None
    assert day_of_use(day=date(2024, 5, 2), use=1.0, use_per_year=5e-324) is None


def test_arrhenius_at_one_temperature_changes_nothing() -> None:
    assert arrhenius_acceleration(activation_energy_kj_mol=76, from_c=90, to_c=90) == 1


@pytest.mark.parametrize("bad", [nan, inf, -1.0])
def test_numbers_out_of_range_are_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="amount"):
        damage(uses=[Use(bad, 80)], reference_life=1e5)
    with pytest.raises(OutOfRange, match="reference_life"):
        damage(uses=[], reference_life=bad)
    with pytest.raises(OutOfRange, match="fresh_share"):
        carried_part(fresh_share=bad)
    with pytest.raises(OutOfRange, match="remainder_factor"):
        carried_part(fresh_share=0.5, remainder_factor=bad)
    with pytest.raises(OutOfRange, match="damage_before"):
        remaining_damage(damage_before=bad, fresh_share=0.5)
    with pytest.raises(OutOfRange, match="full_life"):
        steady_interval(full_life=bad, fresh_share=0.5)
    with pytest.raises(OutOfRange, match="damage_now"):
        use_left(damage_now=bad, damage_per_use=1)
    with pytest.raises(OutOfRange, match="damage_per_use"):
        use_left(damage_now=0, damage_per_use=bad)
    with pytest.raises(OutOfRange, match="use is"):
        day_of_use(day=date(2024, 5, 2), use=bad, use_per_year=1)
    with pytest.raises(OutOfRange, match="use_per_year"):
        day_of_use(day=date(2024, 5, 2), use=1, use_per_year=bad)
    with pytest.raises(OutOfRange, match="activation_energy"):
        arrhenius_acceleration(activation_energy_kj_mol=bad, from_c=20, to_c=30)


@pytest.mark.parametrize("bad", [nan, inf, -91.0, 401.0])
def test_temperatures_out_of_range_are_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="temperature_c"):
        life_factor(temperature_c=bad)
    with pytest.raises(OutOfRange, match="reference_c"):
        life_factor(temperature_c=80, reference_c=bad)
    with pytest.raises(OutOfRange, match="to_c"):
        arrhenius_acceleration(activation_energy_kj_mol=76, from_c=20, to_c=bad)


@pytest.mark.parametrize("bad", [4.9, 20.1, nan])
def test_a_halving_step_out_of_range_is_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="halving_k"):
        life_factor(temperature_c=80, halving_k=bad)


@pytest.mark.parametrize("bad", [-1, 1201])
def test_months_out_of_range_are_refused(bad: int) -> None:
    with pytest.raises(OutOfRange, match="months"):
        add_months(day=date(2024, 5, 2), months=bad)


def test_a_year_that_no_calendar_has_is_told_with_its_range() -> None:
    with pytest.raises(OutOfRange) as raised:
        add_months(day=date(9999, 12, 1), months=1)

    assert (raised.value.name, raised.value.value) == ("year", 10_000)
    assert raised.value.allowed == "1 to 9999"
    assert add_months(day=date(1, 1, 31), months=1) == date(1, 2, 28)


def test_the_last_day_of_the_calendar_is_not_told() -> None:
    a_day = {"use": 1.0, "use_per_year": 365.2425}

    assert day_of_use(day=date(9999, 12, 29), **a_day) == date(9999, 12, 30)
    assert day_of_use(day=date(9999, 12, 30), **a_day) is None


def test_arrhenius_by_hand() -> None:
    factor = arrhenius_acceleration(activation_energy_kj_mol=76, from_c=85, to_c=95)

    by_hand = exp(76_000 / 8.31446261815324 * (1 / 358.15 - 1 / 368.15))
    assert factor == pytest.approx(by_hand, rel=1e-12)
