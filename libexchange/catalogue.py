"""Catalogue records: what is known about a transmission and about a fluid.

Unknown stays unknown: a field that the source does not give is null and is asked for where needed.
"""

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta, Struct

from libexchange.dose import FixedByFill, PackRule, TreatRate, WholePacks
from libexchange.errors import Fault, InvalidInput, check_range
from libexchange.fields import LongText, Slug, Text
from libexchange.fluid import HIGHEST_DENSITY_15_KG_M3, LOWEST_DENSITY_15_KG_M3
from libexchange.quantities import (
    Density,
    Distance,
    Duration,
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
AdditiveKind = Literal["cleaner", "conditioner"]
Year = Annotated[int, Meta(ge=1950, le=2100)]


class DataSource(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the numbers of a record come from.

    kind: who stated them    invented: marks demonstration data, whatever its kind
    document: its name    revision: of the document    dated: day of the document
    """

    kind: Literal["maker", "workshop_measurement", "handbook", "unknown"]
    invented: bool
    document: Text | None = None
    revision: Text | None = None
    dated: date | None = None


class TemperatureWindow(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A range of fluid temperature, both edges included.

    low: the lower edge    high: the upper edge
    Raises: InvalidInput when the low edge is above the high one.
    """

    low: Temperature
    high: Temperature

    def __post_init__(self) -> None:
        if self.low.c > self.high.c:
            raise InvalidInput(reversed_window(self.low, self.high))


def reversed_window(low: Temperature, high: Temperature) -> Fault:
    """The fault of a window whose lower edge is above its upper one.

    >>> reversed_window(Temperature(45, "Cel"), Temperature(35, "Cel")).allowed
    'up to 35 °C'
    """
    return Fault(
        pointer="/low",
        code="window-reversed",
        detail="the lower edge is above the upper edge",
        value=low,
        allowed=f"up to {high.c:g} °C",
        remedy="Give the lower edge as low and the upper edge as high.",
    )


class LevelData(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the maker wants the fluid level set; an unknown window is null and is never made up.

    method: how the level is read    window: fluid temperature at which it is read
    engine_running: whether the engine runs while it is read    between_marks: volume between them
    low_mark, high_mark: height of the mark on the dipstick
    """

    method: LevelMethod | None = None
    window: TemperatureWindow | None = None
    engine_running: bool | None = None
    low_mark: Length | None = None
    high_mark: Length | None = None
    between_marks: Volume | None = None


class CompartmentShares(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Shares of the total fill in each part of the unit; they should sum to 1.

    sump: pan    converter: torque converter    line: cooler and its lines
    pockets: clutches and channels that trade fluid slowly    stranded: what no exchange reaches
    """

    sump: Share
    converter: Share
    line: Share
    pockets: Share
    stranded: Share


class ExchangeCoefficients(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the parts of a unit trade fluid while a line exchange runs, where it was measured.

    pocket_exchange, internal_return, short_cut: kappa, g and sigma of the circuit model [-]
    """

    pocket_exchange: Annotated[float, Meta(ge=0, le=1)]
    internal_return: Annotated[float, Meta(ge=1, le=4)]
    short_cut: Annotated[float, Meta(ge=0, le=0.3)]


class CoolerCircuit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The cooler lines as far as an exchange through them needs them.

    external_lines: whether the lines can be opened outside the case
    bypass: where a thermostat leads the fluid past the cooler
    bypass_opens: fluid temperature from which it flows through the cooler, null where not known
    """

    external_lines: Known
    bypass: BypassPlace
    bypass_opens: Temperature | None = None


class VehicleFit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A vehicle that carries the transmission, for finding it by vehicle facts.

    model: name of the vehicle    year_from, year_to: model years, both included; null is open
    """

    model: Text
    year_from: Year | None = None
    year_to: Year | None = None


class MakerInterval(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The maker's own service schedule.

    distance: longest between services    months: longest between services, 1 to 240
    """

    distance: Distance | None = None
    months: Annotated[int, Meta(ge=1, le=240)] | None = None


class TransmissionProfile(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is known about one fluid space of one transmission.

    `total` is the fill of the dry unit with converter, cooler and lines; `drained` is what leaves
    by the drain plug, or with the pan where there is no plug. These two and the family are enough
    to plan; everything else replaces a typical value by a known one.
    `line_batches_in_maker_procedure` is whether the maker describes pumping out by the lines in
    batches; `fill_tube_reaches_sump` is whether a probe gets to the pan floor through fill or
    dipstick tube, with no bend, sieve or lock in its way.

    transmission_id: id of the entry    name: for people    family: how the unit is built
    source: where the numbers come from    total: fill of the dry unit with converter and lines
    drained: leaves by the drain plug, or with the pan where there is no plug
    shares: of the total fill in each part; null takes those typical of the family
    converter: what it holds; null takes what is typical    level: how the maker wants it set
    coefficients: how the parts trade fluid, where it was measured; null takes what is typical
    drain_plug: whether there is one    pan_removable: whether the pan comes off
    cooler: its lines, as far as an exchange needs them
    line_exchange_in_maker_procedure: whether the maker describes an exchange by the cooler lines
    line_batches_in_maker_procedure: whether the maker describes pumping out by the lines in batches
    fill_tube_reaches_sump: whether a probe gets to the pan floor through fill or dipstick tube
    engine_idles_on_command: whether the engine can be kept idling for the work
    high_voltage: whether the vehicle has high voltage
    electric_machine_in_fluid: whether an electric machine runs in the fluid
    additives_allowed_by_maker: whether the maker allows additives
    fluid_kinds: kinds of fluid that the maker asks for    fits: vehicles that carry it
    maker_interval: the maker's own service schedule, null where not known
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
    line_batches_in_maker_procedure: Known = "unknown"
    fill_tube_reaches_sump: Known = "unknown"
    engine_idles_on_command: Known = "unknown"
    high_voltage: Known = "unknown"
    electric_machine_in_fluid: Known = "unknown"
    additives_allowed_by_maker: Known = "unknown"
    level: LevelData
    fluid_kinds: tuple[Slug, ...] = ()
    fits: tuple[VehicleFit, ...] = ()
    maker_interval: MakerInterval | None = None


class FluidProduct(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A transmission fluid; `kinds` are the fluid kinds it is approved as.

    fluid_id: id of the entry    name: for people    source: where the numbers come from
    kinds: fluid kinds it is approved as    density_15: density at 15 Cel, null where not known
    viscosity_40, viscosity_100: kinematic viscosity at that many Cel, null where not known
    friction_modified: whether it carries friction modifier
    containers: the sizes that it comes in, 0.001 to 1,000 L each
    Raises: OutOfRange for these, or when its density is outside what volume correction covers.
    """

    fluid_id: Slug
    name: Text
    source: DataSource
    kinds: tuple[Slug, ...]
    density_15: Density | None = None
    viscosity_40: KinematicViscosity | None = None
    viscosity_100: KinematicViscosity | None = None
    friction_modified: Known = "unknown"
    containers: Annotated[tuple[Volume, ...], Meta(max_length=12)] = ()

    def __post_init__(self) -> None:
        for size in self.containers:
            check_range(name="containers", value=size.l, low=0.001, high=1000, unit="L")
        if self.density_15 is not None:
            check_range(
                name="density_15",
                value=self.density_15.kg_m3,
                low=LOWEST_DENSITY_15_KG_M3,
                high=HIGHEST_DENSITY_15_KG_M3,
                unit="kg/m3",
            )


class Additive(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A cleaner or conditioner, as its own maker states it.

    additive_id: id of the entry    name: for people    source: where the numbers come from
    kind: cleaner or conditioner    treat: how its dose is stated    pack_rule: rounding to packs
    pack: 0.001 to 100 L; null where it is sold loose or the treat rate names the pack
    largest_share: of the total fill that it may be, up to the usual hard limit of 0.06
    forbidden_families: units that its maker bars it from    friction_modifier: it carries some
    contact: how long a cleaner acts, 1 to 60 min    contact_above: from which fluid temperature on,
        20 to 120 Cel; null stands for the usual    instructions: its maker's text
    Raises: OutOfRange outside these
    """

    additive_id: Slug
    name: Text
    source: DataSource
    kind: AdditiveKind
    treat: TreatRate
    pack: Volume | None = None
    pack_rule: PackRule = "ceil"
    largest_share: Annotated[float, Meta(gt=0, le=0.06)] | None = None
    forbidden_families: Annotated[tuple[Family, ...], Meta(max_length=8)] = ()
    friction_modifier: bool = False
    contact: Duration | None = None
    contact_above: Temperature | None = None
    instructions: LongText | None = None

    def __post_init__(self) -> None:
        if self.pack is not None:
            check_range(name="pack", value=self.pack.l, low=0.001, high=100, unit="L")
        if self.contact is not None:
            check_range(name="contact", value=self.contact.s, low=60, high=3600, unit="s")
        if self.contact_above is not None:
            name, value = "contact_above", self.contact_above.c
            check_range(name=name, value=value, low=20, high=120, unit="°C")
        _check_treat(self.treat)


def _check_treat(treat: TreatRate) -> None:
    if isinstance(treat, WholePacks):
        check_range(name="treat", value=treat.pack.l, low=0.001, high=100, unit="L")
        check_range(name="treat", value=treat.treats.l, low=0.05, high=1000, unit="L")
    if isinstance(treat, FixedByFill):
        for one in treat.ranges:
            check_range(name="treat", value=one.low.l, low=0, high=one.high.l, unit="L")
