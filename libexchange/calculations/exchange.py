"""The fresh share that a line exchange reaches."""

from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.calculations._faults import out_of_range, raise_if_any
from libexchange.calculations.circuit_record import (
    CircuitRecord,
    DrainBefore,
    circuit_faults,
    circuit_of,
    start_of,
)
from libexchange.calculations.exchange_band import share_edges
from libexchange.calculations.target_findings import BAND_NOT_MEASURED, litres_beyond_use
from libexchange.circuit import (
    Circuit,
    CircuitState,
    ExchangeCurve,
    ceiling,
    exchange_curve,
    lower_reference,
    mixed_reference,
    plug_flow,
)
from libexchange.errors import InvalidInput
from libexchange.findings import Finding
from libexchange.plan.records import CurvePoint, Estimate
from libexchange.quantities import Volume

EXAMPLE: dict[str, Any] = {
    "circuit": {
        "sump": {"value": 4.3, "unit": "L"},
        "converter": {"value": 2.9, "unit": "L"},
        "line": {"value": 0.8, "unit": "L"},
        "pockets": {"value": 0.8, "unit": "L"},
        "stranded": {"value": 0.2, "unit": "L"},
    },
    "before": {
        "drained": {"value": 3.8, "unit": "L"},
        "converter_run_back": 0.05,
        "pockets_run_back": 0.15,
    },
    "exchanged": {"value": 5.0, "unit": "L"},
    "points": 11,
}


class ExchangeRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A line exchange, perhaps after a drain and refill.

    exchanged: litres through the line alone, from 0    points: 2 to 500, evenly spaced
    circuit: the unit that the fluid is exchanged in    before: drain and refill, null without one
    """

    circuit: CircuitRecord
    before: DrainBefore | None = None
    exchanged: Volume
    points: Annotated[int, Meta(ge=2, le=500)] = 51


class ExchangeAnswer(Struct, frozen=True, kw_only=True):
    """The share of fresh fluid inside and in what leaves, its bounds and its course.

    `plug_flow` and `ceiling` bound the share from above, `lower_reference` from below where
    `short_cut` is 0; `mixed_reference` is a reference and no bound.

    `low` and `high` of the share are its 5 % and 95 % edges if each number of the circuit is only
    about right: each volume to 15 %, the pocket exchange to a factor of 4, the internal return to
    0.5 more and half of what is above 1 less, the short cut to 0.10 more and 0.05 less; the drained
    amount to 5 % and each run-back to two thirds (all from memory). The litres exchanged count as
    exact. Both keep between the share before the exchange and the lesser of `plug_flow` and
    `ceiling`.
    fresh_share: inside, 0 to 1    outflow_fresh_share: in what leaves
    mixed_reference: as if all were stirred    plug_flow: as if nothing mixed
    lower_reference: from below    ceiling: that no number of litres passes
    curve: shares over litres    findings: doubts
    """

    fresh_share: Estimate
    outflow_fresh_share: float
    ceiling: float
    mixed_reference: float
    plug_flow: float
    lower_reference: float
    curve: list[CurvePoint]
    findings: list[Finding]


def calculate_exchange(request: ExchangeRequest) -> ExchangeAnswer:
    """The fresh share after a line exchange, with its band, bounds and curve.

    Raises: InvalidInput
    Source: compartment model of `circuit`; what its numbers may be off by is from memory.

    >>> import msgspec
    >>> answer = calculate_exchange(msgspec.convert(EXAMPLE, ExchangeRequest))
    >>> round(answer.fresh_share.expected, 9), round(answer.ceiling, 3)
    (0.825032118, 0.978)
    """
    raise_if_any(circuit_faults(request.circuit, request.before))
    circuit = circuit_of(request.circuit)
    state = start_of(circuit, request.before)
    curve = exchange_curve(circuit=circuit, state=state)
    exchanged_l = request.exchanged.l
    if exchanged_l > curve.limit_l:
        allowed = f"0 to {curve.limit_l:g} L with this circuit"
        raise InvalidInput(out_of_range("/exchanged", request.exchanged, allowed))
    edges = share_edges(circuit=circuit, before=request.before, exchanged_l=exchanged_l)
    return _answer(circuit, state, curve, exchanged_l, edges, request.points)


def _answer(
    circuit: Circuit,
    state: CircuitState,
    curve: ExchangeCurve,
    exchanged_l: float,
    edges: tuple[float, float],
    points: int,
) -> ExchangeAnswer:
    highest = ceiling(circuit=circuit, state=state)
    plug = plug_flow(circuit=circuit, state=state, exchanged_l=exchanged_l)
    share = _estimate(curve, exchanged_l, edges, min(plug, highest))
    return ExchangeAnswer(
        fresh_share=share,
        outflow_fresh_share=curve.outflow_fresh_share(exchanged_l),
        ceiling=highest,
        mixed_reference=mixed_reference(circuit=circuit, state=state, exchanged_l=exchanged_l),
        plug_flow=plug,
        lower_reference=lower_reference(circuit=circuit, state=state, exchanged_l=exchanged_l),
        curve=_points(curve, exchanged_l, points),
        findings=[
            *litres_beyond_use(exchanged_l=exchanged_l, total_l=circuit.total_l),
            _band_note(share),
        ],
    )


def _estimate(
    curve: ExchangeCurve, exchanged_l: float, edges: tuple[float, float], top: float
) -> Estimate:
    """Expected share with its edges, kept between the start and what is possible."""
    expected = curve.fresh_share(exchanged_l)
    start = min(curve.fresh_share(0.0), expected)
    return Estimate(
        low=min(max(expected + edges[0], start), expected),
        expected=expected,
        high=max(min(expected + edges[1], top), expected),
    )


def _points(curve: ExchangeCurve, exchanged_l: float, points: int) -> list[CurvePoint]:
    steps = [exchanged_l * (n / (points - 1)) for n in range(points)]
    return [
        CurvePoint(
            exchanged=Volume(litres, "L"),
            fresh_share=curve.fresh_share(litres),
            outflow_fresh_share=curve.outflow_fresh_share(litres),
        )
        for litres in steps
    ]


def _band_note(share: Estimate) -> Finding:
    text = f"About {share.expected:.2f}, from {share.low:.2f} to {share.high:.2f}."
    return BAND_NOT_MEASURED.at("#/circuit", text, values={"low": share.low, "high": share.high})
