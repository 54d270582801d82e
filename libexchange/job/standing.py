"""Where the vehicle stands at any moment of a job, and what would make it safe from here."""

from collections.abc import Iterator, Sequence
from math import fsum
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange.findings import Finding
from libexchange.job import level_doubts
from libexchange.job.course_events import FluidIn
from libexchange.job.fluids import LITRES_UNBELIEVABLE, Move
from libexchange.job.looks import SETTLED, LevelState
from libexchange.job.open_now import Opening, OpenNow
from libexchange.job.opened import FLUID_KIND_DIFFERS
from libexchange.plan.records import OfflineCard, Plan
from libexchange.quantities import Volume
from libexchange.rules.arrival import COOLANT_IN_FLUID
from libexchange.used_fluid_findings import (
    COOLANT_METAL,
    CRACKLE,
    FOREIGN_SMELL,
    GLYCOL,
    GLYCOL_STRIP,
    MILKY,
    WATER,
)

SAME_L = 0.3
"""What the fluid may lack and still count as in [L]; common practice, a step of the level."""

EMPTY_SHARE = 0.8
"""Who has lost this share of the fill has none to run on (common practice)."""

BARRED = frozenset(
    kind.code
    for kind in (
        COOLANT_IN_FLUID, COOLANT_METAL, CRACKLE, GLYCOL, GLYCOL_STRIP, MILKY, WATER,
        FLUID_KIND_DIFFERS, FOREIGN_SMELL, level_doubts.RAN_OUT,
    )
)  # fmt: skip
"""What forbids running the unit at all: coolant or another fluid in it, or its own run out."""

DOUBTED = frozenset(kind.code for kind in level_doubts.KINDS)
"""What leaves the level unknown, however right it looked."""

Action = Literal[
    "leave_off_and_tow", "stop_the_feed", "find_out_what_is_in", "close_and_refill",
    "disconnect_lines", "close_fill_opening", "repair_leak", "set_level", "look_for_leaks",
    "drive_and_read_codes", "release_look", "nothing_open",
]  # fmt: skip

WORDS: dict[Action, str] = {
    "leave_off_and_tow": "Do not start and do not refill: coolant or another fluid may be in the "
    "unit, or its own has run out. Tag wheel and key, keep a sample, tow.",
    "stop_the_feed": "Engine off, feed off; look at hoses and vessels. Wait until the lines are "
    "without pressure; hot fluid: protection. Then close the loop, and look at the level before "
    "the exchange goes on.",
    "find_out_what_is_in": "Do not start: tag wheel and key. Find out by weight what came out and "
    "went in.",
    "close_and_refill": "Do not start: tag wheel and key. Close what is open with new seals, as "
    "the maker says, and put back what came out with the right fluid, below the temperature at "
    "which it burns. Nobody is inside a raised vehicle.",
    "disconnect_lines": "Engine off. Disconnect the lines below 60 degC or by couplings that "
    "close, and connect them as they were.",
    "close_fill_opening": "Close the fill opening with a new seal, tightened as the maker says.",
    "repair_leak": "Engine off: fluid on hot exhaust burns. Repair the leak, put back what ran "
    "out, then set the level again.",
    "set_level": "Set the level in the maker's temperature window before the vehicle is driven.",
    "look_for_leaks": "Dry the area, idle at working temperature and look for leaks.",
    "drive_and_read_codes": "Drive gently through all gears and reverse, then read fault codes.",
    "release_look": "Made safe. Look at it once more with whoever takes it over; a tag stays where "
    "it may not run.",
    "nothing_open": "Nothing is open. Go on with the next step, or hand over as the plan says.",
}


class SafeStep(Struct, frozen=True, kw_only=True):
    """One thing to do to make the vehicle safe from here; the maker's own procedure comes first."""

    action: Action
    text: str
    quantity: Volume | None


class Standing(Struct, frozen=True, kw_only=True):
    """Where the vehicle stands, told from the events alone.

    may_run: the engine, apart from what the step in hand asks for with someone at it
    may_drive: the vehicle; of what a drive shows the verdict tells
    level_known: as set, or as nobody touched it
    fluid_in: by what is open and by litres told; fluid moved without litres leaves it not known
    opened: by steps that were begun and not ended by theirs
    first: what to do before anything else    make_safe: everything that would make it safe
    """

    may_run: bool
    may_drive: bool
    fluid_in: FluidIn
    level_known: bool
    opened: tuple[Opening, ...]
    first: SafeStep
    make_safe: tuple[SafeStep, ...]


class StandingFacts(NamedTuple):
    """What a standing is told from.

    left_safe: the work was ended and the vehicle made safe    findings: of the fluid and the level
    """

    plan: Plan
    now: OpenNow
    moves: Sequence[Move]
    level: LevelState | None
    leak_check: str | None
    driven: bool
    left_safe: bool
    findings: Sequence[Finding]


def standing(facts: StandingFacts) -> Standing:
    """Where the vehicle stands; the same for any order in which the events arrived.

    Source: common practice; the maker's data come first.
    """
    if is_set(facts):
        facts.now.level_was_set()
    fluid, known = fluid_in(facts), is_level_known(facts)
    steps = tuple(_safe_steps(facts, fluid, level_known=known))
    runs = fluid == "all" and not (is_barred(facts) or facts.now.feeding or _leaks(facts))
    return Standing(
        may_run=runs,
        may_drive=runs and known and not facts.now.open,
        fluid_in=fluid,
        level_known=known,
        opened=tuple(sorted(facts.now.open)),
        first=steps[0] if steps else _step("nothing_open"),
        make_safe=steps,
    )


def is_barred(facts: StandingFacts) -> bool:
    """Whether what was found forbids running the unit."""
    found = (*facts.findings, *facts.plan.findings)
    return any(one.severity == "stop" and one.code in BARRED for one in found)


def is_set(facts: StandingFacts) -> bool:
    """Whether the level was set after all that can have changed it, and nothing speaks against."""
    settled = facts.level is not None and facts.level.standing in SETTLED
    drained_again = facts.now.reopened and _lacking_l(facts.moves) > SAME_L
    doubted = any(one.code in DOUBTED for one in facts.findings)
    return settled and facts.now.looked_since and not (drained_again or doubted)


def is_level_known(facts: StandingFacts) -> bool:
    """A level that nobody touched is taken as it came."""
    return is_set(facts) or not facts.now.touched


def fluid_in(facts: StandingFacts) -> FluidIn:
    """How much of the fluid is in, by what is open and by the litres told."""
    card, lacking_l = facts.plan.offline_card, _lacking_l(facts.moves)
    if is_level_known(facts):
        return "all"
    unbelievable = any(one.code == LITRES_UNBELIEVABLE.code for one in facts.findings)
    if card is None or unbelievable or facts.now.let_out_unmeasured:
        return "not_known"
    if lacking_l >= EMPTY_SHARE * card.total.l:
        return "none"
    return "part" if facts.now.emptied or lacking_l > SAME_L else "all"


def _leaks(facts: StandingFacts) -> bool:
    return facts.leak_check == "leak"


def _lacking_l(moves: Sequence[Move]) -> float:
    return -fsum(move.signed_l for move in moves)


def _safe_steps(facts: StandingFacts, fluid: FluidIn, *, level_known: bool) -> Iterator[SafeStep]:
    barred = is_barred(facts)
    if facts.left_safe:
        yield _step("release_look")
        return
    if facts.now.feeding:
        yield _step("stop_the_feed")
    if barred:
        yield _step("leave_off_and_tow")
    if fluid == "not_known":
        yield _step("find_out_what_is_in")
    if fluid != "all" and not barred:
        yield _step("close_and_refill", _lacking(facts.plan.offline_card, facts.moves))
    if "lines" in facts.now.open:
        yield _step("disconnect_lines")
    if not barred:
        yield from _after(facts, level_known=level_known)


def _after(facts: StandingFacts, *, level_known: bool) -> Iterator[SafeStep]:
    """What follows once the fluid is in."""
    if _leaks(facts):
        yield _step("repair_leak")
    if not level_known:
        yield _step("set_level")
    elif "fill_opening" in facts.now.open:
        yield _step("close_fill_opening")
    if facts.now.touched and facts.leak_check != "dry":
        yield _step("look_for_leaks")
    if facts.now.touched and not facts.driven:
        yield _step("drive_and_read_codes")


def _lacking(card: OfflineCard | None, moves: Sequence[Move]) -> Volume | None:
    lacking_l = _lacking_l(moves)
    return Volume(min(lacking_l, card.total.l), "L") if card and lacking_l > 0 else None


def _step(action: Action, quantity: Volume | None = None) -> SafeStep:
    return SafeStep(action=action, text=WORDS[action], quantity=quantity)
