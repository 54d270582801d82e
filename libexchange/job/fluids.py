"""Fluid moved in a job: litres in and out, corrections of the level, the balance so far."""

from collections.abc import Iterable, Sequence
from math import fsum
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange.balance import (
    LITRES_DIFFER,
    SAME_L,
    BalanceEntry,
    BalanceVerdict,
    balance,
    volume_15_l,
)
from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.events import FluidMoved, LevelChecked
from libexchange.job.history import History
from libexchange.plan.card_records import OfflineCard
from libexchange.plan.records import Plan, StepKind
from libexchange.quantities import Volume, VolumeChange

LITRES_UNBELIEVABLE = Kind(
    code="moved-litres-unbelievable",
    severity="stop",
    title="More fluid was entered than one job can move",
    remedy="Look for a wrong unit or a slipped decimal point and correct the entry.",
    source=COMMON_PRACTICE,
)
KINDS = (LITRES_DIFFER, LITRES_UNBELIEVABLE)
"""Every finding code of fluid moved."""

MOST_TOTALS = 20.0
"""Above so many total fills moved in one job an entry is taken as wrong [-]."""

BEFORE_DRIVE: StepKind = "level_before_drive"
"""What is moved there is no correction after the work."""

LARGEST_CHANGE_L = 1000.0
_SIGNS = {"in": 1, "out": -1, "lost": -1, "sampled": -1, "additive": 1}


class Move(NamedTuple):
    """One movement in litres at 15 degC; `place` counts the events in force.

    settled: a level that was set before a drive has answered for it since
    """

    place: int
    entry: BalanceEntry
    step: StepKind | None
    setting_level: bool
    litres: float
    settled: bool = False

    @property
    def levels(self) -> bool:
        """Whether it sets a level that nothing has answered for yet."""
        return self.setting_level or (self.step == BEFORE_DRIVE and not self.settled)

    @property
    def signed_l(self) -> float:
        """Positive into the unit [L]."""
        return _SIGNS[self.entry.direction] * self.litres


class LineLitres(Struct, frozen=True, kw_only=True):
    """Litres at 15 degC through the lines so far; `verdict` is by the limits while fluid flows.

    in_15: fed    out_15: returned    difference: in less out, null beyond +-1,000 L
    findings: why it is not ok
    """

    in_15: Volume
    out_15: Volume
    difference: VolumeChange | None
    verdict: Literal["ok", "warn", "stop"]
    findings: tuple[Finding, ...]


class JobBalance(Struct, frozen=True, kw_only=True):
    """Litres in and out so far at 15 degC, with the change that the level setting wanted.

    `difference` is in - out - lost - sampled + additive. `verdict` is `open` until the level has
    been set: before that fluid is out of the unit by intention. Litres beyond +-1,000 are null.
    in_15: all that went in    out_15: all that came out
    expected_change: corrections of the level    uncertainty: expanded, of the difference
    findings: why it does not close
    """

    in_15: Volume
    out_15: Volume
    difference: VolumeChange | None
    expected_change: VolumeChange | None
    uncertainty: Volume
    verdict: BalanceVerdict | Literal["open"]
    findings: tuple[Finding, ...]


def moves_of(plan: Plan, card: OfflineCard, history: History) -> list[Move]:
    """Every movement in order, in litres at 15 degC.

    What is moved without a step after the first look at the level counts as setting the level.
    """
    steps = {step.step_id: step.kind for step in plan.steps}
    density = card.density_15.kg_m3
    moves, looked = [], False
    for place, event in enumerate(history.in_force):
        step = steps.get(event.step_id or "")
        looked = looked or (isinstance(event, LevelChecked) and step != BEFORE_DRIVE)
        if isinstance(event, FluidMoved):
            setting = step == "set_level" or (event.step_id is None and looked)
            litres = volume_15_l(event.entry, density_15_kg_m3=density)
            moves.append(Move(place, event.entry, step, setting, litres))
    return moves


def sum_l(moves: Iterable[Move], *directions: str) -> float:
    """Litres at 15 degC moved in these directions."""
    return fsum(move.litres for move in moves if move.entry.direction in directions)


def outstanding_l(moves: Iterable[Move]) -> float:
    """What the unit lacks, positive, or has over, negative, when the level is to be set.

    Putting back what is outstanding is refilling, only what goes beyond it is correcting.
    """
    return -fsum(m.signed_l for m in moves if not (m.setting_level or m.settled))


class Corrections(NamedTuple):
    """What was added beyond the refill [L at 15 degC], and in how many rounds."""

    added_l: float
    rounds: int


def corrections_before(moves: Sequence[Move], place: int) -> Corrections:
    """The corrections of the level before an event; what ran out again was not added."""
    lacking_l = max(outstanding_l(moves), 0.0)
    into_l, rounds = 0.0, 0
    for move in moves:
        if not move.setting_level or move.place >= place:
            continue
        into_l = max(into_l + move.signed_l, 0.0)
        # a rest below 5 mL is the refill's own rounding
        rounds += move.entry.direction == "in" and into_l > lacking_l + 0.005
    return Corrections(max(into_l - lacking_l, 0.0), rounds)


def expected_change_l(moves: Sequence[Move]) -> float:
    """The part of the level setting that was correction, not the end of the refill [L].

    Source: common practice, the expected change of a balance is the level correction.
    """
    wanted_l, earlier_l = outstanding_l(moves), settled_l(moves)
    set_l = fsum(move.signed_l for move in moves if move.setting_level)
    if wanted_l * set_l <= 0:
        return earlier_l + set_l
    beyond_l = abs(set_l) - abs(wanted_l)
    return earlier_l + (0.0 if beyond_l <= 0 else set_l - wanted_l)


def settled_l(moves: Iterable[Move]) -> float:
    """What levels that were set before a drive have changed, at 15 degC [L]."""
    return fsum(move.signed_l for move in moves if move.settled)


def balance_of(card: OfflineCard, moves: Sequence[Move], *, settled: bool) -> JobBalance:
    """The balance so far; its verdict counts from when the level is `settled`."""
    expected_l = expected_change_l(moves)
    answer = balance(
        density_15_kg_m3=card.density_15.kg_m3,
        total_l=card.total.l,
        entries=[move.entry for move in moves],
        expected_change_l=expected_l,
    )
    return JobBalance(
        in_15=Volume(answer.in_15_l, "L"),
        out_15=Volume(answer.out_15_l, "L"),
        difference=change(answer.difference_l),
        expected_change=change(expected_l),
        uncertainty=Volume(answer.uncertainty_l, "L"),
        verdict=answer.verdict if settled else "open",
        findings=tuple(f for f in answer.findings if settled or f.severity == "note"),
    )


def line_litres(card: OfflineCard, moves: Sequence[Move]) -> LineLitres | None:
    """What went through the lines so far; null when nothing did."""
    own = [move for move in moves if move.step == "line_exchange"]
    if not own:
        return None
    difference_l = fsum(move.signed_l for move in own)
    verdict = _live_verdict(card, abs(difference_l))
    return LineLitres(
        in_15=Volume(sum_l(own, "in"), "L"),
        out_15=Volume(sum_l(own, "out"), "L"),
        difference=change(difference_l),
        verdict=verdict,
        findings=_drifting(card, difference_l, verdict),
    )


def _live_verdict(card: OfflineCard, off_l: float) -> Literal["ok", "warn", "stop"]:
    if off_l > card.balance_stop.l + SAME_L:
        return "stop"
    return "warn" if off_l > card.balance_warning.l + SAME_L else "ok"


def _drifting(
    card: OfflineCard, difference_l: float, verdict: Literal["ok", "warn", "stop"]
) -> tuple[Finding, ...]:
    if verdict == "ok":
        return ()
    more = "in than out" if difference_l > 0 else "out than in"
    text = (
        f"{abs(difference_l):.2f} L more {more} at 15 °C; warn above "
        f"{card.balance_warning.l:g} L, stop above {card.balance_stop.l:g} L."
    )
    severity = "stop" if verdict == "stop" else LITRES_DIFFER.severity
    values = {"difference_l": difference_l, "stop_l": card.balance_stop.l}
    return (LITRES_DIFFER.at("#/line_exchange", text, values=values, severity=severity),)


def unbelievable(card: OfflineCard, moves: Iterable[Move]) -> list[Finding]:
    """A finding where the litres entered cannot belong to one job."""
    moved_l = fsum(move.litres for move in moves)
    if moved_l <= MOST_TOTALS * card.total.l:
        return []
    text = f"{moved_l:.0f} L were moved in all; the unit holds {card.total.l:g} L."
    values = {"moved_l": moved_l, "total_l": card.total.l}
    return [LITRES_UNBELIEVABLE.at("#/balance", text, values=values)]


def change(litres: float) -> VolumeChange | None:
    """Signed litres as a record, null beyond what one can hold.

    >>> change(-0.25), change(1001)
    (VolumeChange(value=-0.25, unit='L'), None)
    """
    return VolumeChange(litres, "L") if abs(litres) <= LARGEST_CHANGE_L else None
