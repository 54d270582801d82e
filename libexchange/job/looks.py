"""The last look at the level in a job, judged with the corrections made before it."""

from collections.abc import Sequence
from itertools import pairwise
from math import fsum
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from libexchange.fields import Instant
from libexchange.findings import Finding
from libexchange.job.events import LeakChecked, LevelChecked, ReadingTaken, TestDriven
from libexchange.job.fluids import (
    BEFORE_DRIVE,
    Corrections,
    Move,
    corrections_before,
    outstanding_l,
)
from libexchange.job.history import History
from libexchange.job.look_doubts import doubted
from libexchange.level_records import LevelAnswer, LevelCheck, LevelVerdict, MeasuredRefill
from libexchange.level_verdict import judge_level
from libexchange.plan.card_records import OfflineCard
from libexchange.plan.records import Plan, StepKind
from libexchange.quantities import Temperature, TemperatureRate, Volume, VolumeChange
from libexchange.readings import fitted_line, is_fresh, temperature_samples

MOST_L = 1000.0
"""The most that came out or went in that a measured refill tells [L]."""

SAME_L = 0.05
"""What is still the same amount when a computed correction was measured out [L]."""

MOST_DRIVES = 10
OFF: tuple[LevelVerdict, ...] = ("add", "let_run", "remove")
"""The verdicts of a level that is out of tolerance."""

WORK: tuple[StepKind, ...] = (
    "drain", "suction", "pan_and_filter", "refill", "connect_lines", "line_exchange", "line_batch",
    "dose_cleaner", "dose_conditioner",
)  # fmt: skip
"""Steps that change what a level set before them has shown."""

LevelStanding = Literal["set", "set_outside_window", "not_set", "not_known", "stopped"]
"""Where the level setting stands; `set_outside_window` was corrected by a computed amount."""

SETTLED: tuple[LevelStanding, ...] = ("set", "set_outside_window")
"""Where the level setting stands once the fluid that belongs in is in."""


class LevelState(Struct, frozen=True, kw_only=True):
    """The last look and what followed it.

    `added` and `rounds` count the corrections so far, beyond the refill.

    standing: whether the level is set    checked_at, temperature: of the look
    verdict: of the look    correction: to add, negative to take out; null where none is told
    uncertainty: of the look in litres, null where it cannot be told
    findings: doubts about the look
    """

    standing: LevelStanding
    checked_at: Instant
    temperature: Temperature
    verdict: LevelVerdict
    correction: VolumeChange | None
    uncertainty: Volume | None
    added: Volume
    rounds: int
    findings: tuple[Finding, ...]


def level_state(
    plan: Plan, card: OfflineCard, history: History, moves: Sequence[Move]
) -> LevelState | None:
    """The state of the level setting; null while nobody has looked.

    A level that was set before a drive tells nothing once the work on the fluid goes on.
    """
    looks, early = _looks(plan, history)
    if not looks:
        return None
    place, look = looks[-1]
    if place in early:
        if _worked_since(plan, history, place):
            return None
        looks = looks[-1:]
    else:
        looks = [(at, one) for at, one in looks if at not in early]
    off_after = _off_after_drives(card, history, moves, looks)
    answer = _judged(card, history, look, moves, place, off_after_drives=off_after)
    since_l = since_look_l(history, moves)
    so_far = _corrections(history, moves, len(history.in_force))
    return LevelState(
        standing=_standing(card, answer, since_l),
        checked_at=look.occurred_at,
        temperature=look.temperature,
        verdict=answer.verdict,
        correction=answer.correction,
        uncertainty=answer.uncertainty,
        added=Volume(so_far.added_l, "L"),
        rounds=so_far.rounds,
        findings=tuple(answer.findings),
    )


def since_look_l(history: History, moves: Sequence[Move]) -> float:
    """What came into the unit by the level since the last look at it [L]; negative out of it.

    >>> from libexchange.job.history import history_of
    >>> since_look_l(history_of([]), [])
    0.0
    """
    seen = [n for n, event in enumerate(history.in_force) if isinstance(event, LevelChecked)]
    return fsum(m.signed_l for m in moves if m.levels and m.place > max(seen, default=-1))


def _looks(plan: Plan, history: History) -> tuple[list[tuple[int, LevelChecked]], set[int]]:
    """Every look at the level with its place, and the places of those before a drive."""
    looks = [(n, e) for n, e in enumerate(history.in_force) if isinstance(e, LevelChecked)]
    kinds = {step.step_id: step.kind for step in plan.steps}
    return looks, {n for n, look in looks if kinds.get(look.step_id or "") == BEFORE_DRIVE}


def _worked_since(plan: Plan, history: History, place: int) -> bool:
    worked = {step.step_id for step in plan.steps if step.kind in WORK}
    return any(event.step_id in worked for event in history.in_force[place:])


def settled(plan: Plan, card: OfflineCard, history: History, moves: Sequence[Move]) -> list[Move]:
    """The moves, those marked that a level set before a drive has answered for.

    What was missing or over on arrival is no refill: the look in the window tells that it is right.
    """
    base, (looks, early) = -1, _looks(plan, history)
    for place, look in looks:
        if place not in early:
            continue
        leg = [m for m in moves if base < m.place < place]
        if _judged(card, history, look, leg, place).verdict == "in_range":
            base = place
    return [move._replace(settled=move.place < base) for move in moves]


def _judged(
    card: OfflineCard,
    history: History,
    look: LevelChecked,
    moves: Sequence[Move],
    place: int,
    *,
    off_after_drives: int = 0,
) -> LevelAnswer:
    """One look by itself, and by what else was told of its moment."""
    check = _check(card, history, look, moves, place)
    answer = judge_level(replace(check, off_after_drives=off_after_drives))
    return doubted(answer, look, card, history)


def _check(
    card: OfflineCard, history: History, look: LevelChecked, moves: Sequence[Move], place: int
) -> LevelCheck:
    before = _corrections(history, moves, place)
    return LevelCheck(
        method=look.method,
        total=card.total,
        window=card.window,
        temperature=look.temperature,
        observed=look.observed,
        reading=look.reading,
        added=Volume(before.added_l, "L"),
        rounds=min(before.rounds, 100),
        rate=_rate(history, look),
        engine_running=look.engine_running,
        checked_with_engine_running=card.engine_running is not False,
        density_15=card.density_15,
        temperature_source=look.temperature_source,
        observed_for=look.observed_for,
        waited=look.waited,
        gears_cycled=look.gears_cycled,
        selector_right=look.selector_right,
        overflow_tube_fitted=look.overflow_tube_fitted,
        foam_seen=look.foam_seen,
        slope=look.slope,
        smoke_seen=look.smoke_seen,
        read_out=look.read_out,
        outstanding=_outstanding(card, moves, place),
        refill=_refill(moves, place) if look.method == "measured_refill" else None,
    )


def _corrections(history: History, moves: Sequence[Move], place: int) -> Corrections:
    """The corrections before an event; a leak that was found answers for those before it."""
    so_far = corrections_before(moves, place)
    leaks = [
        number
        for number, event in enumerate(history.in_force[:place])
        if isinstance(event, LeakChecked) and event.result == "leak"
    ]
    if not leaks:
        return so_far
    explained = corrections_before(moves, leaks[-1])
    added_l = max(so_far.added_l - explained.added_l, 0.0)
    return Corrections(added_l, so_far.rounds - explained.rounds)


def _off_after_drives(
    card: OfflineCard,
    history: History,
    moves: Sequence[Move],
    looks: Sequence[tuple[int, LevelChecked]],
) -> int:
    """After how many drives, before the one that the last look follows, the level was off.

    What was driven before anybody looked was to mix, and tells nothing of the level.
    """
    (first, _), (last, _) = looks[0], looks[-1]
    drives = [
        place
        for place, event in enumerate(history.in_force)
        if isinstance(event, TestDriven) and event.when == "after" and first < place < last
    ]
    if len(drives) < 2:
        return 0
    found = [(n, _judged(card, history, look, moves, n).verdict) for n, look in looks]
    spans = pairwise(drives)
    times = sum(any(a < n < b and verdict in OFF for n, verdict in found) for a, b in spans)
    return min(times, MOST_DRIVES)


def _outstanding(card: OfflineCard, moves: Sequence[Move], place: int) -> Volume:
    """What of the refill was still to come at a look; never more than the unit holds."""
    into_l = fsum(m.signed_l for m in moves if m.setting_level and m.place < place)
    return Volume(min(max(outstanding_l(moves) - into_l, 0.0), card.total.l), "L")


def _refill(moves: Sequence[Move], place: int) -> MeasuredRefill:
    """What came out and went in before a look, both at 15 degC."""
    signed = [move.signed_l for move in moves if move.place < place and not move.settled]
    return MeasuredRefill(
        out_15=Volume(min(-fsum(litres for litres in signed if litres < 0), MOST_L), "L"),
        in_15=Volume(min(fsum(litres for litres in signed if litres > 0), MOST_L), "L"),
    )


def _rate(history: History, look: LevelChecked) -> TemperatureRate | None:
    """How fast the temperature changed at the look, null where the readings do not tell."""
    readings = [event.reading for event in history.of(ReadingTaken)]
    samples = temperature_samples(
        readings, at=look.occurred_at, sources=("scan_tool", "scan_tool_typed")
    )
    line = fitted_line(samples, span_s=60.0, least_s=30.0)
    if line is None or not is_fresh(samples[-1]):
        return None
    return TemperatureRate(min(max(60 * line.slope_per_s, -100.0), 100.0), "K/min")


def _standing(card: OfflineCard, answer: LevelAnswer, since_l: float) -> LevelStanding:
    """What the verdict of the look and the litres moved since then leave."""
    if answer.verdict == "stop":
        return "stopped"
    if card.window is None:
        return "not_known"
    if answer.verdict == "in_range" and abs(since_l) < SAME_L:
        return "set"
    if answer.verdict == "redo" and answer.correction is not None:
        done = abs(since_l - answer.correction.l) <= SAME_L
        return "set_outside_window" if done else "not_set"
    return "not_set"
