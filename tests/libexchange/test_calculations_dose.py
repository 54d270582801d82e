"""The calculation on doses: amount, level, what stays, contact time, and everything refused."""

from typing import Any

import pytest
from msgspec import ValidationError, convert, json, to_builtins

from libexchange.calculations.dose import EXAMPLE, DoseAnswer, calculate_dose
from libexchange.calculations.dose_request import DoseRequest
from libexchange.dose_findings import KINDS
from libexchange.errors import InvalidInput

CASE: dict[str, Any] = EXAMPLE["case"]
EXCHANGE: dict[str, Any] = EXAMPLE["exchange"]
CONDITIONER = {
    "kind": "conditioner", "placed": "level_setting", "family": "converter_automatic"
}  # fmt: skip


def litres(value: float, unit: str = "L") -> dict[str, object]:
    return {"value": value, "unit": unit}


def rate(value: float, style: str = "per_total") -> dict[str, object]:
    return {"style": style, "rate": {"value": value, "unit": "mL/L"}}


def dose(**changes: object) -> DoseAnswer:
    return calculate_dose(convert(EXAMPLE | changes, DoseRequest))


def codes(answer: DoseAnswer) -> dict[str, str]:
    return {finding.code: finding.severity for finding in answer.findings}


def pointers(**changes: object) -> list[str]:
    with pytest.raises(InvalidInput) as caught:
        dose(**changes)
    return [fault.pointer for fault in caught.value.faults]


def amount_l(answer: DoseAnswer) -> float:
    assert answer.amount is not None
    return answer.amount.dose.l


def test_the_example_is_answered_and_written_again() -> None:
    answer = calculate_dose(json.decode(json.encode(EXAMPLE), type=DoseRequest))

    assert convert(to_builtins(answer), DoseAnswer) == answer
    assert codes(answer) == {"dose-raises-level": "caution"}


def test_without_a_pack_the_dose_is_what_is_stated() -> None:
    answer = dose(pack=None)

    assert amount_l(answer) == pytest.approx(0.315)
    assert answer.amount is not None
    assert answer.amount.packs is None


def test_packs_that_treat_litres_are_opened_whole() -> None:
    packs = {"style": "whole_packs", "pack": litres(300, "mL"), "treats": litres(9)}

    answer = dose(treat=packs, pack=None, total=litres(9))

    assert answer.amount is not None
    assert (answer.amount.packs, answer.amount.dose.l) == (1, 0.3)


def test_case_98_packs_times_their_size_are_the_dose() -> None:
    answer = dose(pack={"size": litres(150, "mL"), "rule": "ceil"})

    assert answer.amount is not None
    assert answer.amount.packs == 3
    assert amount_l(answer) == pytest.approx(3 * 0.15)


def test_case_99_a_dose_of_40_millilitres_is_not_rounded_away() -> None:
    answer = dose(treat=rate(4.444), pack=None)

    assert amount_l(answer) == pytest.approx(0.04, abs=1e-5)
    small = dose(treat=rate(100), pack=None)
    assert any("900 mL" in finding.message for finding in small.findings)


@pytest.mark.parametrize(
    ("ml_per_l", "severity"), [(50, None), (50.1, "caution"), (60, "caution"), (60.1, "stop")]
)
def test_five_percent_is_the_cap_and_six_the_hard_one(ml_per_l: float, severity: str) -> None:
    assert codes(dose(treat=rate(ml_per_l), pack=None)).get("dose-above-cap") == severity


def test_case_08_300_litres_of_conditioner_are_stopped() -> None:
    fixed = {"low": litres(5), "high": litres(10), "dose": litres(300)}

    answer = dose(treat={"style": "fixed_by_fill", "ranges": [fixed]}, pack=None)

    assert codes(answer)["dose-above-cap"] == "stop"
    assert answer.stays is None


@pytest.mark.parametrize(("millilitres", "found"), [(220, True), (221, False)])
def test_below_0_7_of_what_is_stated_a_dose_is_wasted(millilitres: float, found: bool) -> None:
    answer = dose(pack={"size": litres(millilitres, "mL"), "rule": "nearest"})

    assert ("dose-too-small" in codes(answer)) is found


def test_a_pack_above_the_cap_is_not_opened() -> None:
    answer = dose(pack={"size": litres(0.5), "rule": "nearest"})

    assert amount_l(answer) == 0
    assert "dose-too-small" in codes(answer)
    assert answer.stays is None


def test_case_70_the_level_rises_unless_it_is_low_by_so_much() -> None:
    answer = dose(level_low_by=litres(0.3))

    assert "dose-raises-level" not in codes(answer)
    assert answer.amount is not None
    assert answer.amount.draw_off.l == 0


@pytest.mark.parametrize(
    "treat",
    [
        rate(35, "per_refill"),
        {"style": "fixed_by_fill",
         "ranges": [{"low": litres(5), "high": litres(6), "dose": litres(0.2)}]},
    ],
)  # fmt: skip
def test_a_dose_that_is_not_stated_is_not_made_up(treat: dict[str, object]) -> None:
    answer = dose(treat=treat)

    assert answer.amount is None
    assert codes(answer)["dose-not-stated"] == "stop"


def test_a_dose_by_the_refill() -> None:
    assert amount_l(dose(treat=rate(35, "per_refill"), refill=litres(4), pack=None)) == 0.14


@pytest.mark.parametrize(
    ("exchanged", "severity"), [(13.5, None), (9.0, "caution"), (4.5, "stop"), (0.0, "stop")]
)
def test_case_68_a_cleaner_that_is_left_by_a_short_exchange(
    exchanged: float, severity: str | None
) -> None:
    answer = dose(exchange=EXCHANGE | {"exchanged": litres(exchanged)})

    assert codes(answer).get("cleaner-left-above-limit") == severity
    assert answer.stays is not None
    assert answer.stays.exchanged_needed is not None
    assert answer.stays.exchanged_needed.l == pytest.approx(12.1, abs=0.05)


def test_a_drain_before_the_exchange_saves_litres() -> None:
    before = {"drained": litres(3.8), "converter_run_back": 0.05, "pockets_run_back": 0.15}

    answer = dose(exchange=EXCHANGE | {"before": before})

    assert answer.stays is not None
    assert answer.stays.exchanged_needed is not None
    assert answer.stays.exchanged_needed.l < 6


def test_a_cleaner_whose_rest_nothing_gets_out() -> None:
    big = {"sump": litres(100), "line": litres(0.05), "line_cells": 10}
    answer = dose(
        total=litres(100.05), treat=rate(50), pack=None,
        exchange={"circuit": big, "exchanged": litres(1)},
    )  # fmt: skip

    assert answer.stays is not None
    assert answer.stays.exchanged_needed is None or answer.stays.exchanged_needed.l > 100
    assert "cleaner-left-above-limit" in codes(answer)


def test_a_cleaner_without_an_exchange_is_stopped() -> None:
    assert codes(dose(exchange=None))["cleaner-left-unknown"] == "stop"


def test_of_no_pack_nothing_is_left() -> None:
    answer = dose(pack={"size": {"value": 500, "unit": "mL"}, "rule": "nearest"}, exchange=None)

    assert (answer.amount and answer.amount.packs, answer.stays) == (0, None)
    assert codes(answer) == {"dose-too-small": "caution"}


def test_a_conditioner_at_level_setting_is_all_kept() -> None:
    answer = dose(case=CONDITIONER, exchange=None, contact=None)

    assert answer.stays is not None
    assert answer.stays.share_kept == 1
    assert answer.contact is None


def test_a_conditioner_whose_exchange_is_not_given_tells_nothing() -> None:
    answer = dose(case=CONDITIONER | {"placed": "last_litres"}, exchange=None)

    assert answer.stays is None
    assert "cleaner-left-unknown" not in codes(answer)


@pytest.mark.parametrize(
    ("spread", "kept", "found"), [(1, 1.0, False), (2, 0.995, True), (8, 0.782, True)]
)
def test_a_conditioner_with_the_last_litres(spread: float, kept: float, found: bool) -> None:
    after = EXCHANGE | {"exchanged": litres(0), "spread": litres(spread)}

    answer = dose(case=CONDITIONER | {"placed": "last_litres"}, exchange=after)

    assert answer.stays is not None
    assert answer.stays.share_kept == pytest.approx(kept, abs=0.001)
    assert ("conditioner-washed-out" in codes(answer)) is found


def test_case_69_a_conditioner_into_the_sump_before_nine_litres_mostly_leaves() -> None:
    after = EXCHANGE | {"exchanged": litres(9)}

    answer = dose(case=CONDITIONER | {"placed": "before_exchange"}, exchange=after)

    assert answer.stays is not None
    assert answer.stays.share_kept is not None
    assert answer.stays.share_kept < 0.4
    assert codes(answer)["conditioner-before-exchange"] == "stop"


@pytest.mark.parametrize(
    ("minutes", "needed", "found"),
    [
        (12, None, {}),
        (11, None, {"contact-too-short": "caution"}),
        (31, None, {"contact-too-long": "caution"}),
        (5, 5, {"contact-time-unusual": "note"}),
    ],
)
def test_contact_time(minutes: int, needed: float | None, found: dict[str, str]) -> None:
    readings = [
        {"at": f"2024-05-02T09:{n:02d}:00Z", "temperature": {"value": 176, "unit": "[degF]"},
         "engine_running": True}
        for n in range(minutes + 1)
    ]  # fmt: skip
    contact: dict[str, object] = {"readings": readings}
    if needed is not None:
        contact |= {"needed": litres(needed, "min"), "operating": {"value": 70, "unit": "Cel"}}

    answer = dose(contact=contact)

    assert answer.contact is not None
    assert answer.contact.counted.s == 60 * minutes
    assert {c: s for c, s in codes(answer).items() if c.startswith("contact")} == found


def test_every_fault_is_named() -> None:
    circuit = EXCHANGE["circuit"] | {"line": litres(0.01)}
    before = {"drained": litres(50)}
    ranges = [{"low": litres(9), "high": litres(6), "dose": litres(0.2)}]

    assert pointers(
        refill=litres(10), level_low_by=litres(11), pack={"size": litres(0), "rule": "ceil"},
        treat={"style": "fixed_by_fill", "ranges": ranges},
        exchange=EXCHANGE | {"circuit": circuit, "before": before},
        contact={"readings": [], "needed": litres(59, "s"),
                 "operating": {"value": 10, "unit": "Cel"}},
    ) == [
        "/refill", "/level_low_by", "/pack/size", "/treat/ranges/0/low", "/exchange/circuit/line",
        "/exchange/before/drained", "/contact/needed", "/contact/operating",
    ]  # fmt: skip


def test_packs_out_of_range_are_refused() -> None:
    packs = {"style": "whole_packs", "pack": litres(0), "treats": litres(0)}

    assert pointers(treat=packs) == ["/treat/pack", "/treat/treats"]


def test_a_dose_beyond_all_sense_is_refused() -> None:
    packs = {"style": "whole_packs", "pack": litres(100), "treats": litres(0.05)}

    assert pointers(treat=packs, pack=None) == ["/treat"]


def test_litres_beyond_what_is_computed_are_refused() -> None:
    after = EXCHANGE | {"exchanged": litres(1e5), "spread": litres(1e5)}

    assert pointers(exchange=after) == ["/exchange/exchanged", "/exchange/spread"]


@pytest.mark.parametrize("treat", [{"style": "percent", "percent": 0}, {"style": "by_eye"}])
def test_unknown_styles_and_empty_rates_do_not_decode(treat: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        dose(treat=treat)


def test_codes_are_used_once() -> None:
    assert len({kind.code for kind in KINDS}) == len(KINDS)
