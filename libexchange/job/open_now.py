"""What stands open on the vehicle after some of the events, and what was touched so far.

Litres alone do not tell it: a pan may be off although as much went in as came out.
"""

from typing import Literal

from libexchange.job.events import (
    FluidMoved,
    JobEvent,
    LeakChecked,
    LevelChecked,
    MadeSafe,
    StepConfirmed,
)
from libexchange.job.history import History
from libexchange.plan.records import Plan, StepKind

Opening = Literal["drain", "pan", "fill_opening", "lines"]
"""What can stand open."""

DRAINING: tuple[StepKind, ...] = ("drain", "suction", "pan_and_filter")
LINES: tuple[StepKind, ...] = ("line_exchange", "line_batch")

OPENS: dict[StepKind, Opening] = {
    "prove_fill_opening": "fill_opening",
    "drain": "drain",
    "suction": "fill_opening",
    "pan_and_filter": "pan",
    "connect_lines": "lines",
}
"""What a step opens; one that was begun counts as if it were done."""

LETS_OUT = ("out", "lost")


class OpenNow:
    """What is open and was touched after the events that were taken so far.

    emptied: fluid was let out and not put back since    feeding: it flows through the lines
    touched: something was done that can have changed the level, or shown that it is off
    let_out_unmeasured: fluid was let out more often than litres of it were told
    reopened: litres of a draining that was over have come again: a late entry, or drained again
    looked_since: the level was looked at after all that can have changed it
    """

    def __init__(self, kinds: dict[str, StepKind]) -> None:
        self.kinds = kinds
        self.open: set[Opening] = set()
        self.emptied = self.feeding = self.reopened = False
        self.touched = self.looked_since = False
        self.made_safe: MadeSafe | None = None
        self._over: set[str | None] = set()
        self._looked = False
        self._emptied_times = self._measured_times = 0

    @property
    def let_out_unmeasured(self) -> bool:
        """Whether litres of something that was let out were never told."""
        return self._measured_times < self._emptied_times

    def take(self, event: JobEvent) -> None:
        """What follows from one more event."""
        step = self.kinds.get(event.step_id or "")
        if isinstance(event, StepConfirmed):
            if event.step_id not in self._over:
                self._confirmed(step)
            self._over.add(event.step_id)
        elif isinstance(event, FluidMoved):
            self._moved(event, step)
        elif isinstance(event, LevelChecked):
            self.touched = self.looked_since = self._looked = True
        elif isinstance(event, LeakChecked) and event.result == "leak":
            self.looked_since = False
        elif isinstance(event, MadeSafe):
            self.made_safe, self.emptied, self.feeding = event, False, False
            self.open.clear()

    def _confirmed(self, step: StepKind | None) -> None:
        if step is not None and step in OPENS:
            self._begin(step)
        if step in DRAINING:
            self._emptied_times += 1
        elif step in LINES:
            self.feeding, self.looked_since, self.touched = False, False, True
        elif step == "refill":
            self._refilled()
        elif step == "disconnect_lines":
            self.open.discard("lines")
        elif step == "set_level":
            self.open.discard("fill_opening")

    def _moved(self, event: FluidMoved, step: StepKind | None) -> None:
        self.touched, self.made_safe = True, None
        over = event.step_id in self._over
        if step in LINES:
            self.feeding, self.looked_since = self.feeding or not over, self.looked_since and over
        elif step in DRAINING:
            self._drained(step, over=over)
        elif event.direction == "in" and step == "refill":
            self._refilled(looked_since=over and self.looked_since)
        elif event.direction in LETS_OUT and step is None and not self._looked:
            self._measured_times += 1

    def _drained(self, step: StepKind, *, over: bool) -> None:
        self._measured_times += 1
        if over:
            self.reopened = True
        else:
            self._begin(step)

    def _begin(self, step: StepKind) -> None:
        self.open.add(OPENS[step])
        self.made_safe = None
        if step != "prove_fill_opening":
            self.touched = True
        if step in DRAINING:
            self.emptied, self.looked_since = True, False

    def _refilled(self, *, looked_since: bool = False) -> None:
        self.open -= {"drain", "pan"}
        self.emptied, self.reopened, self.touched = False, False, True
        self.looked_since = looked_since

    def level_was_set(self) -> None:
        """A level that was set with the engine running shows that nothing below it is open."""
        if self.looked_since and not self.feeding:
            self.open -= {"drain", "pan", "fill_opening"}
            self.emptied = False


def open_now(plan: Plan, history: History) -> OpenNow:
    """What stands open after the events of a job.

    Source: common practice.

    >>> from uuid import UUID
    >>> from libexchange import invented
    >>> from libexchange.job.history import history_of
    >>> from libexchange.plan.planning import make_plan
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> open_now(plan, history_of([])).touched
    False
    """
    now = OpenNow({step.step_id: step.kind for step in plan.steps})
    for event in history.in_force:
        now.take(event)
    return now
