"""A change of fluid kind: the purge that it takes and what reaches the unit without it."""

from math import e, exp, inf, log, nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import ValidationError, convert

from libexchange.calculations.balance import (
    EXAMPLE,
    BalanceAnswer,
    BalanceRequest,
    calculate_balance,
)
from libexchange.dilution import mixed_share
from libexchange.errors import InvalidInput, OutOfRange
from libexchange.purge import foreign_share_after_purge, purge_findings, purge_needed_l

PURGE = {"purged_l": 1.0, "hold_up_l": 1.0, "total_l": 9.0}
NEED = {"hold_up_l": 1.0, "total_l": 9.0, "limit_share": 0.005}
HOLD_UP = st.floats(0.06, 100)
TOTAL = st.floats(0.5, 500)


def test_half_a_percent_in_nine_litres_takes_3_1_of_a_litre_held_up() -> None:
    """[computed] common practice, printed to the tenth."""
    assert purge_needed_l(hold_up_l=1.0, total_l=9) == pytest.approx(3.1, abs=0.05)


@given(hold_up=HOLD_UP, total=TOTAL, purged=st.floats(0, 1000))
def test_what_is_left_is_what_a_mixed_tank_leaves(
    hold_up: float, total: float, purged: float
) -> None:
    old = 1 - mixed_share(exchanged_l=purged, total_l=hold_up)

    share = foreign_share_after_purge(purged_l=purged, hold_up_l=hold_up, total_l=total)
    assert share == pytest.approx(min(hold_up * old / total, 1), abs=1e-12)


@given(hold_up=HOLD_UP, total=TOTAL, limit=st.floats(1e-4, 1))
def test_the_purge_needed_leaves_the_limit(hold_up: float, total: float, limit: float) -> None:
    needed = purge_needed_l(hold_up_l=hold_up, total_l=total, limit_share=limit)

    left = foreign_share_after_purge(purged_l=min(needed, 1000), hold_up_l=hold_up, total_l=total)
    if needed == 0:
        assert hold_up <= limit * total
    elif needed <= 1000:
        assert left == pytest.approx(limit, rel=1e-9)


def test_by_hand() -> None:
    assert foreign_share_after_purge(purged_l=2, hold_up_l=2, total_l=10) == pytest.approx(0.2 / e)
    assert purge_needed_l(hold_up_l=2, total_l=10, limit_share=0.02) == pytest.approx(2 * log(10))


@pytest.mark.parametrize(("hold_up", "needed"), [(0.0449, 0), (0.045, 0), (0, 0)])
def test_what_is_within_the_limit_needs_no_purge(hold_up: float, needed: float) -> None:
    assert purge_needed_l(hold_up_l=hold_up, total_l=9) == needed


def test_nothing_held_up_brings_nothing_and_no_more_than_all_is_foreign() -> None:
    assert foreign_share_after_purge(purged_l=0, hold_up_l=0, total_l=9) == 0
    assert foreign_share_after_purge(purged_l=0, hold_up_l=10, total_l=9) == 1


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("purged_l", 0, 1000), ("hold_up_l", 0, 100), ("total_l", 0.5, 500)],
)
def test_the_edges_of_a_purge_are_computed_and_beyond_them_nothing(
    name: str, low: float, high: float
) -> None:
    assert foreign_share_after_purge(**PURGE | {name: low}) >= 0
    assert foreign_share_after_purge(**PURGE | {name: high}) >= 0
    for bad in (low - 1e-6, high + 1e-6, nan, inf):
        with pytest.raises(OutOfRange, match=name):
            foreign_share_after_purge(**PURGE | {name: bad})


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("limit_share", 1e-4, 1), ("hold_up_l", 0, 100), ("total_l", 0.5, 500)],
)
def test_the_edges_of_the_need_are_computed_and_beyond_them_nothing(
    name: str, low: float, high: float
) -> None:
    assert purge_needed_l(**NEED | {name: low}) >= 0
    assert purge_needed_l(**NEED | {name: high}) >= 0
    for bad in (low - 1e-6, high + 1e-6, nan, inf):
        with pytest.raises(OutOfRange, match=name):
            purge_needed_l(**NEED | {name: bad})


@pytest.mark.parametrize(("share", "found"), [(0.005, 0), (0.00501, 1)])
def test_more_than_the_limit_is_stopped(share: float, found: int) -> None:
    told = purge_findings(foreign_share=share, limit_share=0.005, needed_l=3.1)

    assert [one.severity for one in told] == ["stop"] * found


def litres(value: float) -> dict[str, object]:
    return {"value": value, "unit": "L"}


def balanced(**kind_change: Any) -> BalanceAnswer:
    request = EXAMPLE | {"kind_change": kind_change or None}
    return calculate_balance(convert(request, BalanceRequest))


def test_without_a_change_of_kind_nothing_is_told() -> None:
    assert balanced().purge is None


def test_case_23_a_kind_change_without_purge_is_told_with_the_litres_it_takes() -> None:
    answer = balanced(hold_up=litres(1))

    assert answer.purge is not None
    assert answer.purge.needed.l == pytest.approx(log(1 / 0.045))
    assert answer.purge.foreign_share == pytest.approx(1 / 9)
    assert "purge-too-short" in [one.code for one in answer.findings]


def test_case_56_a_purge_that_is_long_enough_is_no_finding() -> None:
    answer = balanced(hold_up=litres(1), purged=litres(2), limit=0.02)

    assert answer.purge is not None
    assert answer.purge.foreign_share == pytest.approx(exp(-2) / 9)
    assert "purge-too-short" not in [one.code for one in answer.findings]


def test_impossible_purges_are_refused() -> None:
    with pytest.raises(InvalidInput) as refused:
        balanced(hold_up=litres(100.1), purged=litres(1001))

    assert [fault.pointer for fault in refused.value.faults] == [
        "/kind_change/hold_up", "/kind_change/purged",
    ]  # fmt: skip


@pytest.mark.parametrize(("needed_l", "told"), [(3.1, "3.1"), (3.101, "3.2"), (3.19, "3.2")])
def test_the_purge_that_is_told_is_enough(needed_l: float, told: str) -> None:
    (finding,) = purge_findings(foreign_share=0.1, limit_share=0.005, needed_l=needed_l)

    assert finding.message.endswith(f"purge {told} L in all.")


def test_the_finding_says_how_much_and_what_would_do() -> None:
    (finding,) = purge_findings(foreign_share=0.111, limit_share=0.005, needed_l=3.1)

    assert finding.message == (
        "11.1 % of the fill would be of another kind, 0.5 % may be; purge 3.1 L in all."
    )
    (whole,) = purge_findings(foreign_share=1.0, limit_share=0.005, needed_l=3.1)
    assert whole.message.startswith("100 % of the fill")


@pytest.mark.parametrize("limit", [0.0000999, 1.01])
def test_a_limit_has_edges(limit: float) -> None:
    assert balanced(hold_up=litres(0), limit=0.0001).purge is not None
    assert balanced(hold_up=litres(0), limit=1).purge is not None
    with pytest.raises(ValidationError):
        balanced(hold_up=litres(0), limit=limit)
