"""Requests for a share that can be computed and should be looked at twice."""

import pytest
from msgspec import convert

from libexchange.calculations.drain_cycles import DrainCyclesRequest, calculate_drain_cycles
from libexchange.calculations.exchange import ExchangeRequest, calculate_exchange
from libexchange.calculations.required_exchange import (
    RequiredExchangeRequest,
    calculate_required_exchange,
)
from libexchange.calculations.target_findings import many_litres
from libexchange.findings import Finding

NINE = {"sump": {"value": 9, "unit": "L"}}


def exchanged(litres: float) -> list[Finding]:
    request = {"circuit": NINE, "exchanged": {"value": litres, "unit": "L"}, "points": 2}
    return calculate_exchange(convert(request, ExchangeRequest)).findings


def required(target: float) -> list[Finding]:
    request = {"circuit": NINE, "target_fresh_share": target}
    return calculate_required_exchange(convert(request, RequiredExchangeRequest)).findings


def drained(litres: float) -> list[Finding]:
    request = {
        "total": {"value": 10, "unit": "L"},
        "drained_per_cycle": {"value": litres, "unit": "L"},
        "cycles": 2,
    }
    return calculate_drain_cycles(convert(request, DrainCyclesRequest)).findings


@pytest.mark.parametrize(
    ("litres", "codes"),
    [(0, []), (27, []), (27.000001, ["litres-beyond-use"]), (270, ["litres-beyond-use"])],
)
def test_more_than_three_fills_through_the_line_are_asked_about(
    litres: float, codes: list[str]
) -> None:
    assert [finding.code for finding in exchanged(litres)] == [*codes, "band-not-measured"]


def test_litres_beyond_use_are_told_with_the_total() -> None:
    finding = exchanged(30)[0]

    assert (finding.severity, finding.pointer) == ("caution", "#/exchanged")
    assert finding.message == "30 L asked for, the unit holds 9 L."
    assert finding.values == {"exchanged_l": 30, "total_l": 9}


@pytest.mark.parametrize(("litres", "found"), [(16.2, 0), (16.20001, 1), (0, 0)])
def test_a_target_may_take_eighteen_tenths_of_the_fill(litres: float, found: int) -> None:
    assert len(many_litres(exchanged_l=litres, total_l=9, gain_per_l=0.01)) == found


def test_a_target_that_takes_more_is_told_with_what_the_last_litre_renews() -> None:
    # one mixed tank: 9 ln 10 litres for 0.9, where the next litre renews 0.1 of one ninth
    (finding,) = required(0.9)

    assert (finding.code, finding.severity) == ("target-takes-many-litres", "caution")
    assert finding.message == (
        "It takes 20.7 L, the unit holds 9.0 L; the last of them renews 1.1 %."
    )
    assert finding.values["exchanged_l"] == pytest.approx(20.7232658)
    assert finding.values["marginal_gain_per_litre"] == pytest.approx(0.1 / 9)
    assert required(0.8) == []


@pytest.mark.parametrize(
    ("litres", "odd"),
    [(2.5, False), (2.49999, True), (8.5, False), (8.50001, True), (0, True), (10, True)],
)
def test_case_15_a_drain_of_an_unusual_part_of_the_fill_is_asked_about(
    litres: float, odd: bool
) -> None:
    assert [finding.code for finding in drained(litres)] == ["drained-share-unusual"] * odd


def test_the_part_that_is_drained_is_told() -> None:
    (finding,) = drained(1)

    assert (finding.severity, finding.pointer) == ("caution", "#/drained_per_cycle")
    assert finding.message == "1 L of 10 L is a share of 0.10."
    assert finding.values == {"total_l": 10, "drained_l": 1, "share": 0.1}
