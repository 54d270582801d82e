"""Records of how the fluid of a vehicle was used and serviced, and when its next service is due."""

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta, Struct

from libexchange import interval
from libexchange.findings import Finding
from libexchange.quantities import Distance, Share, Temperature

Duty = Literal["normal", "city", "trailer_or_mountain", "city_and_trailer"]
"""How a vehicle is driven, where it is not known how hot its fluid runs."""

DUTY_WEIGHT: dict[Duty, float] = {
    "normal": 1.0, "city": 1.5, "trailer_or_mountain": 2.0, "city_and_trailer": 2.5,
}  # fmt: skip
"""How many times a distance counts (common practice)."""

DRIVING: dict[Duty, str] = {
    "normal": "normal driving",
    "city": "driving in a city",
    "trailer_or_mountain": "driving with a trailer or in mountains",
    "city_and_trailer": "driving in a city and with a trailer",
}
"""How a vehicle is driven, in words."""

DueBy = Literal["damage", "maker"]
"""What makes a service due: the fluid is worn out, or the maker's schedule says so."""

Hours = Annotated[float, Meta(ge=0, le=1e6)]
RemainderFactor = Annotated[float, Meta(ge=1, le=1.3)]


class TemperaturePart(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One bar of a histogram: how much use is made at a bulk temperature of the fluid.

    temperature: of the fluid in bulk
    part: in any one unit for all bars, kilometres, hours or percent
    """

    temperature: Temperature
    part: Annotated[float, Meta(ge=0, le=1e8)]


class PastService(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A fluid service and the share of fresh fluid that it reached.

    service_date: day of the service    odometer: reading on that day, null where not known
    engine_hours: reading of the hour meter [h]
    """

    service_date: date
    fresh_share: Share
    odometer: Distance | None = None
    engine_hours: Hours | None = None


class MakerSchedule(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The longest that the maker allows between services, in each measure that is stated.

    distance: longest between services    months: longest between services, 1 to 240
    engine_hours: [h]
    """

    distance: Distance | None = None
    months: Annotated[int, Meta(ge=1, le=240)] | None = None
    engine_hours: Hours | None = None


class UseCase(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A vehicle today: what was done to its fluid, how it is used, and the maker's schedule.

    today: the day of the question    odometer: reading today    engine_hours: hour meter today [h]
    services: none after today, one of today counts; by date, on one day in the order given
    damage_before: of the fluid before the first service, 0 fresh, 1 worn out; null where nothing
        is known of it, which counts as worn out
    temperatures: a histogram, -50 to 200 Cel; it goes before `duty`
    full_life, full_life_hours: of fresh fluid at 80 Cel, 1,000 to 2,000,000 km
    duty: how the vehicle is driven, where no temperatures are given
    remainder_factor: 1 to 1.3; 1 leaves out that old fluid ages the fresh [-]
    maker: the maker's schedule, null where not known
    distance_per_year, engine_hours_per_year: turn what is left into a date
    """

    today: date
    odometer: Distance | None = None
    engine_hours: Hours | None = None
    services: Annotated[tuple[PastService, ...], Meta(max_length=100)] = ()
    damage_before: Annotated[float, Meta(ge=0, le=10)] | None = None
    temperatures: Annotated[tuple[TemperaturePart, ...], Meta(max_length=200)] = ()
    duty: Duty = "normal"
    full_life: Distance = Distance(interval.REFERENCE_LIFE_KM, "km")
    full_life_hours: Annotated[float, Meta(ge=1, le=1e6)] = interval.REFERENCE_LIFE_H
    remainder_factor: RemainderFactor = interval.REMAINDER_FACTOR
    maker: MakerSchedule | None = None
    distance_per_year: Distance | None = None
    engine_hours_per_year: Hours | None = None


class NextDue(Struct, frozen=True, kw_only=True):
    """When the next service is due, in every measure that can be told; the first to come counts.

    damage: of the fluid today    ageing: how many times as fast as at 80 Cel
    odometer_by, engine_hours_by, on_by: what makes it due then
    steady_distance, steady_engine_hours: the interval that settles when every service renews what
        the last one did, never more than the maker's; null without a service or in the measure
        that does not tell the wear
    odometer, engine_hours, on: null where it cannot be told    reasons: the chain that led here
    findings: doubts about what was given
    """

    damage: float
    ageing: float
    odometer: Distance | None
    odometer_by: DueBy | None
    engine_hours: float | None
    engine_hours_by: DueBy | None
    on: date | None
    on_by: DueBy | None
    steady_distance: Distance | None
    steady_engine_hours: float | None
    reasons: list[str]
    findings: list[Finding]
