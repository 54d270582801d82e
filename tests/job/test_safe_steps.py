"""The cautions at what makes a vehicle safe: the usual ones, as at the steps of a plan."""

from typing import get_args

import pytest

from libexchange.job.fold import fold
from libexchange.job.safe_steps import CAUTIONS, WORDS, Action
from libexchange.plan.cautions import AT_STEP, TEXTS
from tests.job.plans import Bay, plan_for

ACTIONS: tuple[Action, ...] = get_args(Action)


@pytest.mark.parametrize("action", ACTIONS)
def test_every_action_has_at_most_three_usual_cautions(action: Action) -> None:
    assert action in WORDS
    assert len(CAUTIONS[action]) <= 3
    assert set(CAUTIONS[action]) <= TEXTS.keys()


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
