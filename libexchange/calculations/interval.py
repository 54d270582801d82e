"""When the next fluid service is due."""

from collections.abc import Iterable
from typing import Any

from libexchange.calculations._faults import fault, out_of_range, raise_if_any
from libexchange.errors import Fault
from libexchange.next_due import next_due
from libexchange.quantities import Distance
from libexchange.use_case import NextDue, UseCase

LARGEST_ODOMETER_KM = 4e6
LIFE_KM = (1000.0, 2e6)
TEMPERATURES_C = (-50.0, 200.0)
YEARS = (1950, 2100)

EXAMPLE: dict[str, Any] = {
    "today": "2024-05-02",
    "odometer": {"value": 100000, "unit": "km"},
    "services": [
        {
            "service_date": "2024-05-02",
            "fresh_share": 0.8,
            "odometer": {"value": 100000, "unit": "km"},
        }
    ],
    "temperatures": [
        {"temperature": {"value": 80, "unit": "Cel"}, "part": 30},
        {"temperature": {"value": 95, "unit": "Cel"}, "part": 60},
        {"temperature": {"value": 110, "unit": "Cel"}, "part": 10},
    ],
    "maker": {"distance": {"value": 60000, "unit": "km"}, "months": 48},
    "distance_per_year": {"value": 15000, "unit": "km"},
}


def calculate_interval(request: UseCase) -> NextDue:
    """When the next fluid service is due, and the chain of reasons.

    Raises: InvalidInput    Source: common practice; the maker's schedule goes before it.

    >>> import msgspec
    >>> answer = calculate_interval(msgspec.convert(EXAMPLE, UseCase))
    >>> round(answer.odometer.km), answer.odometer_by, str(answer.on)
    (144046, 'damage', '2027-04-09')
    """
    raise_if_any(_faults(request))
    return next_due(request)


def _faults(request: UseCase) -> Iterable[Fault]:
    yield from _date_faults(request)
    readings = [("/odometer", request.odometer)]
    readings += [(f"/services/{n}/odometer", s.odometer) for n, s in enumerate(request.services)]
    for pointer, reading in readings:
        if reading and reading.km > LARGEST_ODOMETER_KM:
            yield out_of_range(pointer, reading, f"0 to {LARGEST_ODOMETER_KM:,.0f} km")
    maker = request.maker
    yield from _life_faults("/full_life", request.full_life)
    yield from _life_faults("/maker/distance", maker.distance if maker else None)
    yield from _temperature_faults(request)


def _date_faults(request: UseCase) -> Iterable[Fault]:
    first, last = YEARS
    if not first <= request.today.year <= last:
        yield out_of_range("/today", request.today.isoformat(), f"the years {first} to {last}")
    for index, service in enumerate(request.services):
        pointer, day = f"/services/{index}/service_date", service.service_date
        if day.year < first:
            yield out_of_range(pointer, day.isoformat(), f"the years {first} to {last}")
        if day > request.today:
            yield fault(
                pointer,
                "service-after-today",
                "the service lies after today",
                value=day.isoformat(),
                allowed=f"up to {request.today}",
                remedy="Check both dates; a service to come is no past service.",
            )


def _life_faults(pointer: str, life: Distance | None) -> Iterable[Fault]:
    low_km, high_km = LIFE_KM
    if life and not low_km <= life.km <= high_km:
        yield out_of_range(pointer, life, f"{low_km:,.0f} to {high_km:,.0f} km")


def _temperature_faults(request: UseCase) -> Iterable[Fault]:
    low_c, high_c = TEMPERATURES_C
    for index, bar in enumerate(request.temperatures):
        if not low_c <= bar.temperature.c <= high_c:
            pointer = f"/temperatures/{index}/temperature"
            yield out_of_range(pointer, bar.temperature, f"{low_c:g} to {high_c:g} °C")
