"""The cautions at what makes a vehicle safe: the usual ones, as at the steps of a plan."""

from typing import get_args

import pytest

from libexchange.job.fold import fold
from libexchange.job.safe_steps import (
    CAUTIONS,
    NO_HIGH_VOLTAGE,
    WORDS,
    Action,
    SafeStep,
    at_high_voltage,
    safe_step,
)
from libexchange.plan.cautions import AT_STEP, JOINED, TEXTS
from libexchange.plan.records import Plan, StepKind
from tests.job.plans import Bay, plan_for


def codes(step: SafeStep) -> list[str]:
    return [one.code for one in step.cautions]


ACTIONS: tuple[Action, ...] = get_args(Action)


@pytest.mark.parametrize("action", ACTIONS)
def test_every_action_has_at_most_three_usual_cautions(action: Action) -> None:
    assert action in WORDS
    assert len(CAUTIONS[action]) <= 3
    assert set(CAUTIONS[action]) <= TEXTS.keys()


@pytest.mark.parametrize("action", ACTIONS)
def test_high_voltage_is_the_third_caution_and_leaves_none_out(action: Action) -> None:
    usual = safe_step(action)
    told = at_high_voltage(usual)
    parts = {part for pair, one in JOINED.items() for part in pair if one in codes(told)}

    assert set(codes(usual)) <= set(codes(told)) | parts
    assert len(told.cautions) <= 3
    assert ("high-voltage" in codes(told)) == (action not in NO_HIGH_VOLTAGE)


def test_a_hybrid_is_made_safe_with_the_caution_of_high_voltage() -> None:
    hybrid = plan_for(profile={"high_voltage": "yes"})
    cases: list[tuple[Plan, StepKind, bool]] = [
        (plan_for(), "pan_and_filter", False), (hybrid, "drain", True),
    ]  # fmt: skip
    for plan, opened, warned in cases:
        bay = Bay(plan)
        bay.confirm(opened)
        steps = fold(plan, bay.events).standing.make_safe

        assert [one.action for one in steps][:1] == ["find_out_what_is_in"]
        assert any("high-voltage" in codes(one) for one in steps) == warned


def test_what_is_also_a_step_of_a_plan_has_the_cautions_of_that() -> None:
    assert CAUTIONS["set_level"] == AT_STEP["set_level"]
    assert CAUTIONS["disconnect_lines"] == AT_STEP["disconnect_lines"]
    assert set(CAUTIONS["look_for_leaks"]) == set(AT_STEP["leak_check"])


def test_a_feed_that_is_stopped_warns_of_pressure_and_heat() -> None:
    bay = Bay(plan_for(route="line_exchange"))
    bay.confirm("connect_lines")
    bay.move("in", 1.0, "line_exchange")
    first = fold(bay.plan, bay.events).standing.first

    assert first.action == "stop_the_feed"
    assert [(one.code, one.text) for one in first.cautions] == [
        (code, TEXTS[code]) for code in ("hot-fluid", "lines-under-pressure", "slippery-floor")
    ]
