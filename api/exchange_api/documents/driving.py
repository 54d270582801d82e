"""Whether the vehicle may be driven, in a line that a customer cannot miss."""

from collections.abc import Iterator

from exchange_api.documents.since_close import grave_since
from libexchange.job.standing import BARRED
from libexchange.plan.arrival_steps import NOT_STARTED
from libexchange.plan.planning import NO_ROUTE_POSSIBLE
from libexchange.record import JobRecord

FLUID = {
    "none": "none of its fluid is in",
    "part": "not all of its fluid is in",
    "not_known": "it is not known how much fluid is in",
}
TOWED = (
    "To be towed, with the engine off: coolant, water or another fluid may be in the transmission, "
    "or its own has run out."
)
AS_IT_CAME = "May be driven as it came: nothing was opened and no fluid was moved."
ASK_FIRST = "Not to be driven before the workshop has been asked: "


def driving_of(record: JobRecord) -> str:
    """Driven, not driven or towed, and why; what is not known to be right is not driven."""
    return TOWED if is_barred(record) else _left(record) or _free(record)


def _left(record: JobRecord) -> str:
    """How it was left, where it was made safe otherwise than to be driven or may not be driven."""
    vehicle = record.made_safe.vehicle if record.made_safe else "drive"
    if vehicle == "tow":
        return f"To be towed, not to be driven: {_why(record)}"
    if vehicle == "stays_here":
        return f"It stays where it is and is not to be driven: {_why(record)}"
    return "" if record.standing.may_drive else f"Not to be driven: {_why(record)}"


def _free(record: JobRecord) -> str:
    """Where nothing is open, all of the fluid is in and its level is known."""
    if doubts := list(_doubts(record)):
        return f"{ASK_FIRST}{'; '.join(doubts)}."
    if record.closing.verdict.startswith("accepted"):
        return "May be driven."
    return (
        AS_IT_CAME
        if record.level is None
        else f"{ASK_FIRST}the work was not accepted; read what was found."
    )


def is_barred(record: JobRecord) -> bool:
    """Whether coolant, water, another fluid or a unit run dry keep the engine off."""
    found = (*record.findings, *record.plan.findings)
    stops = (one for one in found if one.severity == "stop" and one.code in BARRED)
    return not record.standing.may_run and any(stops)


def _why(record: JobRecord) -> str:
    why = list(_reasons(record)) or ["the workshop left it so when the work ended"]
    engine = "" if record.standing.may_run else " Do not start the engine."
    return f"{'; '.join(why)}.{engine}"


def _reasons(record: JobRecord) -> Iterator[str]:
    standing = record.standing
    if record.leak_check == "leak":
        yield "it leaks"
    if standing.fluid_in != "all":
        yield FLUID[standing.fluid_in]
    elif not standing.level_known:
        yield "the level of its fluid is not known to be right"
    if standing.opened:
        yield "the work on it is still open"
    if record.plan.request.reason in NOT_STARTED and not standing.may_run:
        yield "another or an unknown fluid is in it"


def _doubts(record: JobRecord) -> Iterator[str]:
    """What speaks against a drive though nothing is open and the level is known."""
    if grave_since(record):
        yield "see what came since the close"
    if record.test_drive == "complaint":
        yield "the test drive brought a complaint"
    if not record.closing.verdict.startswith("accepted"):
        yield from _as_it_came(record)


def _as_it_came(record: JobRecord) -> Iterator[str]:
    """What it came with and what the plan has against it."""
    for one in record.plan.findings:
        if one.severity == "stop" and one.code != NO_ROUTE_POSSIBLE.code:
            yield one.title[:1].lower() + one.title[1:]
    arrival = record.arrival
    if "leak" in record.plan.request.conditions or (arrival and arrival.leak == "leak"):
        yield "it came with a leak"
    if arrival and (arrival.drive in ("complaint", "no_drive") or arrival.warning_lamp):
        yield "it did not drive as it should when it came"
