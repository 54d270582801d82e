"""How fast fluid ages, what a partial exchange takes off, and how dates are counted.

Damage is the used part of the fluid's life: 0 is fresh, 1 is worn out. Amounts of use are distances
or hours, whichever the life is given in.
"""

from calendar import monthrange
from collections.abc import Iterable
from datetime import date, timedelta
from math import exp, exp2, fsum
from typing import NamedTuple

from libexchange.errors import OutOfRange, check_range

REFERENCE_C = 80.0
HALVING_K = 10.0
LONGEST_LIFE_FACTOR = 2.0
REFERENCE_LIFE_KM = 160_000.0
REFERENCE_LIFE_H = 4000.0
REMAINDER_FACTOR = 1.15
GAS_CONSTANT_J_PER_MOL_K = 8.31446261815324
ABSOLUTE_ZERO_C = -273.15
LARGEST_AMOUNT = 1e8
LARGEST_DAMAGE = 1e30
MOST_MONTHS = 1200


class Use(NamedTuple):
    """An amount of use at one bulk temperature of the fluid: one bar of a histogram."""

    amount: float
    temperature_c: float


def life_factor(
    *, temperature_c: float, reference_c: float = REFERENCE_C, halving_k: float = HALVING_K
) -> float:
    """Life at a temperature against the life at the reference: it halves per `halving_k`.

    min(2^(-(T - T_reference) / halving), 2): heat ages, but cold fluid ages by water and time too

    temperature_c, reference_c: -90 to 400 [degC]    halving_k: 5 to 20, usually 8 to 12 [K]
    Returns: factor, above 0 to 2 [-]    Raises: OutOfRange
    Source: common practice; an Arrhenius rate of 70 to 80 kJ/mol halves alike at 90 degC.

    >>> [life_factor(temperature_c=t) for t in (60, 80, 90, 120)]
    [2.0, 1.0, 0.5, 0.0625]
    """
    for name, value in (("temperature_c", temperature_c), ("reference_c", reference_c)):
        check_range(name=name, value=value, low=-90, high=400, unit="°C")
    check_range(name="halving_k", value=halving_k, low=5, high=20, unit="K")
    return min(exp2((reference_c - temperature_c) / halving_k), LONGEST_LIFE_FACTOR)


def arrhenius_acceleration(*, activation_energy_kj_mol: float, from_c: float, to_c: float) -> float:
    """How many times faster a reaction runs at `to_c` than at `from_c`.

    exp(E / R (1 / T_from - 1 / T_to)), the rule behind the halving per 10 K

    activation_energy_kj_mol: 0 to 300 [kJ/mol]    from_c, to_c: -90 to 400 [degC]
    Returns: factor [-]    Raises: OutOfRange    Source: Arrhenius equation.

    >>> round(arrhenius_acceleration(activation_energy_kj_mol=76, from_c=85, to_c=95), 2)
    2.0
    """
    check_range(
        name="activation_energy_kj_mol", value=activation_energy_kj_mol, low=0, high=300,
        unit="kJ/mol",
    )  # fmt: skip
    for name, value in (("from_c", from_c), ("to_c", to_c)):
        check_range(name=name, value=value, low=-90, high=400, unit="°C")
    difference = 1 / (from_c - ABSOLUTE_ZERO_C) - 1 / (to_c - ABSOLUTE_ZERO_C)
    return exp(1000 * activation_energy_kj_mol / GAS_CONSTANT_J_PER_MOL_K * difference)


def damage(
    *,
    uses: Iterable[Use],
    reference_life: float,
    reference_c: float = REFERENCE_C,
    halving_k: float = HALVING_K,
) -> float:
    """Used part of the fluid's life, sum of amount / (reference life x life factor).

    uses: amounts 0 to 1e8 in the unit of `reference_life`, temperatures -90 to 400 degC
    reference_life: at `reference_c`, above 0 to 1e8 [km or h]    halving_k: as `life_factor`
    Returns: damage, 0 or more [-]    Raises: OutOfRange    Source: Miner's rule; common practice.

    >>> damage(uses=[Use(40_000, 80), Use(20_000, 90)], reference_life=160_000)
    0.5
    """
    check_range(name="reference_life", value=reference_life, low=1e-9, high=LARGEST_AMOUNT)
    parts = []
    for use in uses:
        check_range(name="amount", value=use.amount, low=0, high=LARGEST_AMOUNT)
        factor = life_factor(
            temperature_c=use.temperature_c, reference_c=reference_c, halving_k=halving_k
        )
        parts.append(use.amount / (reference_life * factor))
    return fsum(parts)


def remaining_damage(
    *, damage_before: float, fresh_share: float, remainder_factor: float = REMAINDER_FACTOR
) -> float:
    """Damage after a partial exchange, (1 - F) x remainder factor x damage before.

    The old rest catalyses the ageing of the new, hence the factor; an exchange never makes it worse
    than it was.

    damage_before: 0 or more [-]    fresh_share: 0 to 1 [-]
    remainder_factor: 1 to 1.3; 1 leaves the catalysis out [-]
    Returns: damage, 0 to `damage_before` [-]    Raises: OutOfRange    Source: memory.

    >>> round(remaining_damage(damage_before=1, fresh_share=0.8), 3)
    0.23
    """
    check_range(name="damage_before", value=damage_before, low=0, high=LARGEST_DAMAGE)
    return damage_before * carried_part(fresh_share=fresh_share, remainder_factor=remainder_factor)


def carried_part(*, fresh_share: float, remainder_factor: float = REMAINDER_FACTOR) -> float:
    """Part of the damage that an exchange leaves, min(1, (1 - F) x remainder factor).

    fresh_share: 0 to 1 [-]    remainder_factor: 1 to 1.3; 1 leaves the catalysis out [-]
    Returns: part, 0 to 1 [-]    Raises: OutOfRange    Source: memory.

    >>> carried_part(fresh_share=0.0), carried_part(fresh_share=1.0)
    (1.0, 0.0)
    """
    check_range(name="fresh_share", value=fresh_share, low=0, high=1)
    check_range(name="remainder_factor", value=remainder_factor, low=1, high=1.3)
    return min(1.0, (1 - fresh_share) * remainder_factor)


def steady_interval(
    *, full_life: float, fresh_share: float, remainder_factor: float = REMAINDER_FACTOR
) -> float:
    """Interval when every service renews the same share at damage 1: life x (1 - carried part).

    full_life: of wholly fresh fluid in this use, 0 to 1e8 [km or h]
    fresh_share, remainder_factor: as `remaining_damage`; with a factor of 1 it is F x full life
    Returns: as `full_life`    Raises: OutOfRange    Source: fixed point of `remaining_damage`.

    >>> round(steady_interval(full_life=57_000, fresh_share=0.8))
    43890
    """
    check_range(name="full_life", value=full_life, low=0, high=LARGEST_AMOUNT)
    carried = carried_part(fresh_share=fresh_share, remainder_factor=remainder_factor)
    return full_life * (1 - carried)


def use_left(*, damage_now: float, damage_per_use: float) -> float:
    """Use until the fluid is worn out, (1 - damage) / damage per use; 0 where it is.

    damage_now: 0 or more [-]    damage_per_use: above 0 [1/km or 1/h]
    Returns: [km or h]    Raises: OutOfRange    Source: definition of damage.

    >>> round(use_left(damage_now=0.5, damage_per_use=1 / 100_000))
    50000
    """
    check_range(name="damage_now", value=damage_now, low=0, high=LARGEST_DAMAGE)
    check_range(name="damage_per_use", value=damage_per_use, low=1e-12, high=1e12)
    return max(1 - damage_now, 0.0) / damage_per_use


def add_months(*, day: date, months: int) -> date:
    """The same day of a later month, or the month's last day where it has no such day.

    months: 0 to 1,200 [-]    Raises: OutOfRange    Source: common practice of due dates.

    >>> add_months(day=date(2024, 1, 31), months=1), add_months(day=date(2024, 2, 29), months=12)
    (datetime.date(2024, 2, 29), datetime.date(2025, 2, 28))
    """
    check_range(name="months", value=months, low=0, high=MOST_MONTHS)
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    check_range(name="year", value=year, low=1, high=9999)
    last_day = monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last_day))


def day_of_use(*, day: date, use: float, use_per_year: float) -> date | None:
    """The day on which so much more use will have been made; None after the year 9999.

    use: 0 or more [km or h]    use_per_year: above 0 [km or h]
    Raises: OutOfRange    Source: 365.2425 days of a mean Gregorian year.

    >>> day_of_use(day=date(2024, 2, 28), use=1000, use_per_year=365_242.5)
    datetime.date(2024, 2, 29)
    """
    check_range(name="use", value=use, low=0, high=1e16)
    if not 0 < use_per_year <= LARGEST_AMOUNT:
        raise OutOfRange(name="use_per_year", value=use_per_year, allowed="above 0 to 1e8")
    days = use / use_per_year * 365.2425
    return day + timedelta(days=int(days)) if days < (date.max - day).days else None
