"""Findings on doses at their very limits, and what the answer tells of what stays."""

from typing import Any

import pytest
from msgspec import convert

from libexchange.calculations.dose import EXAMPLE, DoseAnswer, DoseStays, calculate_dose
from libexchange.calculations.dose_request import DoseRequest
from libexchange.contact import Contact
from libexchange.dose import spread_limit_l
from libexchange.dose_findings import (
    amount_findings,
    circuit_findings,
    contact_findings,
    kept_findings,
    left_findings,
    level_findings,
)
from libexchange.errors import InvalidInput
from libexchange.findings import Finding

CONDITIONER = EXAMPLE["case"] | {"kind": "conditioner", "placed": "last_litres"}
EXCHANGE: dict[str, Any] = EXAMPLE["exchange"]


def litres(value: float) -> dict[str, object]:
    return {"value": value, "unit": "L"}


def dose(**changes: object) -> DoseAnswer:
    return calculate_dose(convert(EXAMPLE | changes, DoseRequest))


def stays(**changes: object) -> DoseStays:
    told = dose(**changes).stays
    assert told is not None
    return told


def told(found: list[Finding]) -> dict[str, str]:
    return {finding.code: finding.severity for finding in found}


@pytest.mark.parametrize(
    ("dose_l", "severity"),
    [(0.5, None), (0.5001, "caution"), (0.6, "caution"), (0.6001, "stop")],
)
def test_5_percent_of_the_total_is_the_cap_and_6_the_end(
    dose_l: float, severity: str | None
) -> None:
    found = told(amount_findings(dose_l=dose_l, wanted_l=dose_l, total_l=10))

    assert found == ({"dose-above-cap": severity} if severity else {})


@pytest.mark.parametrize(("dose_l", "codes"), [(0.21, {}), (0.2099, {"dose-too-small": "caution"})])
def test_0_7_of_what_is_stated_is_the_least(dose_l: float, codes: dict[str, str]) -> None:
    assert told(amount_findings(dose_l=dose_l, wanted_l=0.3, total_l=10)) == codes


@pytest.mark.parametrize(
    ("stated_l", "severity"), [(0.5, None), (0.5001, "caution"), (0.6, "caution"), (0.6001, "stop")]
)
def test_what_is_stated_is_held_against_the_cap_though_less_is_given(
    stated_l: float, severity: str | None
) -> None:
    found = amount_findings(dose_l=0.45, wanted_l=stated_l, total_l=10)

    assert told(found) == ({"dose-above-cap": severity} if severity else {})
    assert [f.values["stated_share"] for f in found] == ([stated_l / 10] if severity else [])
    assert all(f.message.startswith(f"{1000 * stated_l:.0f} mL that are stated") for f in found)


@pytest.mark.parametrize(
    ("pack_l", "way_out"), [(None, True), (0.3, True), (0.301, False), (0.5, False)]
)
def test_another_pack_is_no_way_out_above_the_cap(pack_l: float | None, way_out: bool) -> None:
    (finding,) = amount_findings(dose_l=0.2, wanted_l=0.3, total_l=10, pack_l=pack_l)

    assert ("another size or leave it out" in finding.message) is not way_out


def test_where_nothing_is_stated_nothing_is_given() -> None:
    for treat in ({"style": "per_total", "rate": {"value": 0, "unit": "mL/L"}},
                  {"style": "per_refill", "rate": {"value": 35, "unit": "mL/L"}}):  # fmt: skip
        answer = dose(treat=treat, refill=litres(0), **of_pack(0.3))

        assert answer.amount is not None
        assert (answer.amount.packs, answer.amount.dose.l, answer.stays) == (0, 0, None)
        assert told(answer.findings) == {"stated-dose-unusual": "note"}


def test_every_reason_why_a_rest_is_not_known_is_told() -> None:
    treat = {"style": "per_refill", "rate": {"value": 35, "unit": "mL/L"}}

    def why(**changes: object) -> list[str]:
        return [f.message for f in dose(**changes).findings if f.code == "cleaner-left-unknown"]

    assert why(treat=treat) == ["It is not known how much goes in."]
    assert why(exchange=None) == ["No exchange is given."]
    assert why(treat=treat, exchange=None) == [
        "It is not known how much goes in.", "No exchange is given."
    ]  # fmt: skip
    assert why(total=litres(100), pack=None, treat={"style": "percent", "percent": 4.31}) == [
        "4.31 L do not fit the sump of 4.30 L."
    ]


@pytest.mark.parametrize(("hottest", "severity"), [(110, None), (110.1, "stop"), (150, "stop")])
def test_above_110_celsius_a_cleaner_is_a_stop(hottest: float, severity: str | None) -> None:
    readings: list[dict[str, Any]] = [dict(one) for one in EXAMPLE["contact"]["readings"]]
    readings[5]["temperature"] = {"value": hottest, "unit": "Cel"}
    answer = dose(contact={"readings": readings})

    assert told(answer.findings).get("fluid-overheated") == severity
    assert "fluid-overheated" not in told(dose(contact={"readings": []}).findings)


@pytest.mark.parametrize(
    ("wanted_l", "codes"), [(0.1, {}), (0.0999, {"stated-dose-unusual": "note"})]
)
def test_case_08_a_dose_below_10_millilitres_a_litre_is_doubted(
    wanted_l: float, codes: dict[str, str]
) -> None:
    assert told(amount_findings(dose_l=wanted_l, wanted_l=wanted_l, total_l=10)) == codes


@pytest.mark.parametrize("circuit_l", [9.8, 10.2])
def test_a_circuit_may_be_2_percent_off_the_total(circuit_l: float) -> None:
    further_l = circuit_l + (circuit_l - 10) * 0.01

    assert circuit_findings(circuit_l=circuit_l, total_l=10) == []
    assert told(circuit_findings(circuit_l=further_l, total_l=10)) == {
        "circuit-differs-from-total": "caution"
    }


def test_a_circuit_of_another_unit_is_found() -> None:
    assert "circuit-differs-from-total" in told(dose(total=litres(12)).findings)
    assert "circuit-differs-from-total" not in told(dose().findings)


@pytest.mark.parametrize(
    ("share", "needed_l", "severity"),
    [
        (0.005, 12.0, None),
        (0.00501, 12.0, "caution"),
        (0.01, 12.0, "caution"),
        (0.01001, 12.0, "stop"),
        (0.005, None, None),
        (0.00501, None, "stop"),
    ],
)
def test_half_a_percent_may_stay_and_a_rest_that_nothing_gets_out_may_not(
    share: float, needed_l: float | None, severity: str | None
) -> None:
    found = told(left_findings(share_left=share, needed_l=needed_l))

    assert found == ({"cleaner-left-above-limit": severity} if severity else {})


def test_a_cleaner_is_barred_where_no_exchange_that_is_computed_gets_it_out() -> None:
    """Beside a line that holds next to nothing 500 L are the most that is computed."""
    huge = {"sump": litres(499.9), "line": litres(0.05), "line_cells": 10}
    rate = {"style": "per_total", "rate": {"value": 14, "unit": "mL/L"}}
    answer = dose(
        total=litres(499.95), treat=rate, pack=None,
        exchange={"circuit": huge, "exchanged": litres(500)},
    )  # fmt: skip

    assert answer.stays is not None
    assert answer.stays.exchanged_needed is None
    assert answer.stays.share_left == pytest.approx(0.014 / 2.718, rel=0.01)
    assert told(answer.findings)["cleaner-left-above-limit"] == "stop"


@pytest.mark.parametrize(
    ("sump_l", "limit_l"), [(0.05, 0.02), (4.9, 1.96), (5, 2), (5.1, 2), (500, 2)]
)
def test_a_conditioner_goes_with_the_last_two_litres_or_0_4_of_the_sump(
    sump_l: float, limit_l: float
) -> None:
    assert spread_limit_l(sump_l=sump_l) == pytest.approx(limit_l)
    for spread_l, codes in (
        (limit_l, {}),
        (limit_l * 1.001, {"conditioner-washed-out": "caution"}),
    ):
        assert told(kept_findings(share_kept=0.9, spread_l=spread_l, sump_l=sump_l)) == codes


def test_the_final_share_of_a_conditioner_is_what_is_kept_of_the_whole() -> None:
    after = EXCHANGE | {"exchanged": litres(0), "spread": litres(8)}
    told_stays = stays(case=CONDITIONER, exchange=after)

    assert told_stays.share_kept == pytest.approx(0.78, abs=0.005)
    assert told_stays.share_kept is not None
    assert told_stays.share_left == pytest.approx(told_stays.share_kept * 0.3 / 9)


def test_the_final_share_of_a_conditioner_at_level_setting_is_its_dose() -> None:
    at_level = CONDITIONER | {"placed": "level_setting"}
    told_stays = stays(case=at_level, exchange=None)
    refill = {"style": "per_refill", "rate": {"value": 35, "unit": "mL/L"}}
    unstated = stays(case=at_level, exchange=None, treat=refill)

    assert told_stays.share_left == pytest.approx(0.3 / 9)
    assert (unstated.share_left, unstated.share_kept) == (None, 1)


def test_a_level_that_is_low_by_the_dose_takes_it_as_it_is() -> None:
    assert level_findings(dose_l=0.3, missing_l=0.3) == []
    (finding,) = level_findings(dose_l=0.3, missing_l=0.1)
    assert finding.values["draw_off_ml"] == pytest.approx(200)


@pytest.mark.parametrize(
    ("needed_s", "codes"),
    [
        (599, {"contact-time-unusual": "note"}),
        (600, {}),
        (900, {}),
        (901, {"contact-time-unusual": "note"}),
    ],
)
def test_ten_to_fifteen_minutes_are_usual(needed_s: float, codes: dict[str, str]) -> None:
    assert told(contact_findings(Contact(needed_s, "done", 0), needed_s=needed_s)) == codes


@pytest.mark.parametrize("state", ["not_started", "running", "paused"])
def test_a_timer_that_is_not_done_is_too_short(state: Any) -> None:
    assert told(contact_findings(Contact(300, state, 0), needed_s=720)) == {
        "contact-too-short": "caution"
    }


def of_pack(value: float) -> dict[str, object]:
    return {"pack": {"size": litres(value), "rule": "nearest"}}


def of_packs(pack: float, treats: float) -> dict[str, object]:
    treat = {"style": "whole_packs", "pack": litres(pack), "treats": litres(treats)}
    return {"treat": treat, "pack": None}


def of_contact(name: str, value: float, unit: str) -> dict[str, object]:
    return {"contact": {"readings": [], name: {"value": value, "unit": unit}}}


@pytest.mark.parametrize(
    ("within", "beyond", "pointer"),
    [
        (of_pack(0.001), of_pack(0.00099), "/pack/size"),
        (of_pack(100), of_pack(100.1), "/pack/size"),
        (of_packs(0.001, 9), of_packs(0.00099, 9), "/treat/pack"),
        (of_packs(100, 9), of_packs(100.1, 9), "/treat/pack"),
        (of_packs(0.3, 0.05), of_packs(0.3, 0.0499), "/treat/treats"),
        (of_packs(0.3, 1000), of_packs(0.3, 1000.1), "/treat/treats"),
        (of_packs(0.5, 0.5), of_packs(100, 0.5), "/treat"),
        (of_contact("needed", 60, "s"), of_contact("needed", 59.9, "s"), "/contact/needed"),
        (of_contact("needed", 60, "min"), of_contact("needed", 60.1, "min"), "/contact/needed"),
        (of_contact("operating", 20, "Cel"), of_contact("operating", 19.9, "Cel"),
         "/contact/operating"),
        (of_contact("operating", 120, "Cel"), of_contact("operating", 120.1, "Cel"),
         "/contact/operating"),
        ({"refill": litres(9)}, {"refill": litres(9.01)}, "/refill"),
        ({"level_low_by": litres(9)}, {"level_low_by": litres(9.01)}, "/level_low_by"),
        ({"total": litres(0.5)}, {"total": litres(0.49)}, "/total"),
        ({"total": litres(500)}, {"total": litres(500.1)}, "/total"),
    ],
)  # fmt: skip
def test_what_can_be_asked_has_edges(
    within: dict[str, object], beyond: dict[str, object], pointer: str
) -> None:
    dose(**within)
    with pytest.raises(InvalidInput) as refused:
        dose(**beyond)

    assert [fault.pointer for fault in refused.value.faults] == [pointer]
