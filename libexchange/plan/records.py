"""The service plan as it is answered, kept and worked from. Answer records have no defaults."""

from typing import Literal
from uuid import UUID

from msgspec import Struct

from libexchange.catalogue import (
    BypassPlace,
    DataSource,
    Family,
)
from libexchange.fields import Instant, Money, RevealingDigest
from libexchange.findings import Finding
from libexchange.plan.card_records import OfflineCard
from libexchange.plan.offer import ContainerChoice, HeatWait, NextService, QuoteLine
from libexchange.plan.request import PlanRequest, Route
from libexchange.quantities import (
    Duration,
    Flow,
    Temperature,
    Volume,
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
    """A share with the edges of what it may be, 0 to 1.

    low, high: 5 % and 95 % edge    expected: the likely one
    """

    low: float
    expected: float
    high: float


class CurvePoint(Struct, frozen=True, kw_only=True):
    """Fresh shares after so many litres of line exchange.

    exchanged: litres through the line    fresh_share: inside the unit
    outflow_fresh_share: in what leaves it then
    """

    exchanged: Volume
    fresh_share: float
    outflow_fresh_share: float


class Basis(Struct, frozen=True, kw_only=True):
    """Where one input of the forecast comes from.

    part: the input    origin: who says so    source: document or reason in words
    """

    part: Literal["total", "drained", "shares", "coefficients", "density"]
    origin: Literal["maker", "workshop_measurement", "handbook", "unknown", "typical_of_family"]
    source: str


class Forecast(Struct, frozen=True, kw_only=True):
    """What share of the fluid will be fresh: calculated from `basis`, not measured.

    fresh_share: once the plan is worked    ceiling: that no number of litres passes on this route
    basis: every input and where it is from    curve: shares over litres of line exchange
    """

    fresh_share: Estimate
    ceiling: float
    basis: tuple[Basis, ...]
    curve: tuple[CurvePoint, ...]


class Litres(Struct, frozen=True, kw_only=True):
    """Fresh fluid to have ready.

    planned: what the route takes    minimum: the least that could reach the target
    maximum: with a reserve
    """

    planned: Volume
    minimum: Volume
    maximum: Volume


class RuleOfThumb(Struct, frozen=True, kw_only=True):
    """The trade's rule of thumb for a line exchange, and the share it reaches on this unit.

    There is none where no line exchange may be taken.

    litres: by the rule    fresh_share: that they reach here
    """

    litres: Volume
    fresh_share: float


class Alternative(Struct, frozen=True, kw_only=True):
    """One route, computed whether or not it may be taken; `reasons` say why not or with what care.

    route: the way    standing: whether it may be taken    risk: of the route by itself
    litres, fresh_share, hands_on, lift, elapsed: null only where it cannot be computed at all
    cycles: of drain and refill, null on other routes    cost: null without prices
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

    gate_id: of this plan    kind: what waits for it    text: the same in words
    low, high: temperatures that it holds between    minimum_flow: that has to be seen
    hold: how long it has to hold    continuing: whether it has to stay open while the step goes on
    bypass: where it sits, at the gate of a line exchange: cold, a line with its bypass in the case
        or in the line itself waits for `low`, one without or with one in the cooler flows anyway
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
    """A usual caution at the step where it applies; the maker's data and local code come first.

    code: to acknowledge it by    text: in words
    """

    code: str
    text: str


class Step(Struct, frozen=True, kw_only=True):
    """One step of the work, in order.

    step_id: of this plan    kind: what is done    title: in words
    gate: that has to be open first, null without one
    quantity: litres that go in, come out or pass, null where none do    cautions: at most three
    """

    step_id: str
    kind: StepKind
    title: str
    gate: Gate | None
    quantity: Volume | None
    cautions: tuple[Caution, ...]


class CatalogueVersion(Struct, frozen=True, kw_only=True):
    """Which version of a catalogue entry a plan was made from.

    entry_id: of the entry    version: of it    scope: whose it is
    """

    entry_id: str
    version: int
    scope: Literal["installation", "workshop"]


class CatalogueVersions(Struct, frozen=True, kw_only=True):
    """The catalogue versions a plan rests on.

    transmission, fluid, cleaner, conditioner: null when sent with the request or not asked for
    """

    transmission: CatalogueVersion | None
    fluid: CatalogueVersion | None
    cleaner: CatalogueVersion | None = None
    conditioner: CatalogueVersion | None = None


class PlanSubject(Struct, frozen=True, kw_only=True):
    """What the plan is for, by name, since a request may give ids alone.

    transmission, family: of the unit    fluid: null where none was found
    invented: demonstration data    fluid_kinds: that the fluid is approved as
    transmission_source, fluid_source: the maker's documents that it rests on
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

    plan_id, created_at: of this plan    supersedes: the plan that it corrects, null without one
    request: as it was asked    subject: unit and fluid by name
    catalogue_versions: that it rests on    feasible: whether a route may be taken
    route: proposed, null where none may be taken    litres: to have ready, null without a route
    rule_of_thumb: beside it, null where no line exchange may be taken
    forecast: of the fresh share, null without a route    alternatives: every route with reasons
    steps: in order, none where a stop bars the work
    offline_card: for the bay, null without a route    containers: to open, null without offers
    quote_lines: at the caller's prices    findings: doubts, cautions and stops
    next_service: when the next is due    waits: for temperatures
    digest: SHA-256 of the plan without it, in the canonical form of RFC 8785
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
