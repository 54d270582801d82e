"""The look at the level in a job: what was added before it, the loop limits, the window, slope."""

import pytest

from libexchange.catalogue import LevelData
from libexchange.job.events import LevelChecked
from libexchange.job.fold import fold
from libexchange.job.looks import LevelState
from libexchange.level_records import DipstickReading
from libexchange.quantities import Angle, Length, Volume
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()


def level(bay: Bay) -> LevelState:
    found = fold(bay.plan, bay.events).level
    assert found is not None
    return found


def ready() -> Bay:
    bay = Bay(PLAN)
    bay.work_to_level()
    return bay


def codes(found: LevelState) -> list[str]:
    return [finding.code for finding in found.findings]


def test_a_drip_in_the_window_sets_the_level() -> None:
    bay = ready()
    bay.look("drip")

    assert (level(bay).standing, level(bay).verdict) == ("set", "in_range")


def test_nothing_at_the_plug_asks_for_a_step_and_a_new_look() -> None:
    bay = ready()
    bay.look("nothing")

    found = level(bay)
    assert (found.standing, found.verdict) == ("not_set", "add")
    assert found.correction is not None
    assert found.correction.l == 0.3


def test_the_level_is_open_again_once_fluid_moves_after_the_look() -> None:
    bay = ready()
    bay.look("drip")
    bay.move("in", 0.2, "set_level")

    assert level(bay).standing == "not_set"


def test_a_look_is_judged_by_what_was_added_before_it() -> None:
    bay = ready()
    bay.look("nothing")
    bay.move("in", 0.6, "set_level")

    found = level(bay)
    assert (found.standing, found.verdict) == ("not_set", "add")
    assert found.added.l == pytest.approx(0.6)


def test_more_added_than_a_correction_explains_ends_the_loop() -> None:
    bay = ready()
    for _ in range(2):
        bay.look("nothing")
        bay.move("in", 0.3, "set_level")
    bay.look("nothing")

    found = level(bay)
    assert (found.standing, found.verdict) == ("stopped", "stop")
    assert "level-correction-beyond-limit" in codes(found)


def test_a_fourth_round_ends_the_loop_however_little_was_added() -> None:
    bay = ready()
    for _ in range(3):
        bay.look("nothing")
        bay.move("in", 0.1, "set_level")
    bay.look("drip")
    assert level(bay).standing == "set"

    bay.move("in", 0.1, "set_level")
    bay.look("drip")

    assert level(bay).standing == "stopped"
    assert codes(level(bay)) == ["level-rounds-beyond-limit"]


def test_the_last_of_the_refill_through_the_level_hole_is_no_round() -> None:
    bay = Bay(PLAN)
    bay.work_to_level(lacking_l=1.5)
    for _ in range(5):
        bay.move("in", 0.3, "set_level")
    bay.look("drip")

    assert (level(bay).standing, level(bay).rounds) == ("set", 0)


def test_above_the_window_a_computed_amount_settles_the_level_with_a_remark() -> None:
    bay = ready()
    bay.look("drip", 55)
    found = level(bay)
    assert (found.standing, found.verdict) == ("not_set", "redo")
    assert found.correction is not None

    bay.move("in", found.correction.l, "set_level")

    assert level(bay).standing == "set_outside_window"
    assert codes(level(bay)) == ["level-read-above-window"]


def test_a_cooling_fluid_makes_the_look_void() -> None:
    bay = ready()
    bay.read(*[44 - 0.1 * n for n in range(10)])
    bay.look("drip", 43, after_s=1)

    found = level(bay)
    assert (found.standing, found.verdict) == ("not_set", "cannot_tell")
    assert codes(found) == ["level-read-while-cooling"]


def test_how_it_cooled_long_before_the_look_does_not_matter() -> None:
    bay = ready()
    bay.read(*[44 - 0.1 * n for n in range(10)])
    bay.look("drip", 40, after_s=600)

    assert level(bay).standing == "set"


def test_a_fluid_that_warms_slowly_does_not() -> None:
    bay = ready()
    bay.read(*[38 + 0.1 * n for n in range(10)])
    bay.look("drip", 39, after_s=1)

    assert level(bay).standing == "set"


def test_without_a_window_the_level_is_not_known() -> None:
    bay = Bay(plan_for(profile={"level": LevelData(method="overflow_plug")}))
    bay.work_to_level()
    bay.look("drip")

    found = level(bay)
    assert (found.standing, found.verdict) == ("not_known", "cannot_tell")
    assert codes(found) == ["level-window-unknown"]


@pytest.mark.parametrize(("slope", "found"), [(0.5, []), (1.0, ["level-read-on-slope"])])
def test_a_slope_beyond_half_a_degree_is_told(slope: float, found: list[str]) -> None:
    bay = ready()
    bay.look("drip", slope=Angle(-slope, "deg"))

    assert codes(level(bay)) == found


def test_an_engine_that_is_off_at_the_plug_is_told() -> None:
    bay = ready()
    bay.look("drip", engine_running=False)

    assert level(bay).standing == "not_set"
    assert codes(level(bay)) == ["engine-off-at-overflow-plug"]


def test_a_dipstick_is_judged_by_its_reading() -> None:
    bay = ready()
    stick = DipstickReading(
        height=Length(2, "mm"),
        low_mark=Length(4, "mm"),
        high_mark=Length(14, "mm"),
        between_marks=Volume(0.4, "L"),
    )
    bay.add(LevelChecked, method="dipstick", temperature=celsius(40), reading=stick,
            engine_running=True)  # fmt: skip

    found = level(bay)
    assert found.verdict == "add"
    assert found.correction is not None
    assert found.correction.l == pytest.approx(0.2)
