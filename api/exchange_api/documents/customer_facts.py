"""What a customer is told of a record, in plain words; nothing here promises anything."""

from collections.abc import Iterator

from exchange_api.documents.blocks import Fact
from exchange_api.documents.event_texts import words_of
from exchange_api.documents.history import ever_in_force, in_force
from exchange_api.documents.words import day, of_hundred, plain, sentence, shown, spaced
from libexchange.findings import Finding
from libexchange.job.events import (
    Arrived,
    BenchChecked,
    FaultCodesRead,
    JobEvent,
    LateFinding,
    StepConfirmed,
)
from libexchange.job.looks import SETTLED
from libexchange.record import JobRecord

WORK = {
    "level_only": "Level of the fluid looked at; no fluid renewed",
    "drain": "Fluid drained once and refilled",
    "drain_cycles": "Fluid drained and refilled several times",
    "suction": "Fluid sucked out and refilled",
    "pan_and_filter": "Pan taken off, filter renewed, fluid refilled",
    "pan_and_filter_then_line": "Pan taken off, filter renewed, fluid refilled, then exchanged "
    "through the cooler lines",
    "line_exchange": "Fluid exchanged through the cooler lines",
    "line_batches": "Fluid exchanged through the cooler lines in small amounts",
}
STANDINGS = {
    "set": "set",
    "set_outside_window": "set by a computed amount, outside its temperature window",
    "not_set": "not right at the last look",
    "not_known": "not known to be right, since the maker's window is not known",
    "stopped": "not set; the work on it was stopped",
}
DUE_BY = {
    "damage": "because the fluid counts as worn out then",
    "maker": "because the maker's schedule says so",
}
TOLD_ELSEWHERE = frozenset({"steps-unconfirmed", "work-not-finished"})
"""What the list of what was not done tells better."""

LOOK_OUT = (
    "Fluid on the ground, gear changes that become late, rough or noisy, or a warning light: stop "
    "as soon as you can do so without danger, and ask us."
)


def done_of(record: JobRecord) -> tuple[Fact, ...]:
    """What was done, fact by fact."""
    return (_work(record), *_fluid(record), _renewed(record), _filter(record), _level(record),
            _checks(record))  # fmt: skip


def _work(record: JobRecord) -> Fact:
    steps, left = len(record.plan.steps), len(record.not_done)
    work = WORK[record.plan.route] if record.plan.route else "No way of doing the work was open"
    note = f"all {steps} steps were done" if not left else f"{steps - left} of {steps} steps done"
    return Fact(name="Work that was planned", value=work, note=note)


def _fluid(record: JobRecord) -> tuple[Fact, ...]:
    kinds = tuple(
        dict.fromkeys(
            f"{one.fluid_kind}, lot {one.lot}" if one.lot else one.fluid_kind
            for one in record.fluids_opened
        )
    )
    litres = record.balance and f"{shown(record.balance.in_15)} filled in, measured at 15 °C"
    named = record.plan.subject.fluid or "not named"
    value = "; ".join(kinds[:3]) or f"{named}, opening not recorded"
    return (
        Fact(name="Kind of fluid", value=value, note=f"{len(kinds) - 3} more" * (len(kinds) > 3)),
        Fact(name="Litres", value=litres or "not recorded"),
    )


def _renewed(record: JobRecord) -> Fact:
    share = record.fresh_share
    if share is None:
        return Fact(name="Fluid renewed", value="cannot be told from the litres recorded")
    value = (
        f"about {of_hundred(share.expected)} of 100 parts "
        f"({of_hundred(share.low)} to {of_hundred(share.high)})"
    )
    note = "calculated from typical values, not measured on your vehicle"
    return Fact(name="Fluid renewed", value=value, note=note)


def _filter(record: JobRecord) -> Fact:
    own = {step.step_id for step in record.plan.steps if step.kind == "pan_and_filter"}
    done = any(isinstance(e, StepConfirmed) and e.step_id in own for e in in_force(record))
    if done:
        return Fact(name="Filter", value="changed")
    return Fact(name="Filter", value="not changed", note="" if own else "not part of this work")


def _level(record: JobRecord) -> Fact:
    level = record.level
    if level is None:
        return Fact(name="Level of the fluid", value="not checked")
    value = f"checked at {shown(level.temperature)}"
    return Fact(name="Level of the fluid", value=value, note=STANDINGS[level.standing])


def _checks(record: JobRecord) -> Fact:
    leaks = {"dry": "no leak seen", "leak": "a leak was seen", None: "not looked for leaks"}
    drive = {"ok": "nothing to complain of", "complaint": "a complaint", None: "not done"}
    value = f"{leaks[record.leak_check]}; test drive: {drive[record.test_drive]}"
    return Fact(name="Checks afterwards", value=value)


def found_of(record: JobRecord) -> tuple[str, ...]:
    """What was found on arrival, at the work and by the checks, the gravest first."""
    arrived = tuple(f"On arrival: {spaced(one)}." for one in record.plan.request.conditions)
    judged = sorted(record.closing.findings, key=_gravity)
    judged_lines = tuple(
        _told(one) for one in judged if one.severity != "note" and one.code not in TOLD_ELSEWHERE
    )
    seen = tuple(line for event in ever_in_force(record) for line in _seen(event))
    return arrived + judged_lines + seen or ("Nothing that you need to know of.",)


def _seen(event: JobEvent) -> Iterator[str]:
    """What was seen on arrival, at the bench and afterwards, in a line each."""
    match event:
        case Arrived() if event.complaint:
            yield f"On arrival, in your words: {event.complaint}"
        case FaultCodesRead() if event.codes:
            yield f"Fault codes {event.when} the work: {', '.join(event.codes)}."
        case BenchChecked():
            yield f"The used fluid at the bench: {words_of(event.bench)}."
        case LateFinding():
            yield f"Found afterwards: {event.text}"


def _gravity(finding: Finding) -> int:
    return ("stop", "caution", "note").index(finding.severity)


def _told(finding: Finding) -> str:
    return f"{sentence(plain(finding.title))} {sentence(plain(finding.message))}"


def watch_of(record: JobRecord) -> tuple[str, ...]:
    """What to look out for."""
    told = [LOOK_OUT]
    if record.level is None or record.level.standing not in SETTLED:
        told.insert(0, "The level of the fluid was not shown to be right. Do not drive before it "
                       "is; ask us.")  # fmt: skip
    due = record.plan.next_service
    if due and due.recheck:
        low, high = shown(due.recheck.earliest, 0), shown(due.recheck.latest, 0)
        told.append(f"Have the fluid looked at again {low} to {high} after this service.")
    return tuple(told)


def next_of(record: JobRecord) -> tuple[str, ...]:
    """When the next service is due and why."""
    due = record.plan.next_service
    if due is None:
        return ("Not told; ask us and look into the maker's schedule.",)
    ways = []
    if due.due_odometer:
        ways.append(f"at {shown(due.due_odometer, 0)}")
    elif due.after_distance:
        ways.append(f"{shown(due.after_distance, 0)} after this service")
    if due.due_on:
        ways.append(f"on {day(due.due_on)}")
    elif due.after_months:
        ways.append(f"{due.after_months} months after this service")
    if not ways:
        return ("Not told; ask us and look into the maker's schedule.",)
    when = " or ".join(ways) + (", whichever comes first" if len(ways) > 1 else "")
    why = f", {DUE_BY[due.limited_by]}" if due.limited_by else ""
    return (
        sentence(f"{when}{why}"),
        "If the maker's schedule names less, it counts. This is a forecast from typical values.",
    )
