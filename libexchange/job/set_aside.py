"""A wrong container that was set aside: whether what else was told bears it out."""

from collections.abc import Iterator
from datetime import datetime
from typing import Literal, NamedTuple

from libexchange.job.events import (
    FluidMoved,
    FluidOpened,
    FluidSetAside,
    LevelChecked,
    ReadingTaken,
)
from libexchange.job.history import History
from libexchange.job.somebody_else import agreed_since


class SetAside(NamedTuple):
    """What was said of a container, and what speaks against it; nothing where it counts."""

    became: Literal["not_filled", "drained"]
    against: str

    @property
    def counts(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.against


def set_aside(history: History, opened: FluidOpened) -> SetAside | None:
    """What is said last of a container that was opened; None where nothing is.

    What was not filled in must not have been the container that was open last while fluid went in.
    What was drained must have come out again before the engine ran, and somebody else must have
    looked at the fluid since.
    Source: common practice.

    >>> from datetime import UTC, datetime
    >>> from uuid import UUID
    >>> from libexchange.job.history import history_of
    >>> at = datetime(2026, 3, 4, 8, tzinfo=UTC)
    >>> drum = FluidOpened(event_id=UUID(int=1), occurred_at=at, sequence=0, fluid_kind="invented")
    >>> set_aside(history_of([]), drum) is None
    True
    """
    told = [one for one in history.of(FluidSetAside) if one.opened == opened.event_id]
    if not told:
        return None
    said = told[-1]
    went_in = list(_went_in(history, opened))
    if said.became == "not_filled":
        against = "fluid went in while it was the last that was opened" if went_in else ""
    else:
        against = next(_against_drained(history, said, went_in), "")
    return SetAside(said.became, against)


def _went_in(history: History, opened: FluidOpened) -> Iterator[FluidMoved]:
    """What was filled in from a container: what went in while no other was opened since."""
    open_now: FluidOpened | None = None
    for event in history.in_force:
        if isinstance(event, FluidOpened):
            open_now = event
        elif isinstance(event, FluidMoved) and event.direction == "in" and open_now == opened:
            yield event


def _against_drained(
    history: History, said: FluidSetAside, went_in: list[FluidMoved]
) -> Iterator[str]:
    began = min((one.occurred_at for one in went_in), default=said.occurred_at)
    out = [one for one in history.of(FluidMoved) if one.direction == "out"]
    if went_in and not any(began < one.occurred_at <= said.occurred_at for one in out):
        yield "nothing is recorded as drained between"
    if any(began <= at <= said.occurred_at for at in _ran(history)):
        yield "the engine ran between"
    if not agreed_since(history, checked="fluid", since=said.occurred_at, by=said.by):
        yield "nobody else has checked the fluid since"


def _ran(history: History) -> Iterator[datetime]:
    """When the engine is known to have run."""
    for taken in history.of(ReadingTaken):
        if taken.reading.engine_running:
            yield taken.occurred_at
    for look in history.of(LevelChecked):
        if look.engine_running:
            yield look.occurred_at
