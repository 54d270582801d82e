"""What stands beside a verdict: not done, declined, overridden, and calculated, not measured."""

from exchange_api.documents.blocks import Beside
from exchange_api.documents.history import in_force
from exchange_api.documents.words import of_hundred, plain, sentence, shown, spaced
from libexchange.job.events import ConsentGiven
from libexchange.plan.records import Alternative
from libexchange.record import JobRecord

VERDICTS = {
    "accepted": "Accepted",
    "accepted_with_remarks": "Accepted with remarks",
    "not_accepted": "Not accepted",
    "incomplete": "Incomplete",
}


def beside_of(record: JobRecord) -> tuple[Beside, ...]:
    """The four things that nobody should have to look for."""
    return (
        Beside(name="Not done", lines=_not_done(record)),
        Beside(name="Declined", lines=_declined(record)),
        Beside(name="Overridden", lines=_overridden(record)),
        Beside(name="Calculated, not measured", lines=(_calculated(record),)),
    )


def _not_done(record: JobRecord) -> tuple[str, ...]:
    left = tuple(f"{step.step_id}: {sentence(plain(step.title))}" for step in record.not_done)
    return left or ("Nothing of the plan was left out.",)


def _declined(record: JobRecord) -> tuple[str, ...]:
    declined = [one for e in in_force(record) if isinstance(e, ConsentGiven) for one in e.declined]
    told = [f"By the customer: {', '.join(dict.fromkeys(declined))}."] if declined else []
    offered = [_offer(one) for one in offered_of(record)]
    if offered:
        told.append(f"Offered by the plan and not taken: {'; '.join(offered)}.")
    return tuple(told) or ("No other way of renewing the fluid was open.",)


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
    return tuple(told) or ("Nothing was overridden or gone on with in spite of a caution.",)


def _calculated(record: JobRecord) -> str:
    if record.fresh_share:
        return f"The share of fluid renewed: {record.fresh_share.basis}."
    return "The forecast of the plan. The share reached cannot be told from the litres recorded."
