"""Events of the work itself: steps, readings, litres, level, leak and drive."""

from typing import Annotated, Literal
from uuid import UUID

from msgspec import Meta

from libexchange.balance import BalanceEntry, Direction
from libexchange.catalogue import LevelMethod
from libexchange.fields import Digest, Person, PersonalText, Slug, Text
from libexchange.job.event_base import Event, check_temperature, refused
from libexchange.level_records import LOOKS_BY, DipstickReading, Observed, looks_given
from libexchange.quantities import (
    Angle,
    Distance,
    Duration,
    Flow,
    Mass,
    Pressure,
    Temperature,
    Volume,
    VolumeChange,
)
from libexchange.readings import Reading, Source

LARGEST_MOVE = 200.0
"""The most that one event may move [L or kg]; more than any unit holds."""

LARGEST_BAND_L = 20.0


def _check_stick(reading: DipstickReading) -> None:
    band = reading.between_marks
    if band is not None and band.l > LARGEST_BAND_L:
        allowed = f"at most {LARGEST_BAND_L:g} L between the marks"
        raise refused("/reading/between_marks/value", "out-of-range", band.value, allowed)


class Started(Event, frozen=True, kw_only=True, tag="started"):
    """Work on the vehicle has begun."""


class StepConfirmed(Event, frozen=True, kw_only=True, tag="step_confirmed"):
    """A step of the plan is done."""

    step_id: Slug


class ReadingTaken(Event, frozen=True, kw_only=True, tag="reading"):
    """A temperature, a flow, a pressure or several of them, seen by one source.

    source: what it was seen by    temperature: of the fluid    flow: through the line
    engine_running: null counts as running; the contact time of a cleaner pauses while it stands
    pressure: in the feed of a line exchange
    photo: digest of a picture of the value, which a typed one should have
    Raises: InvalidInput for none of the three.
    """

    source: Source
    temperature: Temperature | None = None
    flow: Flow | None = None
    engine_running: bool | None = None
    pressure: Pressure | None = None
    photo: Digest | None = None

    def __post_init__(self) -> None:
        Event.__post_init__(self)
        if self.temperature is None and self.flow is None and self.pressure is None:
            allowed = "a temperature, a flow, a pressure or several of them"
            raise refused("/temperature", "missing-field", None, allowed)

    @property
    def reading(self) -> Reading:
        """The reading as gates take it."""
        return Reading(
            at=self.occurred_at,
            source=self.source,
            temperature=self.temperature,
            flow=self.flow,
            engine_running=self.engine_running,
            pressure=self.pressure,
            photo=self.photo,
        )


class FluidMoved(Event, frozen=True, kw_only=True, tag="fluid_moved"):
    """An amount of fluid went in, came out or was lost, by volume at a temperature or by mass.

    direction: where it went; `lost` is spill and drip, `additive` went in beside the fluid
    volume, mass: up to 200 L or kg    temperature: -50 to 150 Cel
    meter_class: error limit of meter or scale [% of the amount]
    Raises: InvalidInput outside these, or unless exactly one of volume and mass is given.
    """

    direction: Direction
    volume: Volume | None = None
    mass: Mass | None = None
    temperature: Temperature | None = None
    meter_class: Annotated[float, Meta(ge=0, le=10)] | None = None

    def __post_init__(self) -> None:
        Event.__post_init__(self)
        if (self.volume is None) == (self.mass is None):
            given = self.volume.value if self.volume else None
            raise refused("/volume", "exactly-one-of", given, "exactly one of volume and mass")
        amount = self.volume.l if self.volume else self.mass.kg if self.mass else 0.0
        if amount > LARGEST_MOVE:
            at = "/volume/value" if self.volume else "/mass/value"
            raise refused(at, "out-of-range", amount, f"at most {LARGEST_MOVE:g} L or kg")
        check_temperature(self.temperature)

    @property
    def entry(self) -> BalanceEntry:
        """The movement as a balance takes it."""
        return BalanceEntry(
            direction=self.direction,
            volume=self.volume,
            mass=self.mass,
            temperature=self.temperature,
            meter_class=self.meter_class,
        )


class FluidOpened(Event, frozen=True, kw_only=True, tag="fluid_opened"):
    """A container of fluid was opened; `fluid_kind` is the kind it is approved as.

    fluid_id: entry of the catalogue, null where it has none    lot: printed on the container
    fluid_kind: the kind it is approved as
    """

    fluid_id: Slug | None = None
    fluid_kind: Slug
    lot: Text | None = None


class FluidSetAside(Event, frozen=True, kw_only=True, tag="fluid_set_aside"):
    """A container that was opened did not serve after all.

    opened: the id of the event that told of its opening
    became: of its fluid; `drained` is what had gone in and was let out before the engine ran
    remark: in free words
    """

    by: Person
    opened: UUID
    became: Literal["not_filled", "drained"]
    remark: PersonalText | None = None


class LevelChecked(Event, frozen=True, kw_only=True, tag="level_checked"):
    """One look at the level. The overflow methods need `observed`, a dipstick its `reading`, a
    sight tube or read-out one of `reading` and `read_out`; a measured refill is told by the fluid
    that was moved.

    method: how it was read    engine_running: while it was read, null where nobody told
    observed: what was seen at the overflow
    read_out: of an electronic read-out, negative when low
    temperature: -50 to 150 Cel    slope: of the vehicle, by any spirit level
    smoke_seen: fluid that smokes on the exhaust, which ends the work
    temperature_source: any but the transmission's own sensor tells no level
    waited: since fluid was last moved    observed_for: how long it was watched running
    gears_cycled, selector_right, overflow_tube_fitted, foam_seen: null where nobody told
    photo: digest of a picture of the look
    reading: marks at least 1 mm apart with at most 20 L between them
    Raises: InvalidInput outside these or where one is missing.
    """

    method: LevelMethod
    temperature: Temperature
    observed: Observed | None = None
    reading: DipstickReading | None = None
    read_out: VolumeChange | None = None
    engine_running: bool | None = None
    slope: Angle | None = None
    smoke_seen: bool | None = None
    temperature_source: Source = "scan_tool_typed"
    waited: Duration | None = None
    observed_for: Duration | None = None
    gears_cycled: bool | None = None
    selector_right: bool | None = None
    overflow_tube_fitted: bool | None = None
    foam_seen: bool | None = None
    photo: Digest | None = None

    def __post_init__(self) -> None:
        Event.__post_init__(self)
        given, needed = looks_given(self, self.method), LOOKS_BY[self.method]
        if self.method != "measured_refill" and len(given) != 1:
            code = "exactly-one-of" if given else "missing-field"
            allowed = f"{' or '.join(needed)} for a look by {self.method}"
            raise refused(f"/{needed[0]}", code, None, allowed)
        check_temperature(self.temperature)
        if self.reading is not None:
            _check_stick(self.reading)


class LeakChecked(Event, frozen=True, kw_only=True, tag="leak_checked"):
    """The dried area was looked at again after idling at working temperature.

    result: whether fluid was seen
    """

    result: Literal["dry", "leak"]


class TestDriven(Event, frozen=True, kw_only=True, tag="test_drive"):
    """The vehicle was driven, before the work or after it.

    complaint: what was felt, in the words of whoever drove
    when: before the work or after it    result: how it drove    distance: driven
    """

    __test__ = False  # a test runner would take the name for a test

    result: Literal["ok", "complaint"]
    distance: Distance | None = None
    when: Literal["before", "after"] = "after"
    complaint: PersonalText | None = None


class WorkFinished(Event, frozen=True, kw_only=True, tag="work_finished"):
    """The bay has nothing more to do; closing the job is a separate act."""


class Note(Event, frozen=True, kw_only=True, tag="note"):
    """A remark.

    text: the remark
    """

    text: PersonalText
