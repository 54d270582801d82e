"""When the next fluid service is due after the planned one, with the reasons in a chain.

Wear counts from what the plan will leave behind; the maker's schedule caps it. Nothing that is not
known is made up: what stands for it is said, and without a share there is no distance.
"""

from collections.abc import Iterator

from libexchange.catalogue import TransmissionProfile
from libexchange.errors import OutOfRange
from libexchange.interval import REFERENCE_LIFE_KM
from libexchange.next_due import next_due
from libexchange.plan.offer import NextService
from libexchange.plan.request import LastService, PlanRequest
from libexchange.plan.stated import to_check_again
from libexchange.quantities import Distance
from libexchange.use_case import Duty, MakerSchedule, NextDue, PastService, UseCase

LARGEST_ODOMETER_KM = 1e7
LEAST_DAYS, MOST_KM_PER_YEAR = 30, 500_000.0
"""Two readings tell the distance of a year when they lie so many days apart, and up to so much."""

NOT_RENEWED = "This plan renews no fluid, so it does not tell when the next service is due."
BEYOND = "The dates lie beyond what can be counted, so when it is due is not known."


def next_service(
    *, request: PlanRequest, transmission: TransmissionProfile, fresh_share: float | None
) -> NextService:
    """When the service after the planned one is due, never later than the maker's schedule.

    fresh_share: forecast of the planned service, null or 0 where nothing is renewed [-]
    Source: as `next_due`; common practice.

    >>> from libexchange import invented
    >>> due = next_service(request=invented.routine_request(),
    ...                    transmission=invented.six_speed(), fresh_share=0.8)
    >>> due.after_distance.value, due.limited_by
    (123200.0, 'damage')
    """
    if not fresh_share:
        return _unknown(NOT_RENEWED)
    try:
        due = next_due(_use_case(request, transmission, fresh_share))
    except OutOfRange:
        return _unknown(BEYOND)
    after_km = float(int(due.odometer.km - _since_last_km(request) + 1e-6)) if due.odometer else 0.0
    maker = transmission.maker_interval
    return NextService(
        after_distance=Distance(after_km, "km"),
        after_months=maker.months if maker else None,
        due_odometer=_due_odometer(request, after_km),
        due_on=due.on,
        recheck=to_check_again(request).recheck,
        limited_by=due.odometer_by,
        reasons=(*_how_driven(request), *due.reasons, *_doubts(due), *_looked_at_again(request)),
    )


def _unknown(reason: str) -> NextService:
    return NextService(
        after_distance=None,
        after_months=None,
        due_odometer=None,
        due_on=None,
        limited_by=None,
        reasons=(reason,),
    )


def _use_case(
    request: PlanRequest, transmission: TransmissionProfile, fresh_share: float
) -> UseCase:
    """The vehicle as it will stand after the service; distance counts from the last one."""
    now = Distance(_since_last_km(request), "km")
    this = PastService(service_date=request.service_date, fresh_share=fresh_share, odometer=now)
    maker = transmission.maker_interval
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
    yield (f"Fresh fluid is taken to last {REFERENCE_LIFE_KM:,.0f} km at 80 Cel (common practice).")
    if request.duty is None:
        why = "heavy use is stated" if request.reason == "heavy_use" else "nothing is stated"
        yield f"How it is driven is not told; {why}, so {_duty(request)} stands for it."


def _due_odometer(request: PlanRequest, after_km: float) -> Distance | None:
    now = request.vehicle.odometer
    if now is None or now.km + after_km > LARGEST_ODOMETER_KM:
        return None
    return Distance(float(round(now.km + after_km)), "km")


def _looked_at_again(request: PlanRequest) -> Iterator[str]:
    again = to_check_again(request).recheck
    if again is None:
        return
    unknown = request.reason == "unknown_fluid"
    why = "what is in the unit is not known" if unknown else "of what was stated on arrival"
    earliest, latest = again.earliest.km, again.latest.km
    yield f"Look at the fluid again after {earliest:,.0f} to {latest:,.0f} km, because {why}."


def _doubts(due: NextDue) -> Iterator[str]:
    """What the answer does not rest on, and what to do about it."""
    for finding in due.findings:
        yield f"{finding.message} {finding.remedy}"
