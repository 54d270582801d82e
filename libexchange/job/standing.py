"""Where the vehicle stands at any moment of a job, and what would make it safe from here."""

from collections.abc import Iterator, Sequence
from math import fsum
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from libexchange.findings import Finding
from libexchange.job import level_doubts
from libexchange.job.course_events import FluidIn
from libexchange.job.evidence_findings import ARRIVED_WITH_OTHER_KIND
from libexchange.job.fluids import LITRES_UNBELIEVABLE, Move, outstanding_l
from libexchange.job.looks import SETTLED, LevelState
from libexchange.job.open_now import Opening, OpenNow
from libexchange.job.opened import FLUID_KIND_DIFFERS
from libexchange.job.rounded import LITRE_DIGITS
from libexchange.job.safe_steps import SafeStep, at_high_voltage, safe_step
from libexchange.plan.arrival_steps import NOT_STARTED, level_was_off
from libexchange.plan.card_records import OfflineCard
from libexchange.plan.cautions import carries_high_voltage
from libexchange.plan.records import Plan
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

OVER_FULL_L = 1.0
"""From so much too much on it foams and must not run [L]; common practice."""

FULLNESS: tuple[FluidIn, ...] = ("none", "not_known", "part", "all")
"""From what is least safe; of two words of the fluid the lower one counts."""

BARRED = frozenset(
    kind.code
    for kind in (
        ARRIVED_WITH_OTHER_KIND, COOLANT_IN_FLUID, COOLANT_METAL, CRACKLE, GLYCOL, GLYCOL_STRIP,
        MILKY, WATER, FLUID_KIND_DIFFERS, FOREIGN_SMELL, level_doubts.RAN_OUT,
    )
)  # fmt: skip
"""What forbids running the unit at all: coolant or another fluid in it, or its own run out."""

DOUBTED = frozenset(kind.code for kind in level_doubts.KINDS)
"""What leaves the level unknown, however right it looked."""


class Standing(Struct, frozen=True, kw_only=True):
    """Where the vehicle stands, told from the events alone.

    may_run: the engine, apart from what the step in hand asks for with someone at it
    may_drive: the vehicle; of what a drive shows the verdict tells
    level_known: as set, or as nobody touched it, unless somebody says that fluid is lacking
    fluid_in: by what is open and by litres told; fluid moved without litres leaves it not known,
        and who says that less is in is believed until fluid is moved or the level looked at
    opened: by steps that were begun and not ended by theirs
    feeding: the step of the lines through which fluid flows, as far as was told; null without one
    first: what to do before anything else    make_safe: everything that would make it safe
    """

    may_run: bool
    may_drive: bool
    fluid_in: FluidIn
    level_known: bool
    opened: tuple[Opening, ...]
    feeding: str | None
    first: SafeStep
    make_safe: tuple[SafeStep, ...]


class StandingFacts(NamedTuple):
    """What a standing is told from.

    line_stopped: the gate of the lines says stop    findings: of the fluid and the level
    left_safe: the work was ended and the vehicle made safe
    """

    plan: Plan
    now: OpenNow
    moves: Sequence[Move]
    level: LevelState | None
    leak_check: str | None
    driven: bool
    line_stopped: bool
    left_safe: bool
    findings: Sequence[Finding]


def standing(facts: StandingFacts) -> Standing:
    """Where the vehicle stands; the same for any order in which the events arrived.

    Source: common practice; the maker's data come first.
    """
    if is_set(facts):
        facts.now.level_was_set()
    fluid, known = fluid_in(facts), is_level_known(facts)
    barred = is_barred(facts) or _not_started(facts)
    runs = fluid == "all" and not (barred or _flows(facts) or _leaks(facts))
    runs = runs and over_l(facts) < OVER_FULL_L
    drives = runs and known and not facts.now.open
    steps = tuple(_steps(facts, fluid, level_known=known, may_drive=drives))
    if carries_high_voltage(facts.plan):
        steps = tuple(map(at_high_voltage, steps))
    return Standing(
        may_run=runs,
        may_drive=drives,
        fluid_in=fluid,
        level_known=known,
        opened=tuple(sorted(facts.now.open)),
        feeding=facts.now.feeding,
        first=steps[0] if steps else safe_step("nothing_open"),
        make_safe=steps,
    )


def is_barred(facts: StandingFacts) -> bool:
    """Whether what was found forbids running the unit; what was only opened is not in it."""
    codes = BARRED if facts.now.other_in else BARRED - {FLUID_KIND_DIFFERS.code}
    found = (*facts.findings, *facts.plan.findings)
    return any(one.severity == "stop" and one.code in codes for one in found)


def is_set(facts: StandingFacts) -> bool:
    """Whether the level was set after all that can have changed it, and nothing speaks against."""
    settled = facts.level is not None and facts.level.standing in SETTLED
    drained_again = facts.now.reopened and _lacking_l(facts.moves) > SAME_L
    doubted = any(one.code in DOUBTED for one in facts.findings)
    return settled and facts.now.looked_since and not (drained_again or doubted)


def is_level_known(facts: StandingFacts) -> bool:
    """A level that nobody touched is taken as it came; who says that fluid lacks is believed."""
    return _known(facts) and facts.now.said in (None, "all")


def _known(facts: StandingFacts) -> bool:
    """A level that was off on arrival is known only once it was set."""
    return is_set(facts) or not (facts.now.touched or level_was_off(facts.plan.request))


def fluid_in(facts: StandingFacts) -> FluidIn:
    """How much of the fluid is in: what the events tell, or less where somebody says so."""
    return min(told_in(facts), facts.now.said or "all", key=FULLNESS.index)


def told_in(facts: StandingFacts) -> FluidIn:
    """How much of the fluid is in, by what is open and by the litres told."""
    card, lacking_l = facts.plan.offline_card, _lacking_l(facts.moves)
    if _known(facts):
        return "all"
    unbelievable = any(one.code == LITRES_UNBELIEVABLE.code for one in facts.findings)
    if card is None or unbelievable or facts.now.let_out_unmeasured:
        return "not_known"
    if lacking_l >= EMPTY_SHARE * card.total.l:
        return "none"
    return "part" if facts.now.emptied or lacking_l > SAME_L else "all"


def over_l(facts: StandingFacts) -> float:
    """What was filled in beyond what came out, until a level that was set answers for it [L].

    What the level setting has added so far is no surplus, what it has let out is one no more.
    """
    setting_l = fsum(move.signed_l for move in facts.moves if move.levels)
    over = min(setting_l, 0.0) - outstanding_l(m for m in facts.moves if not m.levels)
    return 0.0 if _known(facts) else round(max(over, 0.0), 6)


def _flows(facts: StandingFacts) -> bool:
    """Whether fluid flows through the lines, or is kept from it."""
    return facts.now.feeding is not None or facts.line_stopped


def _not_started(facts: StandingFacts) -> bool:
    """Another or an unknown fluid, of which nothing was put right yet: it may never have run."""
    doubtful = facts.plan.request.reason in NOT_STARTED
    return doubtful and not any(move.signed_l > 0 for move in facts.moves)


def _leaks(facts: StandingFacts) -> bool:
    return facts.leak_check == "leak"


def _lacking_l(moves: Sequence[Move]) -> float:
    return -fsum(move.signed_l for move in moves if not move.settled)


def _steps(
    facts: StandingFacts, fluid: FluidIn, *, level_known: bool, may_drive: bool
) -> Iterator[SafeStep]:
    """It is made safe only where the facts do not say that less is in, or that it may not drive."""
    safe, told = facts.now.made_safe, told_in(facts)
    if facts.left_safe and safe is not None:
        claimed = FULLNESS.index(safe.fluid_in) > FULLNESS.index(told) and told != "not_known"
        if not claimed and (safe.vehicle != "drive" or may_drive):
            yield safe_step("release_look")
            return
    yield from _safe_steps(facts, fluid, level_known=level_known)


def _safe_steps(facts: StandingFacts, fluid: FluidIn, *, level_known: bool) -> Iterator[SafeStep]:
    barred = is_barred(facts)
    if _flows(facts):
        yield safe_step("stop_the_feed")
    if barred:
        yield safe_step("leave_off_and_tow")
        yield from _closed_for_tow(facts)
    if over_l(facts) >= OVER_FULL_L and not barred:
        yield safe_step("draw_off", Volume(round(over_l(facts), LITRE_DIGITS), "L"))
    if fluid == "not_known":
        yield safe_step("find_out_what_is_in")
    if fluid != "all" and not barred:
        yield safe_step("close_and_refill", _lacking(facts.plan.offline_card, facts.moves))
    if "lines" in facts.now.open:
        yield safe_step("disconnect_lines")
    if not barred:
        yield from _after(facts, level_known=level_known)


def _closed_for_tow(facts: StandingFacts) -> Iterator[SafeStep]:
    """Lines have a step of their own."""
    names = sorted(one.replace("_", " ") for one in facts.now.open if one != "lines")
    if names:
        step = safe_step("close_for_tow")
        yield replace(step, text=f"{step.text}{', '.join(names)}.")


def _after(facts: StandingFacts, *, level_known: bool) -> Iterator[SafeStep]:
    """What follows once the fluid is in."""
    if _leaks(facts):
        yield safe_step("repair_leak")
    if not level_known:
        yield safe_step("set_level")
    elif "fill_opening" in facts.now.open:
        yield safe_step("close_fill_opening")
    if facts.now.touched and facts.leak_check != "dry":
        yield safe_step("look_for_leaks")
    if facts.now.touched and not facts.driven:
        yield safe_step("drive_and_read_codes")


def _lacking(card: OfflineCard | None, moves: Sequence[Move]) -> Volume | None:
    lacking_l = _lacking_l(moves)
    if card is None or lacking_l <= 0:
        return None
    return Volume(round(min(lacking_l, card.total.l), LITRE_DIGITS), "L")
