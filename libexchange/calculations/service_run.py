"""A sequence of services, done step by step on a circuit."""

from collections.abc import Iterator
from typing import NamedTuple

from msgspec import Struct

from libexchange._circuit_flow import mixing_of
from libexchange._circuit_uneven import terms_per_l
from libexchange.calculations._faults import out_of_range
from libexchange.calculations.service_steps import (
    MEASURED,
    AnyStep,
    DoseStep,
    IdleStep,
    LineBatchStep,
    LineStep,
    moved,
)
from libexchange.circuit import Circuit, CircuitState, all_old
from libexchange.errors import InvalidInput, OutOfRange

FRESH = ""
"""Key of the fresh fluid among the states; no substance is called so."""

MOST_RENEWALS = 20_000
"""Renewals of the smallest cell that are computed, so that no sequence can stall its caller [-]."""

_MOST_WORK = f"at most {MOST_RENEWALS:,} renewals of the smallest cell, over all steps and shares"


class Standing(Struct, frozen=True):
    """A unit between two steps: its circuit, and a state for fresh fluid and each substance."""

    circuit: Circuit
    states: dict[str, CircuitState]


class Done(NamedTuple):
    """A step with how the unit stood before it and stands then."""

    step: AnyStep
    before: Standing
    then: Standing


def run(start: Circuit, steps: tuple[AnyStep, ...], *, fresh_alone: bool = False) -> Iterator[Done]:
    """Each step as it was done, from all old on.

    fresh_alone: no dosed substance is followed, and the work is bounded already
    Raises: InvalidInput at the first step that cannot be done or computed

    >>> from libexchange.calculations.service_steps import SuctionStep
    >>> [done.then.states[FRESH].sump for done in run(Circuit(sump_l=4), (SuctionStep(
    ...     sump_share=0.5),) * 2)]
    [0.5, 0.75]
    """
    standing, work = Standing(start, {FRESH: all_old(start)}), 0.0
    for number, step in enumerate(steps):
        following = _tried(number, step, standing, start.sump_l, fresh_alone=fresh_alone)
        work += _renewals(step, standing.circuit) * len(following.states)
        if work > MOST_RENEWALS and not fresh_alone:
            raise InvalidInput(out_of_range(f"/steps/{number}", step, _MOST_WORK))
        yield Done(step, standing, following)
        standing = following


def _tried(
    number: int, step: AnyStep, standing: Standing, set_l: float, *, fresh_alone: bool
) -> Standing:
    try:
        return _following(step, standing, set_l, fresh_alone=fresh_alone)
    except OutOfRange as refused:
        name = MEASURED[type(step)]
        fault = out_of_range(f"/steps/{number}/{name}", getattr(step, name), refused.allowed)
        raise InvalidInput(fault) from refused


def _following(step: AnyStep, standing: Standing, set_l: float, *, fresh_alone: bool) -> Standing:
    """How the unit stands after one step: every share obeys the same flows."""
    carried = step.substance if isinstance(step, DoseStep) else FRESH
    circuit, states = standing.circuit, dict(standing.states)
    if not fresh_alone:
        states.setdefault(carried, all_old(circuit))
    after = {
        name: moved(
            step,
            circuit=circuit,
            state=state,
            incoming_share=float(name == carried),
            set_l=set_l,
        )
        for name, state in states.items()
    }
    return Standing(after[FRESH].circuit, {name: one.state for name, one in after.items()})


def _renewals(step: AnyStep, circuit: Circuit) -> float:
    """About how many terms of a series one state costs at a step [-]."""
    match step:
        case LineStep() if step.fed_per_out == 1:
            return step.exchanged.l * mixing_of(circuit, closed=False).rate_per_l
        case IdleStep():
            return step.circulated.l * mixing_of(circuit, closed=True).rate_per_l
        case LineStep():
            out_l, fed_per_out = step.exchanged.l, step.fed_per_out
        case LineBatchStep():
            out_l, fed_per_out = step.batch.l, 0.0
        case _:
            return 0.0
    return out_l * terms_per_l(circuit=circuit, out_l=out_l, fed_per_out=fed_per_out)
