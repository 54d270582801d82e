"""The level after drives, and fluid that smokes: what ends the setting of the level."""

import pytest

from libexchange.job.events import LevelChecked, TestDriven
from libexchange.job.fold import fold
from libexchange.job.looks import LevelState
from libexchange.job.verdict import verdict
from libexchange.quantities import VolumeChange
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()
AGAIN = "level-off-again-after-drive"


def looked(*story: str) -> LevelState:
    """What a job comes to: `drive`, `over` by a read-out, or what was seen at the plug."""
    bay = Bay(PLAN)
    bay.work_to_level()
    for part in story:
        if part == "drive":
            bay.add(TestDriven, result="ok")
        elif part == "over":
            bay.read(40)
            bay.add(LevelChecked, method="sight", temperature=celsius(40),
                    read_out=VolumeChange(0.4, "L"), engine_running=True)  # fmt: skip
        else:
            bay.look(part)
    found = fold(bay.plan, bay.events).level
    assert found is not None
    return found


def codes(found: LevelState) -> list[str]:
    """Beside the word that a read-out is not what the plan says."""
    return [one.code for one in found.findings if one.code != "level-by-other-method"]


@pytest.mark.parametrize("first", ["nothing", "thread", "over"])
@pytest.mark.parametrize("second", ["nothing", "thread", "over"])
def test_a_level_that_is_off_after_a_second_drive_is_not_in_order(first: str, second: str) -> None:
    found = looked("drip", "drive", first, "drip", "drive", second)

    assert (found.standing, found.verdict, codes(found)) == ("stopped", "stop", [AGAIN])
    assert found.findings[0].values["times"] == 1


@pytest.mark.parametrize(
    "story",
    [
        ("drip", "drive", "nothing"),
        ("drip", "drive", "nothing", "nothing"),
        ("drip", "drive", "nothing", "drive"),
        ("drip", "drive", "drive", "nothing"),
        ("drip", "drive", "drip", "drive", "nothing"),
        ("nothing", "drive", "nothing"),
        ("drive", "nothing", "drive", "nothing"),
        ("drive", "drive", "nothing", "drip", "drive", "nothing"),
    ],
    ids=" ".join,
)
def test_once_it_is_corrected(story: tuple[str, ...]) -> None:
    found = looked(*story)

    assert (found.verdict, codes(found)) == ("add", [])


def test_a_level_that_is_right_after_the_second_drive_is_set() -> None:
    found = looked("drip", "drive", "nothing", "drip", "drive", "drip")

    assert (found.standing, codes(found)) == ("set", [])


def test_any_look_between_two_drives_tells_that_it_was_off() -> None:
    found = looked("drip", "drive", "drip", "nothing", "drip", "drive", "nothing")

    assert codes(found) == [AGAIN]


@pytest.mark.parametrize(("drives", "times"), [(3, 2), (11, 10), (12, 10)])
def test_every_drive_is_counted_up_to_ten(drives: int, times: int) -> None:
    found = looked("drip", *("drive", "nothing") * drives)

    again = next(finding for finding in found.findings if finding.code == AGAIN)
    assert again.values["times"] == times


def test_smoke_ends_the_work_whatever_the_plug_shows() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.look("drip", smoke_seen=True)
    bay.work_after_level()
    state = fold(bay.plan, bay.events)
    assert state.level is not None

    assert (state.level.standing, codes(state.level)) == ("stopped", ["smoke-at-level-check"])
    assert verdict(bay.plan, state).verdict == "not_accepted"


def test_a_look_without_smoke_is_judged_by_the_plug() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.look("drip", smoke_seen=True)
    bay.look("drip", smoke_seen=False)
    found = fold(bay.plan, bay.events).level

    assert found is not None
    assert found.standing == "set"
