"""Catalogue records: what is known about a transmission and about a fluid.

Unknown stays unknown: a field that the source does not give is null and is asked for where needed.
"""

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta, Struct

from libexchange.errors import OutOfRange, check_range
from libexchange.fields import Slug, Text
from libexchange.fluid import HIGHEST_DENSITY_15_KG_M3, LOWEST_DENSITY_15_KG_M3
from libexchange.quantities import (
    Density,
    Distance,
    KinematicViscosity,
    Length,
    Share,
    Temperature,
    Volume,
)

Family = Literal[
    "converter_automatic",
    "converter_automatic_light_truck",
    "converter_automatic_many_speeds",
    "wet_dual_clutch",
    "cvt_with_converter",
    "cvt_with_start_clutch",
    "heavy_duty_automatic",
    "power_split_hybrid",
]
"""How the unit is built, as far as fluid service cares; a second fluid space is a second entry."""

Known = Literal["yes", "no", "unknown"]
LevelMethod = Literal["overflow_plug", "dipstick", "sight", "measured_refill", "overflow_feed"]
"""How the level is read: `sight` is a tube, a glass or an electronic read-out, `measured_refill`
puts back what came out, `overflow_feed` is fed through the overflow with the engine running."""

BypassPlace = Literal["none", "in_case", "in_line", "in_cooler", "unknown"]
Year = Annotated[int, Meta(ge=1950, le=2100)]


class DataSource(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the numbers of a record come from.

    `invented` marks demonstration data, whatever its kind.
    """

    kind: Literal["maker", "workshop_measurement", "handbook", "unknown"]
    invented: bool
    document: Text | None = None
    revision: Text | None = None
    dated: date | None = None


class TemperatureWindow(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A range of fluid temperature, both edges included.

    Raises: OutOfRange when the low edge is above the high one.
    """

    low: Temperature
    high: Temperature

    def __post_init__(self) -> None:
        if self.low.c > self.high.c:
            raise OutOfRange(name="low", value=self.low.c, allowed=f"up to high, {self.high.c:g}")


class LevelData(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the maker wants the fluid level set; an unknown window is null and is never made up."""

    method: LevelMethod | None = None
    window: TemperatureWindow | None = None
    engine_running: bool | None = None
    low_mark: Length | None = None
    high_mark: Length | None = None
    between_marks: Volume | None = None


class CompartmentShares(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Shares of the total fill in each part of the unit; they should sum to 1."""

    sump: Share
    converter: Share
    line: Share
    pockets: Share
    stranded: Share


class ExchangeCoefficients(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the parts of a unit trade fluid while a line exchange runs, where it was measured."""

    pocket_exchange: Annotated[float, Meta(ge=0, le=1)]
    internal_return: Annotated[float, Meta(ge=1, le=4)]
    short_cut: Annotated[float, Meta(ge=0, le=0.3)]


class CoolerCircuit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The cooler lines as far as an exchange through them needs them."""

    external_lines: Known
    bypass: BypassPlace
    bypass_opens: Temperature | None = None


class VehicleFit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A vehicle that carries the transmission, for finding it by vehicle facts."""

    model: Text
    year_from: Year | None = None
    year_to: Year | None = None


class MakerInterval(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The maker's own service schedule."""

    distance: Distance | None = None
    months: Annotated[int, Meta(ge=1, le=240)] | None = None


class TransmissionProfile(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is known about one fluid space of one transmission.

    `total` is the fill of the dry unit with converter, cooler and lines; `drained` is what leaves
    by the drain plug, or with the pan where there is no plug. These two and the family are enough
    to plan; everything else replaces a typical value by a known one.
    """

    transmission_id: Slug
    name: Text
    family: Family
    source: DataSource
    total: Volume
    drained: Volume
    shares: CompartmentShares | None = None
    converter: Volume | None = None
    coefficients: ExchangeCoefficients | None = None
    drain_plug: Known
    pan_removable: Known
    cooler: CoolerCircuit
    line_exchange_in_maker_procedure: Known = "unknown"
    engine_idles_on_command: Known = "unknown"
    high_voltage: Known = "unknown"
    level: LevelData
    fluid_kinds: tuple[Slug, ...] = ()
    fits: tuple[VehicleFit, ...] = ()
    maker_interval: MakerInterval | None = None


class FluidProduct(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A transmission fluid; `kinds` are the fluid kinds it is approved as.

    Raises: OutOfRange when its density is outside what volume correction covers.
    """

    fluid_id: Slug
    name: Text
    source: DataSource
    kinds: tuple[Slug, ...]
    density_15: Density | None = None
    viscosity_40: KinematicViscosity | None = None
    viscosity_100: KinematicViscosity | None = None

    def __post_init__(self) -> None:
        if self.density_15 is not None:
            check_range(
                name="density_15",
                value=self.density_15.kg_m3,
                low=LOWEST_DENSITY_15_KG_M3,
                high=HIGHEST_DENSITY_15_KG_M3,
                unit="kg/m3",
            )
