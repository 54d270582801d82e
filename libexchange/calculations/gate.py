"""Tell whether a gate is open."""

from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.calculations._faults import fault, raise_if_any
from libexchange.errors import Fault
from libexchange.fields import Instant
from libexchange.gate import GateAnswer, GateKind, evaluate
from libexchange.quantities import Duration, Temperature
from libexchange.readings import Reading

EXAMPLE: dict[str, Any] = {
    "kind": "level_window",
    "low": {"value": 35, "unit": "Cel"},
    "high": {"value": 45, "unit": "Cel"},
    "readings": [
        {
            "at": f"2024-05-02T09:00:{second:02d}Z",
            "source": "scan_tool",
            "temperature": {"value": celsius, "unit": "Cel"},
        }
        for second, celsius in ((0, 38.6), (5, 38.8), (10, 39.0))
    ],
    "at": "2024-05-02T09:00:11Z",
}


class GateRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A gate, the readings so far in any order, and the moment to judge.

    low: what a line exchange needs, or the lower edge of a level window
    high: upper edge of a level window; optional upper limit of a line exchange
    hold: how long it must hold; null stands for 10 s in a level window and 20 s of flow
    """

    kind: GateKind
    low: Temperature
    high: Temperature | None = None
    hold: Duration | None = None
    readings: Annotated[list[Reading], Meta(max_length=10_000)]
    at: Instant


def calculate_gate(request: GateRequest) -> GateAnswer:
    """Whether the gate is open at the moment asked for, and when that is expected to change.

    Raises: InvalidInput    Source: common practice.

    >>> import msgspec
    >>> calculate_gate(msgspec.convert(EXAMPLE, GateRequest)).state
    'open'
    """
    raise_if_any(_edge_faults(request))
    return evaluate(
        kind=request.kind,
        low_c=request.low.c,
        high_c=request.high.c if request.high else None,
        hold_s=request.hold.s if request.hold else None,
        readings=request.readings,
        at=request.at,
    )


def _edge_faults(request: GateRequest) -> list[Fault]:
    if request.high is None:
        return [_HIGH_MISSING] if request.kind == "level_window" else []
    if request.low.c <= request.high.c:
        return []
    return [
        fault(
            "/low",
            "window-reversed",
            "the lower edge is above the upper edge",
            value=request.low,
            allowed=f"up to {request.high.c:g} Cel",
            remedy="Give the lower edge as low and the upper edge as high.",
        )
    ]


_HIGH_MISSING = fault(
    "/high",
    "missing-field",
    "a level window cannot be judged without its upper edge",
    allowed="a temperature",
    remedy="Give the upper edge of the maker's window.",
)
