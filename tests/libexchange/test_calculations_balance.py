"""The calculation on balances: limits told, hoses, while fluid flows, weighing, faults."""

from typing import Any

import pytest
from msgspec import convert

from libexchange.balance import balance_uncertainty_l, live_limits_l
from libexchange.calculations.balance import (
    EXAMPLE,
    BalanceAnswer,
    BalanceRequest,
    calculate_balance,
)
from libexchange.errors import InvalidInput


def litres(value: float) -> dict[str, object]:
    return {"value": value, "unit": "L"}


def entry(direction: str, value: float, **more: object) -> dict[str, object]:
    at_15 = {"value": 15, "unit": "Cel"}
    return {"direction": direction, "volume": litres(value), "temperature": at_15} | more


def balanced(**changes: Any) -> BalanceAnswer:
    return calculate_balance(convert(EXAMPLE | changes, BalanceRequest))


def pointers(**changes: Any) -> list[str]:
    with pytest.raises(InvalidInput) as refused:
        balanced(**changes)
    return [fault.pointer for fault in refused.value.faults]


def test_the_limits_stand_beside_the_verdict() -> None:
    answer = balanced()

    assert answer.ok_limit.l == pytest.approx(2 * answer.uncertainty.l)
    assert answer.stop_limit.l == 0.5
    assert answer.verdict == "explain"
    assert answer.difference.l == pytest.approx(0.49, abs=0.005)


def test_while_fluid_flows_other_limits_hold() -> None:
    entries = [entry("in", 5.4), entry("out", 5)]

    at_end, flowing = balanced(entries=entries), balanced(entries=entries, flowing=True)
    assert (flowing.ok_limit.l, flowing.stop_limit.l) == live_limits_l(total_l=9)
    assert [f.code for f in at_end.findings] == ["balance-not-closed"]
    assert [f.code for f in flowing.findings] == ["line-litres-differ"]


@pytest.mark.parametrize(("hose", "hose_l"), [(None, 0.05), (litres(0), 0), (litres(0.3), 0.3)])
def test_what_hangs_in_the_hoses_is_part_of_the_uncertainty(
    hose: dict[str, object] | None, hose_l: float
) -> None:
    answer = balanced(entries=[entry("in", 0, meter_class=0)], hose=hose)

    assert answer.uncertainty.l == balance_uncertainty_l(errors_l=[], hose_l=hose_l)


def test_case_53_weighing_needs_no_temperature() -> None:
    weighed = [
        {"direction": "in", "mass": {"value": 10.2, "unit": "kg"}},
        {"direction": "out", "mass": {"value": 10.0, "unit": "kg"}},
    ]
    answer = balanced(entries=weighed)

    assert answer.in_15.l == pytest.approx(12)
    assert answer.difference.l == pytest.approx(0.2 / 0.85)
    assert (answer.verdict, answer.findings) == ("ok", [])


def test_samples_losses_and_additives_belong_to_the_balance() -> None:
    entries = [
        entry("in", 9), entry("out", 8.7), entry("sampled", 0.1), entry("lost", 0.3),
        entry("additive", 0.3),
    ]  # fmt: skip
    answer = balanced(entries=entries)

    assert answer.difference.l == pytest.approx(0.2)
    assert answer.verdict == "ok"


def test_hoses_that_no_equipment_has_are_refused() -> None:
    assert balanced(hose=litres(10)).verdict == "ok"
    assert pointers(hose=litres(10.1), total=litres(0.1)) == ["/total", "/hose"]


def test_a_thousand_litres_are_the_most() -> None:
    assert balanced(entries=[entry("in", 1000)]).in_15.l == 1000
    assert pointers(entries=[entry("in", 1000.01)]) == ["/entries"]
