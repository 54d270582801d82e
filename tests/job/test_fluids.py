"""Litres in and out, what is refill and what is correction, and the share that they reach."""

import pytest

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


@pytest.mark.parametrize("part", [0.25, 0.5, 0.75])
def test_the_share_grows_with_the_litres_exchanged_by_the_lesser_side(part: float) -> None:
    assert PLAN.offline_card is not None
    assert PLAN.offline_card.refill is not None
    assert PLAN.forecast is not None
    curve = PLAN.forecast.curve
    through_l = curve[-1].exchanged.l * part
    bay = Bay(PLAN)
    bay.move("in", PLAN.offline_card.refill.l, "refill")
    bay.move("in", through_l + 0.2, "line_exchange")
    bay.move("out", through_l, "line_exchange")

    share = state(bay).fresh_share
    assert share is not None
    between = [p.fresh_share for p in curve if abs(p.exchanged.l - through_l) < 1.2]
    assert min(between) <= share.expected <= max(between)
    assert share.exchanged_15.l == close(through_l)


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


def test_drain_cycles_reach_the_plan_only_when_all_of_it_went_in() -> None:
    plan = plan_for(route="drain_cycles")
    assert plan.offline_card is not None
    assert plan.offline_card.refill is not None
    assert plan.forecast is not None
    part, whole = Bay(plan), Bay(plan)
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
