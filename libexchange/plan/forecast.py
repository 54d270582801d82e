"""What share will be fresh, with its band, and the litres that go with it."""

from functools import lru_cache

from libexchange.catalogue import TransmissionProfile
from libexchange.circuit import all_old, ceiling, exchange_curve, plug_flow
from libexchange.plan.band import band_of
from libexchange.plan.priors import PRIORS, SEALED_SYSTEM_LIMIT_L
from libexchange.plan.records import CurvePoint, Estimate, Forecast, Litres, RuleOfThumb
from libexchange.plan.routes import LINE_ROUTES, Outcome, tenths
from libexchange.plan.spreads import CUSTOMER_BAND
from libexchange.plan.supplies import at_hand
from libexchange.plan.unit import Unit
from libexchange.quantities import Volume

CURVE_POINTS = 13


@lru_cache(maxsize=1024)
def estimate(transmission: TransmissionProfile, unit: Unit, outcome: Outcome) -> Estimate:
    """Low, expected and high fresh share; never above plug flow or the ceiling.

    Low and high are the 5 % and 95 % edges under the spreads of `spreads`. Where total and drained
    amount are not maker data they are at least 0.08 apart from what is expected.
    """
    circuit, start, expected = unit.circuit, all_old(unit.circuit), outcome.fresh_share
    top = min(
        plug_flow(circuit=circuit, state=start, exchanged_l=outcome.litres),
        ceiling(circuit=circuit, state=start),
    )
    below, above = band_of(transmission, outcome)
    least = 0.0 if transmission.source.kind == "maker" else CUSTOMER_BAND
    return Estimate(
        low=_shown(min(max(expected + min(below, -least), 0.0), expected)),
        expected=_shown(expected),
        high=_shown(max(min(expected + max(above, least), top), expected)),
    )


@lru_cache(maxsize=256)
def forecast_of(transmission: TransmissionProfile, unit: Unit, outcome: Outcome) -> Forecast:
    """The forecast of a route, with the curve of its line exchange where it has one."""
    return Forecast(
        fresh_share=estimate(transmission, unit, outcome),
        ceiling=_shown(ceiling(circuit=unit.circuit, state=all_old(unit.circuit))),
        basis=unit.basis,
        curve=_curve(unit, outcome),
    )


@lru_cache(maxsize=256)
def litres_of(
    transmission: TransmissionProfile, unit: Unit, outcome: Outcome, target_share: float | None
) -> Litres:
    """Litres planned, the least that could reach the target, and what to have at hand.

    At hand: planned and a reserve of 1 L or 10 %, whichever is more (common practice).
    """
    planned_l = outcome.litres
    return Litres(
        planned=tenths(planned_l),
        minimum=tenths(_least_l(estimate(transmission, unit, outcome), outcome, target_share)),
        maximum=at_hand(planned_l=planned_l),
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


def _least_l(share: Estimate, outcome: Outcome, target_share: float | None) -> float:
    if outcome.curve is None or target_share is None or outcome.route not in LINE_ROUTES:
        return outcome.litres
    luck = share.high - share.expected
    lenient = outcome.curve.exchanged_l_for(target=max(target_share - luck, 0.0))
    if lenient is None:
        return outcome.litres
    return outcome.refilled_l + min(lenient, outcome.exchanged_l)


def _shown(number: float) -> float:
    """A number of a plan: six digits, so that a document does not show rounding noise."""
    return round(number, 6)
