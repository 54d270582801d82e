"""Every finding of gate, level, interval and warm-up points at a field of the request as sent."""

from typing import Any, get_args

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.calculations import gate, interval, level, warm_up
from libexchange.catalogue import BypassPlace, LevelMethod
from libexchange.findings import Finding
from libexchange.gate import GateKind
from libexchange.readings import Source
from libexchange.use_case import UseCase


def resolves(pointer: str, request: msgspec.Struct) -> bool:
    """Whether a pointer leads to a field of the request, be it null."""
    at: Any = msgspec.to_builtins(request)
    for token in pointer.removeprefix("#").split("/")[1:]:
        if isinstance(at, list | tuple):
            at = at[int(token)]
        elif isinstance(at, dict) and token in at:
            at = at[token]
        else:
            return False
    return pointer.startswith("#")


def lost(findings: list[Finding], request: msgspec.Struct) -> list[tuple[str, str]]:
    return [(f.code, f.pointer) for f in findings if not resolves(f.pointer, request)]


def quantity(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


CELSIUS = st.sampled_from([-45, 5, 20, 34, 40, 44, 46, 62, 84, 96, 112, 149, 160]).map(
    lambda value: quantity(value, "Cel")
)
READINGS = st.lists(
    st.fixed_dictionaries(
        {
            "at": st.integers(0, 59).map(lambda s: f"2024-05-02T09:00:{s:02d}Z"),
            "source": st.sampled_from(get_args(Source)),
        },
        optional={
            "temperature": CELSIUS,
            "flow": st.sampled_from([0, 0.5, 2]).map(lambda v: quantity(v, "L/min")),
            "pressure": st.sampled_from([1, 2.5, 4]).map(lambda v: quantity(v, "bar")),
            "engine_running": st.booleans(),
        },
    ),
    max_size=15,
)
NIGHT = {"ambient": quantity(10, "Cel"), "stood": quantity(10, "h")}


@given(
    kind=st.sampled_from(get_args(GateKind)),
    edges=st.sampled_from([(35, 45), (83, 105), (95, 113), (80, 120)]),
    readings=READINGS,
    method=st.sampled_from(get_args(LevelMethod)),
    bypass=st.sampled_from(get_args(BypassPlace)),
    night=st.sampled_from([{}, NIGHT]),
    maker=st.none() | CELSIUS,
    protected=st.booleans(),
)
def test_findings_of_a_gate_point_into_its_request(
    kind: GateKind,
    edges: tuple[float, float],
    readings: list[dict[str, Any]],
    method: LevelMethod,
    bypass: BypassPlace,
    night: dict[str, Any],
    maker: dict[str, object] | None,
    protected: bool,
) -> None:
    low, high = edges
    sent = {"kind": kind, "low": quantity(low, "Cel"), "high": quantity(high, "Cel"),
            "readings": readings, "at": "2024-05-02T09:00:59Z", "method": method,
            "bypass": bypass, "maker_high": maker, "protection_confirmed": protected}  # fmt: skip
    request = msgspec.convert(sent | night, gate.GateRequest)

    assert lost(gate.calculate_gate(request).findings, request) == []


STICK = {"height": quantity(8, "mm"), "low_mark": quantity(10, "mm"),
         "high_mark": quantity(20, "mm")}  # fmt: skip
LOOKS: tuple[dict[str, Any], ...] = (
    {},
    {"method": "overflow_feed", "observed": "stream", "observed_for": quantity(3, "s")},
    {"method": "dipstick", "observed": None, "reading": STICK},
    {"method": "dipstick", "observed": None, "reading": STICK | {"marks": "cold"}},
    {"method": "dipstick", "observed": None, "reading": STICK | {"other_side": quantity(9, "cm")}},
    {"method": "dipstick", "observed": None,
     "reading": STICK | {"between_marks": quantity(8, "L")}},
    {"method": "sight", "observed": None, "read_out": quantity(-2, "L")},
    {"method": "measured_refill", "observed": None,
     "refill": {"out_15": quantity(20, "L"), "in_15": quantity(1, "L")}},
)  # fmt: skip


@given(
    seen=st.sampled_from(LOOKS),
    temperature=st.sampled_from([10, 40, 80]),
    window=st.sampled_from([None, (35, 45), (95, 113)]),
    told=st.fixed_dictionaries(
        {},
        optional={
            "added": st.just(quantity(2, "L")),
            "rounds": st.just(4),
            "outstanding": st.just(quantity(2, "L")),
            "rate": st.just(quantity(-3, "K/min")),
            "slope": st.just(quantity(2, "deg")),
            "engine_running": st.just(False),
            "gears_cycled": st.just(False),
            "selector_right": st.just(False),
            "overflow_tube_fitted": st.just(False),
            "foam_seen": st.just(True),
            "smoke_seen": st.just(True),
            "waited": st.just(quantity(1, "s")),
            "off_after_drives": st.just(1),
            "temperature_source": st.just("dashboard"),
        },
    ),
)
def test_findings_of_a_level_point_into_its_request(
    seen: dict[str, Any],
    temperature: float,
    window: tuple[float, float] | None,
    told: dict[str, Any],
) -> None:
    edges = window and {"low": quantity(window[0], "Cel"), "high": quantity(window[1], "Cel")}
    sent = level.EXAMPLE | {"temperature": quantity(temperature, "Cel"), "window": edges}
    request = msgspec.convert(sent | seen | told, level.LevelRequest)

    assert lost(level.calculate_level(request).findings, request) == []


@given(
    odometers=st.lists(st.none() | st.floats(0, 3e5), max_size=4),
    today=st.none() | st.floats(0, 3e5),
    hours=st.lists(st.none() | st.floats(0, 9e3), min_size=5, max_size=5),
    maker=st.sampled_from([None, {}, {"distance": quantity(9000, "km"), "months": 12}]),
)
def test_findings_of_an_interval_point_into_its_request(
    odometers: list[float | None],
    today: float | None,
    hours: list[float | None],
    maker: dict[str, Any] | None,
) -> None:
    def read(km: float | None) -> dict[str, object] | None:
        return None if km is None else quantity(km, "km")

    services = [
        {"service_date": f"20{20 - at}-02-28", "fresh_share": 0.5, "odometer": read(km),
         "engine_hours": hours[at]}
        for at, km in enumerate(odometers)
    ]  # fmt: skip
    request = msgspec.convert(
        {"today": "2024-02-29", "odometer": read(today), "engine_hours": hours[4],
         "services": services, "maker": maker}, UseCase,
    )  # fmt: skip

    assert lost(interval.calculate_interval(request).findings, request) == []


@pytest.mark.parametrize("readings", [0, 3, 9])
@pytest.mark.parametrize("target_c", [30, 60, 300])
def test_findings_of_a_warm_up_point_into_its_request(readings: int, target_c: float) -> None:
    seen = [
        {"at": f"2024-05-02T09:{n:02d}:00Z", "source": "scan_tool",
         "temperature": quantity(20 + n, "Cel")}
        for n in range(readings)
    ]  # fmt: skip
    sent = warm_up.EXAMPLE | {"targets": [quantity(20, "Cel"), quantity(target_c, "Cel")],
                              "readings": seen}  # fmt: skip
    request = msgspec.convert(sent, warm_up.WarmUpRequest)
    findings = warm_up.calculate_warm_up(request).findings

    assert findings
    assert lost(findings, request) == []


def test_a_pointer_beside_the_request_is_noticed() -> None:
    request = msgspec.convert(level.EXAMPLE, level.LevelRequest)

    assert resolves("#/temperature/value", request)
    assert resolves("#", request)
    assert not resolves("#/temperatur", request)
    assert not resolves("#/reading/marks", request)
    assert not resolves("/temperature", request)
