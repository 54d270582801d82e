"""A look at the level is believed only as far as what else was told of its moment."""

from typing import Any

import pytest

from libexchange.job.events import LeakChecked, LevelChecked, ReadingTaken
from libexchange.job.fold import fold
from libexchange.job.looks import LevelState
from libexchange.job.verdict import verdict
from libexchange.level_records import DipstickReading
from libexchange.quantities import Duration, Length
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()
STICK = DipstickReading(
    height=Length(50, "mm"), low_mark=Length(40, "mm"), high_mark=Length(60, "mm")
)


def state(bay: Bay) -> LevelState:
    found = fold(PLAN, bay.events).level
    assert found is not None
    return found


def codes(bay: Bay) -> set[str]:
    return {finding.code for finding in state(bay).findings}


def read_then_looked(
    temperature_c: float, *, source: str = "scan_tool", after_s: float = 4, **look: Any
) -> Bay:
    """A reading, then a look typed as 39 Cel."""
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.add(ReadingTaken, source=source, temperature=celsius(temperature_c))
    bay.add(LevelChecked, after_s=after_s, method="overflow_plug", temperature=celsius(39),
            observed="drip", **{"engine_running": True, **look})  # fmt: skip
    return bay


@pytest.mark.parametrize(
    ("source", "temperature_c", "standing"),
    [
        ("scan_tool", 47.0, "set"),
        ("scan_tool", 47.1, "not_set"),
        ("scan_tool", 31.0, "set"),
        ("scan_tool", 30.9, "not_set"),
        ("scan_tool_typed", 49.0, "set"),
        ("scan_tool_typed", 49.1, "not_set"),
        ("clamp_on", 70.0, "set"),
    ],
)
def test_what_was_read_and_what_was_typed_agree_within_their_errors(
    source: str, temperature_c: float, standing: str
) -> None:
    bay = read_then_looked(temperature_c, source=source)

    assert state(bay).standing == standing
    assert ("level-temperature-differs" in codes(bay)) == (standing == "not_set")


@pytest.mark.parametrize(("after_s", "standing"), [(60, "not_set"), (61, "set")])
def test_a_reading_tells_of_a_look_for_a_minute(after_s: float, standing: str) -> None:
    bay = read_then_looked(70, after_s=after_s)

    assert state(bay).standing == standing
    assert ("level-trend-not-known" in codes(bay)) == (standing == "set")


@pytest.mark.parametrize(("after_s", "standing"), [(60, "not_set"), (61, "set")])
def test_a_reading_after_the_look_tells_of_it_too(after_s: float, standing: str) -> None:
    bay = read_then_looked(70, after_s=61)
    bay.add(ReadingTaken, after_s=after_s, source="scan_tool", temperature=celsius(70))

    assert state(bay).standing == standing


def test_a_job_whose_look_differs_from_the_scan_tool_is_not_accepted() -> None:
    bay = read_then_looked(70)
    bay.work_after_level()

    assert verdict(PLAN, fold(PLAN, bay.events)).verdict == "incomplete"


@pytest.mark.parametrize(
    ("running", "verdict_of_look"), [(True, "in_range"), (None, "cannot_tell")]
)
def test_an_engine_that_nobody_told_of_leaves_the_level_untold(
    running: bool | None, verdict_of_look: str
) -> None:
    bay = read_then_looked(39, engine_running=running)

    assert state(bay).verdict == verdict_of_look
    assert ("level-engine-state-not-told" in codes(bay)) == (running is None)


def test_only_sensors_of_the_unit_tell_a_trend() -> None:
    assert "level-trend-not-known" in codes(read_then_looked(39, source="infrared"))
    assert "level-trend-not-known" not in codes(read_then_looked(39))


def test_a_look_by_another_method_is_told_and_counts() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.read(38.8)
    bay.add(LevelChecked, after_s=5, method="dipstick", temperature=celsius(39), reading=STICK,
            engine_running=True)  # fmt: skip

    assert (state(bay).standing, codes(bay)) == ("set", {"level-by-other-method"})


@pytest.mark.parametrize("temperature_c", [22, 80])
def test_an_amount_put_back_sets_no_level_where_it_can_be_looked_at(temperature_c: float) -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.add(LevelChecked, method="measured_refill", temperature=celsius(temperature_c))

    assert state(bay).standing == "not_set"
    assert "level-by-other-method" in codes(bay)
    assert not fold(PLAN, bay.events).standing.level_known


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ({"foam_seen": True}, "level-fluid-aerated"),
        ({"overflow_tube_fitted": False}, "overflow-tube-missing"),
        ({"gears_cycled": False}, "selector-not-as-required"),
        ({"selector_right": False}, "selector-not-as-required"),
        ({"temperature_source": "infrared"}, "level-temperature-not-by-own-sensor"),
        ({"waited": Duration(29, "s")}, "level-not-settled"),
    ],
)
def test_what_makes_a_look_void_can_be_told(told: dict[str, Any], code: str) -> None:
    bay = read_then_looked(39, **told)

    assert (state(bay).standing, code in codes(bay)) == ("not_set", True)


def test_a_leak_that_was_found_answers_for_what_was_added_before_it() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    for amount_l in (0.3, 0.2):
        bay.look("nothing")
        bay.move("in", amount_l, "set_level")
    bay.look("drip")
    bay.add(LeakChecked, result="leak")
    bay.look("nothing")
    bay.move("in", 0.3, "set_level")
    bay.read(38.8)
    bay.look("drip", after_s=4)

    found = state(bay)
    assert (found.standing, found.rounds, round(found.added.l, 3)) == ("set", 1, 0.3)


def test_without_a_leak_the_limit_of_what_is_added_stands() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    for amount_l in (0.3, 0.2, 0.3):
        bay.look("nothing")
        bay.move("in", amount_l, "set_level")
    bay.look("drip")

    assert state(bay).standing == "stopped"
