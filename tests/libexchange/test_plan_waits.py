"""What a route waits for: the temperature before and after each of its steps, and the hours."""

from typing import Any

import pytest
from msgspec.structs import replace

from libexchange.catalogue import CoolerCircuit, LevelData, TemperatureWindow, TransmissionProfile
from libexchange.plan.heat import AMBIENT_C, IDLING, STANDING, wait
from libexchange.plan.records import Plan
from libexchange.quantities import Duration, Temperature, Volume
from tests.libexchange.dose_desk import LINE, PAN_LINE
from tests.libexchange.plan_desk import SIX_SPEED, alternative, planned


def celsius(value: float) -> Temperature:
    return Temperature(value, "Cel")


def with_bypass(opens_c: float | None, place: Any = "in_case") -> TransmissionProfile:
    opens = None if opens_c is None else celsius(opens_c)
    cooler = CoolerCircuit(external_lines="yes", bypass=place, bypass_opens=opens)
    return replace(SIX_SPEED, cooler=cooler)


def with_window(low_c: float, high_c: float, method: Any = "overflow_plug") -> TransmissionProfile:
    window = TemperatureWindow(low=celsius(low_c), high=celsius(high_c))
    level = LevelData(method=method, window=window, engine_running=True)
    return replace(SIX_SPEED, level=level)


def hours(duration: Duration | None) -> float:
    assert duration is not None
    return duration.s / 3600


def told(plan: Plan) -> list[tuple[str, float]]:
    return [(one.step, one.to.c) for one in plan.waits]


STICK = with_window(70, 80, "dipstick")
COLD, OPEN = ("cool_down", 35), ("cool_down", 60)
CONNECT, GATE = ("cool_down", 45), ("warm_up", 81)


@pytest.mark.parametrize(
    ("profile", "route", "waits"),
    [
        (SIX_SPEED, "level_only", [COLD]),
        (SIX_SPEED, "drain", [OPEN, COLD]),
        (SIX_SPEED, "drain_cycles", [OPEN, COLD]),
        (SIX_SPEED, "suction", [OPEN, COLD]),
        (SIX_SPEED, "pan_and_filter", [OPEN, COLD]),
        (SIX_SPEED, LINE, [CONNECT, GATE, COLD]),
        (SIX_SPEED, PAN_LINE, [OPEN, CONNECT, GATE, COLD]),
        (
            replace(SIX_SPEED, line_batches_in_maker_procedure="yes"),
            "line_batches",
            [CONNECT, GATE, COLD],
        ),
        (STICK, "level_only", []),
        (STICK, "drain", [OPEN, ("warm_up", 70)]),
        (STICK, LINE, [CONNECT, GATE, OPEN, ("warm_up", 70)]),
        (with_window(50, 65, "sight"), "drain", [OPEN]),
        (with_window(60, 65, "sight"), "drain", [OPEN]),
        (with_window(60, 65, "sight"), "level_only", [("cool_down", 65)]),
        (with_window(60, 75, "sight"), "level_only", []),
        (with_window(76, 80, "sight"), "level_only", [("warm_up", 76)]),
        (with_window(40, 50, "sight"), "drain", [OPEN, ("cool_down", 47)]),
        (replace(SIX_SPEED, level=LevelData()), "drain", [OPEN]),
        (replace(SIX_SPEED, level=LevelData()), LINE, [CONNECT, GATE, OPEN]),
        (with_bypass(78, "in_cooler"), LINE, [CONNECT, COLD]),
        (with_bypass(None, "unknown"), LINE, [CONNECT, COLD]),
        (with_bypass(42.1), LINE, [CONNECT, ("warm_up", 45.1), COLD]),
        (with_bypass(41), LINE, [CONNECT, ("warm_up", 44), COLD]),
    ],
)
def test_a_route_waits_where_a_step_needs_another_temperature(
    profile: TransmissionProfile, route: Any, waits: list[tuple[str, float]]
) -> None:
    assert told(planned(profile, route=route)) == waits


def test_each_change_starts_where_the_step_before_left_the_fluid() -> None:
    plan = planned(route=PAN_LINE)

    froms = [(75, 60), (60, 45), (45, 81), (81, 35)]
    for shown, (from_c, to_c) in zip(plan.waits, froms, strict=True):
        power = IDLING if to_c > from_c else STANDING
        known = wait(total_l=9, power_kw=power, start_c=from_c, target_c=to_c)
        assert known is not None
        minutes = [
            None if seconds == float("inf") else float(round(seconds / 60)) for seconds in known[:3]
        ]
        shares = [shown.low, shown.expected, shown.high]
        assert [one.value if one else None for one in shares] == minutes


def test_the_way_from_the_drive_to_a_cool_window_takes_what_it_takes_in_one() -> None:
    plan = planned(route="drain")

    whole = wait(total_l=9, power_kw=STANDING, start_c=75, target_c=35)
    assert whole is not None
    parts_h = sum(hours(one.expected) for one in plan.waits)
    assert parts_h == pytest.approx(whole.expected_s / 3600, rel=0.03)
    one = alternative(plan, "drain")
    assert hours(one.elapsed) - hours(one.hands_on) == pytest.approx(0.3 + parts_h, abs=0.02)


def test_a_mix_by_a_drive_warms_up_again() -> None:
    still = replace(SIX_SPEED, engine_idles_on_command="no")

    plan = planned(still, route="drain_cycles")
    cycles = alternative(plan, "drain_cycles").cycles
    assert cycles is not None
    assert cycles > 1
    assert told(plan) == [OPEN, COLD] * cycles
    unseen = replace(still, level=LevelData())
    assert told(planned(unseen, route="drain_cycles")) == [OPEN]
    assert told(planned(still, route="drain")) == [OPEN, COLD]


def test_the_waits_of_a_plan_are_forecast_with_their_basis() -> None:
    _, warm, cool = planned(route=LINE).waits

    assert warm.expected is None  # less than half of all typical cars open it at idle
    assert 0.05 < warm.reached < 0.5
    assert None not in (cool.low, cool.expected, cool.high)
    assert hours(cool.low) < hours(cool.expected) < hours(cool.high)
    assert "memory" in warm.basis
    assert f"{AMBIENT_C:g} °C" in warm.basis
    assert "75 °C" in warm.basis


def test_a_plan_without_a_route_waits_for_nothing() -> None:
    assert planned(conditions=("coolant_in_fluid",)).waits == ()


def test_the_elapsed_time_waits_for_the_heat_that_the_hands_do_not() -> None:
    plan = planned(with_bypass(50), route=LINE)

    one = alternative(plan, LINE)
    waited_h = sum(hours(shown.expected) for shown in plan.waits)
    assert len(plan.waits) == 3
    assert hours(one.elapsed) - hours(one.hands_on) == pytest.approx(0.3 + waited_h, abs=0.02)


def test_where_nothing_can_be_forecast_practice_says_how_long() -> None:
    heavy = replace(with_bypass(78), total=Volume(15.1, "L"), drained=Volume(7, "L"))
    plan = planned(heavy, route=LINE)

    one = alternative(plan, LINE)
    assert plan.waits == ()
    assert hours(one.elapsed) - hours(one.hands_on) == pytest.approx(0.3 + 1.2 + 0.6 + 1.2)


def test_a_line_that_flows_cold_warms_up_as_practice_says() -> None:
    plan = planned(with_bypass(None, "none"), route=LINE)

    one = alternative(plan, LINE)
    cooled_h = sum(hours(shown.expected) for shown in plan.waits)
    assert hours(one.elapsed) - hours(one.hands_on) == pytest.approx(0.3 + 0.6 + cooled_h, abs=0.02)


def test_a_shop_that_is_not_cool_enough_never_gets_there() -> None:
    plan = planned(replace(with_window(10, 20), cooler=SIX_SPEED.cooler), route="drain")
    cool = plan.waits[-1]

    assert (cool.low, cool.expected, cool.high, cool.reached) == (None, None, None, 0)
    one = alternative(plan, "drain")
    opened_h = hours(plan.waits[0].expected)
    assert hours(one.elapsed) - hours(one.hands_on) == pytest.approx(0.3 + opened_h + 1.2, abs=0.01)


def test_fluid_that_is_cool_enough_already_is_not_waited_for() -> None:
    plan = planned(with_window(62, 75, "sight"), route="level_only")

    assert plan.waits == ()
