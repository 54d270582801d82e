"""What share will be fresh, with its band, and the litres that go with it."""

from functools import lru_cache

from libexchange.circuit import all_old, ceiling, exchange_curve, plug_flow
from libexchange.plan.priors import PRIORS, SEALED_SYSTEM_LIMIT_L
from libexchange.plan.records import CurvePoint, Estimate, Forecast, Litres, RuleOfThumb
from libexchange.plan.routes import LINE_ROUTES, Outcome, tenths
from libexchange.plan.unit import Unit
from libexchange.quantities import Volume

CURVE_POINTS = 13


def estimate(unit: Unit, outcome: Outcome) -> Estimate:
    """Low, expected and high fresh share; never above plug flow or the ceiling."""
    circuit, start = unit.circuit, all_old(unit.circuit)
    top = min(
        plug_flow(circuit=circuit, state=start, exchanged_l=outcome.litres),
        ceiling(circuit=circuit, state=start),
    )
    return Estimate(
        low=_shown(max(outcome.fresh_share - unit.band, 0.0)),
        expected=_shown(outcome.fresh_share),
        high=_shown(max(min(outcome.fresh_share + unit.band, top), outcome.fresh_share)),
    )


@lru_cache(maxsize=256)
def forecast_of(unit: Unit, outcome: Outcome) -> Forecast:
    """The forecast of a route, with the curve of its line exchange where it has one."""
    return Forecast(
        fresh_share=estimate(unit, outcome),
        ceiling=_shown(ceiling(circuit=unit.circuit, state=all_old(unit.circuit))),
        basis=unit.basis,
        curve=_curve(unit, outcome),
    )


@lru_cache(maxsize=256)
def litres_of(unit: Unit, outcome: Outcome, target_share: float | None) -> Litres:
    """Litres planned, the least that could reach the target, and what to have at hand.

    At hand: planned and a reserve of 1 L or 10 %, whichever is more (common practice).
    """
    planned_l = outcome.litres
    return Litres(
        planned=tenths(planned_l),
        minimum=tenths(_least_l(unit, outcome, target_share)),
        maximum=tenths(planned_l + max(1.0, 0.1 * planned_l)),
    )


@lru_cache(maxsize=256)
def rule_of_thumb(unit: Unit, family: str) -> RuleOfThumb | None:
    """Total fill and a surplus, line exchange only, with the share it reaches on this unit.

    None for units above 12 L, where the trade does not use it. Source: common practice.
    """
    total_l = unit.circuit.total_l
    if total_l > SEALED_SYSTEM_LIMIT_L:
        return None
    litres = total_l + PRIORS[family].thumb_surplus_l  # type: ignore[index]  # a Family by its record
    curve = exchange_curve(circuit=unit.circuit, state=all_old(unit.circuit))
    return RuleOfThumb(
        litres=tenths(litres), fresh_share=_shown(curve.fresh_share(exchanged_l=litres))
    )


def _curve(unit: Unit, outcome: Outcome) -> tuple[CurvePoint, ...]:
    if outcome.curve is None:
        return ()
    end_l = min(max(outcome.exchanged_l, 1.5 * unit.circuit.total_l), outcome.curve.limit_l)
    steps = [end_l * n / (CURVE_POINTS - 1) for n in range(CURVE_POINTS)]
    return tuple(
        CurvePoint(
            exchanged=Volume(_shown(litres), "L"),
            fresh_share=_shown(outcome.curve.fresh_share(exchanged_l=litres)),
            outflow_fresh_share=_shown(outcome.curve.outflow_fresh_share(exchanged_l=litres)),
        )
        for litres in steps
    )


def _least_l(unit: Unit, outcome: Outcome, target_share: float | None) -> float:
    if outcome.curve is None or target_share is None or outcome.route not in LINE_ROUTES:
        return outcome.litres
    lenient = outcome.curve.exchanged_l_for(target=max(target_share - unit.band, 0.0))
    if lenient is None:
        return outcome.litres
    return outcome.refilled_l + min(lenient, outcome.exchanged_l)


def _shown(number: float) -> float:
    """A number of a plan: six digits, so that a document does not show rounding noise."""
    return round(number, 6)
