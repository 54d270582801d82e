"""Where the vehicle stands at any moment of a job, and what would make it safe from here."""

from collections.abc import Iterator, Sequence
from math import fsum
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange.findings import Finding
from libexchange.job.course_events import FluidIn
from libexchange.job.events import StepConfirmed
from libexchange.job.fluids import Move
from libexchange.job.history import History
from libexchange.job.looks import SETTLED, LevelState
from libexchange.job.opened import FLUID_KIND_DIFFERS
from libexchange.plan.records import OfflineCard, Plan, StepKind
from libexchange.quantities import Volume
from libexchange.used_fluid_findings import FOREIGN_SMELL, GLYCOL, GLYCOL_STRIP, MILKY

SAME_L = 0.3
"""What the fluid may lack and still count as in [L]; common practice, a step of the level."""

EMPTY_SHARE = 0.8
"""Who has lost this share of the fill has none to run on (common practice)."""

DRAINING: tuple[StepKind, ...] = ("drain", "suction", "pan_and_filter")
LINES: tuple[StepKind, ...] = ("line_exchange", "line_batch")

BARRED = frozenset(
    kind.code for kind in (FLUID_KIND_DIFFERS, FOREIGN_SMELL, GLYCOL, GLYCOL_STRIP, MILKY)
)
"""What forbids running the unit at all: coolant or another fluid in it."""

Action = Literal[
    "leave_off_and_tow", "stop_the_feed", "find_out_what_is_in", "close_and_refill",
    "disconnect_lines", "set_level", "look_for_leaks", "drive_and_read_codes", "nothing_open",
]  # fmt: skip

WORDS: dict[Action, str] = {
    "leave_off_and_tow": "Do not start and do not refill: coolant or another fluid may be in the "
    "unit. Tag wheel and key, keep a sample, tow.",
    "stop_the_feed": "Feed off, engine off, wait until the lines are without pressure; hot fluid: "
    "protection. Then close the loop.",
    "find_out_what_is_in": "Do not start: tag wheel and key. Find out by weight what came out and "
    "went in.",
    "close_and_refill": "Do not start: tag wheel and key. Close what is open with new seals and "
    "put back what came out with the right fluid, below the temperature at which it burns.",
    "disconnect_lines": "Engine off. Disconnect the lines below 60 degC or by couplings that "
    "close, and connect them as they were.",
    "set_level": "Set the level in the maker's temperature window before the vehicle is driven.",
    "look_for_leaks": "Dry the area, idle at working temperature and look for leaks.",
    "drive_and_read_codes": "Drive gently through all gears and reverse, then read fault codes.",
    "nothing_open": "Nothing is open. Go on with the next step, or hand over as the plan says.",
}


class SafeStep(Struct, frozen=True, kw_only=True):
    """One thing to do to make the vehicle safe from here; the maker's own procedure comes first."""

    action: Action
    text: str
    quantity: Volume | None


class Standing(Struct, frozen=True, kw_only=True):
    """Where the vehicle stands, told from the events alone.

    may_run: the engine    may_drive: the vehicle    level_known: as set, or as nobody touched it
    fluid_in: by litres told; a step that moves fluid without litres leaves it not known
    first: what to do before anything else    make_safe: everything that would make it safe
    """

    may_run: bool
    may_drive: bool
    fluid_in: FluidIn
    level_known: bool
    first: SafeStep
    make_safe: tuple[SafeStep, ...]


class StandingFacts(NamedTuple):
    """What a standing is told from."""

    plan: Plan
    history: History
    moves: Sequence[Move]
    level: LevelState | None
    leak_check: str | None
    driven: bool
    findings: Sequence[Finding]


def standing(facts: StandingFacts) -> Standing:
    """Where the vehicle stands; the same for any order in which the events arrived.

    Source: common practice; the maker's data come first.
    """
    fluid, touched = fluid_in(facts), is_touched(facts)
    set_ = facts.level is not None and facts.level.standing in SETTLED
    barred = is_barred(facts.findings)
    steps = tuple(_safe_steps(facts, fluid, touched=touched, level_set=set_, barred=barred))
    first = steps[0] if steps else _step("nothing_open")
    return Standing(
        may_run=not barred and fluid == "all",
        may_drive=not barred and fluid == "all" and (set_ or not touched),
        fluid_in=fluid,
        level_known=set_ or not touched,
        first=first,
        make_safe=steps,
    )


def is_barred(findings: Sequence[Finding]) -> bool:
    """Whether what was found forbids running the unit."""
    return any(one.severity == "stop" and one.code in BARRED for one in findings)


def is_touched(facts: StandingFacts) -> bool:
    """Whether fluid was moved or a step that moves it was confirmed."""
    return bool(facts.moves) or bool(_confirmed(facts) & {*DRAINING, *LINES, "refill"})


def fluid_in(facts: StandingFacts) -> FluidIn:
    """How much of the fluid is in, by the litres told."""
    card, done = facts.plan.offline_card, _confirmed(facts)
    if card is None:
        return "all"
    if done & {*DRAINING} and not any(move.step in DRAINING for move in facts.moves):
        return "not_known"
    lacking_l = -fsum(move.signed_l for move in facts.moves)
    if lacking_l >= EMPTY_SHARE * card.total.l:
        return "none"
    return "part" if lacking_l > SAME_L and not _is_set(facts) else "all"


def _is_set(facts: StandingFacts) -> bool:
    return facts.level is not None and facts.level.standing in SETTLED


def _confirmed(facts: StandingFacts) -> set[StepKind]:
    kinds = {step.step_id: step.kind for step in facts.plan.steps}
    done = (event.step_id for event in facts.history.of(StepConfirmed))
    return {kinds[step_id] for step_id in done if step_id in kinds}


def _safe_steps(
    facts: StandingFacts, fluid: FluidIn, *, touched: bool, level_set: bool, barred: bool
) -> Iterator[SafeStep]:
    done = _confirmed(facts)
    if any(move.step in LINES for move in facts.moves) and not done & {*LINES}:
        yield _step("stop_the_feed")
    if barred:
        yield _step("leave_off_and_tow")
    if fluid == "not_known":
        yield _step("find_out_what_is_in")
    if fluid != "all" and not barred:
        yield _step("close_and_refill", _lacking(facts.plan.offline_card, facts.moves))
    if "connect_lines" in done and "disconnect_lines" not in done:
        yield _step("disconnect_lines")
    if touched and not barred:
        yield from _after(facts, level_set=level_set)


def _after(facts: StandingFacts, *, level_set: bool) -> Iterator[SafeStep]:
    """What follows once the fluid is in."""
    if not level_set:
        yield _step("set_level")
    if facts.leak_check != "dry":
        yield _step("look_for_leaks")
    if not facts.driven:
        yield _step("drive_and_read_codes")


def _lacking(card: OfflineCard | None, moves: Sequence[Move]) -> Volume | None:
    lacking_l = -fsum(move.signed_l for move in moves)
    return Volume(min(lacking_l, card.total.l), "L") if card and lacking_l > 0 else None


def _step(action: Action, quantity: Volume | None = None) -> SafeStep:
    return SafeStep(action=action, text=WORDS[action], quantity=quantity)
