"""What a customer is told of a record, in plain words; nothing here promises anything."""

from collections.abc import Iterator

from exchange_api.documents.blocks import Fact
from exchange_api.documents.customer_findings import seen_at_bench, told_to_customer
from exchange_api.documents.history import ever_in_force, in_force
from exchange_api.documents.next_told import due_of
from exchange_api.documents.photos import photos_of
from exchange_api.documents.since_close import grave_since
from exchange_api.documents.words import of_hundred, sentence, shown, spaced
from libexchange.findings import Finding
from libexchange.job.events import (
    Arrived,
    BenchChecked,
    FaultCodesRead,
    JobEvent,
    LateFinding,
    StepConfirmed,
)
from libexchange.job.looks import LevelState
from libexchange.job.state import OpenedFluid
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
TOLD_ELSEWHERE = frozenset(
    {"steps-unconfirmed", "work-not-finished", "found-later", "found-after-close"}
)
"""What the list of what was not done, and the words of what was found later, tell better."""

GRAVEST_FIRST = ("stop", "caution", "note")

AT_15 = "computed to 15 °C, so that warm and cold litres count alike"

LOOK_OUT = (
    "Fluid on the ground, gear changes that become late, rough or noisy, or a warning light: stop "
    "as soon as you can do so without danger, and ask us."
)


def done_of(record: JobRecord) -> tuple[Fact, ...]:
    """What was done, fact by fact."""
    return (_work(record), *_fluid(record), _renewed(record), _filter(record), _level(record),
            _checks(record), _photos(record))  # fmt: skip


def _work(record: JobRecord) -> Fact:
    steps, left = len(record.plan.steps), len(record.not_done)
    work = WORK[record.plan.route] if record.plan.route else "No way of doing the work was open"
    note = f"all {steps} steps were done" if not left else f"{steps - left} of {steps} steps done"
    return Fact(name="Work that was planned", value=work, note=note)


def _fluid(record: JobRecord) -> tuple[Fact, ...]:
    kinds = tuple(dict.fromkeys(_container(record, one) for one in record.fluids_opened))
    litres = record.balance and f"{shown(record.balance.in_15)} filled in"
    named = record.plan.subject.fluid or "not named"
    value = "; ".join(kinds[:3]) or f"{named}, opening not recorded"
    return (
        Fact(name="Kind of fluid", value=value, note=f"{len(kinds) - 3} more" * (len(kinds) > 3)),
        Fact(name="Litres", value=litres or "not recorded", note=AT_15 if litres else ""),
    )


def _container(record: JobRecord, opened: OpenedFluid) -> str:
    """By the name of the fluid where it is the planned one, else by its kind."""
    request, name = record.plan.request, record.plan.subject.fluid
    planned = request.fluid.fluid_id if request.fluid else request.fluid_id
    told = f"{name} (kind {opened.fluid_kind})"
    if not name or planned is None or opened.fluid_id != planned:
        told = f"kind {opened.fluid_kind}"
    return f"{told}, lot {opened.lot}" if opened.lot else told


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
    return Fact(name="Level of the fluid", value=value, note=standing_of(record, level))


def standing_of(record: JobRecord, level: LevelState) -> str:
    """How the level stands; what was set may be right no more."""
    told = STANDINGS[level.standing]
    doubted = level.standing.startswith("set") and not record.standing.level_known
    return f"{told}, but no longer known to be right" if doubted else told


def _checks(record: JobRecord) -> Fact:
    leaks = {"dry": "no leak seen", "leak": "a leak was seen", None: "not looked for leaks"}
    drive = {"ok": "nothing to complain of", "complaint": "a complaint", None: "not done"}
    value = f"{leaks[record.leak_check]}; test drive: {drive[record.test_drive]}"
    return Fact(name="Checks afterwards", value=value, note=at_close(record))


def at_close(record: JobRecord) -> str:
    """What is to be known beside a check that looks other since the close."""
    return "at the close; read what came since" if grave_since(record) else ""


def _photos(record: JobRecord) -> Fact:
    count = len(photos_of(record.plan, ever_in_force(record)))
    value = f"{count}, named in the record" if count else "none in the record"
    return Fact(name="Photos", value=value)


def found_of(record: JobRecord) -> tuple[str, ...]:
    """What was found, the gravest first, then what the vehicle came with and what was seen."""
    arrived = [f"On arrival: {spaced(one)}." for one in record.plan.request.conditions]
    events = ever_in_force(record)
    later = [(event.severity, sentence(f"Found afterwards: {event.text}")) for event in events
             if isinstance(event, LateFinding)]  # fmt: skip
    judged = [(one.severity, _told(record, one)) for one in record.closing.findings
              if one.severity != "note" and one.code not in TOLD_ELSEWHERE]  # fmt: skip
    graded = sorted((*later, *judged), key=lambda one: GRAVEST_FIRST.index(one[0]))
    lines = [line for _, line in graded] + arrived + [one for e in events for one in _seen(e)]
    return tuple(dict.fromkeys(lines)) or ("Nothing that you need to know of.",)


def _told(record: JobRecord, finding: Finding) -> str:
    """A finding in a sentence, an end before the plan was through with its reason."""
    told = told_to_customer(record, finding)
    if record.ended and finding.code in ("job-aborted", "job-voided"):
        return f"{told} The reason: {sentence(record.ended.reason)}"
    return told


def _seen(event: JobEvent) -> Iterator[str]:
    """What was seen on arrival and at the bench, in a line each."""
    match event:
        case Arrived() if event.complaint:
            yield sentence(f"On arrival, in your words: {event.complaint}")
        case FaultCodesRead() if event.codes:
            yield f"Fault codes {event.when} the work: {', '.join(event.codes)}."
        case BenchChecked():
            yield f"The used fluid at the bench: {seen_at_bench(event.bench)}."


def watch_of(record: JobRecord) -> tuple[str, ...]:
    """What to look out for."""
    told = [LOOK_OUT]
    if not record.standing.level_known:
        told.insert(0, "The level of the fluid was not shown to be right; what holds for driving "
                       "stands beside the verdict.")  # fmt: skip
    due = due_of(record)
    if due and due.recheck:
        low, high = shown(due.recheck.earliest, 0), shown(due.recheck.latest, 0)
        told.append(f"Have the fluid looked at again {low} to {high} after this service.")
    return tuple(told)
