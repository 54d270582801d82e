"""Warming up and cooling down: the temperature after a time, and the time to a temperature."""

from collections.abc import Iterable, Sequence
from math import inf
from typing import Annotated, Any, NamedTuple

from msgspec import Meta, Struct

from libexchange import warmup
from libexchange import warmup_findings as kinds
from libexchange.calculations._faults import fault, out_of_range, raise_if_any, total_faults
from libexchange.errors import Fault
from libexchange.findings import Finding
from libexchange.heat_quantities import HeatCapacity, HeatTransfer, Power
from libexchange.quantities import Duration, Temperature, Volume
from libexchange.readings import Reading, temperature_samples
from libexchange.warmup import Approach, Range, low_middle_high
from libexchange.warmup_fit import LEAST_READINGS, Meeting, Moment, fit_approach, predict_meeting

LONGEST_S = 3.6e6
"""What takes longer counts as never, 1,000 h."""

EXAMPLE: dict[str, Any] = {
    "start": {"value": 20, "unit": "Cel"},
    "ambient": {"value": 20, "unit": "Cel"},
    "total": {"value": 9.0, "unit": "L"},
    "targets": [{"value": 40, "unit": "Cel"}, {"value": 88, "unit": "Cel"}],
    "after": {"value": 30, "unit": "min"},
}


class WarmUpRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A unit that idles or stands, by what is known of it; what is not given is typical of a car.

    power: 0 when it stands, null when it idles    loss: to the air, above 0
    heat_capacity: of fluid and metal, above 0; null is told from `total`, one of them is needed
    coolant: temperature of a coolant exchanger; null where there is none or nothing flows through
    exchanger: to the coolant, only with `coolant`
    targets: temperatures to meet    after: a time to tell the temperature for
    readings: of the unit itself; only those of the best source are fitted
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
