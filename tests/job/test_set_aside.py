"""A wrong container that was set aside counts only where what else was told bears it out."""

from typing import Any

import pytest

from libexchange.job.events import (
    FluidMoved,
    FluidOpened,
    FluidSetAside,
    LevelChecked,
    ReadingTaken,
    SecondCheck,
)
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from tests.job.plans import Bay, celsius, litres, plan_for

PLAN = plan_for()
HAND, FOREMAN = "invented hand", "invented foreman"
STOP, ASIDE = "fluid-opened-of-other-kind", "fluid-of-other-kind-set-aside"


def opened(bay: Bay) -> Bay:
    bay.add(FluidOpened, fluid_kind="invented-other")
    return bay


def aside(bay: Bay, became: str, **more: Any) -> Bay:
    told = next(one.event for one in bay.events if isinstance(one.event, FluidOpened))
    bay.add(FluidSetAside, by=HAND, opened=told.event_id, became=became, **more)
    return bay


def moved(bay: Bay, direction: str) -> None:
    bay.add(FluidMoved, direction=direction, mass=litres(3))


def drained(bay: Bay) -> Bay:
    moved(opened(bay), "in")
    moved(bay, "out")
    return aside(bay, "drained")


def told(bay: Bay) -> tuple[str, str]:
    """Which of the two findings there is, and what it says of the setting aside."""
    (found,) = [one for one in fold(PLAN, bay.events).findings if one.code in (STOP, ASIDE)]
    return found.code, found.message.partition("invented-red-six. ")[2]


def test_a_container_that_was_only_opened_is_set_aside_by_whoever_opened_it() -> None:
    bay = aside(opened(Bay(PLAN)), "not_filled")

    assert told(bay) == (ASIDE, "It was set aside: not filled.")
    assert STOP not in [one.code for one in verdict(PLAN, fold(PLAN, bay.events)).findings]


@pytest.mark.parametrize("later", [False, True])
def test_what_went_in_from_it_was_filled_in(later: bool) -> None:
    bay = opened(Bay(PLAN))
    if not later:
        moved(bay, "in")
    aside(bay, "not_filled")
    if later:
        moved(bay, "in")

    against = "fluid went in while it was the last that was opened"
    assert told(bay) == (STOP, f"That it was set aside does not count: {against}.")


def test_what_went_in_from_the_next_container_was_not() -> None:
    bay = aside(opened(Bay(PLAN)), "not_filled")
    bay.add(FluidOpened, fluid_kind="invented-red-six")
    moved(bay, "in")

    assert told(bay)[0] == ASIDE


def test_what_was_drained_needs_somebody_else_to_look() -> None:
    bay = drained(Bay(PLAN))
    nobody = "That it was set aside does not count: nobody else has checked the fluid since."
    assert told(bay) == (STOP, nobody)
    bay.add(SecondCheck, checked="fluid", result="agreed", by=HAND)
    assert told(bay) == (STOP, nobody)
    bay.add(SecondCheck, checked="fluid", result="agreed", by="Invented  Hand ")
    assert told(bay) == (STOP, nobody)
    bay.add(SecondCheck, checked="level", result="agreed", by=FOREMAN)
    assert told(bay) == (STOP, nobody)
    bay.add(SecondCheck, checked="fluid", result="agreed", by=FOREMAN)
    assert told(bay) == (ASIDE, "It was set aside: drained.")
    bay.add(SecondCheck, checked="fluid", result="not_agreed", by=FOREMAN)
    assert told(bay) == (STOP, nobody)


def test_a_check_from_before_it_is_none() -> None:
    bay = opened(Bay(PLAN))
    moved(bay, "in")
    bay.add(SecondCheck, checked="fluid", result="agreed", by=FOREMAN)
    moved(bay, "out")
    aside(bay, "drained")

    assert told(bay)[0] == STOP


@pytest.mark.parametrize("running", [True, False, None])
@pytest.mark.parametrize("by", ["reading", "look"])
def test_what_was_drained_must_not_have_been_run(by: str, running: bool | None) -> None:
    bay = opened(Bay(PLAN))
    moved(bay, "in")
    if by == "reading":
        bay.add(ReadingTaken, source="scan_tool", temperature=celsius(30), engine_running=running)
    else:
        bay.add(LevelChecked, method="overflow_plug", temperature=celsius(30), observed="drip",
                engine_running=running)  # fmt: skip
    moved(bay, "out")
    aside(bay, "drained")
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(30), engine_running=True)
    bay.add(SecondCheck, checked="fluid", result="agreed", by=FOREMAN)
    ran = (STOP, "That it was set aside does not count: the engine ran between.")

    assert told(bay) == (ran if running else (ASIDE, "It was set aside: drained."))


def test_what_went_in_and_never_came_out_was_not_drained() -> None:
    bay = opened(Bay(PLAN))
    moved(bay, "out")
    moved(bay, "in")
    aside(bay, "drained")
    bay.add(SecondCheck, checked="fluid", result="agreed", by=FOREMAN)

    assert told(bay) == (
        STOP, "That it was set aside does not count: nothing is recorded as drained between."
    )  # fmt: skip


def test_another_container_is_not_meant() -> None:
    bay = Bay(PLAN)
    bay.add(FluidOpened, fluid_kind="invented-red-six")
    aside(opened(bay), "not_filled")

    assert told(bay) == (STOP, "")
