"""Every route computed and judged, and the one that is proposed."""

from functools import lru_cache

from msgspec import Struct

from libexchange.findings import Finding, worst
from libexchange.plan.forecast import estimate
from libexchange.plan.quote import cost_of, quote_lines, times_of
from libexchange.plan.records import Alternative, Risk, Standing
from libexchange.plan.request import Route
from libexchange.plan.routes import LINE_ROUTES, ROUTES, Aim, Outcome
from libexchange.plan.unit import Unit
from libexchange.quantities import Duration, Volume
from libexchange.rules import route_findings
from libexchange.rules.facts import PlanFacts, RouteFacts, doses_on

RISK: dict[Route, Risk] = {
    "level_only": "low",
    "drain": "low",
    "drain_cycles": "low",
    "suction": "low",
    "pan_and_filter": "low",
    "pan_and_filter_then_line": "medium",
    "line_exchange": "medium",
    "line_batches": "high",
}
"""What can go wrong on a route when it may be taken at all (common practice)."""

_STANDING: dict[str | None, Standing] = {"stop": "no", "caution": "caution"}
_RANK: dict[Standing, int] = {"possible": 0, "caution": 1, "no": 2}


class Judged(Struct, frozen=True, kw_only=True):
    """A route with what it comes to and what speaks against it."""

    route: Route
    outcome: Outcome | None
    findings: tuple[Finding, ...]

    @property
    def standing(self) -> Standing:
        """Whether the route may be taken; a route that cannot be computed may not."""
        if self.outcome is None:
            return "no"
        return _STANDING.get(worst(list(self.findings)), "possible")


def judge_routes(facts: PlanFacts, aim: Aim, bars: tuple[Finding, ...] = ()) -> tuple[Judged, ...]:
    """Every route, refused ones included.

    bars: stop findings on the request as a whole; they refuse every route
    """
    return tuple(_judge(facts, route, aim, bars) for route in ROUTES)


def choose(judged: tuple[Judged, ...], facts: PlanFacts) -> Judged | None:
    """The route asked for, or the best that may be taken: see `_preference`.

    Setting the level alone renews nothing, so it is never proposed.
    None when no route may be taken and none was asked for.
    """
    if facts.request.route is not None:
        return next(one for one in judged if one.route == facts.request.route)
    allowed = [one for one in judged if one.standing != "no" and one.route != "level_only"]
    if facts.request.exchanged is not None:
        allowed = [one for one in allowed if one.route in LINE_ROUTES] or allowed
    if "high_distance_never_serviced" in facts.request.conditions:  # small steps before the target
        allowed = [one for one in allowed if one.standing == "possible"] or allowed
    if facts.request.reason == "maker_drain":
        allowed = [one for one in allowed if one.route in ("drain", "pan_and_filter")] or allowed
    if facts.request.reason == "unknown_fluid":
        allowed = [one for one in allowed if one.route == "pan_and_filter"] or allowed
    outcomes = {one.route: one.outcome for one in allowed if one.outcome is not None}
    return min(allowed, key=lambda one: _preference(one, outcomes[one.route], facts), default=None)


def alternative_of(judged: Judged, facts: PlanFacts) -> Alternative:
    """The route as it is shown beside the others."""
    outcome, unit = judged.outcome, facts.unit
    if outcome is None or unit is None:
        return _uncomputed(judged)
    doses = doses_on(facts, outcome)
    times = times_of(facts.transmission, outcome, doses)
    lines = quote_lines(facts.transmission, outcome, facts.request.prices, doses)
    return Alternative(
        route=judged.route,
        standing=judged.standing,
        litres=Volume(round(outcome.litres, 1), "L"),
        fresh_share=estimate(facts.transmission, unit, outcome),
        cycles=outcome.cycles,
        hands_on=_hours(times.hands_on_h),
        lift=_hours(times.lift_h),
        elapsed=_hours(times.elapsed_h),
        cost=cost_of(lines),
        risk="high" if judged.standing == "no" else RISK[judged.route],
        reasons=judged.findings,
    )


@lru_cache(maxsize=1024)
def _outcome(route: Route, unit: Unit, aim: Aim) -> Outcome:
    """What a route comes to; workshops plan the same units again and again."""
    return ROUTES[route](unit, aim)


def _judge(facts: PlanFacts, route: Route, aim: Aim, bars: tuple[Finding, ...]) -> Judged:
    outcome = _outcome(route, facts.unit, aim) if facts.unit is not None else None
    route_facts = RouteFacts(plan=facts, route=route, outcome=outcome)
    return Judged(route=route, outcome=outcome, findings=(*bars, *route_findings(route_facts)))


def _preference(judged: Judged, outcome: Outcome, facts: PlanFacts) -> tuple[float, ...]:
    """Reaches the target, then fewest cautions, then fewest litres; else the highest share."""
    target = facts.target_share
    if target is None:
        return (0, _RANK[judged.standing], float(outcome.route in LINE_ROUTES), outcome.litres)
    if outcome.fresh_share >= target - 1e-9:
        cautions = sum(finding.severity == "caution" for finding in judged.findings)
        return (0, cautions, outcome.litres)
    return (1, -round(outcome.fresh_share, 3), outcome.litres)


def _uncomputed(judged: Judged) -> Alternative:
    return Alternative(
        route=judged.route,
        standing="no",
        litres=None,
        fresh_share=None,
        cycles=None,
        hands_on=None,
        lift=None,
        elapsed=None,
        cost=None,
        risk="high",
        reasons=judged.findings,
    )


def _hours(hours: float) -> Duration:
    return Duration(round(hours, 2), "h")
