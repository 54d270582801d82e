"""Records of one look at the fluid level, and of what it means."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from libexchange import level
from libexchange.catalogue import LevelMethod, TemperatureWindow
from libexchange.errors import Fault, InvalidInput
from libexchange.findings import Finding
from libexchange.quantities import (
    Angle,
    Density,
    Duration,
    Length,
    Temperature,
    TemperatureRate,
    Volume,
    VolumeChange,
)
from libexchange.readings import Source

LEAST_BAND_MM = 1.0
SURFACE_MM = (30.0, 1000.0)
STICK_ANGLE_DEG = (5.0, 90.0)

Observed = Literal["nothing", "drip", "thread", "stream"]
"""What comes out of the open overflow plug."""

LevelVerdict = Literal[
    "in_range", "add", "let_run", "remove", "wait", "redo", "cannot_tell", "stop"
]
"""What to do after one look at the level."""


class FreeSurface(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The surface of the fluid in the pan, and how the stick stands in it.

    length, width: 30 to 1,000 mm    stick_angle: to the horizontal, 5 to 90 deg
    Raises: InvalidInput outside these.
    """

    length: Length
    width: Length
    stick_angle: Angle = Angle(90, "deg")

    def __post_init__(self) -> None:
        low_mm, high_mm = SURFACE_MM
        low_deg, high_deg = STICK_ANGLE_DEG
        faults = [
            _fault(f"/{name}", "out-of-range", side, f"{low_mm:g} to {high_mm:g} mm")
            for name, side in (("length", self.length), ("width", self.width))
            if not low_mm <= side.mm <= high_mm
        ]
        if not low_deg <= self.stick_angle.deg <= high_deg:
            allowed = f"{low_deg:g} to {high_deg:g} deg"
            faults.append(_fault("/stick_angle", "out-of-range", self.stick_angle, allowed))
        if faults:
            raise InvalidInput(*faults)

    @property
    def ml_per_mm(self) -> float:
        """Millilitres for a millimetre on the stick."""
        return level.stick_ml_per_mm(
            free_surface_m2=self.length.mm * self.width.mm / 1e6,
            stick_angle_deg=self.stick_angle.deg,
        )


class DipstickReading(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the fluid stands on a stick, tube or glass and where its marks are, from one zero.

    Cold marks are a reference and never the end of the check.

    between_marks: what the unit takes from the low to the high mark, null where it is not known
    surface: of the fluid, which tells it then    other_side: a second reading of the same level
    height: of the fluid    low_mark, high_mark: where the marks are
    marks: for which fluid the marks are, hot or cold
    Raises: InvalidInput unless the high mark is at least 1 mm above the low mark.
    """

    height: Length
    low_mark: Length
    high_mark: Length
    between_marks: Volume | None = None
    surface: FreeSurface | None = None
    marks: Literal["hot", "cold"] = "hot"
    other_side: Length | None = None

    def __post_init__(self) -> None:
        if self.band_mm < LEAST_BAND_MM:
            raise InvalidInput(_marks_fault(self.high_mark))

    @property
    def band_mm(self) -> float:
        """From the low to the high mark [mm]."""
        return self.high_mark.mm - self.low_mark.mm

    @property
    def ml_per_mm(self) -> float | None:
        """Millilitres for a millimetre; null where nothing tells it."""
        if self.between_marks is not None and self.between_marks.l > 0:
            return 1000 * self.between_marks.l / self.band_mm
        return self.surface.ml_per_mm if self.surface else None


def _marks_fault(high_mark: Length) -> Fault:
    return Fault(
        pointer="/high_mark",
        code="marks-reversed",
        detail=f"the high mark is not {LEAST_BAND_MM:g} mm above the low mark",
        value=high_mark,
        allowed=f"at least {LEAST_BAND_MM:g} mm above the low mark",
        remedy="Measure both marks and the reading from the same zero, upwards.",
    )


def _fault(pointer: str, code: str, value: object, allowed: str) -> Fault:
    return Fault(
        pointer=pointer,
        code=code,
        detail="outside the range that can be computed",
        value=value,
        allowed=allowed,
        remedy="Check the number and its unit.",
    )


class MeasuredRefill(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What came out and what was put back, both at 15 degC, or by weight.

    uncertainty: of the difference; null is 1 % of each amount
    out_15: what came out    in_15: what was put back
    """

    out_15: Volume
    in_15: Volume
    uncertainty: Volume | None = None


class LevelCheck(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One look at the level: what was known and what was seen.

    `observed` belongs to the overflow methods, `reading` to a dipstick, `reading` or `read_out` to
    a sight tube or read-out, `refill` to a measured refill. What nobody looked at is null.
    total: 0.5 to 500 L    window: the maker's; null when it is not known
    temperature: -50 to 150 Cel
    temperature_source: null is a scan tool; any but the transmission's own sensor tells no level
    read_out: of an electronic read-out, negative when low
    added, rounds: corrections since the refill was complete; the refill is not one
    ran_out: of what was added, what ran back out    outstanding: of the refill, still to be added
    slope: of the vehicle    waited: since fluid was last moved    observed_for: how long it ran
    cold_window: where the cold marks hold; null is anywhere below the window
    off_after_drives: how many times it was found off after a drive, before this look
    """

    method: LevelMethod
    total: Volume
    window: TemperatureWindow | None = None
    temperature: Temperature
    temperature_source: Source | None = None
    observed: Observed | None = None
    observed_for: Duration | None = None
    reading: DipstickReading | None = None
    read_out: VolumeChange | None = None
    refill: MeasuredRefill | None = None
    added: Volume
    rounds: Annotated[int, Meta(ge=0, le=100)]
    ran_out: Volume | None = None
    outstanding: Volume | None = None
    rate: TemperatureRate | None = None
    slope: Angle | None = None
    engine_running: bool | None = None
    checked_with_engine_running: bool = True
    gears_cycled: bool | None = None
    selector_right: bool | None = None
    overflow_tube_fitted: bool | None = None
    foam_seen: bool | None = None
    smoke_seen: bool | None = None
    waited: Duration | None = None
    cold_window: TemperatureWindow | None = None
    off_after_drives: Annotated[int, Meta(ge=0, le=10)] = 0
    density_15: Density = Density(level.TYPICAL_DENSITY_15_KG_M3, "kg/m3")

    @property
    def net_added_l(self) -> float:
        """Corrections that stayed in [L], 0 or more."""
        return max(self.added.l - (self.ran_out.l if self.ran_out else 0.0), 0.0)

    @property
    def room_l(self) -> float:
        """What may still be added before something else is wrong [L]; negative beyond it."""
        return level.correction_limit_l(total_l=self.total.l) - self.net_added_l


class LevelAnswer(Struct, frozen=True, kw_only=True):
    """What one look at the level means; `correction` is null where nothing is to be measured.

    verdict: of the look    correction: to add, negative to take out
    uncertainty: of the look in litres, null where it cannot be told    findings: doubts
    """

    verdict: LevelVerdict
    correction: VolumeChange | None
    uncertainty: Volume | None
    findings: list[Finding]


LOOKS_BY: dict[LevelMethod, tuple[str, ...]] = {
    "overflow_plug": ("observed",),
    "overflow_feed": ("observed",),
    "dipstick": ("reading",),
    "sight": ("reading", "read_out"),
    "measured_refill": ("refill",),
}
"""What each method is judged by, exactly one of these."""


def looks_given(record: Struct, method: LevelMethod) -> list[str]:
    """Which of the fields that the method is judged by are there; one has to be.

    record: with the fields of a look

    >>> from libexchange.quantities import Volume
    >>> looks_given(MeasuredRefill(out_15=Volume(4, "L"), in_15=Volume(4, "L")), "dipstick")
    []
    """
    return [name for name in LOOKS_BY[method] if getattr(record, name, None) is not None]
