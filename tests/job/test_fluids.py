"""Litres in and out, what is refill and what is correction, and the share that they reach."""

import pytest
from msgspec.structs import replace

from libexchange.job.events import FluidMoved, ReadingTaken
from libexchange.job.fold import fold
from libexchange.job.state import JobState
from libexchange.quantities import Temperature, Volume
from tests.job.plans import Bay, litres, plan_for

PLAN = plan_for()


def state(bay: Bay) -> JobState:
    return fold(bay.plan, bay.events)


def close(value: float) -> object:
    return pytest.approx(value, abs=1e-9)


def test_volumes_are_brought_to_15_degrees_before_they_are_compared() -> None:
    bay = Bay(PLAN)
    for direction, celsius in (("in", 20), ("out", 75)):
        bay.add(FluidMoved, direction=direction, volume=Volume(12, "L"),
                temperature=Temperature(celsius, "Cel"))  # fmt: skip

    balance = state(bay).balance
    assert balance is not None
    assert balance.difference is not None
    assert round(balance.difference.l, 2) == 0.49


def test_a_balance_is_open_until_the_level_is_set() -> None:
    bay = Bay(PLAN)
    bay.move("out", 4, "pan_and_filter")
    balance = state(bay).balance
    assert balance is not None
    assert (balance.verdict, balance.findings) == ("open", ())

    bay.look("drip")

    balance = state(bay).balance
    assert balance is not None
    assert balance.verdict == "stop"
    assert [finding.code for finding in balance.findings] == ["balance-not-closed"]


@pytest.mark.parametrize(
    ("lacking_l", "put_in_l", "added_l", "rounds", "expected_l"),
    [
        (0.0, [], 0.0, 0, 0.0),
        (0.0, [0.3], 0.3, 1, 0.3),
        (0.0, [0.2, 0.2], 0.4, 2, 0.4),
        (1.0, [0.6], 0.0, 0, 0.0),
        (1.0, [0.6, 0.4], 0.0, 0, 0.0),
        (1.0, [0.6, 0.6], 0.2, 1, 0.2),
        (1.0, [1.0, 0.1, 0.1], 0.2, 2, 0.2),
    ],
)
def test_refilling_is_not_correcting(
    lacking_l: float, put_in_l: list[float], added_l: float, rounds: int, expected_l: float
) -> None:
    bay = Bay(PLAN)
    bay.work_to_level(lacking_l=lacking_l)
    for amount_l in put_in_l:
        bay.move("in", amount_l, "set_level")
    bay.look("drip")

    level, balance = state(bay).level, state(bay).balance
    assert level is not None
    assert balance is not None
    assert balance.expected_change is not None
    assert (level.added.l, level.rounds) == (close(added_l), rounds)
    assert balance.expected_change.l == close(expected_l)


def test_what_runs_out_after_too_much_went_in_is_no_correction() -> None:
    bay = Bay(PLAN)
    bay.work_to_level(lacking_l=-0.4)
    bay.move("out", 0.4, "set_level")
    bay.look("drip")

    balance = state(bay).balance
    assert balance is not None
    assert balance.expected_change is not None
    assert balance.expected_change.l == close(0)
    assert balance.verdict == "ok"


def test_fluid_added_without_a_step_after_the_first_look_is_a_correction() -> None:
    bay = Bay(PLAN)
    bay.work_to_level()
    bay.look("nothing")
    bay.move("in", 0.3)

    level = state(bay).level
    assert level is not None
    assert level.added.l == close(0.3)


@pytest.mark.parametrize(
    ("difference_l", "verdict", "severities"),
    [(0.25, "ok", []), (0.4, "warn", ["caution"]), (-0.4, "warn", ["caution"]),
     (0.7, "stop", ["stop"])],
)  # fmt: skip
def test_litres_that_drift_apart_in_the_lines_are_told(
    difference_l: float, verdict: str, severities: list[str]
) -> None:
    bay = Bay(PLAN)
    bay.move("in", 2 + difference_l, "line_exchange")
    bay.move("out", 2, "line_exchange")

    line = state(bay).line_exchange
    assert line is not None
    assert (line.verdict, [f.severity for f in line.findings]) == (verdict, severities)


def test_litres_that_no_job_moves_are_told_and_compute_nothing() -> None:
    bay = Bay(PLAN)
    for _ in range(3):
        bay.move("in", 100, "refill")

    folded = state(bay)
    assert [finding.code for finding in folded.findings] == ["moved-litres-unbelievable"]
    assert (folded.balance, folded.level, folded.fresh_share) == (None, None, None)


def test_the_planned_litres_reach_the_planned_share() -> None:
    bay = Bay(PLAN).whole_job()

    share = state(bay).fresh_share
    assert share is not None
    assert PLAN.forecast is not None
    # the card's litres are rounded to tenths, which is worth a little
    assert share.expected == pytest.approx(PLAN.forecast.fresh_share.expected, abs=0.005)
    assert share.low < share.expected < share.high
    assert "not measured" in share.basis


def through_the_lines(in_l: float, out_l: float) -> JobState:
    assert PLAN.offline_card is not None
    assert PLAN.offline_card.refill is not None
    bay = Bay(PLAN)
    bay.move("in", PLAN.offline_card.refill.l, "refill")
    bay.move("in", in_l, "line_exchange")
    bay.move("out", out_l, "line_exchange")
    return state(bay)


@pytest.mark.parametrize("left", [0, 5, 11])
def test_the_share_lies_straight_between_the_points_of_the_plan_by_the_lesser_side(
    left: int,
) -> None:
    assert PLAN.forecast is not None
    one, two = PLAN.forecast.curve[left : left + 2]
    middle_l = (one.exchanged.l + two.exchanged.l) / 2

    share = through_the_lines(middle_l + 0.2, middle_l).fresh_share
    assert share is not None
    assert share.expected == close((one.fresh_share + two.fresh_share) / 2)
    assert share.exchanged_15.l == close(middle_l)


def test_beyond_the_curve_the_share_is_that_of_its_end() -> None:
    assert PLAN.forecast is not None
    end = PLAN.forecast.curve[-1]

    share = through_the_lines(end.exchanged.l + 5, end.exchanged.l + 5).fresh_share
    assert share is not None
    assert share.expected == close(end.fresh_share)


def test_a_refill_far_from_the_plan_leaves_the_share_untold() -> None:
    bay = Bay(PLAN)
    bay.move("in", 2, "refill")
    bay.move("in", 4, "line_exchange")

    folded = state(bay)
    assert folded.fresh_share is None
    assert [finding.code for finding in folded.findings] == ["fresh-share-cannot-be-told"]


def test_a_single_drain_renews_what_was_put_in_of_the_whole() -> None:
    plan = plan_for(route="drain", reason="maker_drain")
    bay = Bay(plan)
    bay.add(FluidMoved, direction="in", mass=litres(3.6), step_id=bay.step("refill"))

    share = state(bay).fresh_share
    assert share is not None
    assert share.expected == close(3.6 / 9.0)


def test_fluid_through_the_lines_of_a_drain_plan_leaves_the_share_untold() -> None:
    steps = plan_for().steps
    bay = Bay(replace(plan_for(route="drain", reason="maker_drain"), steps=steps))
    bay.move("in", 3.6, "refill")
    bay.move("in", 4, "line_exchange")

    assert state(bay).fresh_share is None


@pytest.mark.parametrize("route", ["drain_cycles", "suction", "line_batches"])
def test_cycles_reach_the_plan_only_when_all_of_it_went_in(route: str) -> None:
    plan = plan_for(route=route, profile={"line_batches_in_maker_procedure": "yes"})
    assert plan.offline_card is not None
    assert plan.offline_card.refill is not None
    assert plan.forecast is not None
    part, whole = Bay(plan), Bay(plan)
    assert plan.offline_card.cycles > 1
    for _ in range(plan.offline_card.cycles):
        part.move("in", plan.offline_card.refill.l / 2, "refill")
        whole.move("in", plan.offline_card.refill.l, "refill")

    assert state(part).fresh_share is None
    reached = state(whole).fresh_share
    assert reached is not None
    assert reached.expected == plan.forecast.fresh_share.expected


def test_readings_alone_tell_no_share_and_no_balance() -> None:
    bay = Bay(PLAN)
    bay.add(ReadingTaken, source="scan_tool", temperature=Temperature(40, "Cel"))

    folded = state(bay)
    assert (folded.balance, folded.fresh_share, folded.findings) == (None, None, ())
