"""The evidence of a job against its plan: what speaks against the work, told as it comes in."""

import re
from collections.abc import Iterator
from typing import Literal, NamedTuple

from msgspec.structs import replace

from libexchange.findings import Finding, Rule, Severity, Value
from libexchange.job import evidence_findings as kinds
from libexchange.job.equipment import purge_findings
from libexchange.job.events import (
    Arrived,
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
from libexchange.job.evidence import BenchState, Evidence, bench_answer
from libexchange.job.high_voltage import high_voltage_findings
from libexchange.job.history import History
from libexchange.job.opened import kinds_taken
from libexchange.job.somebody_else import same_person
from libexchange.plan.records import Plan
from libexchange.plan.request import Route

BEYOND_PAN: tuple[Route, ...] = (
    "drain_cycles", "pan_and_filter_then_line", "line_exchange", "line_batches",
)  # fmt: skip
"""Routes that renew more than one drain, or pan and filter, does."""

ONE_WAY = re.compile(r"\b(seal|gasket|o-ring|ring|washer|filter)s?\b", re.IGNORECASE)
"""Parts that are fitted new unless the maker says otherwise (common practice)."""

TIGHTENED = re.compile(r"\b(plug|bolt)s?\b", re.IGNORECASE)

LATE_PICTURE_S = 300.0
"""So far may a picture be dated after the event that tells of it [s]."""

EARLY_PICTURE_S = 86_400.0
"""So long may a picture have been taken before it is told of [s]."""

DONE_BY: dict[str, tuple[type[Event], ...]] = {
    "fluid": (FluidOpened,),
    "route": (Started, StepConfirmed),
    "level": (LevelChecked,),
    "release": (LeakChecked, TestDriven, WorkFinished),
    "correction": (),  # told where it matters, with what was taken back
}
"""Whose work a second check looks at."""


DriveBefore = Literal["ok", "complaint", "no_drive"] | None

DROVE: dict[DriveBefore, str] = {
    "complaint": "The unit drove with a complaint",
    "no_drive": "The unit did not drive",
    None: "Nobody has told how the unit drove",
}
"""What is said of a unit without a sound drive."""


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
    told = [finding for rule in RULES for finding in rule.check(facts)]
    return [*told, *high_voltage_findings(plan, history)]


def _fluid_on_arrival(facts: EvidenceFacts) -> list[Finding]:
    """Another kind stops all but a plan for it; a later word does not take it out of the unit."""
    taken = kinds_taken(facts.plan)
    told = [one.fluid_kind for one in facts.history.of(Arrived) if one.fluid_kind is not None]
    other = next((kind for kind in told if kind not in taken), None)
    if other is None or not taken:
        return []
    values = {"arrived_with": other, "taken": ", ".join(taken)}
    text = f"{other} is said to be in it; the transmission takes {values['taken']}."
    severity: Severity = "caution" if facts.plan.request.reason == "wrong_fluid" else "stop"
    kind, pointer = kinds.ARRIVED_WITH_OTHER_KIND, "#/arrival/fluid_kind"
    return [kind.at(pointer, text, values=values, severity=severity)]


def _baseline(facts: EvidenceFacts) -> list[Finding]:
    """No drive stops every route; of the rest the last drive before tells."""
    pointer, result = _last_drive(facts.history)
    if any(one.drive == "no_drive" for one in facts.history.of(Arrived)):
        pointer, result = "#/arrival/drive", "no_drive"
    elif facts.plan.route not in BEYOND_PAN:
        return []
    if result == "ok" or (result is None and not facts.history.of(StepConfirmed)):
        return []
    text = f"{DROVE[result]} before the work; the route is {facts.plan.route}."
    severity: Severity = "caution" if result is None else "stop"
    values: dict[str, Value] = {"drive": result or "not_known", "route": facts.plan.route}
    return [kinds.NO_SOUND_BASELINE.at(pointer, text, values=values, severity=severity)]


def _last_drive(history: History) -> tuple[str, DriveBefore]:
    """Where the last drive before the work stands, and how it went; null where nobody told.

    A complaint is disproved by a drive, not by another entry on arrival.
    """
    told: tuple[str, DriveBefore] = ("#/arrival", None)
    for event in history.in_force:
        if isinstance(event, Arrived) and event.drive is not None and told[1] in (None, "ok"):
            told = ("#/arrival/drive", event.drive)
        elif isinstance(event, TestDriven) and event.when == "before":
            told = ("#/drive_before", event.result)
    return told


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
    return purge_findings(facts.plan, facts.evidence.tools)


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
    by = {
        checked: {event.by for kind in kinds_done for event in facts.history.of(kind)}
        for checked, kinds_done in DONE_BY.items()
    }
    for number, check in enumerate(facts.evidence.second_checks):
        if any(same_person(check.by, one) for one in by[check.checked]):
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
