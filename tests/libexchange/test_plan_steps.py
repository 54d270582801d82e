"""What the steps say: whether it may be started and driven, how it is mixed and levelled."""

from typing import Any

import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import LevelData, LevelMethod, TemperatureWindow, TransmissionProfile
from libexchange.plan.cautions import AT_STEP, MOST, cautions_at
from libexchange.plan.records import Plan, StepKind
from libexchange.plan.request import Condition
from libexchange.plan.routes import Aim, drain
from libexchange.plan.steps import steps_of
from libexchange.plan.unit import unit_of
from libexchange.quantities import Temperature, Volume
from tests.libexchange.plan_desk import SIX_SPEED, found, planned

NO_WINDOW = replace(SIX_SPEED, level=replace(SIX_SPEED.level, window=None))
AIM = Aim(target_share=None, exchanged_l=None)
NOT_IDLING = replace(SIX_SPEED, engine_idles_on_command="no")


def celsius(value: float) -> Temperature:
    return Temperature(value, "Cel")


def levelled(method: LevelMethod | None, **members: Any) -> TransmissionProfile:
    return replace(SIX_SPEED, level=replace(SIX_SPEED.level, method=method, **members))


def kinds(plan: Plan) -> list[StepKind]:
    return [step.kind for step in plan.steps]


def titles(plan: Plan, kind: StepKind) -> list[str]:
    return [step.title for step in plan.steps if step.kind == kind]


def test_a_routine_job_is_driven_on_arrival() -> None:
    plan = planned()

    assert titles(plan, "arrival_check") == [
        "Note odometer, fault codes, level, colour, smell and leaks; drive; keep a sample"
    ]
    assert "level_before_drive" not in kinds(plan)


@pytest.mark.parametrize("condition", ["level_low_on_arrival", "level_high_on_arrival"])
def test_a_level_that_was_off_is_set_before_the_first_drive(condition: Condition) -> None:
    plan = planned(conditions=(condition,), route="drain")

    assert kinds(plan)[:8] == [
        "arrival_check", "raise_vehicle", "prove_fill_opening", "cool_down", "level_before_drive",
        "arrival_check", "raise_vehicle", "drain",
    ]  # fmt: skip
    first, second = titles(plan, "arrival_check")
    assert "no drive before the level is set" in first
    assert second.startswith("Lower it; drive gently")
    gate = next(step.gate for step in plan.steps if step.kind == "level_before_drive")
    assert gate == next(step.gate for step in plan.steps if step.kind == "set_level")


def test_a_level_that_was_off_is_set_once_where_nothing_else_is_done() -> None:
    plan = planned(conditions=("level_low_on_arrival",), route="level_only")

    assert kinds(plan).count("set_level") == 1
    assert "level_before_drive" not in kinds(plan)
    assert "no drive before the level is set" in plan.steps[0].title


def test_a_level_that_was_off_without_a_window_is_not_driven() -> None:
    plan = planned(NO_WINDOW, conditions=("level_low_on_arrival",))

    assert "no drive, since the level was off and cannot be verified" in plan.steps[0].title
    assert {"level_before_drive", "test_drive", "hand_over"} & set(kinds(plan)) == set()


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        ("wrong_fluid", "whether it has run on the wrong fluid"),
        ("unknown_fluid", "what is in it and whether it has run on it"),
    ],
)
def test_what_may_never_have_run_is_not_started(reason: str, said: str) -> None:
    plan = planned(reason=reason, route="drain", conditions=("level_low_on_arrival",))

    first = plan.steps[0].title
    assert first.startswith(f"Do not start until it is known {said}; ")
    for words in ("drain that space before any start", "brake fluid", "tag and tow", "no drive;"):
        assert words in first
    assert kinds(plan)[1:4] == ["raise_vehicle", "prove_fill_opening", "drain"]


def test_without_drive_nobody_is_sent_to_drive() -> None:
    request = replace(invented.routine_request(), conditions=("no_drive", "level_low_on_arrival"))
    unit = unit_of(SIX_SPEED, None)
    assert unit is not None

    steps = steps_of(request, SIX_SPEED, drain(unit, AIM))

    assert "no drive; keep a sample" in steps[0].title
    assert steps[3].kind == "drain"


@pytest.mark.parametrize("route", ["drain", "drain_cycles", "pan_and_filter", "suction"])
def test_without_a_window_a_plan_ends_in_a_hold(route: str) -> None:
    plan = planned(NO_WINDOW, route=route)

    assert kinds(plan)[-3:] == ["set_level", "leak_check", "hold"]
    assert not [step for step in plan.steps if "drive " in step.title.replace("; drive; ", "")]
    assert "wait for the level window" in plan.steps[-1].title


@pytest.mark.parametrize("route", ["drain_cycles", "suction"])
def test_an_engine_that_idles_mixes_at_idle_and_nothing_else(route: str) -> None:
    plan = planned(route=route)

    for title in titles(plan, "mix"):
        assert "idle ten minutes in all" in title
        assert "5 s where nothing is said" in title
        assert "drive" not in title.lower()


@pytest.mark.parametrize("route", ["drain_cycles", "suction"])
def test_an_engine_that_does_not_idle_is_driven_once_the_level_is_set(route: str) -> None:
    plan = planned(NOT_IDLING, route=route)
    cycles = next(one.cycles for one in plan.alternatives if one.route == route)
    assert cycles is not None
    assert cycles > 1

    *driven, last = [n for n, step in enumerate(plan.steps) if step.kind == "mix"]
    assert len(driven) == cycles - 1
    for n in driven:
        assert plan.steps[n - 1].kind == "level_before_drive"
        assert plan.steps[n].title.startswith("Lower it, drive a short way")
        assert "idle ten minutes" not in plan.steps[n].title
    assert plan.steps[last].title.startswith("Start, add the rest at once, hold every selector")
    assert kinds(plan)[last + 1 : last + 3] == ["cool_down", "set_level"]


def test_an_engine_that_does_not_idle_is_not_driven_without_a_window() -> None:
    plan = planned(replace(NOT_IDLING, level=LevelData()), route="drain_cycles")

    assert "level_before_drive" not in kinds(plan)
    assert all("no drive" in title for title in titles(plan, "mix")[:-1])


@pytest.mark.parametrize(
    ("method", "words"),
    [
        ("overflow_plug", "at the plug; new plug seal"),
        ("overflow_feed", "by feeding up to 0.5 L at a time through the overflow"),
        ("dipstick", "by the stick"),
        ("sight", "by the sight tube, glass or read-out"),
        ("measured_refill", "by putting back exactly what came out, by weight"),
        (None, "by the maker's method"),
    ],
)
def test_the_level_step_says_how_its_method_reads(method: LevelMethod | None, words: str) -> None:
    title = titles(planned(levelled(method)), "set_level")[0]

    assert words in title
    assert ("new plug seal" in title) == (method in ("overflow_plug", "overflow_feed"))


@pytest.mark.parametrize(
    ("running", "words"),
    [
        (True, "engine running, every selector position held before and the selector then where"),
        (False, "engine off, selector where the maker wants it"),
        (None, "engine and selector as the maker says"),
    ],
)
def test_case_32_the_level_step_names_engine_and_selector(running: bool | None, words: str) -> None:
    for route in ("drain", "pan_and_filter_then_line", "level_only"):
        plan = planned(levelled("overflow_plug", engine_running=running), route=route)
        assert words in titles(plan, "set_level")[0]


def test_case_41_an_engine_that_may_go_off_at_the_level_is_said_before() -> None:
    code = "engine-off-by-itself-at-level"

    assert code not in {finding.code for finding in planned().findings}
    assert found(planned(NOT_IDLING).findings, code).severity == "caution"


@pytest.mark.parametrize(
    ("transmission", "step_l"),
    [
        (levelled("overflow_plug"), 0.3),
        (levelled("overflow_feed"), 0.5),
        (replace(levelled("overflow_feed"), total=Volume(38, "L"), drained=Volume(20, "L")), 1.0),
        (levelled("dipstick"), 0.3),
        (levelled("dipstick", between_marks=Volume(0, "L")), 0.3),
        (levelled("dipstick", between_marks=Volume(0.4, "L")), 0.2),
        (levelled("sight", between_marks=Volume(0.9, "L")), 0.45),
        (levelled("dipstick", between_marks=Volume(3, "L")), 0.5),
        (levelled("overflow_plug", between_marks=Volume(0.4, "L")), 0.3),
        (levelled("measured_refill"), 0.3),
    ],
)
def test_the_card_adds_as_much_at_once_as_the_method_does(
    transmission: TransmissionProfile, step_l: float
) -> None:
    card = planned(transmission, route="drain").offline_card

    assert card is not None
    assert card.correction_step.l == pytest.approx(step_l)


@pytest.mark.parametrize(
    ("route", "members"),
    [
        ("drain_cycles", {}),
        ("suction", {}),
        ("line_batches", {"line_batches_in_maker_procedure": "yes"}),
    ],
)
def test_the_card_tells_the_refill_of_each_cycle(route: str, members: dict[str, Any]) -> None:
    plan = planned(replace(SIX_SPEED, **members), route=route)
    card, refills = plan.offline_card, [s.quantity for s in plan.steps if s.kind == "refill"]

    assert card is not None
    assert card.cycles == len(refills) > 1
    assert set(refills) == {card.refill}


@pytest.mark.parametrize("route", ["drain", "pan_and_filter", "pan_and_filter_then_line"])
def test_a_route_without_cycles_is_one(route: str) -> None:
    plan = planned(route=route)

    assert plan.offline_card is not None
    assert plan.offline_card.cycles == 1
    assert plan.offline_card.refill == next(s.quantity for s in plan.steps if s.kind == "refill")


@pytest.mark.parametrize("kind", AT_STEP)
def test_high_voltage_is_told_where_something_may_start_and_leaves_nothing_out(
    kind: StepKind,
) -> None:
    told = cautions_at(kind, high_voltage=True)
    usual = cautions_at(kind, high_voltage=False)
    quiet = {"prove_fill_opening", "dose_cleaner", "dose_conditioner", "cool_down", "hold",
             "hand_over"}  # fmt: skip

    assert ("high-voltage" in {one.code for one in told}) == (kind not in quiet)
    assert len(told) <= MOST == 3
    kept = {one.code for one in told}
    assert ("hot-fluid" in kept) == ("hot-fluid" in {one.code for one in usual})


def test_high_voltage_stands_at_every_start_of_a_power_split() -> None:
    unit = replace(
        NOT_IDLING,
        family="power_split_hybrid",
        level=LevelData(
            method="overflow_plug",
            window=TemperatureWindow(low=celsius(15), high=celsius(30)),
            engine_running=False,
        ),
    )
    plan = planned(unit, route="drain")

    without = {"prove_fill_opening", "cool_down", "hand_over"}
    for step in plan.steps:
        assert ("high-voltage" in {c.code for c in step.cautions}) == (step.kind not in without)
    assert titles(plan, "cool_down") == [
        "Engine off; let the fluid cool below 27 °C (this takes time)"
    ]
