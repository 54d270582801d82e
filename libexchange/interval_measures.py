"""Distance and engine hours as two measures of the same use, with their readings over time."""

from collections.abc import Iterator, Sequence
from typing import Literal, NamedTuple

from libexchange.quantities import Distance
from libexchange.use_case import UseCase

SAME = {"km": 1.0, "h": 0.0}
"""Readings that fall by no more are the same: an odometer in miles is rounded [km, h]."""


class Fall(NamedTuple):
    """A reading below the one before it, and where it stands in the request."""

    pointer: str
    before: float
    now: float


class Measure(NamedTuple):
    """One measure of use: its readings at the services and today, and what limits it.

    pointers: where each reading stands in the request
    """

    unit: Literal["km", "h"]
    pointers: list[str]
    readings: list[float | None]
    full_life: float
    maker: float | None
    per_year: float | None

    def steps(self) -> list[float]:
        """Use between one reading and the next; 0 where it is not known or runs backwards.

        What was used up to a reading that is missing counts with the use after it, which is never
        too little.
        """
        steps, known = [], self.readings[0]
        for reading in self.readings[1:]:
            steps.append(0.0 if known is None or reading is None else max(reading - known, 0.0))
            known = known if reading is None else reading
        return steps

    def falls(self) -> Iterator[Fall]:
        """Readings below the one before them."""
        known = None
        for pointer, reading in zip(self.pointers, self.readings, strict=True):
            if reading is None:
                continue
            if known is not None and reading < known - SAME[self.unit]:
                yield Fall(pointer, known, reading)
            known = reading

    @property
    def missing(self) -> list[str]:
        """Where a reading is missing in the request."""
        pairs = zip(self.pointers, self.readings, strict=True)
        return [pointer for pointer, reading in pairs if reading is None]

    @property
    def is_whole(self) -> bool:
        """Whether every reading is there and none is below the one before it."""
        return not self.missing and not any(self.falls())


def measures(case: UseCase, order: Sequence[int]) -> tuple[Measure, Measure]:
    """Distance and engine hours of a case.

    order: places of its services in the request, the oldest service first

    >>> from datetime import date
    >>> [measure.unit for measure in measures(UseCase(today=date(2024, 5, 2)), [])]
    ['km', 'h']
    """
    services, maker = [case.services[place] for place in order], case.maker
    distance = Measure(
        unit="km",
        pointers=[*(f"#/services/{place}/odometer" for place in order), "#/odometer"],
        readings=[*(_km(service.odometer) for service in services), _km(case.odometer)],
        full_life=case.full_life.km,
        maker=_km(maker.distance) if maker else None,
        per_year=_km(case.distance_per_year),
    )
    hours = Measure(
        unit="h",
        pointers=[*(f"#/services/{place}/engine_hours" for place in order), "#/engine_hours"],
        readings=[*(service.engine_hours for service in services), case.engine_hours],
        full_life=case.full_life_hours,
        maker=maker.engine_hours if maker else None,
        per_year=case.engine_hours_per_year,
    )
    return distance, hours


def leading(distance: Measure, hours: Measure) -> Measure:
    """The measure that tells the wear: distance, unless only the hours are known throughout.

    Without a reading of today in either it is the one of which more is known.

    >>> from datetime import date
    >>> distance, hours = measures(UseCase(today=date(2024, 5, 2), engine_hours=100.0), [])
    >>> leading(distance, hours).unit
    'h'
    """
    if distance.readings[-1] is None and hours.readings[-1] is None:
        return min(hours, distance, key=lambda one: len(one.missing))
    if distance.readings[-1] is None or (hours.is_whole and not distance.is_whole):
        return hours
    return distance


def _km(distance: Distance | None) -> float | None:
    return None if distance is None else distance.km
