"""What speaks against a level that looked right."""

import pytest

from libexchange.job.events import (
    LeakChecked,
    LevelChecked,
    ReadingTaken,
    TestDriven,
    WorkFinished,
)
from libexchange.job.fold import fold
from libexchange.job.verdict import Verdict, verdict
from libexchange.quantities import Pressure
from tests.job.plans import Bay, plan_for


@pytest.fixture
def bay() -> Bay:
    made = Bay(plan_for(route="pan_and_filter"))
    made.work_to_level()
    return made


def judged(bay: Bay) -> Verdict:
    return verdict(bay.plan, fold(bay.plan, bay.events))


def codes(bay: Bay) -> set[str]:
    return {finding.code for finding in judged(bay).findings}


@pytest.mark.parametrize(("out_l", "told"), [(0.99, False), (1.01, True), (4.2, True)])
def test_more_than_a_litre_that_ran_out_and_was_not_over_is_a_stop(
    bay: Bay, out_l: float, told: bool
) -> None:
    bay.look("stream")
    bay.move("out", out_l, "set_level")
    bay.look("drip")
    bay.work_after_level()

    assert ("more-ran-out-than-was-over" in codes(bay)) is told
    assert (judged(bay).verdict == "not_accepted") is told


def test_what_was_over_from_the_refill_may_run_out() -> None:
    bay = Bay(plan_for(route="pan_and_filter"))
    bay.work_to_level(lacking_l=-1.5)
    bay.look("stream")
    bay.move("out", 1.5, "set_level")
    bay.look("drip")

    assert "more-ran-out-than-was-over" not in codes(bay)


def finish(bay: Bay) -> None:
    bay.add(TestDriven, result="ok")
    bay.confirm("test_drive", "hand_over")
    bay.add(WorkFinished)


def leak_and_seal(bay: Bay) -> None:
    bay.look("drip")
    bay.confirm_open("set_level")
    bay.add(LeakChecked, result="leak")
    bay.add(LeakChecked, result="dry")
    bay.confirm("leak_check")


def test_a_leak_that_was_sealed_needs_a_new_look(bay: Bay) -> None:
    leak_and_seal(bay)
    finish(bay)

    assert judged(bay).verdict == "incomplete"
    assert "level-not-looked-at-after-leak" in codes(bay)


def test_the_look_after_a_leak_settles_it(bay: Bay) -> None:
    leak_and_seal(bay)
    bay.look("drip")
    finish(bay)

    assert "level-not-looked-at-after-leak" not in codes(bay)


def test_a_look_by_a_sensor_that_stands_still_does_not_count(bay: Bay) -> None:
    bay.read(30, 33, 36, 38, every_s=60)
    bay.read(*[38] * 60, every_s=10)
    bay.look("drip", 38)

    assert "level-looked-at-by-stuck-sensor" in codes(bay)
    assert judged(bay).verdict == "incomplete"


def test_a_pressure_before_the_look_hides_no_sensor_that_stands_still(bay: Bay) -> None:
    bay.read(30, 33, 36, 38, every_s=60)
    bay.read(*[38] * 60, every_s=10)
    bay.add(ReadingTaken, after_s=30, source="in_line", pressure=Pressure(1.0, "bar"))
    bay.look("drip", 38)

    assert "level-looked-at-by-stuck-sensor" in codes(bay)


def test_a_look_by_a_sensor_that_moves_does(bay: Bay) -> None:
    bay.read(30, 33, 36, 37, 38, every_s=60)
    bay.look("drip", 38)

    assert "level-looked-at-by-stuck-sensor" not in codes(bay)


def test_what_was_added_and_ran_out_again_was_not_added(bay: Bay) -> None:
    for _ in range(2):
        bay.look("nothing")
        bay.move("in", 0.3, "set_level")
        bay.look("stream")
        bay.move("out", 0.28, "set_level")
    bay.look("drip")
    level = fold(bay.plan, bay.events).level

    assert level is not None
    assert level.added.l == pytest.approx(0.04, abs=1e-3)
    assert level.rounds == 2


def test_nothing_is_doubted_while_nobody_has_looked(bay: Bay) -> None:
    assert not [one for one in bay.events if isinstance(one.event, LevelChecked)]
    assert not [code for code in codes(bay) if code.startswith("level-looked")]
