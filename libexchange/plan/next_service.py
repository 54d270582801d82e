"""When the next fluid service is due after the planned one, with the reasons in a chain.

Wear counts from what the plan will leave behind; the maker's schedule caps it. Nothing that is not
known is made up: what stands for it is said, and without a share there is no distance.
"""

from collections.abc import Iterator

from libexchange.catalogue import MakerInterval, TransmissionProfile
from libexchange.errors import OutOfRange
from libexchange.findings import Finding
from libexchange.interval import REFERENCE_LIFE_KM
from libexchange.interval_findings import HISTORY_UNKNOWN, SCHEDULE_UNKNOWN
from libexchange.next_due import next_due
from libexchange.plan.offer import NextService
from libexchange.plan.request import LastService, PlanRequest, Route
from libexchange.plan.routes import PAN_ROUTES
from libexchange.plan.stated import to_check_again
from libexchange.quantities import Distance
from libexchange.use_case import DRIVING, Duty, MakerSchedule, NextDue, PastService, UseCase
from libexchange.used_fluid import Recheck

LARGEST_ODOMETER_KM = 1e7
LEAST_DAYS, MOST_KM_PER_YEAR = 30, 500_000.0
"""Two readings tell the distance of a year when they lie so many days apart, and up to so much."""

WHOLE_KM = 1_000.0
"""A distance is told in these, rounded down, since nothing known of wear is finer [km]."""

UNKNOWN_RECHECK_KM = (10_000.0, 20_000.0)
"""When fluid is looked at again of which nothing was known before (common practice) [km]."""

NOT_RENEWED = "This plan renews no fluid, so it does not tell when the next service is due."
BEYOND = "The dates lie beyond what can be counted, so when it is due is not known."


def next_service(
    *,
    request: PlanRequest,
    transmission: TransmissionProfile | None,
    fresh_share: float | None,
    route: Route | None = None,
) -> NextService:
    """When the service after the planned one is due, never later than the maker's schedule.

    transmission: null where its record is not at hand, and with it no schedule of the maker
    fresh_share: forecast of the planned service, null or 0 where nothing is renewed [-]
    route: the planned one, which tells whether the filter is renewed
    Source: as `next_due`; common practice.

    >>> from libexchange import invented
    >>> due = next_service(request=invented.routine_request(),
    ...                    transmission=invented.six_speed(), fresh_share=0.8)
    >>> due.after_distance.value, due.limited_by
    (123000.0, 'damage')
    """
    if not fresh_share:
        return _unknown(NOT_RENEWED)
    maker = transmission.maker_interval if transmission else None
    try:
        due = next_due(_use_case(request, maker, fresh_share))
    except OutOfRange:
        return _unknown(BEYOND)
    left_km = due.odometer.km - _since_last_km(request) if due.odometer else 0.0
    after_km = whole_km(left_km)
    recheck = _recheck(request, after_km)
    return NextService(
        after_distance=Distance(after_km, "km"),
        after_months=maker.months if maker else None,
        due_odometer=odometer_after(request, after_km),
        due_on=due.on,
        recheck=recheck,
        limited_by=due.odometer_by,
        reasons=(
            *_how_driven(request),
            *due.reasons,
            f"It is told in whole {WHOLE_KM:,.0f} km, rounded down.",
            *_doubts(due),
            *_looked_at_again(request, recheck),
            *(_filter(request, transmission, route) if transmission else ()),
        ),
    )


def whole_km(distance_km: float) -> float:
    """A distance as it is told, never more than it is [km].

    >>> whole_km(138_499.9), whole_km(60_000 - 1e-7), whole_km(999.9)
    (138000.0, 60000.0, 0.0)
    """
    return (distance_km + 1e-6) // WHOLE_KM * WHOLE_KM


def due_findings(request: PlanRequest, transmission: TransmissionProfile) -> list[Finding]:
    """What is not known of the next service; it holds nothing up, so each is a note.

    >>> from libexchange import invented
    >>> [one.code for one in due_findings(invented.routine_request(), invented.six_speed())]
    ['maker-schedule-unknown', 'fluid-history-unknown']
    """
    found = []
    if transmission.maker_interval in (None, MakerInterval()):
        held = request.transmission is not None
        pointer = "#/transmission/maker_interval" if held else "#/transmission_id"
        text = "The transmission's record has no interval of the maker."
        found.append(SCHEDULE_UNKNOWN.at(pointer, text, severity="note"))
    if _history_unknown(request):
        text = "No earlier service is stated with its share and both odometers."
        found.append(HISTORY_UNKNOWN.at("#/last_service", text))
    return found


def _history_unknown(request: PlanRequest) -> bool:
    return not any(_last(request))


def _recheck(request: PlanRequest, after_km: float) -> Recheck | None:
    """When to look at the fluid again, by what was stated or since nothing is known of it."""
    answer, (earliest_km, latest_km) = to_check_again(request), UNKNOWN_RECHECK_KM
    unknown = answer.decision == "proceed" and _history_unknown(request)
    if not unknown or after_km <= earliest_km:
        return answer.recheck
    latest = Distance(min(latest_km, after_km), "km")
    return Recheck(earliest=Distance(earliest_km, "km"), latest=latest)


def _unknown(reason: str) -> NextService:
    return NextService(
        after_distance=None,
        after_months=None,
        due_odometer=None,
        due_on=None,
        limited_by=None,
        reasons=(reason,),
    )


def _use_case(request: PlanRequest, maker: MakerInterval | None, fresh_share: float) -> UseCase:
    """The vehicle as it will stand after the service; distance counts from the last one."""
    now = Distance(_since_last_km(request), "km")
    this = PastService(service_date=request.service_date, fresh_share=fresh_share, odometer=now)
    return UseCase(
        today=request.service_date,
        odometer=now,
        services=(*_last(request), this),
        duty=_duty(request),
        maker=MakerSchedule(distance=maker.distance, months=maker.months) if maker else None,
        distance_per_year=_per_year(request),
    )


def _counted(request: PlanRequest) -> tuple[LastService, float] | None:
    """The last service and the distance since, where both readings are known and in order."""
    last, now = request.last_service, request.vehicle.odometer
    if last is None or last.odometer is None or now is None:
        return None
    if last.service_date > request.service_date or last.odometer.km > now.km:
        return None
    return last, now.km - last.odometer.km


def _since_last_km(request: PlanRequest) -> float:
    counted = _counted(request)
    return counted[1] if counted and counted[0].fresh_share is not None else 0.0


def _last(request: PlanRequest) -> Iterator[PastService]:
    """The last service, where both its share and the distance since are known."""
    counted = _counted(request)
    if counted and (share := counted[0].fresh_share) is not None:
        yield PastService(
            service_date=counted[0].service_date, fresh_share=share, odometer=Distance(0.0, "km")
        )


def _per_year(request: PlanRequest) -> Distance | None:
    """The distance of a year, by the two readings of the odometer."""
    counted = _counted(request)
    if counted is None:
        return None
    days = (request.service_date - counted[0].service_date).days
    if days < LEAST_DAYS:
        return None
    km = counted[1] / days * 365.2425
    return Distance(km, "km") if 0 < km <= MOST_KM_PER_YEAR else None


def _duty(request: PlanRequest) -> Duty:
    if request.duty is not None:
        return request.duty
    return "trailer_or_mountain" if request.reason == "heavy_use" else "normal"


def _how_driven(request: PlanRequest) -> Iterator[str]:
    yield "It counts from the planned service and the share that is forecast of it."
    yield (f"Fresh fluid is taken to last {REFERENCE_LIFE_KM:,.0f} km at 80 °C (common practice).")
    if request.duty is None:
        because = ", and the reason is heavy use" if request.reason == "heavy_use" else ""
        driving = DRIVING[_duty(request)]
        yield f"How the vehicle is driven is not stated{because}; {driving} is assumed."


def odometer_after(request: PlanRequest, after_km: float) -> Distance | None:
    """The reading after so much more, null where today's is not known."""
    now = request.vehicle.odometer
    if now is None or now.km + after_km > LARGEST_ODOMETER_KM:
        return None
    return Distance(float(int(now.km + after_km)), "km")


def _looked_at_again(request: PlanRequest, again: Recheck | None) -> Iterator[str]:
    if again is None:
        return
    why = "of what was stated on arrival"
    if request.reason == "unknown_fluid":
        why = "what is in the unit is not known"
    elif request.reason == "wrong_fluid":
        why = "another fluid was in the unit"
    elif to_check_again(request).recheck is None:
        why = "nothing is known of it before this service"
    earliest, latest = again.earliest.km, again.latest.km
    yield f"Look at the fluid again after {earliest:,.0f} to {latest:,.0f} km, because {why}."


def _filter(
    request: PlanRequest, transmission: TransmissionProfile, route: Route | None
) -> Iterator[str]:
    """Where nothing is known of the fluid, nothing is known of the filter either."""
    if route is None or route in PAN_ROUTES or not _history_unknown(request):
        return
    if transmission.pan_removable == "no":
        yield "Nothing is known of the filter; it stays, since the pan does not come off."
    else:
        yield (
            "Nothing is known of the filter, and this route leaves it in; "
            "a route with the pan off renews it."
        )


def _doubts(due: NextDue) -> Iterator[str]:
    """What the answer does not rest on, and what to do about it; the chain tells the history."""
    for finding in due.findings:
        if finding.code != HISTORY_UNKNOWN.code:
            yield f"{finding.title}. {finding.remedy}"
