"""Planning: a request and the records it names become a plan.

Every route is computed and judged by the rules; the plan proposes one and shows the others.
"""

from datetime import datetime
from uuid import UUID

from msgspec.structs import replace

from libexchange.canonical import digest
from libexchange.catalogue import Additive, FluidProduct, TransmissionProfile
from libexchange.errors import InvalidInput
from libexchange.findings import COMMON_PRACTICE, Finding, Kind, worst
from libexchange.plan.choice import Judged, alternative_of, choose, judge_routes
from libexchange.plan.dosing import least_exchanged_l
from libexchange.plan.forecast import forecast_of, litres_of, rule_of_thumb
from libexchange.plan.next_service import due_findings, next_service
from libexchange.plan.offer import ContainerChoice
from libexchange.plan.offline import offline_card
from libexchange.plan.priors import TARGET_SHARE
from libexchange.plan.quote import quote_lines
from libexchange.plan.records import CatalogueVersions, Plan, PlanSubject
from libexchange.plan.request import PlanRequest, additive_faults, check_request
from libexchange.plan.routes import LINE_ROUTES, Aim, Outcome
from libexchange.plan.steps import steps_of
from libexchange.plan.supplies import at_hand, containers_of, sizes_on_offer
from libexchange.plan.unit import unit_of
from libexchange.plan.waits import waits_of
from libexchange.rules import plan_findings
from libexchange.rules.facts import PlanFacts, doses_on

NO_ROUTE_POSSIBLE = Kind(
    code="no-route-possible",
    severity="stop",
    title="No route may be taken",
    remedy="See the reasons beside each route; repair, diagnose or complete the data first.",
    source=COMMON_PRACTICE,
)
ROUTE_REFUSED = Kind(
    code="route-refused",
    severity="stop",
    title="The route asked for may not be taken",
    remedy="Choose a route that is possible, or remove what speaks against this one.",
    source=COMMON_PRACTICE,
)
FIXED_LITRES_UNUSED = Kind(
    code="fixed-litres-unused",
    severity="caution",
    title="The fixed litres of line exchange do not apply",
    remedy="Leave the litres out, or ask for a route through the lines where one may be taken.",
    source=COMMON_PRACTICE,
)
KINDS = (NO_ROUTE_POSSIBLE, ROUTE_REFUSED, FIXED_LITRES_UNUSED)
"""The findings of planning itself."""

NO_CATALOGUE = CatalogueVersions(transmission=None, fluid=None)


def make_plan(
    *,
    request: PlanRequest,
    transmission: TransmissionProfile,
    fluid: FluidProduct | None,
    plan_id: UUID,
    created_at: datetime,
    catalogue_versions: CatalogueVersions = NO_CATALOGUE,
    cleaner: Additive | None = None,
    conditioner: Additive | None = None,
) -> Plan:
    """The plan for a request.

    transmission, fluid: the records that the request names or holds; fluid None when it names none
    cleaner, conditioner: the additives whose ids the request gives, None where it gives none
    plan_id, created_at: given by the caller, since planning knows no clock and no chance
    Returns: a plan, feasible or not, with what was found    Raises: InvalidInput

    >>> from libexchange import invented
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> plan.route, plan.litres.planned.value, round(plan.forecast.fresh_share.expected, 2)
    ('pan_and_filter_then_line', 8.4, 0.8)
    """
    check_request(request)
    if faults := additive_faults(request, cleaner=cleaner, conditioner=conditioner):
        raise InvalidInput(*faults)
    facts = PlanFacts(
        request=request,
        transmission=transmission,
        fluid=fluid,
        unit=unit_of(transmission, fluid),
        target_share=request.target_fresh_share or TARGET_SHARE.get(request.reason),
        cleaner=cleaner,
        conditioner=conditioner,
    )
    found = plan_findings(facts)
    bars = tuple(finding for finding in found if finding.severity == "stop")
    judged = judge_routes(facts, _aim(facts), bars)
    chosen = choose(judged, facts)
    found += _of_choice(facts, judged, chosen)
    if chosen and chosen.outcome and chosen.outcome.fresh_share and worst(found) != "stop":
        found += due_findings(request, transmission)
    findings = _once(found)
    plan = _assemble(facts, judged, chosen, findings, plan_id, created_at, catalogue_versions)
    return replace(plan, digest=digest(plan, without=("digest",)))


def _aim(facts: PlanFacts) -> Aim:
    fixed = facts.request.exchanged
    return Aim(
        target_share=facts.target_share,
        exchanged_l=fixed.l if fixed else None,
        least_exchanged_l=least_exchanged_l(facts.cleaner, facts.unit) if facts.unit else 0.0,
    )


def _assemble(
    facts: PlanFacts,
    judged: tuple[Judged, ...],
    chosen: Judged | None,
    findings: tuple[Finding, ...],
    plan_id: UUID,
    created_at: datetime,
    versions: CatalogueVersions,
) -> Plan:
    feasible = all(finding.severity != "stop" for finding in findings)
    outcome = chosen.outcome if chosen else None
    unit, transmission = facts.unit, facts.transmission
    doses = doses_on(facts, outcome)
    return Plan(
        plan_id=plan_id,
        created_at=created_at,
        supersedes=facts.request.supersedes,
        request=facts.request,
        subject=_subject(transmission, facts.fluid),
        catalogue_versions=versions,
        feasible=feasible,
        route=chosen.route if chosen else None,
        litres=litres_of(transmission, unit, outcome, facts.target_share)
        if unit and outcome
        else None,
        rule_of_thumb=rule_of_thumb(unit, transmission.family)
        if unit and _through_lines(judged)
        else None,
        forecast=forecast_of(transmission, unit, outcome) if unit and outcome else None,
        alternatives=tuple(alternative_of(one, facts) for one in judged),
        # nobody is invited to work from a plan that a stop finding bars
        steps=steps_of(facts.request, transmission, outcome, doses) if outcome and feasible else (),
        offline_card=offline_card(transmission, unit, outcome, doses)
        if unit and outcome and feasible
        else None,
        containers=_containers(facts, outcome) if outcome else None,
        quote_lines=quote_lines(transmission, outcome, facts.request.prices, doses)
        if outcome
        else (),
        findings=findings,
        next_service=next_service(
            request=facts.request,
            transmission=transmission,
            fresh_share=outcome.fresh_share if outcome and feasible else None,
            route=chosen.route if chosen else None,
        ),
        digest="",
        waits=waits_of(transmission, outcome) if outcome else (),
    )


def _through_lines(judged: tuple[Judged, ...]) -> bool:
    """Whether any line exchange may be taken, which alone the rule of thumb is for."""
    return any(one.route in LINE_ROUTES and one.standing != "no" for one in judged)


def _containers(facts: PlanFacts, outcome: Outcome) -> tuple[ContainerChoice, ...] | None:
    sizes = sizes_on_offer(facts.fluid, facts.request.prices)
    return containers_of(at_hand(planned_l=outcome.litres), sizes)


def _subject(transmission: TransmissionProfile, fluid: FluidProduct | None) -> PlanSubject:
    return PlanSubject(
        transmission=transmission.name,
        family=transmission.family,
        fluid=fluid.name if fluid else None,
        invented=transmission.source.invented or (fluid is not None and fluid.source.invented),
        transmission_source=transmission.source,
        fluid_source=fluid.source if fluid else None,
        fluid_kinds=fluid.kinds if fluid else (),
    )


def _of_choice(
    facts: PlanFacts, judged: tuple[Judged, ...], chosen: Judged | None
) -> list[Finding]:
    """What speaks against the chosen route; with none chosen, what refuses every route."""
    if chosen is None:
        text = "Every route that renews fluid is refused."
        return [NO_ROUTE_POSSIBLE.at("#", text), *_bars_of(judged)]
    found = list(chosen.findings)
    if facts.request.exchanged is not None and chosen.route not in LINE_ROUTES:
        text = f"{facts.request.exchanged.l:g} L are fixed; {chosen.route} has no line exchange."
        found.append(FIXED_LITRES_UNUSED.at("#/exchanged", text))
    if chosen.standing == "no":
        found.insert(0, ROUTE_REFUSED.at("#/route", f"{chosen.route} is refused."))
    return found


def _bars_of(judged: tuple[Judged, ...]) -> list[Finding]:
    """What refuses every route alike; only where there is no such thing, what refuses each."""
    stops = [[f for f in one.findings if f.severity == "stop"] for one in judged]
    everywhere = set.intersection(*({(f.code, f.pointer) for f in found} for found in stops))
    all_stops = [f for found in stops for f in found]
    return [f for f in all_stops if (f.code, f.pointer) in everywhere] or all_stops


def _once(findings: list[Finding]) -> tuple[Finding, ...]:
    """Each finding once, in the order first found; one code may stand at several places."""
    return tuple({(f.code, f.pointer): f for f in reversed(findings)}.values())[::-1]
