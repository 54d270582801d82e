"""When the next service is due: by damage or by the maker's schedule, whichever comes first.

Distance and engine hours are two measures of the same use; damage is told by distance, unless only
the hours are known throughout. Every figure comes with the chain of sentences that led to it.
"""

from collections.abc import Sequence
from datetime import date
from math import fsum
from typing import NamedTuple

from libexchange import interval
from libexchange import interval_findings as kinds
from libexchange.findings import Finding
from libexchange.interval_measures import Measure, leading, measures
from libexchange.maker_schedule import last_full, maker_reasons, maker_used, not_applied
from libexchange.quantities import Distance
from libexchange.rules.history import ODOMETER_BELOW_LAST_SERVICE
from libexchange.use_case import (
    DRIVING,
    DUTY_WEIGHT,
    DueBy,
    MakerSchedule,
    NextDue,
    PastService,
    UseCase,
)

DAMAGED_C = 130.0
"""Above this the fluid counts as damaged (common practice) [degC]."""


class _End(NamedTuple):
    """What makes a service due, after how much more use."""

    by: DueBy
    left: float


class _Day(NamedTuple):
    """What makes a service due, on which day."""

    by: DueBy
    on: date


def next_due(case: UseCase) -> NextDue:
    """When the next fluid service is due.

    Never later than the maker's schedule, never before today.
    Raises: ValueError for a service after today, OutOfRange for a due date or odometer out of range
    Source: common practice.

    >>> city = UseCase(today=date(2024, 5, 2), odometer=Distance(100_000, "km"), duty="city",
    ...                services=(PastService(service_date=date(2024, 5, 2), fresh_share=0.8,
    ...                                      odometer=Distance(100_000, "km")),))
    >>> due = next_due(city)
    >>> round(due.damage, 2), round(due.odometer.km), due.odometer_by
    (0.23, 182133, 'damage')
    """
    order = sorted(range(len(case.services)), key=lambda at: case.services[at].service_date)
    services = [case.services[at] for at in order]
    if services and services[-1].service_date > case.today:
        raise ValueError("a service lies after today")
    ageing, reasons = _ageing(case)
    distance, hours = measures(case, order)
    lead = leading(distance, hours)
    damage, told = _damage(case, services, lead, ageing)
    reasons += told
    rate = ageing / lead.full_life
    measured = [
        (m, _ends(m, damage, rate if m is lead else None, maker_used(m, services)))
        for m in (distance, hours)
    ]
    days = [day for m, ends in measured for day in _days(case.today, m, ends)]
    days += _months(case, services)
    km, h = (min(ends, key=lambda end: end.left, default=None) for _, ends in measured)
    day = min(days, key=lambda one: one.on, default=None)
    reasons += maker_reasons(case, services)
    reasons += [_sentence(m, end) for m, ends in measured for end in ends]
    reasons += [f"By {_WORDS[one.by]} it is due on {one.on}." for one in days]
    steady, settled = _steady(case, services, lead, ageing)
    reasons += settled
    return NextDue(
        damage=damage,
        ageing=ageing,
        odometer=Distance(_at(distance, km), "km") if km else None,
        odometer_by=km.by if km else None,
        engine_hours=_at(hours, h) if h else None,
        engine_hours_by=h.by if h else None,
        on=max(day.on, case.today) if day else None,
        on_by=day.by if day else None,
        steady_distance=Distance(steady, "km") if steady is not None and lead is distance else None,
        steady_engine_hours=steady if lead is hours else None,
        reasons=reasons,
        findings=[
            *_overdue(case, damage, measured, days),
            *_capped(measured),
            *_unknown(case, lead),
            *not_applied(case, services, (distance, hours)),
            *_backwards(distance),
            *_backwards(hours),
            *_too_hot(case),
        ],
    )


_WORDS: dict[DueBy, str] = {"damage": "the wear of the fluid", "maker": "the maker's schedule"}


def _ageing(case: UseCase) -> tuple[float, list[str]]:
    """How many times as fast as at 80 degC the fluid ages, and why."""
    parts = fsum(bar.part for bar in case.temperatures)
    if not parts:
        weight = DUTY_WEIGHT[case.duty]
        fast = "as fast" if weight == 1 else f"{weight:g} times as fast"
        return weight, [f"For {DRIVING[case.duty]} the fluid is taken to age {fast} as at 80 °C."]
    uses = [interval.Use(bar.part / parts, bar.temperature.c) for bar in case.temperatures]
    ageing = interval.damage(uses=uses, reference_life=1)
    return ageing, [f"At these temperatures the fluid ages {ageing:.2f} times as fast as at 80 °C."]


def _damage(
    case: UseCase, services: Sequence[PastService], lead: Measure, ageing: float
) -> tuple[float, list[str]]:
    """Damage of the fluid today, through every service and the use between them."""
    damage, reasons = 1.0, ["Nothing is known of the fluid at first, so it counts as worn out."]
    if case.damage_before is not None:
        damage, reasons = case.damage_before, [f"At first its damage was {case.damage_before:.2f}."]
    for service, used in zip(services, lead.steps(), strict=True):
        left = interval.remaining_damage(
            damage_before=damage,
            fresh_share=service.fresh_share,
            remainder_factor=case.remainder_factor,
        )
        reasons.append(
            f"The service of {service.service_date} renewed {service.fresh_share:.2f} of it; with "
            f"the remainder factor {case.remainder_factor:g} damage {damage:.2f} became {left:.2f}."
        )
        damage = left + used * ageing / lead.full_life
        if used:
            reasons.append(f"After {used:,.0f} {lead.unit} more it is {damage:.2f}.")
    return damage, reasons


def _steady(
    case: UseCase, services: Sequence[PastService], lead: Measure, ageing: float
) -> tuple[float | None, list[str]]:
    """The interval that settles when every service renews what the last one did."""
    if not services:
        return None, []
    share = services[-1].fresh_share
    steady = interval.steady_interval(
        full_life=lead.full_life / ageing,
        fresh_share=share,
        remainder_factor=case.remainder_factor,
    )
    text = f"If every service renews {share:.2f} of it, {steady:,.0f} {lead.unit} lie between them"
    if lead.maker is None or steady <= lead.maker:
        return steady, [f"{text}."]
    return lead.maker, [f"{text} by wear; the maker allows {lead.maker:,.0f} {lead.unit}."]


def _ends(measure: Measure, damage: float, rate: float | None, used: float | None) -> list[_End]:
    """What ends the interval in this measure; nothing where today's reading is not known."""
    ends = []
    if measure.readings[-1] is None:
        return []
    if rate is not None:
        ends.append(_End("damage", interval.use_left(damage_now=damage, damage_per_use=rate)))
    if measure.maker is not None and used is not None:
        ends.append(_End("maker", measure.maker - used))
    return ends


def _at(measure: Measure, end: _End) -> float:
    return (measure.readings[-1] or 0.0) + max(end.left, 0.0)


def _days(today: date, measure: Measure, ends: Sequence[_End]) -> list[_Day]:
    if not measure.per_year:
        return []
    found = [
        (
            end.by,
            interval.day_of_use(day=today, use=max(end.left, 0), use_per_year=measure.per_year),
        )
        for end in ends
    ]
    return [_Day(by, on) for by, on in found if on is not None]


def _months(case: UseCase, services: Sequence[PastService]) -> list[_Day]:
    months = case.maker.months if case.maker else None
    last = last_full(services)
    if months is None or last is None:
        return []
    return [_Day("maker", interval.add_months(day=services[last].service_date, months=months))]


def _sentence(measure: Measure, end: _End) -> str:
    if end.left > 0.5:
        return f"By {_WORDS[end.by]} {end.left:,.0f} {measure.unit} are left."
    if end.left >= -0.5:
        return f"By {_WORDS[end.by]} it is due now."
    return f"By {_WORDS[end.by]} it is due: {-end.left:,.0f} {measure.unit} beyond."


def _overdue(
    case: UseCase,
    damage: float,
    measured: Sequence[tuple[Measure, list[_End]]],
    days: Sequence[_Day],
) -> list[Finding]:
    beyond = [f"{-end.left:,.0f} {m.unit}" for m, ends in measured for end in ends if end.left < 0]
    late = [_days_late((case.today - day.on).days) for day in days if day.on < case.today]
    worn = [f"damage {damage:.2f}"] if damage > 1 else []
    if not (beyond or late or worn):
        return []
    text = (
        f"It is beyond by {', '.join((*beyond, *late))}." if beyond or late else "It is worn out."
    )
    return [kinds.DUE_ALREADY.at("#/services", text, values={"damage": damage})]


def _days_late(days: int) -> str:
    return f"{days} day{'s' * (days > 1)}"


def _capped(measured: Sequence[tuple[Measure, list[_End]]]) -> list[Finding]:
    found = []
    for measure, ends in measured:
        left = {end.by: max(end.left, 0.0) for end in ends}
        if len(left) == 2 and left["maker"] < left["damage"]:
            wear, maker, unit = left["damage"], left["maker"], measure.unit
            text = f"{wear:,.0f} {unit} are left by wear, {maker:,.0f} {unit} by the maker."
            values = {f"wear_{unit}": wear, f"maker_{unit}": maker}
            found.append(kinds.CAPPED_BY_MAKER.at("#/maker", text, values=values))
    return found


def _unknown(case: UseCase, lead: Measure) -> list[Finding]:
    found = []
    if case.maker is None or case.maker == MakerSchedule():
        found.append(kinds.SCHEDULE_UNKNOWN.at("#/maker", "Only the wear of the fluid is counted."))
    if case.damage_before is None:
        text = "The fluid before the first known service counts as worn out."
        found.append(kinds.HISTORY_UNKNOWN.at("#/damage_before", text))
    if not any(bar.part for bar in case.temperatures):
        text = f"Driving of the kind {case.duty} stands for the temperatures."
        found.append(kinds.TEMPERATURES_UNKNOWN.at("#/temperatures", text))
    if lead.missing:
        text = f"{len(lead.missing)} of {len(lead.readings)} readings are missing."
        values = {"missing": float(len(lead.missing))}
        found.append(kinds.USE_UNKNOWN.at(lead.missing[-1], text, values=values))
    return found


def _too_hot(case: UseCase) -> list[Finding]:
    """One finding, for the hottest bar that is used at all."""
    used = [(bar.temperature.c, n) for n, bar in enumerate(case.temperatures) if bar.part]
    hottest_c, place = max(used, default=(DAMAGED_C, 0))
    if hottest_c <= DAMAGED_C:
        return []
    text = f"Part of the use is at {hottest_c:g} °C; {DAMAGED_C:g} °C is the limit."
    values = {"temperature_c": hottest_c, "limit_c": DAMAGED_C}
    return [kinds.RUNS_TOO_HOT.at(f"#/temperatures/{place}/temperature", text, values=values)]


def _backwards(measure: Measure) -> list[Finding]:
    unit, kind = measure.unit, _BELOW[measure.unit]
    return [
        kind.at(
            fall.pointer,
            f"{fall.now:,.0f} {unit} after {fall.before:,.0f} {unit}; no use is counted between "
            "them.",
            values={f"{_READ[unit]}_{unit}": fall.now, f"before_{unit}": fall.before},
        )
        for fall in measure.falls()
    ]


_BELOW = {"km": ODOMETER_BELOW_LAST_SERVICE, "h": kinds.HOURS_BELOW_LAST_SERVICE}
_READ = {"km": "odometer", "h": "engine_hours"}
