"""Lumped heating and cooling of a unit: one body, one temperature.

C dT/dt = P - UA (T - T_ambient) + UA_exchanger (T_coolant - T)

The temperature therefore approaches a settled temperature, its distance shrinking by 1/e in every
time constant C / (UA + UA_exchanger). What is typical of a car is from memory at training-textbook
level; readings of the unit itself are better, see `warmup_fit`.
"""

from collections.abc import Iterator, Sequence
from math import expm1, log, log1p

from msgspec import Struct

from libexchange.errors import OutOfRange, check_range

TEMPERATURES_C = (-273.15, 2000.0)
LONGEST_S = 3.6e8
LEAST = 1e-9

FLUID_KJ_PER_L_K = 1.65
TYPICAL_METAL_KJ_PER_K = (25.0, 45.0)
TYPICAL_IDLE_POWER_KW = (0.3, 0.8)
TYPICAL_LOSS_W_PER_K = (8.0, 15.0)
TYPICAL_EXCHANGER_W_PER_K = (30.0, 80.0)
"""What is typical of a car that idles in P or N or stands (memory)."""

TYPICAL_TOTAL_L = (0.5, 200.0)
"""Fills for which the typical heat capacity is told [L]."""

POINTS = 1000
GOLDEN_RATIO_4 = 1.1673039782614187
"""The root of x^5 = x + 1, which spreads points evenly over four ranges."""

Range = tuple[float, float]
"""The lowest and the highest of what something may be, all between equally likely."""


class HeatBalance(Struct, frozen=True, kw_only=True):
    """What heats a unit and what cools it.

    heat_capacity_kj_per_k: fluid and metal together, above 0 to 100,000 [kJ/K]
    power_kw: 0 to 1,000; 0 when it stands [kW]    loss_w_per_k: to the air, above 0 [W/K]
    ambient_c, coolant_c: -273.15 to 2,000 [degC]    exchanger_w_per_k: to the coolant, 0 without a
        coolant exchanger, or while no fluid flows through it [W/K]
    Raises: OutOfRange naming the field, ValueError for an exchanger without `coolant_c`

    >>> HeatBalance(heat_capacity_kj_per_k=50, power_kw=0, loss_w_per_k=11, ambient_c=20).power_kw
    0
    """

    heat_capacity_kj_per_k: float
    power_kw: float
    loss_w_per_k: float
    ambient_c: float
    exchanger_w_per_k: float = 0.0
    coolant_c: float | None = None

    def __post_init__(self) -> None:
        for name, low, high, unit in (
            ("heat_capacity_kj_per_k", LEAST, 1e5, "kJ/K"),
            ("power_kw", 0.0, 1e3, "kW"),
            ("loss_w_per_k", LEAST, 1e5, "W/K"),
            ("exchanger_w_per_k", 0.0, 1e5, "W/K"),
        ):
            check_range(name=name, value=getattr(self, name), low=low, high=high, unit=unit)
        check_temperature(ambient_c=self.ambient_c)
        if self.coolant_c is not None:
            check_temperature(coolant_c=self.coolant_c)
        elif self.exchanger_w_per_k:
            raise ValueError("a coolant exchanger needs the temperature of the coolant")


class Approach(Struct, frozen=True, kw_only=True):
    """A temperature that approaches `settled_c`, its distance shrinking by 1/e in a time constant.

    settled_c: any finite [degC]    time_constant_s: above 0 [s]
    Raises: OutOfRange    Source: Newton's law of cooling.

    >>> Approach(settled_c=20, time_constant_s=3600).settled_c
    20
    """

    settled_c: float
    time_constant_s: float

    def __post_init__(self) -> None:
        check_range(name="settled_c", value=self.settled_c, low=-1e15, high=1e15, unit="°C")
        check_range(
            name="time_constant_s", value=self.time_constant_s, low=LEAST, high=1e18, unit="s"
        )


def approach_of(heat: HeatBalance) -> Approach:
    """Where a heat balance settles, and how fast.

    settled = T_ambient + (P + UA_x (T_coolant - T_ambient)) / (UA + UA_x)
    time constant = C / (UA + UA_x)

    Source: heat balance of one lump.

    >>> car = HeatBalance(heat_capacity_kj_per_k=50, power_kw=0.55, loss_w_per_k=11, ambient_c=20)
    >>> approach_of(car).settled_c
    70.0
    """
    coolant_c = heat.ambient_c if heat.coolant_c is None else heat.coolant_c
    watts_per_k = heat.loss_w_per_k, heat.exchanger_w_per_k
    return _approach(
        heat.heat_capacity_kj_per_k, heat.power_kw, *watts_per_k, heat.ambient_c, coolant_c
    )


def _approach(
    capacity_kj_per_k: float,
    power_kw: float,
    loss_w_per_k: float,
    exchanger_w_per_k: float,
    ambient_c: float,
    coolant_c: float,
) -> Approach:
    transfer_w_per_k = loss_w_per_k + exchanger_w_per_k
    gained_w = 1000 * power_kw + exchanger_w_per_k * (coolant_c - ambient_c)
    return Approach(
        settled_c=ambient_c + gained_w / transfer_w_per_k,
        time_constant_s=1000 * capacity_kj_per_k / transfer_w_per_k,
    )


def temperature_after_c(*, approach: Approach, start_c: float, elapsed_s: float) -> float:
    """The temperature after a time.

    start + (settled - start)(1 - exp(-t / time constant))

    start_c: -273.15 to 2,000 [degC]    elapsed_s: 0 to 3.6e8 [s]
    Returns: temperature [degC]    Raises: OutOfRange    Source: Newton's law of cooling.

    >>> standing = Approach(settled_c=20, time_constant_s=4200)
    >>> round(temperature_after_c(approach=standing, start_c=80, elapsed_s=3600), 2)
    45.46
    """
    check_temperature(start_c=start_c)
    check_range(name="elapsed_s", value=elapsed_s, low=0, high=LONGEST_S, unit="s")
    reached = -expm1(-elapsed_s / approach.time_constant_s)
    return start_c + (approach.settled_c - start_c) * reached


def seconds_to_c(*, approach: Approach, start_c: float, target_c: float) -> float | None:
    """How long until a temperature is met; None when it is never met from here on.

    -time constant ln(1 - (target - start) / (settled - start))

    start_c, target_c: -273.15 to 2,000 [degC]
    Returns: time [s]    Raises: OutOfRange    Source: Newton's law of cooling.

    >>> standing = Approach(settled_c=20, time_constant_s=4200)
    >>> round(seconds_to_c(approach=standing, start_c=80, target_c=40) / 60, 1)
    76.9
    >>> seconds_to_c(approach=standing, start_c=80, target_c=20) is None
    True
    """
    check_temperature(start_c=start_c)
    check_temperature(target_c=target_c)
    if target_c == start_c:
        return 0.0
    way_k = approach.settled_c - start_c
    # target and start differ by an ulp at least, so a way of 0 means that it stays where it is
    part = (target_c - start_c) / way_k if way_k else -1.0
    return -approach.time_constant_s * log1p(-part) if 0 < part < 1 else None


def newton_time_constant_s(
    *, ambient_c: float, start_c: float, later_c: float, elapsed_s: float
) -> float:
    """Time constant of a body that cools or warms towards the air, from two readings.

    elapsed / ln((start - ambient) / (later - ambient))

    ambient_c, start_c: -273.15 to 2,000 [degC]    later_c: between start and ambient [degC]
    elapsed_s: above 0 [s]
    Returns: time constant [s]    Raises: OutOfRange    Source: Newton's law of cooling.

    >>> round(newton_time_constant_s(ambient_c=20, start_c=90, later_c=60, elapsed_s=1200) / 60, 3)
    35.739
    """
    check_temperature(ambient_c=ambient_c)
    check_temperature(start_c=start_c)
    check_range(name="elapsed_s", value=elapsed_s, low=LEAST, high=LONGEST_S, unit="s")
    if not min(start_c, ambient_c) < later_c < max(start_c, ambient_c):
        raise OutOfRange(name="later_c", value=later_c, allowed="between start_c and ambient_c")
    return elapsed_s / log((start_c - ambient_c) / (later_c - ambient_c))


def typical_heat_capacity_kj_per_k(*, total_l: float) -> Range:
    """What it takes to warm the fluid and the metal of a car's unit by one kelvin.

    1.65 kJ/K per litre and 25 to 45 kJ/K of metal; a heavy unit has more metal and needs its own.

    total_l: 0.5 to 200 [L]    Returns: lowest and highest [kJ/K]    Raises: OutOfRange
    Source: memory.

    >>> low, high = typical_heat_capacity_kj_per_k(total_l=9)
    >>> round(low, 2), round(high, 2)
    (39.85, 59.85)
    """
    least_l, most_l = TYPICAL_TOTAL_L
    check_range(name="total_l", value=total_l, low=least_l, high=most_l, unit="L")
    low, high = TYPICAL_METAL_KJ_PER_K
    return FLUID_KJ_PER_L_K * total_l + low, FLUID_KJ_PER_L_K * total_l + high


def possible_approaches(
    *,
    heat_capacity_kj_per_k: Range,
    power_kw: Range,
    loss_w_per_k: Range,
    ambient_c: float,
    exchanger_w_per_k: Range = (0.0, 0.0),
    coolant_c: float | None = None,
    points: int = POINTS,
) -> list[Approach]:
    """Equally likely approaches of a unit that is known only by ranges.

    Points spread evenly over the ranges by an additive recurrence, the same at every call; a range
    of one value is that value.

    heat_capacity_kj_per_k, power_kw, loss_w_per_k, exchanger_w_per_k: lowest and highest of the
        fields of `HeatBalance` [kJ/K, kW, W/K, W/K]
    ambient_c, coolant_c: as there [degC]    points: how many [-]
    Raises: as `HeatBalance`    Source: Roberts 2018 (generalised golden ratio).

    >>> known = possible_approaches(heat_capacity_kj_per_k=(50, 50), power_kw=(0.55, 0.55),
    ...                             loss_w_per_k=(11, 11), ambient_c=20)
    >>> len(known), known[0].settled_c
    (1000, 70.0)
    """
    ranges = (heat_capacity_kj_per_k, power_kw, loss_w_per_k, exchanger_w_per_k)
    for capacity, power, loss, exchanger in zip(*ranges, strict=True):
        # what both ends keep to, everything between them does
        HeatBalance(
            heat_capacity_kj_per_k=capacity,
            power_kw=power,
            loss_w_per_k=loss,
            ambient_c=ambient_c,
            exchanger_w_per_k=exchanger,
            coolant_c=coolant_c,
        )
    warmed_c = ambient_c if coolant_c is None else coolant_c
    return [
        _approach(capacity, power, loss, exchanger, ambient_c, warmed_c)
        for capacity, power, loss, exchanger in _spread_over(ranges, points)
    ]


def low_middle_high(values: Sequence[float]) -> tuple[float, float, float]:
    """The 5, 50 and 95 % quantiles of equally likely values; infinity counts as the largest.

    >>> low_middle_high([float(n) for n in range(101)])
    (5.0, 50.0, 95.0)
    """
    ordered = sorted(values)
    last = len(ordered) - 1
    low, middle, high = (ordered[round(part * last)] for part in (0.05, 0.5, 0.95))
    return low, middle, high


def _spread_over(ranges: Sequence[Range], points: int) -> Iterator[tuple[float, ...]]:
    steps = [GOLDEN_RATIO_4**-axis for axis in range(1, len(ranges) + 1)]
    for point in range(1, points + 1):
        yield tuple(
            [
                low + (high - low) * ((0.5 + point * step) % 1)
                for (low, high), step in zip(ranges, steps, strict=True)
            ]
        )


def check_temperature(**named: float) -> None:
    """Raise OutOfRange for the first named temperature outside -273.15 to 2,000 degC.

    >>> check_temperature(start_c=20, target_c=80)
    """
    low, high = TEMPERATURES_C
    for name, value in named.items():
        check_range(name=name, value=value, low=low, high=high, unit="°C")
