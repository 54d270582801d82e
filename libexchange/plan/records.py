"""The service plan as it is answered, kept and worked from. Answer records have no defaults."""

from typing import Literal
from uuid import UUID

from msgspec import Struct

from libexchange.catalogue import (
    AdditiveKind,
    BypassPlace,
    DataSource,
    Family,
    LevelMethod,
    TemperatureWindow,
)
from libexchange.dose_rules import Placed
from libexchange.fields import Instant, Money, RevealingDigest
from libexchange.findings import Finding
from libexchange.plan.offer import ContainerChoice, HeatWait, NextService, QuoteLine
from libexchange.plan.request import PlanRequest, Route
from libexchange.quantities import (
    Density,
    Duration,
    Flow,
    Temperature,
    TemperatureRate,
    Volume,
    VolumeChange,
)

Standing = Literal["possible", "caution", "no"]
Risk = Literal["low", "medium", "high"]
GateKind = Literal["line_exchange", "level_window", "opening", "contact_time"]
StepKind = Literal[
    "arrival_check",
    "raise_vehicle",
    "prove_fill_opening",
    "dose_cleaner",
    "cleaner_contact",
    "connect_lines",
    "warm_up",
    "drain",
    "suction",
    "pan_and_filter",
    "refill",
    "mix",
    "dose_conditioner",
    "line_exchange",
    "line_batch",
    "cool_down",
    "disconnect_lines",
    "level_before_drive",
    "set_level",
    "leak_check",
    "test_drive",
    "hold",
    "hand_over",
]
"""`level_before_drive` sets a level that a drive needs before the work is done; `hold` ends a plan
whose level cannot be verified, in place of drive and hand-over.
"""


class Estimate(Struct, frozen=True, kw_only=True):
    """A share with the 5 % and 95 % edges of what it may be."""

    low: float
    expected: float
    high: float


class CurvePoint(Struct, frozen=True, kw_only=True):
    """Fresh share inside the unit and in what leaves it, after so many litres of line exchange."""

    exchanged: Volume
    fresh_share: float
    outflow_fresh_share: float


class Basis(Struct, frozen=True, kw_only=True):
    """Where one input of the forecast comes from."""

    part: Literal["total", "drained", "shares", "coefficients", "density"]
    origin: Literal["maker", "workshop_measurement", "handbook", "unknown", "typical_of_family"]
    source: str


class Forecast(Struct, frozen=True, kw_only=True):
    """What share of the fluid will be fresh: calculated from `basis`, not measured."""

    fresh_share: Estimate
    ceiling: float
    basis: tuple[Basis, ...]
    curve: tuple[CurvePoint, ...]


class Litres(Struct, frozen=True, kw_only=True):
    """Fresh fluid to have ready: planned, and the least and most that the work may take."""

    planned: Volume
    minimum: Volume
    maximum: Volume


class RuleOfThumb(Struct, frozen=True, kw_only=True):
    """The trade's rule of thumb for a line exchange, and the share it reaches on this unit.

    There is none where no line exchange may be taken.
    """

    litres: Volume
    fresh_share: float


class Alternative(Struct, frozen=True, kw_only=True):
    """One route, computed whether or not it may be taken; `reasons` say why not or with what care.

    `litres`, `fresh_share` and times are null only where the route cannot be computed at all.
    """

    route: Route
    standing: Standing
    litres: Volume | None
    fresh_share: Estimate | None
    cycles: int | None
    hands_on: Duration | None
    lift: Duration | None
    elapsed: Duration | None
    cost: Money | None
    risk: Risk
    reasons: tuple[Finding, ...]


class Gate(Struct, frozen=True, kw_only=True):
    """What must hold before and while a step is done; unknown limits are null and asked for.

    `bypass` is where it sits, at the gate of a line exchange: cold, a line with its bypass in the
    case or in the line itself waits for `low`, one without or with one in the cooler flows anyway.
    """

    gate_id: str
    kind: GateKind
    low: Temperature | None
    high: Temperature | None
    minimum_flow: Flow | None
    hold: Duration | None
    continuing: bool
    text: str
    bypass: BypassPlace | None = None


class Caution(Struct, frozen=True, kw_only=True):
    """A usual caution at the step where it applies; the maker's data and local code come first."""

    code: str
    text: str


class Step(Struct, frozen=True, kw_only=True):
    """One step of the work, in order."""

    step_id: str
    kind: StepKind
    title: str
    gate: Gate | None
    quantity: Volume | None
    cautions: tuple[Caution, ...]


class LevelWorth(Struct, frozen=True, kw_only=True):
    """What to add when the level stood right at `temperature`, beyond an edge of the window."""

    temperature: Temperature
    correction: VolumeChange


class DripSign(Struct, frozen=True, kw_only=True):
    """What is seen at the overflow opening and what it means."""

    observed: Literal["nothing", "drip", "thread", "stream"]
    meaning: str


class PlannedDose(Struct, frozen=True, kw_only=True):
    """An additive that was asked for: how much, when, and what stays of it on the planned route.

    `packs` of `pack` each make the dose; both are null where it is sold loose. `draw_off` is what
    leaves the unit before a dose that would raise its level. `share_left` is of the whole fill,
    `share_kept` the part of a conditioner's dose that stays. A cleaner acts for `contact`, counted
    only while the engine runs and the fluid is above `contact_above`.
    """

    additive_id: str
    name: str
    kind: AdditiveKind
    placed: Placed
    dose: Volume
    packs: int | None
    pack: Volume | None
    share_of_total: float
    draw_off: Volume
    share_left: float
    share_kept: float | None
    contact: Duration | None
    contact_above: Temperature | None


class OfflineCard(Struct, frozen=True, kw_only=True):
    """What the bay needs when there is no signal; printable.

    `total` and `density_15` are what balance and level are computed with, `fluid_kinds` what the
    transmission is approved for; `engine_running` is how the maker wants the level looked at;
    `refill` is what goes in each time that it was let out, `cycles` how many times that is;
    `correction_step` is the most that is added at once; `doses` are the additives that were asked
    for.
    """

    total: Volume
    density_15: Density
    fluid_kinds: tuple[str, ...]
    level_method: LevelMethod | None
    window: TemperatureWindow | None
    engine_running: bool | None
    refill: Volume | None
    exchange: Volume | None
    correction_step: Volume
    correction_limit: Volume
    rounds_limit: int
    drip_signs: tuple[DripSign, ...]
    correction_table: tuple[LevelWorth, ...]
    slowest_trend: TemperatureRate
    balance_warning: Volume
    balance_stop: Volume
    stop_when: tuple[str, ...]
    doses: tuple[PlannedDose, ...] = ()
    cycles: int = 1


class CatalogueVersion(Struct, frozen=True, kw_only=True):
    """Which version of a catalogue entry a plan was made from; null when sent with the request."""

    entry_id: str
    version: int
    scope: Literal["installation", "workshop"]


class CatalogueVersions(Struct, frozen=True, kw_only=True):
    """The catalogue versions a plan rests on."""

    transmission: CatalogueVersion | None
    fluid: CatalogueVersion | None
    cleaner: CatalogueVersion | None = None
    conditioner: CatalogueVersion | None = None


class PlanSubject(Struct, frozen=True, kw_only=True):
    """What the plan is for, by name, since a request may give ids alone.

    `invented` marks demonstration data. The sources name the maker's documents that it rests on;
    `fluid_kinds` are those that the fluid is approved as.
    """

    transmission: str
    family: Family
    fluid: str | None
    invented: bool
    transmission_source: DataSource | None = None
    fluid_source: DataSource | None = None
    fluid_kinds: tuple[str, ...] = ()


class Plan(Struct, frozen=True, kw_only=True):
    """A service plan. It never changes; a correction is a new plan that supersedes it.

    `digest` is the SHA-256 of the plan without it, in the canonical form of RFC 8785.
    """

    plan_id: UUID
    created_at: Instant
    supersedes: UUID | None
    request: PlanRequest
    subject: PlanSubject
    catalogue_versions: CatalogueVersions
    feasible: bool
    route: Route | None
    litres: Litres | None
    rule_of_thumb: RuleOfThumb | None
    forecast: Forecast | None
    alternatives: tuple[Alternative, ...]
    steps: tuple[Step, ...]
    offline_card: OfflineCard | None
    containers: tuple[ContainerChoice, ...] | None
    quote_lines: tuple[QuoteLine, ...]
    findings: tuple[Finding, ...]
    next_service: NextService | None
    digest: RevealingDigest
    waits: tuple[HeatWait, ...] = ()
