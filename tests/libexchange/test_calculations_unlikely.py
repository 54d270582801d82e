"""What calculations say of input that cannot be, or that tells too little."""

from math import exp
from random import Random
from typing import Any

import pytest
from msgspec import convert, to_builtins

from libexchange.calculations import CALCULATIONS

BY_NAME = {one.name: one for one in CALCULATIONS}


def answer(name: str, **request: Any) -> dict[str, Any]:
    one = BY_NAME[name]
    told: dict[str, Any] = to_builtins(one.calculate(convert(request, one.request)))
    return told


def codes(told: dict[str, Any]) -> set[str]:
    return {finding["code"] for finding in told["findings"]}


def of(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


def outflow(exchanged_l: float, *shares: float, uncertainty: float = 0.02) -> dict[str, Any]:
    litres = (1.0, 5.0, exchanged_l)
    return answer(
        "outflow",
        signal="fresh_share",
        total=of(9, "L"),
        total_uncertainty=of(0.1, "L"),
        exchanged=of(exchanged_l, "L"),
        samples=[
            {"exchanged": of(at, "L"), "value": share, "uncertainty": uncertainty}
            for at, share in zip(litres, shares, strict=True)
        ],
    )


@pytest.mark.parametrize("told", [outflow(30, 0, 0, 0), outflow(12, 0, 0.05, 0.1)])
def test_no_share_is_told_of_more_fresh_fluid_than_the_unit_holds(told: dict[str, Any]) -> None:
    assert told["fresh_share"] is None
    assert "outflow-share-beyond-fill" in codes(told)


def test_no_share_is_told_of_shares_in_percent() -> None:
    told = outflow(30, 5, 40, 70)

    assert told["fresh_share"] is None
    assert "outflow-share-impossible" in codes(told)


def test_a_check_sum_just_above_all_fresh_keeps_its_width_below() -> None:
    told = outflow(9.1, 0, 0, 0)

    assert told["fresh_share"]["expected"] == told["fresh_share"]["high"] == 1
    assert 0.94 < told["fresh_share"]["low"] < 0.98
    found = next(f for f in told["findings"] if f["code"] == "outflow-share-beyond-fill")
    assert found["severity"] == "note"


def due(**more: Any) -> dict[str, Any]:
    known = {"today": "2026-11-26", "odometer": of(100_000, "km"), "damage_before": 0}
    maker = {"maker": {"distance": of(60_000, "km"), "months": 48}}
    return answer("interval", **{**known, **maker, **more})


def serviced(share: float, *, km: float = 100_000) -> dict[str, Any]:
    return {"service_date": "2026-11-26", "fresh_share": share, "odometer": of(km, "km")}


@pytest.mark.parametrize("services", [[], [serviced(0.0)], [serviced(0.19)]])
def test_without_a_service_that_renewed_the_fluid_the_maker_counts_from_new(
    services: list[dict[str, Any]],
) -> None:
    told = due(services=services)

    assert (told["odometer"]["value"], told["odometer_by"]) == (100_000, "maker")
    assert {"maker-schedule-not-applied", "service-due-already"} <= codes(told)


def test_a_service_of_a_fifth_begins_the_makers_interval_anew() -> None:
    told = due(services=[serviced(0.2)])

    assert told["odometer"]["value"] == 160_000
    assert "maker-schedule-not-applied" not in codes(told)


def test_a_small_service_after_a_full_one_does_not_move_the_due_date() -> None:
    full = {**serviced(0.8, km=70_000), "service_date": "2025-11-26"}

    told = due(services=[full, serviced(0.1)])

    assert (told["odometer"]["value"], told["on"]) == (130_000, "2029-11-26")


def test_an_odometer_may_fall_by_a_kilometre_of_rounding() -> None:
    assert "odometer-below-last-service" not in codes(due(services=[serviced(0.8, km=100_001)]))
    assert "odometer-below-last-service" in codes(due(services=[serviced(0.8, km=100_001.1)]))


def test_a_late_result_of_the_laboratory_alone_is_told() -> None:
    told = answer(
        "used-fluid",
        laboratory={"glycol": of(100, "[ppm]")},
        laboratory_is_late=True,
    )

    assert told["decision"] == "proceed"
    late = {"bench-checks-incomplete", "glycol-in-sample", "laboratory-result-after-work"}
    assert late <= codes(told)


def test_the_recheck_lies_within_what_every_reason_asks_for() -> None:
    thick = {"viscosity_100": {"used": of(9.33, "mm2/s"), "fresh": of(7.4, "mm2/s")}}

    both = answer("used-fluid", bench={"smell": "burnt"}, laboratory=thick)
    alone = answer("used-fluid", laboratory=thick)

    assert both["decision"] == alone["decision"] == "exchange_and_repeat"
    assert both["recheck"]["latest"]["value"] == 1500
    assert alone["recheck"]["latest"]["value"] == 2000


def warm_up(readings: list[float], target_c: float) -> dict[str, Any]:
    rows = [
        {"at": f"2024-05-02T09:{n:02d}:00Z", "source": "scan_tool", "temperature": of(c, "Cel")}
        for n, c in enumerate(readings)
    ]
    known = {"start": of(20, "Cel"), "ambient": of(20, "Cel"), "total": of(9, "L")}
    return answer("warm-up", **known, targets=[of(target_c, "Cel")], readings=rows)


def warming(seconds: float) -> float:
    return 68 - 48 * exp(-seconds / 4350)


@pytest.mark.parametrize("seed", range(20))
def test_a_normal_warm_up_is_never_said_not_to_get_there(seed: int) -> None:
    noise = Random(seed)  # noqa: S311 -- seeded noise of a sensor, no secret
    read = [float(round(warming(60 * n) + noise.gauss(0, 0.5))) for n in range(10)]

    assert "temperature-not-reached" not in codes(warm_up(read, 40))


def test_a_bypass_that_stays_shut_is_told() -> None:
    shut = [round(38 - 18 * exp(-60 * n / 900), 1) for n in range(60)]

    assert "temperature-not-reached" in codes(warm_up(shut, 55))


def test_one_spike_is_left_out_of_the_fit() -> None:
    clean = [round(warming(60 * n), 1) for n in range(30)]
    told = warm_up([*clean[:15], 120.0, *clean[16:]], 55)

    assert {"reading-spikes"} == codes(told) & {"reading-spikes", "temperature-not-reached"}
    assert told["times"][0]["after_last_reading"]["expected"] is not None


def test_a_sequence_tells_litres_beyond_use_over_all_its_exchanges() -> None:
    circuit = BY_NAME["exchange"].example["circuit"]
    halves = [{"kind": "line_exchange", "exchanged": of(litres, "L")} for litres in (13.5, 13.5)]
    more = [*halves, {"kind": "line_exchange", "exchanged": of(0.01, "L")}]

    assert "litres-beyond-use" not in codes(
        answer("service-sequence", circuit=circuit, steps=halves)
    )
    told = answer("service-sequence", circuit=circuit, steps=more)
    assert [f["pointer"] for f in told["findings"] if f["code"] == "litres-beyond-use"] == [
        "#/steps/2/exchanged"
    ]


def test_the_band_of_a_drain_and_an_exchange_is_the_same_in_both_calculations() -> None:
    example = BY_NAME["exchange"].example
    drain = {"kind": "drain", **example["before"]}
    line = {"kind": "line_exchange", "exchanged": example["exchanged"]}

    once = answer("exchange", **example)["fresh_share"]
    steps = answer("service-sequence", circuit=example["circuit"], steps=[drain, line])

    for edge in ("low", "expected", "high"):
        assert steps["fresh_share"][edge] == pytest.approx(once[edge], abs=1e-6)


def balanced(moved_l: float, **more: Any) -> dict[str, Any]:
    both = [{"direction": way, "volume": of(moved_l, "L")} for way in ("in", "out")]
    return answer(
        "balance", density_15=of(850, "kg/m3"), total=of(9, "L"), entries=both, flowing=True, **more
    )


def test_a_balance_while_flowing_says_that_it_is_too_vague() -> None:
    assert "balance-too-vague" in codes(balanced(12))
    assert "balance-too-vague" not in codes(balanced(8))


@pytest.mark.parametrize(
    ("total_l", "hose_l", "vague"),
    [(9, 0.51961, False), (9, 0.51962, True), (38, 1.55884, False), (38, 1.55885, True)],
)
def test_a_flowing_balance_is_too_vague_from_the_litres_that_stop_it(
    total_l: float, hose_l: float, vague: bool
) -> None:
    """Nothing but the hoses is uncertain: 2 h / sqrt 3 is 0.6 L, in a heavy unit 1.8 L."""
    nothing = [{"direction": "in", "volume": of(0, "L"), "temperature": of(20, "Cel")}]
    told = answer(
        "balance", density_15=of(850, "kg/m3"), total=of(total_l, "L"), hose=of(hose_l, "L"),
        entries=nothing, flowing=True,
    )  # fmt: skip

    assert ("balance-too-vague" in codes(told)) == vague


def test_a_total_that_tells_no_heat_capacity_is_refused_at_the_total() -> None:
    with pytest.raises(ValueError, match="/total"):
        answer("warm-up", start=of(20, "Cel"), ambient=of(20, "Cel"), total=of(200.1, "L"))
    answer("warm-up", start=of(20, "Cel"), ambient=of(20, "Cel"), total=of(200, "L"))
