"""What a warm-up is asked by, and what is answered."""

from typing import Annotated

from msgspec import Meta, Struct

from libexchange.findings import Finding
from libexchange.heat_quantities import HeatCapacity, HeatTransfer, Power
from libexchange.quantities import Duration, Temperature, Volume
from libexchange.readings import Reading


class WarmUpRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A unit that idles or stands, by what is known of it; what is not given is typical of a car.

    power: 0 when it stands, null when it idles    loss: to the air, above 0
    heat_capacity: of fluid and metal, above 0; null is told from `total`, one of them is needed
    coolant: temperature of a coolant exchanger; null where there is none or nothing flows through
    exchanger: to the coolant, only with `coolant`
    targets: temperatures to meet    after: a time to tell the temperature for
    readings: of the unit itself; only those of the best source are fitted
    ambient: temperature of the air    start: of the fluid at first    total: 0.5 to 500 L
    """

    start: Temperature
    ambient: Temperature
    total: Volume | None = None
    heat_capacity: HeatCapacity | None = None
    power: Power | None = None
    loss: HeatTransfer | None = None
    coolant: Temperature | None = None
    exchanger: HeatTransfer | None = None
    targets: Annotated[tuple[Temperature, ...], Meta(max_length=10)] = ()
    after: Duration | None = None
    readings: Annotated[list[Reading], Meta(max_length=1000)] = []


class TemperatureEstimate(Struct, frozen=True, kw_only=True):
    """A temperature with the limits between which 90 % of the possible ones lie.

    low, high: limits    expected: the likely one
    """

    low: Temperature
    expected: Temperature
    high: Temperature


class DurationEstimate(Struct, frozen=True, kw_only=True):
    """A duration with the limits of 90 %; null where it takes more than 1,000 h or never ends.

    low, high: limits    expected: the likely one
    """

    low: Duration | None
    expected: Duration | None
    high: Duration | None


class TargetTime(Struct, frozen=True, kw_only=True):
    """When a temperature is met: from the start, and as readings tell after the last of them.

    target: temperature to meet    from_start: as forecast
    after_last_reading: as readings tell, null without any
    """

    target: Temperature
    from_start: DurationEstimate
    after_last_reading: DurationEstimate | None


class WarmUpFit(Struct, frozen=True, kw_only=True):
    """What the readings tell of this unit.

    settled: where it ends    time_constant: of the way there
    """

    settled: TemperatureEstimate
    time_constant: DurationEstimate


class WarmUpAnswer(Struct, frozen=True, kw_only=True):
    """Where the temperature settles, how fast, and when it meets the targets.

    fitted: null without readings, or where they cannot tell
    settled: where it ends    time_constant: of the way there    times: to meet each target
    temperature_after: the time asked for, null without one    findings: doubts
    """

    settled: TemperatureEstimate
    time_constant: DurationEstimate
    temperature_after: TemperatureEstimate | None
    times: list[TargetTime]
    fitted: WarmUpFit | None
    findings: list[Finding]
