"""Which waits for heat a route has, by the temperature before and after each of its steps.

The vehicle comes in warm from the first drive: plug, pan and lines wait until it is cool enough,
the line exchange until the bypass is open, and the level until its window can be met.
"""

from collections.abc import Iterator
from math import isfinite
from typing import Literal, NamedTuple

from libexchange.catalogue import TransmissionProfile
from libexchange.plan.draft import OPEN_BELOW
from libexchange.plan.heat import (
    AMBIENT_C,
    IDLING,
    STANDING,
    Wait,
    cool_below_c,
    expected_h,
    line_gate_c,
    wait,
)
from libexchange.plan.idling import may_not_idle
from libexchange.plan.offer import HeatWait
from libexchange.plan.request import Route
from libexchange.plan.routes import OPEN_LINE_ROUTES, PAN_ROUTES, Outcome
from libexchange.plan.steps import CONNECT_BELOW
from libexchange.quantities import Duration, Temperature

DRIVEN_C = 75.0
"""What the fluid has after a drive or work at idle; 70 to 80 are seen (common practice) [degC]."""

WARM_UP_WAIT_H = 0.6
COOL_DOWN_WAIT_H = 1.2
"""A wait of which the heat forecast tells nothing, or says that it never gets there, so that a road
warm-up or a cooler place takes over [h] (common practice)."""


Step = Literal["warm_up", "cool_down"]
_IN_CYCLES: frozenset[Route] = frozenset({"drain_cycles", "suction"})
_BY_OPENING: frozenset[Route] = _IN_CYCLES | {"drain"}

BASIS = (
    f"Typical of a car that comes in with {DRIVEN_C:g} °C to a shop of {AMBIENT_C:g} °C, without "
    "a coolant exchanger: 25 to 45 kJ/K of metal, 0.3 to 0.8 kW at idle, 8 to 15 W/K to the air "
    "(memory). Readings of this unit tell better."
)


class Change(NamedTuple):
    """From one temperature of the fluid to another [degC]; `to_c` is None where it is not known."""

    step: Step
    from_c: float
    to_c: float | None


def changes_of(transmission: TransmissionProfile, outcome: Outcome) -> tuple[Change, ...]:
    """The changes of temperature that the steps of a route wait for, in their order.

    Source: common practice.

    >>> from libexchange.invented import six_speed
    >>> from libexchange.plan.routes import Aim, drain
    >>> from libexchange.plan.unit import unit_of
    >>> aim = Aim(target_share=None, exchanged_l=None)
    >>> [one.to_c for one in changes_of(six_speed(), drain(unit_of(six_speed(), None), aim))]
    [60.0, 35.0]
    """
    return tuple(_changes(transmission, outcome.route, outcome.cycles or 1))


def waits_of(transmission: TransmissionProfile, outcome: Outcome) -> tuple[HeatWait, ...]:
    """The waits of a route as a plan shows them; none where the unit is not as a typical car."""
    return tuple(
        _shown(change.step, change.to_c, found)
        for change in changes_of(transmission, outcome)
        if change.to_c is not None and (found := _wait(transmission, change)) is not None
    )


def waiting_h(transmission: TransmissionProfile, outcome: Outcome) -> float:
    """How long the steps of a route wait for heat, as expected, else as practice says [h]."""
    return sum(
        expected_h(
            _wait(transmission, change),
            WARM_UP_WAIT_H if change.step == "warm_up" else COOL_DOWN_WAIT_H,
        )
        for change in changes_of(transmission, outcome)
    )


def _changes(transmission: TransmissionProfile, route: Route, cycles: int) -> Iterator[Change]:
    now_c = DRIVEN_C
    if route in PAN_ROUTES or route in _BY_OPENING:
        yield from _cool(now_c, OPEN_BELOW.c)
        now_c = OPEN_BELOW.c
    if route in _IN_CYCLES and may_not_idle(transmission) and transmission.level.window:
        for _ in range(cycles - 1):  # mixed by a drive, for which the level is set
            yield from _level(transmission, now_c)
            yield from _cool(DRIVEN_C, OPEN_BELOW.c)
    if route in OPEN_LINE_ROUTES:
        yield from _lines(transmission, now_c)
        now_c = min(cool_below_c(transmission), _hot_c(transmission))
    yield from _level(transmission, now_c)


def _lines(transmission: TransmissionProfile, now_c: float) -> Iterator[Change]:
    """Connected cold, exchanged hot, and cooled for what is opened and read next."""
    gate_c = line_gate_c(transmission)
    yield from _cool(now_c, CONNECT_BELOW.c)
    # told where it takes no time too, since a job asks the plan whether it warms up
    yield Change("warm_up", min(CONNECT_BELOW.c, gate_c or CONNECT_BELOW.c), gate_c)
    yield from _cool(_hot_c(transmission), cool_below_c(transmission))


def _hot_c(transmission: TransmissionProfile) -> float:
    """What the fluid has when the line exchange is done."""
    gate_c = line_gate_c(transmission)
    return DRIVEN_C if gate_c is None else max(gate_c, CONNECT_BELOW.c)


def _level(transmission: TransmissionProfile, now_c: float) -> Iterator[Change]:
    window, below_c = transmission.level.window, cool_below_c(transmission)
    if window is None:
        return
    if below_c == OPEN_BELOW.c:  # what is hotter is not cooled further than into the window
        below_c = max(below_c, window.high.c)
    yield from _cool(now_c, below_c)
    yield from _warm(min(now_c, below_c), window.low.c)


def _cool(now_c: float, below_c: float) -> Iterator[Change]:
    if now_c > below_c:
        yield Change("cool_down", now_c, below_c)


def _warm(now_c: float, to_c: float) -> Iterator[Change]:
    if now_c < to_c:
        yield Change("warm_up", now_c, to_c)


def _wait(transmission: TransmissionProfile, change: Change) -> Wait | None:
    if change.to_c is None:
        return None
    return wait(
        total_l=transmission.total.l,
        power_kw=IDLING if change.step == "warm_up" else STANDING,
        start_c=change.from_c,
        target_c=change.to_c,
    )


def _shown(step: Step, to_c: float, found: Wait) -> HeatWait:
    low, expected, high = (
        Duration(float(round(seconds / 60)), "min") if isfinite(seconds) else None
        for seconds in found[:3]
    )
    return HeatWait(
        step=step,
        to=Temperature(round(to_c, 1), "Cel"),
        low=low,
        expected=expected,
        high=high,
        reached=round(found.reached, 3),
        basis=BASIS,
    )
