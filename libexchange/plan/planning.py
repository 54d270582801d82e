"""Planning: a request and the records it names become a plan.

Every route is computed and judged by the rules; the plan proposes one and shows the others.
"""

from datetime import datetime
from uuid import UUID

from msgspec.structs import replace

from libexchange.canonical import digest
from libexchange.catalogue import FluidProduct, TransmissionProfile
from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.plan.choice import Judged, alternative_of, choose, judge_routes
from libexchange.plan.forecast import forecast_of, litres_of, rule_of_thumb
from libexchange.plan.offline import offline_card
from libexchange.plan.priors import TARGET_SHARE
from libexchange.plan.quote import quote_lines
from libexchange.plan.records import CatalogueVersions, NextService, Plan, PlanSubject
from libexchange.plan.request import PlanRequest, check_request
from libexchange.plan.routes import LINE_ROUTES, Aim
from libexchange.plan.steps import steps_of
from libexchange.plan.unit import unit_of
from libexchange.rules import plan_findings
from libexchange.rules.facts import PlanFacts

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
) -> Plan:
    """The plan for a request.

    transmission, fluid: the records that the request names or holds; fluid None when it names none
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
    facts = PlanFacts(
        request=request,
        transmission=transmission,
        fluid=fluid,
        unit=unit_of(transmission, fluid),
        target_share=request.target_fresh_share or TARGET_SHARE.get(request.reason),
    )
    found = plan_findings(facts)
    bars = tuple(finding for finding in found if finding.severity == "stop")
    judged = judge_routes(facts, _aim(facts), bars)
    chosen = choose(judged, facts)
    findings = _once([*found, *_of_choice(facts, judged, chosen)])
    plan = _assemble(facts, judged, chosen, findings, plan_id, created_at, catalogue_versions)
    return replace(plan, digest=digest(plan, without=("digest",)))


def _aim(facts: PlanFacts) -> Aim:
    fixed = facts.request.exchanged
    return Aim(target_share=facts.target_share, exchanged_l=fixed.l if fixed else None)


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
    return Plan(
        plan_id=plan_id,
        created_at=created_at,
        supersedes=facts.request.supersedes,
        request=facts.request,
        subject=_subject(transmission, facts.fluid),
        catalogue_versions=versions,
        feasible=feasible,
        route=chosen.route if chosen else None,
        litres=litres_of(unit, outcome, facts.target_share) if unit and outcome else None,
        rule_of_thumb=rule_of_thumb(unit, transmission.family) if unit else None,
        forecast=forecast_of(unit, outcome) if unit and outcome else None,
        alternatives=tuple(alternative_of(one, facts) for one in judged),
        # nobody is invited to work from a plan that a stop finding bars
        steps=steps_of(transmission, outcome) if outcome and feasible else (),
        offline_card=offline_card(transmission, unit, outcome)
        if unit and outcome and feasible
        else None,
        containers=None,
        quote_lines=quote_lines(transmission, outcome, facts.request.prices) if outcome else (),
        findings=findings,
        next_service=_next_service(transmission),
        digest="",
    )


def _subject(transmission: TransmissionProfile, fluid: FluidProduct | None) -> PlanSubject:
    return PlanSubject(
        transmission=transmission.name,
        family=transmission.family,
        fluid=fluid.name if fluid else None,
        invented=transmission.source.invented or (fluid is not None and fluid.source.invented),
    )


def _next_service(transmission: TransmissionProfile) -> NextService | None:
    """The maker's schedule, which no computed interval may exceed; null where it is not known."""
    maker = transmission.maker_interval
    if maker is None:
        return None
    return NextService(
        after_distance=maker.distance,
        after_months=maker.months,
        reasons=("The maker's schedule; heavy use or a small share renewed brings it forward.",),
    )


def _of_choice(
    facts: PlanFacts, judged: tuple[Judged, ...], chosen: Judged | None
) -> list[Finding]:
    """What speaks against the chosen route; with none chosen, what refuses every route."""
    if chosen is None:
        stops = [f for one in judged for f in one.findings if f.severity == "stop"]
        return [NO_ROUTE_POSSIBLE.at("#", "Every route is refused."), *stops]
    found = list(chosen.findings)
    if facts.request.exchanged is not None and chosen.route not in LINE_ROUTES:
        text = f"{facts.request.exchanged.l:g} L are fixed; {chosen.route} has no line exchange."
        found.append(FIXED_LITRES_UNUSED.at("#/exchanged", text))
    if chosen.standing == "no":
        found.insert(0, ROUTE_REFUSED.at("#/route", f"{chosen.route} is refused."))
    return found


def _once(findings: list[Finding]) -> tuple[Finding, ...]:
    """Each finding once, in the order first found; one code may stand at several places."""
    return tuple({(f.code, f.pointer): f for f in reversed(findings)}.values())[::-1]
