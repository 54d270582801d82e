"""What stands beside a verdict: may it be driven, what came since, and what nobody should miss."""

from exchange_api.documents.blocks import Beside
from exchange_api.documents.driving import driving_of
from exchange_api.documents.history import in_force
from exchange_api.documents.since_close import since_of
from exchange_api.documents.words import of_hundred, sentence, shown, spaced
from libexchange.job.events import ConsentGiven
from libexchange.plan.records import Alternative
from libexchange.record import JobRecord

VERDICTS = {
    "accepted": "Accepted",
    "accepted_with_remarks": "Accepted with remarks",
    "not_accepted": "Not accepted",
    "incomplete": "Incomplete",
}


def first_beside(record: JobRecord) -> tuple[Beside, ...]:
    """What is never cut: whether it may be driven, and what came since the close."""
    driving = Beside(name="Driving", lines=(driving_of(record),))
    since = since_of(record)
    return (driving, Beside(name="Since the close", lines=since)) if since else (driving,)


def further_beside(record: JobRecord) -> tuple[Beside, ...]:
    """The things that nobody should have to look for."""
    return (
        Beside(name="Not done", lines=_not_done(record)),
        Beside(name="Declined", lines=_declined(record)),
        Beside(name="Overridden", lines=_overridden(record)),
        Beside(name="Calculated, not measured", lines=(_calculated(record),)),
        Beside(name="Other ways that the plan knew", lines=_other_ways(record)),
    )


def _not_done(record: JobRecord) -> tuple[str, ...]:
    left = tuple(f"{step.step_id}: {sentence(step.title)}" for step in record.not_done)
    return left or ("Nothing of the plan was left out.",)


def _declined(record: JobRecord) -> tuple[str, ...]:
    """Only what a customer was asked and said no to."""
    declined = [one for e in in_force(record) if isinstance(e, ConsentGiven) for one in e.declined]
    told = tuple(f"By the customer: {one}." for one in dict.fromkeys(declined))
    return told or ("Nothing was recorded as declined.",)


def _other_ways(record: JobRecord) -> tuple[str, ...]:
    told = tuple(sentence(_offer(one)) for one in offered_of(record))
    return told or ("None that could have been taken.",)


def offered_of(record: JobRecord) -> list[Alternative]:
    """The routes that could have been taken instead."""
    return [
        one
        for one in record.plan.alternatives
        if one.route not in (record.plan.route, "level_only") and one.standing != "no"
    ]


def _offer(one: Alternative) -> str:
    told = [shown(one.litres)] if one.litres else []
    if one.fresh_share:
        told.append(f"{of_hundred(one.fresh_share.expected)} of 100 parts")
    if one.cost:
        told.append(f"{one.cost.amount} {one.cost.currency}")
    return f"{spaced(one.route)} ({', '.join(told)})" if told else spaced(one.route)


def _overridden(record: JobRecord) -> tuple[str, ...]:
    told = [
        f"{sentence(spaced(one.code))[:-1]}, overridden{'' if one.allowed else ' without effect'}: "
        f"{one.by}, because {one.reason}. The customer knew: {one.acknowledged_by}."
        for one in record.overridden
    ]
    told += [
        f"{sentence(spaced(one.code))[:-1]}, gone on with: {one.by}, because {one.reason}"
        for one in record.acknowledged
    ]
    return tuple(told) or ("No override or acknowledgement was recorded.",)


def _calculated(record: JobRecord) -> str:
    if record.fresh_share:
        return f"The share of fluid renewed: {record.fresh_share.basis}."
    return "The forecast of the plan. The share reached cannot be told from the litres recorded."
