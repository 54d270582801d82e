"""Fluid that was moved through the lines while their gate was closed."""

from bisect import bisect_right
from datetime import datetime, timedelta
from math import fsum

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.gate_outcome import GateState
from libexchange.job.events import ReadingTaken
from libexchange.job.fluids import Move
from libexchange.job.gates import gate_at
from libexchange.job.history import History
from libexchange.plan.records import Gate, Plan, Step

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


def gate_lost(plan: Plan, history: History, moves: list[Move]) -> list[Finding]:
    """Litres that were fed after the gate had closed, as a caution once they are in.

    Only readings that tell that it was closed count: between two of them it may well have been
    open. What was fed before it had ever opened is told where the step is confirmed.
    Source: common practice.

    >>> from uuid import UUID
    >>> from libexchange import invented
    >>> from libexchange.job.history import history_of
    >>> from libexchange.plan.planning import make_plan
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> gate_lost(plan, history_of([]), [])
    []
    """
    lost_l = [one for step in plan.steps for one in _lost_l(plan, history, moves, step)]
    if not lost_l:
        return []
    text = f"{fsum(lost_l):.2f} L were fed while the gate of the lines was closed."
    values = {"fed_l": fsum(lost_l), "moves": len(lost_l)}
    return [GATE_LOST.at("#/line_exchange", text, values=values, severity="caution")]


def _lost_l(plan: Plan, history: History, moves: list[Move], step: Step) -> list[float]:
    """Litres fed in one step after its gate was open and while it was closed."""
    if step.gate is None or not step.gate.continuing:
        return []
    litres, opened = [], False
    readings = history.of(ReadingTaken)
    for move in moves:
        event = history.in_force[move.place]
        if event.step_id != step.step_id or move.entry.direction != "in":
            continue
        state = _state(plan, step.gate, history, readings, event.occurred_at)
        opened = opened or state == "open"
        if opened and state == "closed":
            litres.append(move.litres)
    return litres


def _state(
    plan: Plan, gate: Gate, history: History, readings: list[ReadingTaken], at: datetime
) -> GateState:
    """By the readings shortly before; a long job has too many to look at all of them each time."""
    last = bisect_right(readings, at, key=lambda event: event.occurred_at)
    recent = tuple(one for one in readings[:last][-MOST:] if at - one.occurred_at <= RECENT)
    return gate_at(plan, gate, history=history.of_these(recent), at=at).state
