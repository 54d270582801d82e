"""What the planning rules look at."""

from msgspec import Struct

from libexchange.catalogue import Additive, FluidProduct, Known, TransmissionProfile
from libexchange.plan.card_records import PlannedDose
from libexchange.plan.dosing import doses_of
from libexchange.plan.request import PlanRequest, Route
from libexchange.plan.routes import Outcome
from libexchange.plan.unit import Unit


class PlanFacts(Struct, frozen=True, kw_only=True):
    """A request with the records it names and the unit that follows from them.

    unit: None where the amounts cannot be computed    target_share: None where none is aimed at
    cleaner, conditioner: None unless the request asks for one
    """

    request: PlanRequest
    transmission: TransmissionProfile
    fluid: FluidProduct | None
    unit: Unit | None
    target_share: float | None
    cleaner: Additive | None = None
    conditioner: Additive | None = None


class RouteFacts(Struct, frozen=True, kw_only=True):
    """One route of a plan; outcome is None where it cannot be computed."""

    plan: PlanFacts
    route: Route
    outcome: Outcome | None


def doses_on(facts: PlanFacts, outcome: Outcome | None) -> tuple[PlannedDose, ...]:
    """The doses of the additives that were asked for, on a route; none where it has no outcome."""
    if facts.unit is None or outcome is None:
        return ()
    return doses_of(facts.unit, outcome, (facts.cleaner, facts.conditioner))


def line_work_described(facts: RouteFacts) -> Known:
    """Whether the maker describes the route's own kind of work through the lines."""
    transmission = facts.plan.transmission
    if facts.route == "line_batches":
        return transmission.line_batches_in_maker_procedure
    return transmission.line_exchange_in_maker_procedure


def transmission_pointer(facts: PlanFacts, field: str) -> str:
    """Where in the request a field of the transmission was given: in itself or by its id."""
    if facts.request.transmission is None:
        return "#/transmission_id"
    return f"#/transmission/{field}"
