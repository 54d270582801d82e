"""The litres of line exchange that a target share takes."""

from typing import Any

from msgspec import Struct

from libexchange.calculations._faults import raise_if_any
from libexchange.calculations.circuit_record import (
    CircuitRecord,
    DrainBefore,
    circuit_faults,
    circuit_of,
    start_of,
)
from libexchange.calculations.exchange import EXAMPLE as EXCHANGE_EXAMPLE
from libexchange.calculations.target_findings import many_litres, unreached_target
from libexchange.circuit import ceiling, exchange_curve
from libexchange.exchange_curve import SAME_SHARE
from libexchange.findings import Finding
from libexchange.quantities import Share, Volume

EXAMPLE: dict[str, Any] = {
    "circuit": EXCHANGE_EXAMPLE["circuit"],
    "before": EXCHANGE_EXAMPLE["before"],
    "target_fresh_share": 0.8,
}


class RequiredExchangeRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A circuit, perhaps drained and refilled before, and the share it should reach.

    circuit: the unit    before: drain and refill ahead of it, null without one
    target_fresh_share: to be reached, 0 to 1
    """

    circuit: CircuitRecord
    before: DrainBefore | None = None
    target_fresh_share: Share


class RequiredExchangeAnswer(Struct, frozen=True, kw_only=True):
    """Litres through the line and what the next one adds; both null where none are enough.

    exchanged: litres    marginal_gain_per_litre: share that the next one renews
    ceiling: that no number of litres passes    findings: doubts
    """

    exchanged: Volume | None
    ceiling: float
    marginal_gain_per_litre: float | None
    findings: list[Finding]


def calculate_required_exchange(request: RequiredExchangeRequest) -> RequiredExchangeAnswer:
    """The litres of line exchange after which the whole unit has the target share.

    Raises: InvalidInput    Source: inverse of the compartment model of `circuit`.

    >>> import msgspec
    >>> answer = calculate_required_exchange(msgspec.convert(EXAMPLE, RequiredExchangeRequest))
    >>> round(answer.exchanged.l, 1), round(answer.marginal_gain_per_litre, 3)
    (4.3, 0.041)
    """
    raise_if_any(circuit_faults(request.circuit, request.before))
    circuit = circuit_of(request.circuit)
    state = start_of(circuit, request.before)
    curve = exchange_curve(circuit=circuit, state=state)
    highest, target = ceiling(circuit=circuit, state=state), request.target_fresh_share
    litres = curve.exchanged_l_for(target)
    if litres is not None:
        gain = curve.marginal_gain_per_l(litres)
        return RequiredExchangeAnswer(
            exchanged=Volume(litres, "L"),
            ceiling=highest,
            marginal_gain_per_litre=gain,
            findings=many_litres(exchanged_l=litres, total_l=circuit.total_l, gain_per_l=gain),
        )
    above = target >= highest - SAME_SHARE
    finding = unreached_target(target, highest, above=above, limit=f"{curve.limit_l:g} L")
    return RequiredExchangeAnswer(
        exchanged=None, ceiling=highest, marginal_gain_per_litre=None, findings=[finding]
    )
