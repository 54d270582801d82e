"""What the planning rules look at."""

from msgspec import Struct

from libexchange.catalogue import FluidProduct, TransmissionProfile
from libexchange.plan.request import PlanRequest, Route
from libexchange.plan.routes import Outcome
from libexchange.plan.unit import Unit


class PlanFacts(Struct, frozen=True, kw_only=True):
    """A request with the records it names and the unit that follows from them.

    unit: None where the amounts cannot be computed    target_share: None where none is aimed at
    """

    request: PlanRequest
    transmission: TransmissionProfile
    fluid: FluidProduct | None
    unit: Unit | None
    target_share: float | None


class RouteFacts(Struct, frozen=True, kw_only=True):
    """One route of a plan; outcome is None where it cannot be computed."""

    plan: PlanFacts
    route: Route
    outcome: Outcome | None


def transmission_pointer(facts: PlanFacts, field: str) -> str:
    """Where in the request a field of the transmission was given: in itself or by its id."""
    if facts.request.transmission is None:
        return "#/transmission_id"
    return f"#/transmission/{field}"
