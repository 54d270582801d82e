"""What stands open on the vehicle after some of the events, and what was touched so far.

Litres alone do not tell it: a pan may be off although as much went in as came out.
"""

from typing import Literal

from libexchange.job.checked_since import CheckedSince
from libexchange.job.course_events import FluidIn
from libexchange.job.events import (
    Aborted,
    Arrived,
    CautionAcknowledged,
    ConsentGiven,
    FaultCodesRead,
    FindingOverridden,
    FluidMoved,
    FluidOpened,
    JobEvent,
    LateFinding,
    LeakChecked,
    LevelChecked,
    MadeSafe,
    Paused,
    ReadingTaken,
    SecondCheck,
    StepConfirmed,
    TestDriven,
    ToolUsed,
    WorkFinished,
)
from libexchange.job.history import History
from libexchange.job.opened import kinds_taken
from libexchange.plan.records import Plan, StepKind

Opening = Literal["drain", "pan", "fill_opening", "lines"]
"""What can stand open."""

DRAINING: tuple[StepKind, ...] = ("drain", "suction", "pan_and_filter")
LINES: tuple[StepKind, ...] = ("line_exchange", "line_batch")
MEASURED: tuple[StepKind, ...] = (*DRAINING, *LINES, "refill")
"""Steps whose litres, told again after a look at the level, mean that they were done again."""

SETS_LEVEL: tuple[StepKind, ...] = ("set_level", "level_before_drive")
"""Steps at which the level is looked at and set."""

OPENS: dict[StepKind, Opening] = {
    "prove_fill_opening": "fill_opening",
    "drain": "drain",
    "suction": "fill_opening",
    "pan_and_filter": "pan",
    "connect_lines": "lines",
}
"""What a step opens; one that was begun counts as if it were done."""

LETS_OUT = ("out", "lost")

BEFORE_OPENING = (
    ReadingTaken, CautionAcknowledged, ToolUsed, SecondCheck, ConsentGiven, FindingOverridden,
    FaultCodesRead, Arrived,
)  # fmt: skip
"""What belongs to a step before anything of it is done: its own gate is read and answered for."""


class OpenNow:
    """What is open and was touched after the events that were taken so far.

    emptied: fluid was let out and not put back since
    feeding: the step of the lines in which fluid was moved last, until it is confirmed
    touched: something was done that can have changed the level, or shown that it is off
    let_out_unmeasured: fluid was let out more often than litres of it were told
    reopened: litres of a draining that was over have been entered late
    looked_since: the level was looked at after all that can have changed it
    said: of the fluid, by whoever stood there, until fluid is moved or the level looked at
    other_in: fluid went in after a container of another kind was opened
    checked: leak check, drive and finish, as far as they came after all that they are to judge
    done: what was opened or moved, in words
    """

    def __init__(self, kinds: dict[str, StepKind], taken: tuple[str, ...] = ()) -> None:
        self.kinds, self.taken = kinds, taken
        self.open: set[Opening] = set()
        self.feeding: str | None = None
        self.emptied = self.reopened = False
        self.touched = self.looked_since = self.other_in = False
        self.said: FluidIn | None = None
        self.made_safe: MadeSafe | None = None
        self.checked = CheckedSince()
        self.done: dict[str, None] = {}
        self._over: set[str | None] = set()
        self._begun: set[str | None] = set()
        self._told: set[str | None] = set()
        self._told_at_look: set[str | None] = set()
        self._over_at_look: set[str | None] = set()
        self._looked = self._other_opened = False
        self._let: set[str | None] = set()
        self._emptied_times = self._measured_times = 0

    @property
    def let_out_unmeasured(self) -> bool:
        """Whether litres of something that was let out were never told."""
        return self._measured_times < self._emptied_times

    def take(self, event: JobEvent) -> None:
        """What follows from one more event."""
        step = self.kinds.get(event.step_id or "")
        if isinstance(event, StepConfirmed):
            self._step_over(event, step)
        elif isinstance(event, FluidMoved):
            self._moved(event, step)
        elif not isinstance(event, BEFORE_OPENING):
            self._mentioned(event, step)
        self._judged(event)
        self._said(event)

    def _judged(self, event: JobEvent) -> None:
        if isinstance(event, LevelChecked):
            self._seen(event)
        elif isinstance(event, LeakChecked):
            self.checked.leak(event)
            self.looked_since = self.looked_since and event.result == "dry"
        elif isinstance(event, LateFinding) and event.source == "leak":
            self.checked.leak_told(event)
            self.looked_since = False
        elif isinstance(event, TestDriven):
            self.checked.drive(event)
        elif isinstance(event, WorkFinished):
            self.checked.finish()

    def _said(self, event: JobEvent) -> None:
        if isinstance(event, FluidOpened):
            self._other_opened |= bool(self.taken) and event.fluid_kind not in self.taken
            self.done["a container of fluid opened"] = None
        elif isinstance(event, Paused):
            self.said = event.fluid_in
        elif isinstance(event, MadeSafe):
            self.made_safe, self.said = event, event.fluid_in
            self.emptied, self.feeding = False, None
            self.open.clear()

    def _seen(self, event: LevelChecked) -> None:
        self.touched = self.looked_since = self._looked = True
        self.said = None
        self._told_at_look, self._over_at_look = set(self._told), set(self._over)
        self.checked.looked(event)
        self.done["level looked at"] = None

    def _mentioned(self, event: JobEvent, step: StepKind | None) -> None:
        """Whatever else names a step says that it was begun, though nobody told litres yet."""
        if step is not None and step in OPENS and event.step_id not in self._begun:
            self._begin(event, step)
        elif step in LINES and isinstance(event, Paused | Aborted):
            self._fed(event, late=event.step_id in self._over)

    def _step_over(self, event: StepConfirmed, step: StepKind | None) -> None:
        if event.step_id == self.feeding:
            self.feeding = None
        if self._anew(event, step):
            self._forget(event)
        if event.step_id not in self._over:
            self._confirmed(event, step)
        elif step == "disconnect_lines":
            self.open.discard("lines")
        self._over.add(event.step_id)

    def _anew(self, event: StepConfirmed, step: StepKind | None) -> bool:
        """Whether a step that was over was done once more: two may confirm what was done once."""
        if step in OPENS or step in LINES:
            return event.step_id in self._over_at_look
        return step == "refill" and self.emptied

    def _forget(self, event: JobEvent) -> None:
        """A step is begun anew, as if it had never been done."""
        for known in (self._over, self._told, self._told_at_look, self._over_at_look, self._let):
            known.discard(event.step_id)
        self.looked_since = False

    def _confirmed(self, event: StepConfirmed, step: StepKind | None) -> None:
        if step is not None and step in OPENS:
            self._begin(event, step)
        elif step in LINES:
            self.looked_since, self.touched = False, True
            self._changed(event, "fluid moved through the lines")
        elif step == "refill":
            self._refilled(event)
        elif step == "disconnect_lines":
            self.open.discard("lines")
            self._changed(event, "lines opened")
        elif step in SETS_LEVEL:
            self.open.discard("fill_opening")

    def _moved(self, event: FluidMoved, step: StepKind | None) -> None:
        self.touched, self.made_safe = True, None
        if (
            step in MEASURED
            and event.step_id in self._told_at_look
            and event.direction != "sampled"
        ):
            if step not in LINES or "lines" in self.open:
                self._forget(event)
            self.looked_since = False
        late = event.step_id in self._over
        if step in LINES:
            self._fed(event, late=late)
        elif step is not None and step in DRAINING:
            self._drained(event, step, late=late)
        elif event.direction == "in" and step == "refill":
            self._refilled(event, late=late and not self.emptied)
        else:
            self._moved_apart(event, step)
        self._told.add(event.step_id)
        self.other_in |= self._other_opened and event.direction == "in"

    def _fed(self, event: JobEvent, *, late: bool) -> None:
        if not late:
            self.feeding, self.looked_since, self.touched = event.step_id, False, True
            self._changed(event, "fluid moved through the lines")

    def _drained(self, event: FluidMoved, step: StepKind, *, late: bool) -> None:
        self._measured_times += event.step_id not in self._told
        if late:
            self.reopened = True
        else:
            self._begin(event, step)
            self._changed(event, "fluid moved")

    def _moved_apart(self, event: FluidMoved, step: StepKind | None) -> None:
        """Litres of no step count as setting the level once somebody has looked at it."""
        setting = step in SETS_LEVEL or (event.step_id is None and self._looked)
        if not setting and event.direction in LETS_OUT and event.step_id is None:
            self._measured_times += 1
        if event.direction != "sampled":
            self.looked_since = self.looked_since and setting
            self._changed(event, "fluid moved", setting=setting)

    def _changed(self, event: JobEvent, what: str, *, setting: bool = False) -> None:
        self.done[what] = None
        self.said = None
        self.checked.changed(event, setting=setting)

    def _begin(self, event: JobEvent, step: StepKind) -> None:
        opening = OPENS[step]
        self.open.add(opening)
        self._begun.add(event.step_id)
        self._changed(event, f"{opening.replace('_', ' ')} opened")
        self.made_safe = None
        if step != "prove_fill_opening":
            self.touched = True
        if step in DRAINING:
            self.emptied, self.looked_since = True, False
            self._emptied_times += event.step_id not in self._let
            self._let.add(event.step_id)

    def _refilled(self, event: JobEvent, *, late: bool = False) -> None:
        self.open -= {"drain", "pan"}
        self.emptied, self.reopened, self.touched = False, False, True
        if not late:
            self.looked_since = False
            self._changed(event, "fluid moved")

    def level_was_set(self) -> None:
        """A level that was set with the engine running shows that nothing below it is open."""
        if self.looked_since and not self.feeding:
            self.open -= {"drain", "pan", "fill_opening"}
            self.emptied = False


def open_now(plan: Plan, history: History) -> OpenNow:
    """What stands open after the events of a job.

    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.history import history_of
    >>> plan = routine_plan()
    >>> open_now(plan, history_of([])).touched
    False
    """
    now = OpenNow({step.step_id: step.kind for step in plan.steps}, kinds_taken(plan))
    for event in history.in_force:
        now.take(event)
    return now
