"""What the counter gets out of a plan: containers, quotation lines, the next service."""

from datetime import date
from typing import Literal

from msgspec import Struct

from libexchange.fields import Money
from libexchange.quantities import Distance, Duration, Temperature, Volume
from libexchange.use_case import DueBy
from libexchange.used_fluid import Recheck


class ContainerChoice(Struct, frozen=True, kw_only=True):
    """So many containers of a size."""

    size: Volume
    count: int


class QuoteLine(Struct, frozen=True, kw_only=True):
    """One line of a quotation; prices are the caller's, never ours.

    A fluid line with a `count` is of that many containers that hold `volume` each.

    line_id: of this plan    kind: of the line    title: in words
    duration: of labour, else null    unit_price: of an hour, a litre, a container or a part
    amount: null where no price was given
    """

    line_id: str
    kind: Literal["labour", "fluid", "part", "used_fluid", "additive"]
    title: str
    volume: Volume | None
    duration: Duration | None
    count: int | None
    unit_price: Money | None
    amount: Money | None


class NextService(Struct, frozen=True, kw_only=True):
    """When the next fluid service is due after this one, never later than the maker's schedule.

    What is null could not be told.

    after_distance: from this service in whole 1,000 km, rounded down
    due_odometer: the same on the odometer, where that is known
    limited_by: what ends the distance
    after_months: the maker's    due_on: the first day that anything known makes it due
    reasons: the chain that led here
    recheck: when the fluid is to be looked at again, long before: by what was stated, or since
        nothing is known of it before this service
    """

    after_distance: Distance | None
    after_months: int | None
    reasons: tuple[str, ...]
    due_odometer: Distance | None = None
    due_on: date | None = None
    recheck: Recheck | None = None
    limited_by: DueBy | None = None


class HeatWait(Struct, frozen=True, kw_only=True):
    """How long it takes to get to a temperature, forecast from `basis`, not measured.

    step: warming up or cooling down    to: temperature to get to    basis: what it rests on
    low, expected, high: 5, 50 and 95 % of what it may take; null is never as it stands: idling does
        not get there, or the shop is not cool enough
    reached: the part of all such units that get there at all, 0 to 1
    """

    step: Literal["warm_up", "cool_down"]
    to: Temperature
    low: Duration | None
    expected: Duration | None
    high: Duration | None
    reached: float
    basis: str
