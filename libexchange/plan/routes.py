"""What each route does to the fluid: litres used, fresh share reached, cycles needed."""

from collections.abc import Callable
from math import ceil

from msgspec import Struct

from libexchange._circuit import SMALLEST_VOLUME_L
from libexchange.circuit import (
    Circuit,
    CircuitState,
    ExchangeCurve,
    all_old,
    exchange_curve,
    fresh_share,
    idle,
)
from libexchange.circuit_moves import largest_batch_l, line_batch
from libexchange.circuit_moves import suction as suck_out
from libexchange.plan.request import Route
from libexchange.plan.unit import Opening, Unit, refill_l, renewed
from libexchange.quantities import Volume

MOST_CYCLES = 4
"""Drain cycles a single visit is planned with at most (common practice)."""

MIXING_IN_TOTALS = 3.0
"""Litres idled round between two drains, in total fills; ten minutes at idle (common practice)."""

MOST_LITRES_IN_TOTALS = 1.8
"""Longest line exchange planned, in total fills (common practice)."""

MOST_BATCHES = 10
"""Line batches that a single visit is planned with at most (common practice)."""

SUCTION_SHARE = 0.7
"""Part of the sump that a probe in the fill tube reaches; 0.5 to 0.85 are seen (memory)."""


class Outcome(Struct, frozen=True, kw_only=True):
    """What a route comes to.

    refilled_l: fresh litres for what was drained [L]    exchanged_l: through the lines [L]
    fresh_share: of the whole unit afterwards [-]    curve: the line exchange, where there is one
    """

    route: Route
    refilled_l: float
    exchanged_l: float
    fresh_share: float
    cycles: int | None
    curve: ExchangeCurve | None

    @property
    def litres(self) -> float:
        """All fresh litres that the route takes [L]."""
        return self.refilled_l + self.exchanged_l


class Aim(Struct, frozen=True, kw_only=True):
    """What the work aims at: a share, or litres that the caller has fixed; both may be absent.

    cycles: drains, suctions or batches, where their number is settled
    least_exchanged_l: through the lines even where the share needs less, to get a cleaner out [L]
    """

    target_share: float | None
    exchanged_l: float | None
    cycles: int | None = None
    least_exchanged_l: float = 0.0


def drain(unit: Unit, aim: Aim) -> Outcome:  # noqa: ARG001 -- every route is called alike
    """Drain by the plug and refill, once."""
    return _opened(unit, "drain", unit.by_plug)


def pan_and_filter(unit: Unit, aim: Aim) -> Outcome:  # noqa: ARG001 -- every route is called alike
    """Pan off, filter changed, refill, once."""
    return _opened(unit, "pan_and_filter", unit.with_pan)


def drain_cycles(unit: Unit, aim: Aim) -> Outcome:
    """Drain, refill, mix at idle, and again until the target is reached; at least twice."""
    circuit, state, cycles = unit.circuit, all_old(unit.circuit), 0
    while _goes_on(circuit, state, aim, cycles, least=2, most=MOST_CYCLES):
        if cycles:
            state = _mixed(circuit, state)
        state = renewed(circuit, state, unit.by_plug)
        cycles += 1
    litres = cycles * refill_l(circuit, unit.by_plug)
    return _repeated("drain_cycles", circuit, state, litres, cycles)


def level_only(unit: Unit, aim: Aim) -> Outcome:  # noqa: ARG001 -- every route is called alike
    """Nothing renewed: the level is looked at and set."""
    return _repeated("level_only", unit.circuit, all_old(unit.circuit), 0.0, None)


def suction(unit: Unit, aim: Aim) -> Outcome:
    """Suck out through the fill tube, refill, mix at idle; again until the target is reached."""
    circuit, state, cycles = unit.circuit, all_old(unit.circuit), 0
    while _goes_on(circuit, state, aim, cycles, least=1, most=MOST_CYCLES):
        if cycles:
            state = _mixed(circuit, state)
        state = suck_out(circuit=circuit, state=state, sump_share=SUCTION_SHARE)
        cycles += 1
    return _repeated("suction", circuit, state, cycles * SUCTION_SHARE * circuit.sump_l, cycles)


def line_batches(unit: Unit, aim: Aim) -> Outcome:
    """Pump a batch out by the line, pour as much in, and again until the target is reached.

    Nothing idles round in between, which would spoil it.
    """
    circuit, state, batches = unit.circuit, all_old(unit.circuit), 0
    batch_l = largest_batch_l(sump_l=circuit.sump_l)
    in_total = circuit.total_l / max(batch_l, SMALLEST_VOLUME_L)
    most = min(MOST_BATCHES, int(MOST_LITRES_IN_TOTALS * in_total))
    least = 1 if aim.target_share is not None else min(most, ceil(in_total))
    while _goes_on(circuit, state, aim, batches, least=least, most=most):
        state = line_batch(circuit=circuit, state=state, batch_l=batch_l)
        batches += 1
    return _repeated("line_batches", circuit, state, batches * batch_l, batches)


def line_exchange(unit: Unit, aim: Aim) -> Outcome:
    """Fresh in on the return side while the old comes out of the line, from all old."""
    return _through_lines(unit, aim, "line_exchange", all_old(unit.circuit), 0.0)


def pan_and_filter_then_line(unit: Unit, aim: Aim) -> Outcome:
    """Pan and filter first, which takes the largest old volume undiluted, then the lines."""
    start = renewed(unit.circuit, all_old(unit.circuit), unit.with_pan)
    refilled = refill_l(unit.circuit, unit.with_pan)
    return _through_lines(unit, aim, "pan_and_filter_then_line", start, refilled)


ROUTES: dict[Route, Callable[[Unit, Aim], Outcome]] = {
    "level_only": level_only,
    "drain": drain,
    "drain_cycles": drain_cycles,
    "suction": suction,
    "pan_and_filter": pan_and_filter,
    "pan_and_filter_then_line": pan_and_filter_then_line,
    "line_exchange": line_exchange,
    "line_batches": line_batches,
}
"""Every route that is computed, refused or not."""

LINE_ROUTES: frozenset[Route] = frozenset({"line_exchange", "pan_and_filter_then_line"})
OPEN_LINE_ROUTES: frozenset[Route] = LINE_ROUTES | {"line_batches"}
"""Routes with a line exchange, and all that open the lines."""

PAN_ROUTES: frozenset[Route] = frozenset({"pan_and_filter", "pan_and_filter_then_line"})
PLUG_ROUTES: frozenset[Route] = frozenset({"drain", "drain_cycles"})


def tenths(litres: float) -> Volume:
    """Litres as a plan shows them, to a tenth.

    >>> tenths(4.065)
    Volume(value=4.1, unit='L')
    """
    return Volume(round(litres, 1), "L")


def _opened(unit: Unit, route: Route, opening: Opening) -> Outcome:
    state = renewed(unit.circuit, all_old(unit.circuit), opening)
    return Outcome(
        route=route,
        refilled_l=refill_l(unit.circuit, opening),
        exchanged_l=0.0,
        fresh_share=fresh_share(circuit=unit.circuit, state=state),
        cycles=None,
        curve=None,
    )


def _through_lines(
    unit: Unit, aim: Aim, route: Route, start: CircuitState, refilled: float
) -> Outcome:
    curve = exchange_curve(circuit=unit.circuit, state=start)
    exchanged = _exchanged_l(curve, unit.circuit, aim)
    return Outcome(
        route=route,
        refilled_l=refilled,
        exchanged_l=exchanged,
        fresh_share=curve.fresh_share(exchanged_l=exchanged),
        cycles=None,
        curve=curve,
    )


def _exchanged_l(curve: ExchangeCurve, circuit: Circuit, aim: Aim) -> float:
    most = min(MOST_LITRES_IN_TOTALS * circuit.total_l, curve.limit_l)
    if aim.exchanged_l is not None:
        return min(aim.exchanged_l, curve.limit_l)
    if aim.target_share is None:
        return min(max(circuit.total_l, aim.least_exchanged_l), most)
    needed = curve.exchanged_l_for(target=aim.target_share)
    return most if needed is None else min(max(needed, aim.least_exchanged_l), most)


def _repeated(
    route: Route, circuit: Circuit, state: CircuitState, litres: float, cycles: int | None
) -> Outcome:
    return Outcome(
        route=route,
        refilled_l=litres,
        exchanged_l=0.0,
        fresh_share=fresh_share(circuit=circuit, state=state),
        cycles=cycles,
        curve=None,
    )


def _mixed(circuit: Circuit, state: CircuitState) -> CircuitState:
    """Ten minutes at idle, all selector positions held."""
    mixed_l = MIXING_IN_TOTALS * circuit.total_l
    return idle(circuit=circuit, state=state, circulated_l=mixed_l)


def _goes_on(
    circuit: Circuit, state: CircuitState, aim: Aim, done: int, *, least: int, most: int
) -> bool:
    """Whether another cycle follows: as many as are settled, else until the target is reached."""
    if aim.cycles is not None:
        return done < aim.cycles
    return done < least or (done < most and not _reached(circuit, state, aim))


def _reached(circuit: Circuit, state: CircuitState, aim: Aim) -> bool:
    reached = fresh_share(circuit=circuit, state=state)
    return aim.target_share is None or reached >= aim.target_share - 1e-12
