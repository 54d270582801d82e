"""Repeated drains and refills: shares, the cycles a target takes, and what cannot be computed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import convert

from libexchange.calculations.drain_cycles import (
    DrainCyclesAnswer,
    DrainCyclesRequest,
    calculate_drain_cycles,
)
from libexchange.errors import InvalidInput


def drains(total: float, drained: float, **more: object) -> DrainCyclesAnswer:
    request = {
        "total": {"value": total, "unit": "L"},
        "drained_per_cycle": {"value": drained, "unit": "L"},
    } | more
    return calculate_drain_cycles(convert(request, DrainCyclesRequest))


def stranded(litres: float) -> dict[str, object]:
    return {"value": litres, "unit": "L"}


def test_a_number_of_cycles_gives_so_many_shares() -> None:
    answer = drains(10, 4, cycles=5)

    assert answer.fresh_share_after == pytest.approx([0.4, 0.64, 0.784, 0.8704, 0.92224])
    assert (answer.cycles_needed, answer.ceiling, answer.findings) == (None, 1, [])


@pytest.mark.parametrize(("target", "needed"), [(0.8, 3), (0.9, 5), (0.99, None)])
def test_cycles_for_a_share_with_stranded_fluid(target: float, needed: int | None) -> None:
    answer = drains(100, 0.45 * 98, stranded=stranded(2), target_fresh_share=target)

    assert answer.cycles_needed == needed
    assert len(answer.fresh_share_after) == (needed or 50)
    assert [f.code for f in answer.findings] == ([] if needed else ["target-above-ceiling"])


@given(cycles=st.integers(1, 12), drained=st.floats(0.5, 7))
def test_an_exact_target_needs_exactly_its_cycles(cycles: int, drained: float) -> None:
    reached = drains(10, drained, cycles=cycles).fresh_share_after
    answer = drains(10, drained, target_fresh_share=reached[-1])

    assert answer.cycles_needed == cycles
    assert answer.fresh_share_after == reached


def test_a_target_that_fifty_cycles_do_not_reach_is_said_apart_from_the_ceiling() -> None:
    answer = drains(10, 0.1, target_fresh_share=0.9)

    assert (answer.cycles_needed, answer.ceiling) == (None, 1)
    assert [f.code for f in answer.findings] == ["drained-share-unusual", "target-beyond-limit"]


def test_all_of_it_may_be_drained_at_once() -> None:
    assert drains(10, 8, stranded=stranded(2), cycles=1).fresh_share_after == [0.8]


@pytest.mark.parametrize(
    ("more", "detail"),
    [({}, "neither is given"), ({"cycles": 2, "target_fresh_share": 0.8}, "both are given")],
)
def test_exactly_one_of_target_and_cycles(more: dict[str, object], detail: str) -> None:
    with pytest.raises(InvalidInput) as caught:
        drains(10, 4, **more)

    assert [(f.code, f.detail) for f in caught.value.faults] == [("exactly-one-of", detail)]


@pytest.mark.parametrize(
    ("total", "drained", "stays", "pointer"),
    [
        (10, 8.1, 2, "/drained_per_cycle"),
        (10, 4, 10, "/stranded"),
        (0.4, 0.1, 0, "/total"),
        (501, 4, 0, "/total"),
    ],
)
def test_a_fill_that_cannot_be_is_refused_beside_every_other_fault(
    total: float, drained: float, stays: float, pointer: str
) -> None:
    with pytest.raises(InvalidInput) as caught:
        drains(total, drained, stranded=stranded(stays))

    assert [fault.pointer for fault in caught.value.faults] == [pointer, "/target_fresh_share"]


@pytest.mark.parametrize(
    ("stays", "target", "text"),
    [
        (0, 1.0, "The target is 1, the ceiling 1, which is approached and never reached."),
        (2, 0.98, "The target is 0.98, the ceiling 0.98, which is approached and never reached."),
        (2, 0.99, "The target is 0.99, the ceiling 0.98."),
        (2, 0.98004, "The target is 0.98004, the ceiling 0.98."),
        (0.01, 1.0, "The target is 1, the ceiling 0.9999."),
    ],
)
def test_case_74_a_target_and_its_ceiling_are_told_apart(
    stays: float, target: float, text: str
) -> None:
    answer = drains(100, 45, stranded=stranded(stays), target_fresh_share=target)

    assert [finding.message for finding in answer.findings] == [text]
    assert answer.cycles_needed is None


def test_a_target_beyond_fifty_cycles_says_so() -> None:
    answer = drains(10, 0.1, target_fresh_share=0.95)

    assert answer.findings[-1].message == "The target of 0.95 takes more than 50 cycles."
