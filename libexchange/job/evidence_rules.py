"""The evidence of a job against its plan: what speaks against the work, told as it comes in."""

import re
from collections.abc import Iterator
from math import ceil
from typing import NamedTuple

from msgspec.structs import replace

from libexchange.findings import Finding, Rule, Severity, Value
from libexchange.job import evidence_findings as kinds
from libexchange.job.events import (
    BenchChecked,
    Event,
    FluidOpened,
    LeakChecked,
    LevelChecked,
    Started,
    StepConfirmed,
    TestDriven,
    WorkFinished,
)
from libexchange.job.evidence import BenchState, Evidence, UsedTool, bench_answer
from libexchange.job.history import History
from libexchange.job.opened import kinds_taken
from libexchange.plan.records import Plan
from libexchange.plan.request import Route
from libexchange.purge import (
    FOREIGN_SHARE_LIMIT,
    LARGEST_PURGE_L,
    foreign_share_after_purge,
    purge_needed_l,
)

BEYOND_PAN: tuple[Route, ...] = (
    "drain_cycles", "pan_and_filter_then_line", "line_exchange", "line_batches",
)  # fmt: skip
"""Routes that renew more than one drain, or pan and filter, does."""

ONE_WAY = re.compile(r"\b(seal|gasket|o-ring|ring|washer|filter)s?\b", re.IGNORECASE)
"""Parts that are fitted new unless the maker says otherwise (common practice)."""

TIGHTENED = re.compile(r"\b(plug|bolt)s?\b", re.IGNORECASE)

HOLD_UP_L = 2.5
"""What may hang in hoses, pump and filter of equipment: the upper end of 0.5 to 2.5 L."""

LATE_PICTURE_S = 300.0
"""So far may a picture be dated after the event that tells of it [s]."""

EARLY_PICTURE_S = 86_400.0
"""So long may a picture have been taken before it is told of [s]."""

DONE_BY: dict[str, tuple[type[Event], ...]] = {
    "fluid": (FluidOpened,),
    "route": (Started, StepConfirmed),
    "level": (LevelChecked,),
    "release": (LeakChecked, TestDriven, WorkFinished),
}
"""Whose work a second check looks at."""


class EvidenceFacts(NamedTuple):
    """What the rules look at."""

    plan: Plan
    history: History
    evidence: Evidence


def evidence_findings(plan: Plan, history: History, evidence: Evidence) -> list[Finding]:
    """What the evidence says against the work.

    Source: common practice.
    """
    facts = EvidenceFacts(plan, history, evidence)
    return [finding for rule in RULES for finding in rule.check(facts)]


def _fluid_on_arrival(facts: EvidenceFacts) -> list[Finding]:
    arrival, taken = facts.evidence.arrival, kinds_taken(facts.plan)
    if arrival is None or arrival.fluid_kind is None or not taken or arrival.fluid_kind in taken:
        return []
    told = {"arrived_with": arrival.fluid_kind, "taken": ", ".join(taken)}
    text = f"{arrival.fluid_kind} is said to be in it; the transmission takes {told['taken']}."
    return [kinds.ARRIVED_WITH_OTHER_KIND.at("#/arrival/fluid_kind", text, values=told)]


def _baseline(facts: EvidenceFacts) -> list[Finding]:
    """A unit that does not drive is never exchanged; of the rest the last drive before tells."""
    arrival, before = facts.evidence.arrival, facts.evidence.drive_before
    on_arrival = arrival.drive if arrival else None
    result = on_arrival if on_arrival == "no_drive" else before or on_arrival
    if result in (None, "ok") or facts.plan.route not in BEYOND_PAN:
        return []
    pointer = "#/arrival/drive" if result == on_arrival else "#/drive_before"
    words = "did not drive" if result == "no_drive" else "drove with a complaint"
    text = f"The unit {words} before the work; the route is {facts.plan.route}."
    severity: Severity = "stop" if result == "no_drive" else "caution"
    values: dict[str, Value] = {"drive": result, "route": facts.plan.route}
    return [kinds.NO_SOUND_BASELINE.at(pointer, text, values=values, severity=severity)]


def _modified(facts: EvidenceFacts) -> list[Finding]:
    arrival = facts.evidence.arrival
    if arrival is None or arrival.modifications is None:
        return []
    text = "Modifications were told on arrival; the plan does not know what they hold."
    return [kinds.MODIFIED.at("#/arrival/modifications", text)]


def _codes(facts: EvidenceFacts) -> list[Finding]:
    before, after = facts.evidence.fault_codes.before, facts.evidence.fault_codes.after
    known = before.codes if before else ()
    new = [code for code in dict.fromkeys(after.codes if after else ()) if code not in known]
    if not new:
        return []
    than = "they did not stand before" if before else "before it nobody read them"
    text = f"After the work: {', '.join(new)}; {than}."
    values: dict[str, Value] = {"codes": ", ".join(new), "read_before": before is not None}
    return [kinds.NEW_CODES.at("#/fault_codes/after", text, values=values)]


def _bench(facts: EvidenceFacts) -> list[Finding]:
    bench = facts.evidence.bench
    if bench is None:
        return []
    answer = bench_answer(facts.plan, bench.seen)
    told = [_at_bench(finding) for finding in answer.findings]
    return [*told, *_disagreeing(facts, bench)]


def _at_bench(finding: Finding) -> Finding:
    """A finding of bench checks, pointing to where they stand in the state."""
    return replace(finding, pointer=finding.pointer.replace("#/bench", "#/bench/seen", 1))


def _disagreeing(facts: EvidenceFacts, bench: BenchState) -> list[Finding]:
    looks = facts.history.of(BenchChecked)
    decisions = [bench_answer(facts.plan, look.bench).decision for look in looks]
    barred = [one for one in decisions if one.startswith("stop")]
    if not barred or bench.decision.startswith("stop"):
        return []
    text = f"A check said {barred[-1]}, all of them together say {bench.decision}."
    values = {"earlier": barred[-1], "now": bench.decision}
    return [kinds.BENCH_DISAGREES.at("#/bench/decision", text, values=values)]


def _photos(facts: EvidenceFacts) -> list[Finding]:
    return [found for n, _ in enumerate(facts.evidence.photos) for found in _photo(facts, n)]


def _photo(facts: EvidenceFacts, number: int) -> Iterator[Finding]:
    photo = facts.evidence.photos[number]
    lead_s = (photo.taken_at - photo.told_at).total_seconds()
    if lead_s > LATE_PICTURE_S or lead_s < -EARLY_PICTURE_S:
        side = "after" if lead_s > 0 else "before"
        text = f"A picture is dated {abs(lead_s) / 60:,.0f} min {side} the event that tells of it."
        pointer = f"#/photos/{number}/taken_at"
        yield kinds.PHOTO_TIME.at(pointer, text, values={"lead_s": lead_s, "shows": photo.shows})


def _parts(facts: EvidenceFacts) -> list[Finding]:
    found = []
    for number, part in enumerate(facts.evidence.parts_fitted):
        pointer = f"#/parts_fitted/{number}"
        values: dict[str, Value] = {"part": part.part, "count": part.count}
        if not part.new and ONE_WAY.search(part.part):
            text = f"Used again: {part.part}."
            found.append(kinds.SEAL_REUSED.at(f"{pointer}/new", text, values=values))
        if part.torque is None and TIGHTENED.search(part.part):
            text = f"No torque stands beside: {part.part}."
            found.append(kinds.TORQUE_MISSING.at(f"{pointer}/torque", text, values=values))
    return found


def _calibration(facts: EvidenceFacts) -> list[Finding]:
    """A calibration is valid on its last day."""
    found = []
    for number, one in enumerate(facts.evidence.tools):
        until, on = one.calibrated_until, one.used_at.date()
        if until is not None and until < on:
            text = f"{one.tool} was calibrated until {until} and used on {on}."
            values = {"tool": one.tool, "calibrated_until": str(until), "used_on": str(on)}
            pointer = f"#/tools/{number}/calibrated_until"
            found.append(kinds.CALIBRATION_OVERDUE.at(pointer, text, values=values))
    return found


def _purges(facts: EvidenceFacts) -> list[Finding]:
    taken = kinds_taken(facts.plan)
    found = []
    for number, one in enumerate(facts.evidence.tools):
        foreign = one.last_fluid_kind is not None and taken and one.last_fluid_kind not in taken
        if foreign and (text := _left_in(facts.plan, one)):
            values = {"tool": one.tool, "last_fluid_kind": one.last_fluid_kind}
            pointer = f"#/tools/{number}/purged"
            found.append(kinds.EQUIPMENT_NOT_PURGED.at(pointer, text, values=values))
    return found


def _left_in(plan: Plan, tool: UsedTool) -> str | None:
    """What of another kind may be left in equipment, in words; null where it is little enough."""
    held = f"{tool.tool} held {tool.last_fluid_kind}"
    if tool.purged is None or plan.offline_card is None:
        return f"{held}; what was run through it since is not known."
    purged_l, total_l = min(tool.purged.l, LARGEST_PURGE_L), plan.offline_card.total.l
    share = foreign_share_after_purge(purged_l=purged_l, hold_up_l=HOLD_UP_L, total_l=total_l)
    if share <= FOREIGN_SHARE_LIMIT:
        return None
    needed_l = ceil(10 * purge_needed_l(hold_up_l=HOLD_UP_L, total_l=total_l)) / 10
    return f"{held}; {purged_l:.1f} L were run through it, {needed_l:.1f} L are enough in any case."


def _consent(facts: EvidenceFacts) -> list[Finding]:
    consents, route = facts.evidence.consents, facts.plan.route
    if not consents or consents[-1].route in (None, route):
        return []
    agreed = consents[-1].route
    text = f"Agreed to was {agreed}; the plan is for {route}."
    values = {"agreed": agreed, "planned": route}
    pointer = f"#/consents/{len(consents) - 1}/route"
    return [kinds.ROUTE_NOT_CONSENTED.at(pointer, text, values=values)]


def _checked_alone(facts: EvidenceFacts) -> list[Finding]:
    found = []
    for number, check in enumerate(facts.evidence.second_checks):
        work = [event for kind in DONE_BY[check.checked] for event in facts.history.of(kind)]
        if check.by in {event.by for event in work}:
            text = f"The second look at the {check.checked} was by one who did it."
            values = {"checked": check.checked}
            pointer = f"#/second_checks/{number}/by"
            found.append(kinds.CHECKED_ALONE.at(pointer, text, values=values))
    return found


def _not_agreed(facts: EvidenceFacts) -> list[Finding]:
    """The last look at each matter counts."""
    last = {check.checked: n for n, check in enumerate(facts.evidence.second_checks)}
    return [
        kinds.NOT_AGREED.at(
            f"#/second_checks/{number}/result",
            f"The last second look at the {checked} did not agree.",
            values={"checked": checked},
        )
        for checked, number in last.items()
        if facts.evidence.second_checks[number].result == "not_agreed"
    ]


RULES: tuple[Rule[EvidenceFacts], ...] = (
    Rule(kind=kinds.ARRIVED_WITH_OTHER_KIND, check=_fluid_on_arrival),
    Rule(kind=kinds.NO_SOUND_BASELINE, check=_baseline),
    Rule(kind=kinds.MODIFIED, check=_modified),
    Rule(kind=kinds.NEW_CODES, check=_codes),
    Rule(kind=kinds.BENCH_DISAGREES, check=_bench),
    Rule(kind=kinds.PHOTO_TIME, check=_photos),
    Rule(kind=kinds.SEAL_REUSED, check=_parts),
    Rule(kind=kinds.CALIBRATION_OVERDUE, check=_calibration),
    Rule(kind=kinds.EQUIPMENT_NOT_PURGED, check=_purges),
    Rule(kind=kinds.ROUTE_NOT_CONSENTED, check=_consent),
    Rule(kind=kinds.CHECKED_ALONE, check=_checked_alone),
    Rule(kind=kinds.NOT_AGREED, check=_not_agreed),
)
"""The rules of evidence, in the order they are reported."""
