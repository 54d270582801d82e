"""What guidance says of the level: what to do, how much, and how much was done."""

import pytest

from libexchange.catalogue import LevelData
from libexchange.job.events import LevelChecked, ReadingTaken
from libexchange.job.guidance import guidance
from libexchange.job.level_now import LevelNow
from libexchange.level_records import DipstickReading
from libexchange.quantities import Length, VolumeChange
from tests.job.plans import Bay, celsius, plan_for
from tests.job.test_gates import WINDOW

PLAN = plan_for()


def looked(observed: str, *, lacking_l: float = 0.0) -> Bay:
    bay = Bay(PLAN)
    bay.work_to_level(lacking_l=lacking_l)
    bay.read(38, 38.2, 38.4)
    bay.look(observed, 38.5, after_s=3)
    return bay


def now(bay: Bay) -> LevelNow | None:
    return guidance(PLAN, bay.events, at=bay.now).level_correction


def told(bay: Bay) -> tuple[str, float | None]:
    found = now(bay)
    assert found is not None
    return found.what, None if found.litres is None else round(found.litres.l, 3)


def test_nothing_is_told_before_a_look_and_after_the_level_is_set() -> None:
    before = Bay(PLAN)
    before.work_to_level()

    assert (now(before), now(looked("drip"))) == (None, None)


def test_what_was_added_since_is_not_asked_for_again() -> None:
    bay = looked("nothing")
    assert told(bay) == ("add", 0.3)

    bay.move("in", 0.2, "set_level")
    assert told(bay) == ("add", 0.1)

    bay.move("in", 0.1, "set_level")
    assert told(bay) == ("look_again", None)


def test_rounds_and_litres_are_told_with_their_limits() -> None:
    bay = looked("nothing")
    bay.move("in", 0.3, "set_level")

    found = now(bay)
    assert found is not None
    assert (found.rounds, found.rounds_limit, found.uncertainty) == (1, 3, None)
    assert (round(found.added.l, 3), found.added_limit.l) == (0.3, 0.5)


def test_the_rest_of_the_refill_is_no_correction() -> None:
    assert told(looked("nothing", lacking_l=1.0)) == ("add_refill", 1.0)


def test_what_runs_out_is_let_run_and_looked_at_again() -> None:
    bay = looked("stream")
    assert told(bay) == ("let_run", None)

    bay.move("out", 0.2, "set_level")
    assert told(bay) == ("look_again", None)


def test_a_void_look_is_to_be_repeated() -> None:
    bay = looked("drip")
    bay.add(ReadingTaken, after_s=1, source="scan_tool", temperature=celsius(70))

    assert told(bay) == ("look_again", None)


def test_smoke_ends_the_work_on_the_level() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.look("drip", smoke_seen=True)

    assert told(bay) == ("stop", None)


@pytest.mark.parametrize(("height_mm", "what"), [(2.0, "add"), (9.0, None), (16.0, "remove")])
def test_a_stick_whose_marks_tell_no_litres_asks_without_litres(
    height_mm: float, what: str | None
) -> None:
    bay = Bay(plan_for(profile={"level": LevelData(method="dipstick", window=WINDOW)}))
    bay.work_to_level()
    bay.read(39, 39.2, 39.4)
    stick = DipstickReading(
        height=Length(height_mm, "mm"), low_mark=Length(4, "mm"), high_mark=Length(14, "mm")
    )
    bay.add(LevelChecked, after_s=3, method="dipstick", temperature=celsius(39.5), reading=stick,
            engine_running=True)  # fmt: skip
    found = guidance(bay.plan, bay.events, at=bay.now).level_correction

    assert (found and (found.what, found.litres)) == (what and (what, None))


def test_what_is_left_to_take_out_is_told() -> None:
    bay = Bay(plan_for(profile={"level": LevelData(method="sight", window=WINDOW)}))
    bay.work_to_level()
    bay.read(39, 39.2, 39.4)
    bay.add(LevelChecked, after_s=3, method="sight", temperature=celsius(39.5),
            read_out=VolumeChange(0.3, "L"), engine_running=True)  # fmt: skip

    def told() -> tuple[str, float]:
        found = guidance(bay.plan, bay.events, at=bay.now).level_correction
        assert found is not None
        assert found.litres is not None
        return found.what, round(found.litres.l, 3)

    assert told() == ("remove", 0.3)

    bay.move("out", 0.1, "set_level")

    assert told() == ("remove", 0.2)
