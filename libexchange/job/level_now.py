"""What is to be done at the level now, after what came since the last look at it."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange.job.fluids import Move
from libexchange.job.history import History
from libexchange.job.looks import SAME_L, SETTLED, LevelState, since_look_l
from libexchange.level_findings import MEASURED_NOT_SEEN, REFILL_INCOMPLETE
from libexchange.plan.card_records import OfflineCard
from libexchange.quantities import Volume

LevelAct = Literal["add_refill", "add", "let_run", "remove", "look_again", "stop"]
"""`add_refill` is the rest of the refill and no correction; `let_run` is until it drips."""

REFILLING = frozenset({REFILL_INCOMPLETE.code, MEASURED_NOT_SEEN.code})
"""What a look finds where what is to be added belongs to the refill."""


class LevelNow(Struct, frozen=True, kw_only=True):
    """What to do at the level now.

    litres: still to add or to take out, at 15 degC; null where none are to be measured
    uncertainty: of the litres    rounds, added: corrections so far, beyond the refill
    what: to do next    rounds_limit: how many may be    added_limit: how much may be
    """

    what: LevelAct
    litres: Volume | None
    uncertainty: Volume | None
    rounds: int
    rounds_limit: int
    added: Volume
    added_limit: Volume


class _Act(NamedTuple):
    what: LevelAct
    litres: float | None = None


def level_now(
    card: OfflineCard | None, history: History, level: LevelState | None, moves: Sequence[Move]
) -> LevelNow | None:
    """What to do after the last look; null before one, once the level is set, and where nothing
    but the maker's window helps.

    Source: common practice.

    >>> from libexchange.job.history import history_of
    >>> level_now(None, history_of([]), None, [])
    """
    if card is None or level is None or level.standing in SETTLED:
        return None
    act = _act(level, since_look_l(history, moves))
    if act.what == "look_again" and level.standing == "not_known":
        return None
    measured = act.litres is not None
    return LevelNow(
        what=act.what,
        litres=None if act.litres is None else Volume(act.litres, "L"),
        uncertainty=level.uncertainty if measured else None,
        rounds=level.rounds,
        rounds_limit=card.rounds_limit,
        added=level.added,
        added_limit=card.correction_limit,
    )


def _act(level: LevelState, since_l: float) -> _Act:
    """Fluid that came or went since an unmeasured look asks for another look."""
    if level.verdict == "stop":
        return _Act("stop")
    if level.correction is not None:
        return _rest(level, level.correction.l, since_l)
    if abs(since_l) >= SAME_L:
        return _Act("look_again")
    if level.verdict == "add":
        return _Act("add")
    if level.verdict == "let_run":
        return _Act("let_run")
    return _Act("remove" if level.verdict == "remove" else "look_again")


def _rest(level: LevelState, wanted_l: float, since_l: float) -> _Act:
    """What is left of the litres that the look asked for; the rest of a step is no step."""
    rest_l = wanted_l - since_l
    if abs(rest_l) <= SAME_L or wanted_l * rest_l <= 0:
        return _Act("look_again")
    if wanted_l < 0:
        return _Act("remove", -rest_l)
    refilling = any(finding.code in REFILLING for finding in level.findings)
    return _Act("add_refill" if refilling else "add", rest_l)
