"""What speaks against the last look at the level, however right it looked by itself."""

from collections.abc import Iterator, Sequence
from math import fsum

from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind
from libexchange.job.events import LeakChecked, LevelChecked, ReadingTaken
from libexchange.job.fluids import Move, outstanding_l
from libexchange.job.gates import gate_at
from libexchange.job.history import History
from libexchange.plan.records import Plan
from libexchange.reading_findings import STUCK

MOST_RUN_OUT_L = 1.0
"""So much more than was over may run out while the level is set [L], from memory."""

RAN_OUT = Kind(
    code="more-ran-out-than-was-over",
    severity="stop",
    title="More ran out at the level than can have been over",
    remedy="Do not start. Look at what ran out: the wrong opening, an engine that stood, or no "
    "overflow tube empties a unit. Find out which space it came from, refill that one and set the "
    "level again.",
    source=MEMORY,
)
LEAK_AFTER_LOOK = Kind(
    code="level-not-looked-at-after-leak",
    severity="stop",
    title="Nobody has looked at the level since the unit leaked",
    remedy="Look at the level again in its window; what leaked out is missing.",
    source=COMMON_PRACTICE,
)
STUCK_AT_LOOK = Kind(
    code="level-looked-at-by-stuck-sensor",
    severity="stop",
    title="The temperature of the last look comes from a sensor that seems to stand still",
    remedy="Compare with another sensor, then look at the level again in its window.",
    source=COMMON_PRACTICE,
)
KINDS = (RAN_OUT, LEAK_AFTER_LOOK, STUCK_AT_LOOK)
"""Every finding code of doubts about the level."""


def level_doubts(plan: Plan, history: History, moves: Sequence[Move]) -> list[Finding]:
    """What the history says against the last look; nothing while nobody has looked.

    Source: as each finding says.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.history import history_of
    >>> plan = routine_plan()
    >>> level_doubts(plan, history_of([]), [])
    []
    """
    looks = history.of(LevelChecked)
    if not looks:
        return []
    return [*_ran_out(moves), *_leaked(history, looks[-1]), *_stuck(plan, history, looks[-1])]


def _ran_out(moves: Sequence[Move]) -> Iterator[Finding]:
    over_l = max(-outstanding_l(moves), 0.0)
    out_l = -fsum(move.signed_l for move in moves if move.setting_level)
    if out_l - over_l > MOST_RUN_OUT_L:
        text = f"{out_l:.2f} L ran out while the level was set; {over_l:.2f} L were over."
        yield RAN_OUT.at("#/level", text, values={"out_l": out_l, "over_l": over_l})


def _leaked(history: History, look: LevelChecked) -> Iterator[Finding]:
    """A drip that was wiped off and is dry now has still taken fluid with it."""
    leaks = [event for event in history.of(LeakChecked) if event.result == "leak"]
    order = [event.event_id for event in history.in_force]
    if leaks and order.index(leaks[-1].event_id) > order.index(look.event_id):
        yield LEAK_AFTER_LOOK.at("#/level", "The last leak was seen after the last look.")


def _stuck(plan: Plan, history: History, look: LevelChecked) -> Iterator[Finding]:
    """Judged at the newest temperature before the look, which itself comes a little later."""
    read = (event.occurred_at for event in history.of(ReadingTaken) if event.temperature)
    at = max((moment for moment in read if moment <= look.occurred_at), default=look.occurred_at)
    gates = (step.gate for step in plan.steps if step.kind == "set_level" and step.gate)
    for gate in gates:
        for found in gate_at(plan, gate, history=history, at=at).findings:
            if found.code == STUCK.code:
                yield STUCK_AT_LOOK.at("#/level/temperature", found.message, values=found.values)
