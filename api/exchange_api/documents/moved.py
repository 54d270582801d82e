"""The litres of a record at 15 degC: each movement, and either side with its uncertainty."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from libexchange.balance import balance
from libexchange.job.events import DeviceEvent, FluidMoved
from libexchange.job.fluids import Move, moves_of
from libexchange.job.history import history_of
from libexchange.record import JobRecord

INTO = ("in", "additive")
OUT_OF = ("out", "lost", "sampled")
BESIDE = ("additive", "lost", "sampled")
"""Directions that are no fluid through a step of the plan."""


class Moved(NamedTuple):
    """One movement as it was entered, and what it is at 15 degC [L]."""

    event: FluidMoved
    move: Move


class Part(NamedTuple):
    """Litres at 15 degC that were moved for one purpose."""

    name: str
    litres: float


class Side(NamedTuple):
    """What went in or came out [L at 15 degC]; two in three to nineteen in twenty lie within
    `uncertainty_l` (doubled standard uncertainty).
    """

    name: str
    parts: tuple[Part, ...]
    uncertainty_l: float

    @property
    def litres(self) -> float:
        """All parts together."""
        return sum(part.litres for part in self.parts)


def moved_of(record: JobRecord) -> list[Moved]:
    """Every movement that was not withdrawn, in order; none where the plan has no card."""
    card = record.plan.offline_card
    if card is None:
        return []
    history = history_of(
        DeviceEvent(device_id=one.device_id, event=one.event) for one in record.events
    )
    moves = moves_of(record.plan, card, history)
    return [Moved(event, move) for event, move in zip(history.of(FluidMoved), moves, strict=True)]


def sides_of(record: JobRecord, moved: Sequence[Moved]) -> tuple[Side, Side]:
    """In and out."""
    return (
        _side(record, "In", [one for one in moved if one.move.entry.direction in INTO]),
        _side(record, "Out", [one for one in moved if one.move.entry.direction in OUT_OF]),
    )


def _side(record: JobRecord, name: str, moved: Sequence[Moved]) -> Side:
    return Side(name, tuple(_parts(moved)), _uncertainty_l(record, moved))


def _parts(moved: Iterable[Moved]) -> list[Part]:
    litres: dict[str, float] = {}
    for _, move in moved:
        purpose = purpose_of(move)
        litres[purpose] = litres.get(purpose, 0.0) + move.litres
    return [Part(name, amount) for name, amount in litres.items()]


def purpose_of(move: Move) -> str:
    """What a movement was for, in words."""
    if move.entry.direction in BESIDE:
        return move.entry.direction
    if move.setting_level:
        return "setting the level"
    return move.step.replace("_", " ") if move.step else "without a step"


def _uncertainty_l(record: JobRecord, moved: Sequence[Moved]) -> float:
    card = record.plan.offline_card
    if card is None or not moved:
        return 0.0
    answer = balance(
        density_15_kg_m3=card.density_15.kg_m3,
        total_l=card.total.l,
        entries=[move.entry for _, move in moved],
    )
    return answer.uncertainty_l
