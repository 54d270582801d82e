"""Tell whether a gate is open."""

from typing import Annotated, Any

from msgspec import Meta, Struct, structs

from libexchange.calculations._faults import fault, out_of_range, raise_if_any
from libexchange.catalogue import (
    BypassPlace,
    LevelMethod,
    TemperatureWindow,
    reversed_window,
)
from libexchange.errors import Fault
from libexchange.fields import Instant
from libexchange.findings import Finding
from libexchange.gate import GateKind, evaluate
from libexchange.gate_findings import BYPASS_UNUSUAL, USUAL_BYPASS_C
from libexchange.gate_line import FLOWS_COLD
from libexchange.gate_opening import BLOCK_C
from libexchange.gate_outcome import GateAnswer
from libexchange.gate_trust import Stand
from libexchange.level_findings import window_suspicion
from libexchange.quantities import Duration, Temperature, TemperatureRate
from libexchange.readings import MOST_READINGS, Reading

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

    low: what a line exchange needs, margin included; the lower edge of a level window; what a
        cleaner needs to act, 20 to 120 Cel, null is 60; an opening takes none
    high: upper edge of a level window; optional upper limit of a line exchange; what an opening
        has to be below, null is 60 Cel and more counts as 60: hotter takes `maker_high`
    hold: how long it must hold; null is 10 s in a level window, 20 s of flow, 12 min of contact
        (1 to 60 min)
    method: how the level is read, with its own rule for the trend; null is an overflow plug
    bypass: where it sits; without one, or with one in the cooler, flow alone opens a line exchange
    expected_rate: what a forecast expects now, to know a sensor that stands still; null lets the
        readings tell
    maker_high: the maker's own limit for this opening, which wins once protection is confirmed,
        though nothing is opened above 110 Cel
    checked_with_engine_running: how the maker wants the level read; a window stays closed while
        its readings say that the engine is in the other state
    ambient, stood: the air, and how long the vehicle had stood when the readings began; after more
        than 8 h a first reading far from the air is not relied on
    kind: what waits for it    at: the moment to judge    readings: none after it counts
    protection_confirmed: that face shield, gloves and sleeves are worn, for hot work of the maker
    """

    kind: GateKind
    low: Temperature | None = None
    high: Temperature | None = None
    hold: Duration | None = None
    readings: Annotated[list[Reading], Meta(max_length=MOST_READINGS)]
    at: Instant
    method: LevelMethod | None = None
    bypass: BypassPlace | None = None
    expected_rate: TemperatureRate | None = None
    maker_high: Temperature | None = None
    protection_confirmed: bool = False
    checked_with_engine_running: bool = True
    ambient: Temperature | None = None
    stood: Duration | None = None


def calculate_gate(request: GateRequest) -> GateAnswer:
    """Whether the gate is open at the moment asked for, and when that is expected to change.

    Raises: InvalidInput    Source: common practice.

    >>> import msgspec
    >>> calculate_gate(msgspec.convert(EXAMPLE, GateRequest)).state
    'open'
    """
    raise_if_any(
        [
            *_missing_edges(request),
            *_edge_faults(request),
            *_contact_faults(request),
            *([_AMBIENT_MISSING] if request.stood and not request.ambient else []),
        ]
    )
    answer = evaluate(
        kind=request.kind,
        low_c=request.low.c if request.low else None,
        high_c=_high_c(request),
        hold_s=request.hold.s if request.hold else None,
        readings=request.readings,
        at=request.at,
        method=request.method,
        bypass=request.bypass,
        expected_rate_k_per_min=request.expected_rate.k_per_min if request.expected_rate else None,
        maker_high_c=request.maker_high.c if request.maker_high else None,
        protection_confirmed=request.protection_confirmed,
        checked_with_engine_running=request.checked_with_engine_running,
        stand=_stand(request),
    )
    suspicious = [*_suspicious_window(request), *_suspicious_bypass(request)]
    return structs.replace(answer, findings=[*answer.findings, *suspicious])


def _high_c(request: GateRequest) -> float | None:
    """Nobody but the maker, with protection confirmed, lets an opening be hotter than our limit."""
    if request.high is None:
        return None
    return min(request.high.c, BLOCK_C) if request.kind == "opening" else request.high.c


def _stand(request: GateRequest) -> Stand | None:
    if request.ambient is None or request.stood is None:
        return None
    return Stand(stood_s=request.stood.s, ambient_c=request.ambient.c)


def _suspicious_window(request: GateRequest) -> list[Finding]:
    if request.kind != "level_window" or request.low is None or request.high is None:
        return []
    return window_suspicion(TemperatureWindow(low=request.low, high=request.high), "#/low")


def _suspicious_bypass(request: GateRequest) -> list[Finding]:
    low, (least_c, most_c) = request.low, USUAL_BYPASS_C
    waits = request.kind == "line_exchange" and request.bypass not in FLOWS_COLD
    if low is None or not waits or least_c <= low.c <= most_c:
        return []
    text = f"It waits for {low.c:g} °C; usual is {least_c:g} to {most_c:g} °C."
    return [BYPASS_UNUSUAL.at("#/low", text, values={"low_c": low.c})]


def _missing_edges(request: GateRequest) -> list[Fault]:
    is_window = request.kind == "level_window"
    waits_for_heat = request.kind == "line_exchange" and request.bypass not in FLOWS_COLD
    needs_low = is_window or waits_for_heat
    low = [_LOW_MISSING] if needs_low and request.low is None else []
    high_missing = is_window and request.high is None
    return [*low, _HIGH_MISSING] if high_missing else low


def _contact_faults(request: GateRequest) -> list[Fault]:
    if request.kind != "contact_time":
        return []
    low, hold = request.low, request.hold
    cold = low is not None and not 20 <= low.c <= 120
    short = hold is not None and not 60 <= hold.s <= 3600
    return [
        *([out_of_range("/low", low, "20 to 120 °C")] if cold else []),
        *([out_of_range("/hold", hold, "60 to 3,600 s")] if short else []),
    ]


def _edge_faults(request: GateRequest) -> list[Fault]:
    if request.low is None or request.high is None or request.low.c <= request.high.c:
        return []
    return [reversed_window(request.low, request.high)]


_LOW_MISSING = fault(
    "/low",
    "missing-field",
    "this gate cannot be judged without its lower edge",
    allowed="a temperature",
    remedy="Give the lower edge of the maker's window, or the opening temperature of the bypass "
    "and 3 K; or say by bypass that the line flows cold.",
)
_AMBIENT_MISSING = fault(
    "/ambient",
    "missing-field",
    "a stand tells nothing without the temperature of the air",
    allowed="a temperature",
    remedy="Give the temperature of the air where it stood, or leave stood out.",
)
_HIGH_MISSING = fault(
    "/high",
    "missing-field",
    "a level window cannot be judged without its upper edge",
    allowed="a temperature",
    remedy="Give the upper edge of the maker's window.",
)
