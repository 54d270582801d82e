"""When the next service is due after what was really done, as the customer is told."""

from exchange_api.documents.since_close import grave_since
from exchange_api.documents.words import day, sentence, shown
from libexchange.plan.next_after import next_after
from libexchange.plan.offer import NextService
from libexchange.quantities import Distance
from libexchange.record import JobRecord

DUE_BY = {
    "damage": "because the fluid counts as worn out then",
    "maker": "because the maker's schedule says so",
}
ASK = "ask us and look into the maker's schedule."
NOT_ACCEPTED = f"Not told, since the work was not accepted; {ASK}"
MORE_SINCE = f"Not told before it is settled what came since the close; {ASK}"
UNKNOWN = f"Not told, since it cannot be calculated from what was recorded; {ASK}"
FORECAST = (
    "If the maker's schedule names less, it counts. This is a forecast from typical values and "
    "from what was renewed."
)


def odometer_of(record: JobRecord) -> Distance | None:
    """As it was read on arrival, else as the plan was asked for."""
    read = record.arrival.odometer if record.arrival else None
    return read or record.plan.request.vehicle.odometer


def due_of(record: JobRecord) -> NextService | None:
    """The next service by the share that was reached; null where it cannot be relied on."""
    if not record.closing.verdict.startswith("accepted") or grave_since(record):
        return None
    share = record.fresh_share.expected if record.fresh_share else None
    return next_after(plan=record.plan, fresh_share=share, odometer=odometer_of(record))


def next_of(record: JobRecord) -> tuple[str, ...]:
    """When the next service is due and why."""
    if not record.closing.verdict.startswith("accepted"):
        return (NOT_ACCEPTED,)
    if grave_since(record):
        return (MORE_SINCE,)
    due = due_of(record)
    if due is None or not (ways := _ways(due)):
        return (UNKNOWN,)
    when = " or ".join(ways) + (", whichever comes first" if len(ways) > 1 else "")
    why = f", {DUE_BY[due.limited_by]}" if due.limited_by else ""
    return (sentence(f"{when}{why}"), FORECAST)


def _ways(due: NextService) -> list[str]:
    ways = []
    after = f"{shown(due.after_distance, 0)} after this service" if due.after_distance else ""
    if due.due_odometer:
        ways.append(f"at {shown(due.due_odometer, 0)}" + f", that is {after}" * bool(after))
    elif after:
        ways.append(after)
    if due.due_on:
        ways.append(f"on {day(due.due_on)}")
    elif due.after_months:
        ways.append(f"{due.after_months} months after this service")
    return ways
