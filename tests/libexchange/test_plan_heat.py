"""How long a plan waits for heat: the typical car of the trade, its edges, and what it says."""

from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from libexchange.catalogue import CoolerCircuit, LevelData, TemperatureWindow, TransmissionProfile
from libexchange.plan.heat import (
    IDLING,
    STANDING,
    cool_below_c,
    expected_h,
    line_gate_c,
    slowest_warming_k_per_min,
    wait,
)
from libexchange.quantities import Duration, Temperature
from tests.libexchange.dose_desk import CLEANER, LINE, PAN_LINE
from tests.libexchange.plan_desk import SIX_SPEED, alternative, found, planned


def celsius(value: float) -> Temperature:
    return Temperature(value, "Cel")


def with_bypass(opens_c: float | None, place: Any = "in_case") -> TransmissionProfile:
    opens = None if opens_c is None else celsius(opens_c)
    cooler = CoolerCircuit(external_lines="yes", bypass=place, bypass_opens=opens)
    return replace(SIX_SPEED, cooler=cooler)


def with_window(low_c: float, high_c: float) -> TransmissionProfile:
    window = TemperatureWindow(low=celsius(low_c), high=celsius(high_c))
    return replace(SIX_SPEED, level=LevelData(method="overflow_plug", window=window))


def hours(duration: Duration | None) -> float:
    assert duration is not None
    return duration.s / 3600


@pytest.mark.parametrize(
    ("method", "running", "window", "below_c"),
    [
        ("overflow_plug", True, (20.1, 30), 20.1),
        ("overflow_plug", True, (20, 30), 27),
        ("overflow_plug", None, (35, 45), 35),
        (None, True, (35, 45), 35),
        ("overflow_feed", True, (35, 45), 35),
        ("overflow_plug", False, (35, 45), 42),
        ("overflow_plug", False, (15, 30), 27),
        ("overflow_plug", False, (15, 23.1), 20.1),
        ("overflow_plug", False, (15, 23), 23),
        ("overflow_plug", False, (42, 45), 45),
        ("overflow_plug", False, (41.9, 45), 42),
        ("dipstick", True, (40, 50), 47),
        ("sight", True, (40, 50), 47),
        ("measured_refill", True, (40, 50), 47),
        ("dipstick", True, (50, 63.1), 60),
        ("dipstick", True, (70, 80), 60),
    ],
)
def test_what_is_not_read_on_the_rise_need_not_cool_below_its_window(
    method: Any, running: bool | None, window: tuple[float, float], below_c: float
) -> None:
    level = replace(with_window(*window).level, method=method, engine_running=running)

    assert cool_below_c(replace(SIX_SPEED, level=level)) == pytest.approx(below_c)


@pytest.mark.parametrize(
    ("power", "start_c", "target_c", "minutes"),
    [
        (IDLING, 20, 40, (24, 39, 93)),  # memory: 20 to 40 degC at idle
        (STANDING, 75, 33, (64, 100, 180)),  # memory: 75 to 33 degC standing
    ],
)
def test_a_typical_car_takes_about_what_the_trade_says(
    power: tuple[float, float], start_c: float, target_c: float, minutes: tuple[float, ...]
) -> None:
    waited = wait(total_l=9, power_kw=power, start_c=start_c, target_c=target_c)

    assert waited is not None
    assert [waited.low_s / 60, waited.expected_s / 60, waited.high_s / 60] == pytest.approx(
        minutes, rel=0.2
    )


@pytest.mark.parametrize(
    ("total_l", "told"), [(0.49, False), (0.5, True), (15.0, True), (15.1, False)]
)
def test_a_car_says_nothing_of_a_heavy_unit(total_l: float, *, told: bool) -> None:
    waited = wait(total_l=total_l, power_kw=STANDING, start_c=80, target_c=60)

    assert (waited is not None) is told


@pytest.mark.parametrize(
    ("total_l", "told"), [(0.49, False), (0.5, True), (15.0, True), (15.1, False)]
)
def test_how_fast_a_car_warms_up_says_nothing_of_a_heavy_unit(
    total_l: float, *, told: bool
) -> None:
    assert (slowest_warming_k_per_min(total_l=total_l, at_c=20) is not None) is told


@pytest.mark.parametrize("at_c", [0.0, 20.0, 30.0, 60.0])
def test_nineteen_of_twenty_drawn_cars_gain_what_the_slow_one_does(at_c: float) -> None:
    draws = np.random.default_rng(20_000).uniform(
        (25 + 1.65 * 9, 0.3, 8), (45 + 1.65 * 9, 0.8, 15), (20_000, 3)
    )
    capacity_kj_per_k, power_kw, loss_w_per_k = draws.T
    gained_kw = power_kw - loss_w_per_k / 1000 * (max(at_c, 20) - 20)
    drawn = 60 * np.quantile(gained_kw / capacity_kj_per_k, 0.05)

    assert slowest_warming_k_per_min(total_l=9, at_c=at_c) == pytest.approx(drawn, abs=0.01)


@pytest.mark.parametrize(
    ("opens_c", "place", "gate_c"),
    [
        (78, "in_case", 81),
        (78, "in_line", 81),
        (78, "in_cooler", None),
        (78, "none", None),
        (78, "unknown", None),
        (None, "in_case", None),
    ],
)
def test_only_a_known_bypass_that_bars_the_line_is_waited_for(
    opens_c: float | None, place: str, gate_c: float | None
) -> None:
    profile = with_bypass(opens_c, place)

    assert line_gate_c(profile) == gate_c


@pytest.mark.parametrize(
    ("window", "below_c"), [((35, 45), 35), ((59.9, 70), 59.9), ((60, 70), 60), ((80, 90), 60)]
)
def test_it_cools_below_what_is_opened_and_below_the_window(
    window: tuple[float, float], below_c: float
) -> None:
    assert cool_below_c(with_window(*window)) == below_c
    assert cool_below_c(replace(SIX_SPEED, level=LevelData())) == 60


def test_a_cleaner_takes_hands_and_time() -> None:
    plain, cleaned = (
        alternative(planned(route=PAN_LINE, **asked), PAN_LINE)
        for asked in (dict[str, Any](), dict[str, Any](cleaner=CLEANER))
    )

    assert hours(cleaned.hands_on) - hours(plain.hands_on) == pytest.approx(0.2 + 10 / 60, abs=0.01)
    warm = wait(total_l=9, power_kw=IDLING, start_c=20, target_c=60)
    assert warm is not None
    added_h = 0.2 + 10 / 60 + expected_h(warm, 0.6)
    assert hours(cleaned.elapsed) - hours(plain.elapsed) == pytest.approx(added_h, abs=0.02)


def test_the_hint_that_idling_may_not_do_names_how_many_get_there() -> None:
    told = found(alternative(planned(), LINE).reasons, "temperature-perhaps-not-reached")

    assert told.severity == "note"
    assert "22 of 100" in told.message
    assert "81 °C" in told.message


@pytest.mark.parametrize(
    ("gate_c", "codes"),
    [
        (46, []),
        (47, ["temperature-perhaps-not-reached"]),
        (100, ["temperature-perhaps-not-reached"]),
        (101, ["temperature-not-reached"]),
    ],
)
def test_the_hint_follows_how_many_typical_cars_get_there(gate_c: float, codes: list[str]) -> None:
    reasons = alternative(planned(with_bypass(gate_c - 3)), LINE).reasons

    assert [f.code for f in reasons if f.code.startswith("temperature-")] == codes
