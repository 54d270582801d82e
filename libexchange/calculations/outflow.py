"""The fresh share from samples of the outflow, and what they tell of the circuit."""

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from libexchange import outflow_findings as kinds
from libexchange.calculations._faults import raise_if_any
from libexchange.calculations.circuit_record import circuit_of, start_of
from libexchange.calculations.outflow_request import EXAMPLE, OutflowRequest, outflow_faults
from libexchange.findings import Finding
from libexchange.outflow import LEAST_SAMPLES, Line, fresh_share_by_check_sum, shares_of
from libexchange.outflow_fit import LEAST_SAMPLES as LEAST_FOR_MODEL
from libexchange.outflow_fit import NAMES, CoefficientInterval, fit_coefficients
from libexchange.outflow_integral import OutflowShares
from libexchange.outflow_samples import (
    Ordered,
    order_findings,
    ordered,
    reference_findings,
    share_findings,
)
from libexchange.plan.records import Estimate
from libexchange.quantities import Volume

__all__ = ["EXAMPLE", "OutflowAnswer", "OutflowRequest", "calculate_outflow"]

TOTAL_AGREES = 0.05
SHARES = Line(old=0.0, fresh=1.0, old_uncertainty=0.0, fresh_uncertainty=0.0)


class OutflowPoint(Struct, frozen=True, kw_only=True):
    """A sample as a share, with its standard deviation.

    exchanged: litres through the line    outflow_fresh_share: 0 to 1
    uncertainty: standard deviation of the share
    """

    exchanged: Volume
    outflow_fresh_share: float
    uncertainty: float


class OutflowCoefficient(Struct, frozen=True, kw_only=True):
    """A coefficient with the limits of its 90 % interval; null where it cannot be told.

    state: told, or cannot be told apart    low, high: limits    expected: the likely one
    """

    state: Literal["told", "cannot_tell"]
    low: float | None
    expected: float | None
    high: float | None


class OutflowCoefficients(Struct, frozen=True, kw_only=True):
    """What the samples tell of the circuit, as if its volumes were right.

    pocket_exchange, internal_return, short_cut: kappa, g and sigma of the circuit model [-]
    """

    pocket_exchange: OutflowCoefficient
    internal_return: OutflowCoefficient
    short_cut: OutflowCoefficient


class OutflowAnswer(Struct, frozen=True, kw_only=True):
    """The share inside as measured by what left, and what is told of the circuit.

    fresh_share: with its 90 % interval; null where the samples do not tell it
    outflow: the samples that count, in order    coefficients: null without a circuit
    findings: doubts about the samples
    """

    fresh_share: Estimate | None
    outflow: list[OutflowPoint]
    coefficients: OutflowCoefficients | None
    findings: list[Finding]


def calculate_outflow(request: OutflowRequest) -> OutflowAnswer:
    """The fresh share inside by the check-sum over what left, without a model.

    Raises: InvalidInput    Source: fluid balance, see `outflow`; fit, see `outflow_fit`.

    >>> import msgspec
    >>> answer = calculate_outflow(msgspec.convert(EXAMPLE, OutflowRequest))
    >>> share = answer.fresh_share
    >>> [round(part, 2) for part in (share.low, share.expected, share.high)]
    [0.78, 0.8, 0.82]
    """
    raise_if_any(outflow_faults(request))
    exchanged_l, line = request.exchanged.l, _line(request)
    samples = ordered(request.samples, exchanged_l)
    found = [*order_findings(request.samples, exchanged_l), *_barriers(request, samples, line)]
    if any(finding.code in _BARRIERS for finding in found):
        return _nothing(request, found)
    outflow = shares_of(
        litres=samples.litres,
        signals=samples.values,
        uncertainties=samples.uncertainties,
        line=line,
    )
    found += share_findings(outflow, samples.places, exchanged_l)
    impossible = any(finding.code == kinds.SHARE_IMPOSSIBLE.code for finding in found)
    share = None if impossible else _fresh_share(request, outflow)
    found += [] if impossible else _beyond_fill(share)
    coefficients, told = _coefficients(request, outflow)
    return OutflowAnswer(
        fresh_share=share,
        outflow=_points(outflow),
        coefficients=coefficients,
        findings=[*found, *told],
    )


_BARRIERS = {kinds.NOT_LINEAR.code, kinds.REFERENCES_CLOSE.code, kinds.TOO_FEW.code}


def _line(request: OutflowRequest) -> Line:
    old, fresh = request.old_reference, request.fresh_reference
    if old is None or fresh is None:
        return SHARES
    return Line(old.value, fresh.value, old.uncertainty, fresh.uncertainty)


def _barriers(request: OutflowRequest, samples: Ordered, line: Line) -> Iterator[Finding]:
    """Why no share can be told."""
    if request.signal == "viscosity":
        yield kinds.NOT_LINEAR.at("#/signal", "No share is told from it.")
    beyond = sum(litres > 0 for litres in samples.litres)
    if beyond < LEAST_SAMPLES:
        text = f"Beyond 0 L: {beyond}; it takes {LEAST_SAMPLES} at different litres."
        yield kinds.TOO_FEW.at("#/samples", text, values={"samples": beyond})
    if line is not SHARES:
        yield from reference_findings(line, samples.uncertainties)


def _fresh_share(request: OutflowRequest, outflow: OutflowShares) -> Estimate | None:
    share = fresh_share_by_check_sum(
        outflow=outflow,
        exchanged_l=request.exchanged.l,
        total_l=request.total.l,
        total_uncertainty_l=request.total_uncertainty.l,
        start_share=request.start_fresh_share,
        start_uncertainty=request.start_uncertainty,
    )
    if share is None:
        return None
    return Estimate(low=share.low, expected=share.expected, high=share.high)


def _beyond_fill(share: Estimate | None) -> list[Finding]:
    """Litres and samples that do not go together: surely, or as far as they are known."""
    if share is None:
        text = "All that the samples allow lies beyond what can be inside; no share is told."
        return [kinds.BEYOND_FILL.at("#/samples", text)]
    if share.expected < 1:
        return []
    text = f"They come to all fresh or more; it may be {share.low:.2f}."
    values = {"low": share.low}
    return [kinds.BEYOND_FILL.at("#/samples", text, values=values, severity="note")]


def _points(outflow: OutflowShares) -> list[OutflowPoint]:
    rows = enumerate(zip(outflow.litres, outflow.shares, outflow.covariance, strict=True))
    return [
        OutflowPoint(
            exchanged=Volume(litres, "L"), outflow_fresh_share=share, uncertainty=row[at] ** 0.5
        )
        for at, (litres, share, row) in rows
    ]


def _coefficients(
    request: OutflowRequest, outflow: OutflowShares
) -> tuple[OutflowCoefficients | None, list[Finding]]:
    if request.circuit is None:
        return None, []
    circuit = circuit_of(request.circuit)
    found = _total_findings(request, circuit.total_l)
    if len(outflow.litres) < LEAST_FOR_MODEL:
        text = f"There are {len(outflow.litres)}; it takes {LEAST_FOR_MODEL} at different litres."
        return _untold(), [*found, kinds.TOO_FEW_FOR_MODEL.at("#/samples", text)]
    state = start_of(circuit, request.before)
    fit = fit_coefficients(outflow=outflow, circuit=circuit, state=state)
    told = {name: getattr(fit, name) for name in NAMES}
    if fit.fits:
        found += [_not_told(name) for name, interval in told.items() if interval is None]
    else:
        text = f"The squares add up to {fit.squares:.0f}; {fit.limit:.0f} are possible by chance."
        values = {"squares": fit.squares, "limit": fit.limit}
        found.append(kinds.NO_FIT.at("#/circuit", text, values=values))
    return OutflowCoefficients(**{name: _coefficient(told[name]) for name in NAMES}), found


def _total_findings(request: OutflowRequest, circuit_l: float) -> list[Finding]:
    total_l = request.total.l
    if abs(circuit_l - total_l) <= TOTAL_AGREES * total_l:
        return []
    text = f"They add up to {circuit_l:g} L beside a total of {total_l:g} L."
    values = {"circuit_l": circuit_l, "total_l": total_l}
    return [kinds.TOTAL_DIFFERS.at("#/circuit", text, values=values)]


def _not_told(name: str) -> Finding:
    return kinds.NOT_TOLD.at(f"#/circuit/{name}", "Much of its range fits.", values={"name": name})


def _coefficient(interval: CoefficientInterval | None) -> OutflowCoefficient:
    if interval is None:
        return OutflowCoefficient(state="cannot_tell", low=None, expected=None, high=None)
    return OutflowCoefficient(
        state="told", low=interval.low, expected=interval.expected, high=interval.high
    )


def _untold() -> OutflowCoefficients:
    return OutflowCoefficients(**{name: _coefficient(None) for name in NAMES})


def _nothing(request: OutflowRequest, found: list[Finding]) -> OutflowAnswer:
    coefficients = None if request.circuit is None else _untold()
    return OutflowAnswer(fresh_share=None, outflow=[], coefficients=coefficients, findings=found)
