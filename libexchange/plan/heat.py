"""How long heating and cooling take, from what is typical of a car.

Only where the unit is one that the typical values are for; a larger one has more metal, and what
its waits are is not told.
"""

from functools import lru_cache
from math import inf, isfinite
from typing import NamedTuple

from libexchange.catalogue import LevelData, TemperatureWindow, TransmissionProfile
from libexchange.gate_window import REARM_K, TREND_RULES
from libexchange.plan.draft import OPEN_BELOW
from libexchange.warmup import (
    TYPICAL_IDLE_POWER_KW,
    TYPICAL_LOSS_W_PER_K,
    Approach,
    Range,
    low_middle_high,
    possible_approaches,
    seconds_to_c,
    typical_heat_capacity_kj_per_k,
)

BYPASS_MARGIN_K = 3.0
"""How far above its opening temperature a bypass is taken as open [K] (common practice)."""

AMBIENT_C = 20.0
"""What the shop and a cold unit are taken to have [degC]."""

SMALLEST_L, LARGEST_CAR_L = 0.5, 15.0
"""Total fills that what is typical of a car stands for [L]."""

TYPICAL_CARS = 400
"""How many cars stand for all; a wait is told in minutes, and more would not change it."""

IDLING, STANDING = TYPICAL_IDLE_POWER_KW, (0.0, 0.0)


class Wait(NamedTuple):
    """5, 50 and 95 % of how long it takes [s], infinite where it is never reached.

    reached: the part of all typical units that get there at all [-]
    """

    low_s: float
    expected_s: float
    high_s: float
    reached: float


def line_gate_c(transmission: TransmissionProfile) -> float | None:
    """The temperature that a line exchange waits for; None where heat bars nothing or is unknown.

    Source: common practice.

    >>> from libexchange.invented import six_speed
    >>> line_gate_c(six_speed())
    81.0
    """
    cooler = transmission.cooler
    if cooler.bypass not in ("in_case", "in_line") or cooler.bypass_opens is None:
        return None
    return cooler.bypass_opens.c + BYPASS_MARGIN_K


def cool_below_c(transmission: TransmissionProfile) -> float:
    """Below what may be opened, and to where the level can be read, if that is cooler still [degC].

    An overflow that is read while the engine warms it up starts below its window. What is read
    otherwise, or below which no shop cools, starts inside: where the top was passed that is 3 K
    below it, as far as the window and the shop are. Source: common practice.

    >>> from libexchange.invented import six_speed
    >>> cool_below_c(six_speed())
    35.0
    """
    window = transmission.level.window
    if window is None:
        return OPEN_BELOW.c
    return min(OPEN_BELOW.c, _readable_below_c(transmission.level, window))


def _readable_below_c(level: LevelData, window: TemperatureWindow) -> float:
    low_c, high_c = window.low.c, window.high.c
    rising = TREND_RULES[level.method or "overflow_plug"] == "rising"
    if rising and level.engine_running is not False and low_c > AMBIENT_C:
        return low_c
    inside_c = high_c - REARM_K
    return inside_c if inside_c > max(low_c, AMBIENT_C) else high_c


@lru_cache(maxsize=1024)
def wait(*, total_l: float, power_kw: Range, start_c: float, target_c: float) -> Wait | None:
    """How long a typical car of this fill takes; None where it is no car.

    total_l: [L]    power_kw: what heats it [kW]    start_c, target_c: -50 to 150 [degC]
    Source: memory, see `warmup`.

    >>> found = wait(total_l=9, power_kw=STANDING, start_c=80, target_c=40)
    >>> [round(seconds / 60) for seconds in (found.low_s, found.expected_s, found.high_s)]
    [55, 79, 120]
    """
    if not SMALLEST_L <= total_l <= LARGEST_CAR_L:
        return None
    times_s = [_seconds(approach, start_c, target_c) for approach in _approaches(total_l, power_kw)]
    low_s, expected_s, high_s = low_middle_high(times_s)
    return Wait(low_s, expected_s, high_s, sum(map(isfinite, times_s)) / len(times_s))


def warm_up_to(transmission: TransmissionProfile, target_c: float) -> Wait | None:
    """Warming up at idle from cold."""
    return wait(total_l=transmission.total.l, power_kw=IDLING, start_c=AMBIENT_C, target_c=target_c)


@lru_cache(maxsize=1024)
def slowest_warming_k_per_min(*, total_l: float, at_c: float) -> float | None:
    """What 95 of 100 typical cars of this fill gain at idle at least; None where it is no car.

    Negative where some of them cool down at idle; below 20 degC it is as at 20 degC, since a cold
    unit says nothing of the air around it.

    total_l: [L]    at_c: -50 to 150 [degC]
    Returns: rate [K/min]    Source: memory, see `warmup`.

    >>> round(slowest_warming_k_per_min(total_l=9, at_c=20), 2)
    0.38
    """
    if not SMALLEST_L <= total_l <= LARGEST_CAR_L:
        return None
    now_c = max(at_c, AMBIENT_C)
    rates = [
        60 * (approach.settled_c - now_c) / approach.time_constant_s
        for approach in _approaches(total_l, IDLING)
    ]
    return low_middle_high(rates)[0]


def cool_down_from(
    transmission: TransmissionProfile, start_c: float, below_c: float
) -> Wait | None:
    """Cooling down with the engine off; nothing to wait for where it is cool enough already."""
    return wait(
        total_l=transmission.total.l,
        power_kw=STANDING,
        start_c=start_c,
        target_c=min(below_c, start_c),
    )


def expected_h(found: Wait | None, otherwise_h: float) -> float:
    """The expected wait, or what practice says where none can be told [h].

    >>> expected_h(None, 0.6)
    0.6
    """
    if found is None or not isfinite(found.expected_s):
        return otherwise_h
    return found.expected_s / 3600


@lru_cache(maxsize=256)
def _approaches(total_l: float, power_kw: Range) -> tuple[Approach, ...]:
    capacity = typical_heat_capacity_kj_per_k(total_l=total_l)
    return tuple(
        possible_approaches(
            heat_capacity_kj_per_k=capacity,
            power_kw=power_kw,
            loss_w_per_k=TYPICAL_LOSS_W_PER_K,
            ambient_c=AMBIENT_C,
            points=TYPICAL_CARS,
        )
    )


def _seconds(approach: Approach, start_c: float, target_c: float) -> float:
    found_s = seconds_to_c(approach=approach, start_c=start_c, target_c=target_c)
    return inf if found_s is None else found_s
