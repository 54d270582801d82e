"""What the calculation on the outflow is asked, and what of it cannot be computed."""

from collections.abc import Iterable, Iterator
from typing import Annotated, Any, Literal

from msgspec import Meta, Struct
from msgspec.structs import replace

from libexchange.calculations._faults import fault, out_of_range, total_faults
from libexchange.calculations.circuit_record import (
    CircuitRecord,
    DrainBefore,
    circuit_faults,
    circuit_of,
    start_of,
)
from libexchange.circuit import exchange_curve
from libexchange.errors import Fault
from libexchange.outflow_samples import OutflowReference, OutflowSample
from libexchange.quantities import Share, Volume

LARGEST_EXCHANGE_L = 2000.0
FIT_PART = 0.01
"""A fit computes hundreds of curves, so its litres are bound to this part of what one may have."""

EXAMPLE: dict[str, Any] = {
    "signal": "element_content",
    "old_reference": {"value": 55.0, "uncertainty": 1.0},
    "fresh_reference": {"value": 155.0, "uncertainty": 1.0},
    "samples": [
        {"exchanged": {"value": litres, "unit": "L"}, "value": value, "uncertainty": 1.0}
        for litres, value in (
            (1, 54.7), (2, 59.0), (3, 69.4), (4, 79.1), (5, 87.6), (6, 99.0), (7, 106.9),
            (8, 114.8), (9, 119.1), (10, 125.9), (11, 130.1), (12, 135.0),
        )
    ],
    "exchanged": {"value": 12.0, "unit": "L"},
    "total": {"value": 9.0, "unit": "L"},
    "total_uncertainty": {"value": 0.1, "unit": "L"},
    "circuit": {
        "sump": {"value": 4.3, "unit": "L"},
        "converter": {"value": 2.9, "unit": "L"},
        "line": {"value": 0.8, "unit": "L"},
        "pockets": {"value": 0.8, "unit": "L"},
        "stranded": {"value": 0.2, "unit": "L"},
    },
}  # fmt: skip


class OutflowRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Samples of what left during a line exchange; volumes at 15 degC.

    signal: what the samples read; a share needs no references, any other signal needs both and has
    to be linear in the share, which viscosity is not
    exchanged: litres of the whole line exchange, up to 2,000 L    total: 0.5 to 500 L
    total_uncertainty, start_uncertainty: standard deviations
    start_fresh_share: inside, before the line exchange
    circuit: its volumes, to learn its coefficients; those it names itself do not count
    before: the drain and refill before, only with `circuit`
    samples: of the outflow, in the order they were taken
    old_reference, fresh_reference: what fluid reads that is all old, or all fresh
    """

    signal: Literal["fresh_share", "element_content", "dye", "colour_meter", "viscosity"]
    samples: Annotated[list[OutflowSample], Meta(max_length=100)]
    old_reference: OutflowReference | None = None
    fresh_reference: OutflowReference | None = None
    exchanged: Volume
    total: Volume
    total_uncertainty: Volume
    start_fresh_share: Share = 0.0
    start_uncertainty: Share = 0.0
    circuit: CircuitRecord | None = None
    before: DrainBefore | None = None


def outflow_faults(request: OutflowRequest) -> Iterable[Fault]:
    """Every reason why a request cannot be computed.

    >>> import msgspec
    >>> list(outflow_faults(msgspec.convert(EXAMPLE, OutflowRequest)))
    []
    """
    yield from total_faults(request.total)
    if request.total_uncertainty.l > request.total.l:
        allowed = f"0 to {request.total.l:g} L"
        yield out_of_range("/total_uncertainty", request.total_uncertainty, allowed)
    if request.exchanged.l > LARGEST_EXCHANGE_L:
        yield out_of_range("/exchanged", request.exchanged, f"0 to {LARGEST_EXCHANGE_L:,.0f} L")
    yield from _reference_faults(request)
    if request.circuit is not None:
        broken = circuit_faults(request.circuit, request.before)
        yield from broken or _speed_faults(request, request.circuit)
    elif request.before is not None:
        detail = "a drain before needs the circuit it was done on"
        remedy = "Give the circuit, or the share that the drain left as start_fresh_share."
        yield fault("/circuit", "missing-field", detail, allowed="a circuit", remedy=remedy)


def _reference_faults(request: OutflowRequest) -> Iterator[Fault]:
    for name in ("old_reference", "fresh_reference"):
        given = getattr(request, name) is not None
        if given and request.signal == "fresh_share":
            remedy = "Leave it out, or name the signal that was read."
            yield fault(
                f"/{name}", "not-expected", "shares need no reference", allowed="null",
                remedy=remedy,
            )  # fmt: skip
        if not given and request.signal != "fresh_share":
            detail = "a signal needs what old and what fresh fluid read"
            remedy = "Read the used and the fresh fluid by the same method."
            yield fault(f"/{name}", "missing-field", detail, allowed="a reference", remedy=remedy)


def _speed_faults(request: OutflowRequest, record: CircuitRecord) -> Iterator[Fault]:
    """Cells so small beside the litres that a fit would take seconds."""
    fastest = replace(circuit_of(record), pocket_exchange=1.0, internal_return=4.0, short_cut=0.0)
    state = start_of(fastest, request.before)
    limit_l = FIT_PART * exchange_curve(circuit=fastest, state=state).limit_l
    if request.exchanged.l > limit_l:
        allowed = f"0 to {limit_l:g} L to fit this circuit"
        yield out_of_range("/exchanged", request.exchanged, allowed)
