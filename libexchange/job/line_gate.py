"""Fluid that was moved through the lines while their gate was closed."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from math import fsum
from typing import NamedTuple

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.gate_outcome import GateAnswer
from libexchange.job.events import FluidMoved, ReadingTaken
from libexchange.job.fluids import Move
from libexchange.job.gates import gate_at
from libexchange.job.history import History
from libexchange.job.open_now import LINES
from libexchange.plan.records import Gate, Plan

GATE_LOST = Kind(
    code="line-gate-lost",
    severity="stop",
    title="The line gate has closed while fluid is being exchanged",
    remedy="Feed off, engine off. Close the loop, warm up again and go on once it is open; litres "
    "fed meanwhile count for little.",
    source=COMMON_PRACTICE,
)
GATE_NOT_KNOWN = Kind(
    code="line-gate-not-known",
    severity="stop",
    title="Nobody knows whether the line gate is still open while fluid is being exchanged",
    remedy="Read temperature and flow at once. Where that cannot be done: feed off, engine off, "
    "and close the loop.",
    source=COMMON_PRACTICE,
)
MOST = 600
RECENT = timedelta(minutes=10)
"""So many readings, and none that is older, are looked at: a line gate forgets within minutes."""

KINDS = (GATE_LOST, GATE_NOT_KNOWN)
"""Every finding code of a line gate that was lost."""


class Fed(NamedTuple):
    """Fluid that was fed in a step of the lines, and what their gate said then.

    place: among the events in force
    """

    place: int
    step_id: str
    gate: GateAnswer


def fed_through(plan: Plan, history: History) -> list[Fed]:
    """What was fed through the lines, in order, each with its gate at that moment.

    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.history import history_of
    >>> fed_through(routine_plan(), history_of([]))
    []
    """
    gates = {step.step_id: step.gate for step in plan.steps if step.kind in LINES and step.gate}
    readings = history.of(ReadingTaken)
    fed = []
    for place, event in enumerate(history.in_force):
        step_id = event.step_id or ""
        if step_id in gates and isinstance(event, FluidMoved) and event.direction == "in":
            answer = _answer(plan, gates[step_id], history, readings, event.occurred_at)
            fed.append(Fed(place, step_id, answer))
    return fed


def gate_lost(fed: Iterable[Fed], moves: Iterable[Move]) -> list[Finding]:
    """Litres that were fed after the gate had closed, as a caution once they are in.

    Only readings that tell that it was closed count: between two of them it may well have been
    open. What was fed before it had ever opened is told where the step is confirmed.
    Source: common practice.

    >>> gate_lost([], [])
    []
    """
    litres = {move.place: move.litres for move in moves}
    lost_l = [litres[place] for place in _while_closed(fed)]
    if not lost_l:
        return []
    text = f"{fsum(lost_l):.2f} L were fed while the gate of the lines was closed."
    values = {"fed_l": fsum(lost_l), "moves": len(lost_l)}
    return [GATE_LOST.at("#/line_exchange", text, values=values, severity="caution")]


def _while_closed(fed: Iterable[Fed]) -> Iterator[int]:
    """The places of what was fed while a gate was closed that had been open in its step."""
    opened: set[str] = set()
    for one in fed:
        if one.gate.state == "open":
            opened.add(one.step_id)
        elif one.gate.state == "closed" and one.step_id in opened:
            yield one.place


def _answer(
    plan: Plan, gate: Gate, history: History, readings: list[ReadingTaken], at: datetime
) -> GateAnswer:
    """By the readings shortly before; a long job has too many to look at all of them each time."""
    last = bisect_right(readings, at, key=lambda event: event.occurred_at)
    near = readings[max(last - MOST, 0) : last]
    recent = tuple(one for one in near if at - one.occurred_at <= RECENT)
    return gate_at(plan, gate, history=history.of_these(recent), at=at)
