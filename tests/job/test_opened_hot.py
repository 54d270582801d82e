"""Openings that were hot: judged when they were opened, and by the fluid that came out."""

from datetime import timedelta

import pytest

from libexchange.findings import Finding
from libexchange.job.events import CautionAcknowledged, FluidMoved, ReadingTaken, Started
from libexchange.job.fold import fold
from libexchange.job.opened_hot import OPENED_HOT
from libexchange.quantities import Volume
from tests.job.plans import Bay, celsius, plan_for
from tests.job.test_confirmations import states

PLAN = plan_for()


def word(bay: Bay) -> None:
    bay.add(CautionAcknowledged, after_s=1, code="hot-fluid", by="invented foreman",
            reason="the maker drains hot; shield and gloves on")  # fmt: skip


def hot(bay: Bay) -> list[Finding]:
    told = fold(bay.plan, bay.events).findings
    return [one for one in told if one.code == OPENED_HOT.code]


def begun() -> Bay:
    bay = Bay(PLAN)
    bay.add(Started)
    return bay


def drain(bay: Bay, came_out_c: float | None = None) -> None:
    bay.add(FluidMoved, after_s=1, direction="out", volume=Volume(4.0, "L"),
            temperature=None if came_out_c is None else celsius(came_out_c),
            step_id=bay.step("pan_and_filter"))  # fmt: skip


@pytest.mark.parametrize(
    ("read_c", "found"),
    [(59.9, []), (60.0, ["caution"]), (80.0, ["caution"])],
)
def test_a_word_given_before_leaves_a_caution_up_to_80_degrees(
    read_c: float, found: list[str]
) -> None:
    bay = begun()
    word(bay)
    bay.read(read_c)
    drain(bay)

    assert [one.severity for one in hot(bay)] == found
    assert [one.values["temperature_c"] for one in hot(bay)] == [read_c] * len(found)


@pytest.mark.parametrize("read_c", [80.1, 105.0])
def test_above_80_degrees_no_word_opens_anything(read_c: float) -> None:
    bay = begun()
    word(bay)
    bay.read(read_c)
    drain(bay)

    assert (hot(bay), states(bay)) == ([], [("stop", "gate-open", "closed")])


def test_an_opening_is_judged_when_fluid_came_out_and_not_when_it_was_confirmed() -> None:
    bay = begun()
    bay.read(88)
    drain(bay)
    bay.read(40, every_s=4000)
    bay.confirm("pan_and_filter")

    assert states(bay) == [("stop", "gate-open", "closed")]


@pytest.mark.parametrize(
    ("came_out_c", "said", "found"),
    [
        (59.9, False, []),
        (60.0, False, ["stop"]),
        (60.0, True, ["caution"]),
        (80.0, True, ["caution"]),
        (80.1, True, ["stop"]),
    ],
)
def test_the_fluid_that_came_out_tells_how_hot_it_was(
    came_out_c: float, said: bool, found: list[str]
) -> None:
    bay = begun()
    if said:
        word(bay)
    bay.read(40)
    drain(bay, came_out_c)

    assert [one.severity for one in hot(bay)] == found


def test_a_word_given_afterwards_counts_for_nothing() -> None:
    bay = begun()
    bay.read(40)
    drain(bay, 70)
    word(bay)

    assert [one.severity for one in hot(bay)] == ["stop"]


def test_what_was_read_after_the_opening_does_not_make_it_hot() -> None:
    bay = begun()
    bay.read(40)
    drain(bay)
    bay.read(70)
    bay.confirm("pan_and_filter")

    assert (hot(bay), states(bay)) == ([], [])


def test_a_reading_that_names_the_step_does_not_open_it() -> None:
    bay = begun()
    bay.add(ReadingTaken, source="scan_tool", temperature=celsius(75),
            step_id=bay.step("pan_and_filter"))  # fmt: skip
    bay.now += timedelta(hours=1)
    bay.read(40)
    drain(bay)
    bay.confirm("pan_and_filter")

    assert (hot(bay), states(bay)) == ([], [])


@pytest.mark.parametrize(
    ("before_s", "read_c", "found"),
    [
        (300, 60.0, ["stop"]),
        (299, 76.0, []),
        (300, 59.9, []),
        (2100, 76.0, ["stop"]),
        (2101, 76.0, []),
    ],
)
def test_litres_are_told_after_the_fluid_has_run_out_and_cooled(
    before_s: float, read_c: float, found: list[str]
) -> None:
    bay = begun()
    bay.read(read_c)
    bay.now += timedelta(seconds=before_s - 11)
    bay.read(50, every_s=10)
    drain(bay)

    assert [one.severity for one in hot(bay)] == found


def test_who_read_it_cool_before_the_fluid_ran_out_has_opened_it_cool() -> None:
    bay = begun()
    bay.read(76)
    bay.now += timedelta(seconds=900)
    bay.read(58)
    bay.now += timedelta(seconds=600)
    bay.read(50)
    drain(bay)

    assert hot(bay) == []
