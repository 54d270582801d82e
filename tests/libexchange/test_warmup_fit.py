"""What readings tell: fits of exact and noisy readings, and how often the intervals are right."""

from math import exp, log, nan
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import curve_fit
from scipy.stats import t as student

from libexchange.errors import OutOfRange
from libexchange.warmup_fit import (
    Interval,
    Meeting,
    Moment,
    fit_approach,
    predict_meeting,
    student_t_95,
)

SEED = 20260101
RUNS = 300


def curve(
    *, start: float, settled: float, tau: float, span: float, every: float, noise: float = 0.0,
    chance: Random | None = None,
) -> list[Moment]:  # fmt: skip
    times = [n * every for n in range(int(span / every) + 1)]
    scatter = [chance.gauss(0, noise) if chance else 0.0 for _ in times]
    return [
        Moment(t, settled + (start - settled) * exp(-t / tau) + e)
        for t, e in zip(times, scatter, strict=True)
    ]


def test_readings_of_the_ode_solver_give_back_its_heat_balance() -> None:
    """0.55 kW, 11 W/K and 50 kJ/K in air of 20 degC settle at 70 degC with 50,000 / 11 s."""
    times = [60.0 * n for n in range(121)]

    def slope(_: float, celsius: NDArray[np.float64]) -> list[float]:
        return [(550 - 11 * (float(celsius[0]) - 20)) / 50_000]

    run = solve_ivp(
        slope, (0, times[-1]), [20.0], t_eval=times, method="DOP853", rtol=1e-11, atol=1e-11
    )

    fit = fit_approach([Moment(t, c) for t, c in zip(times, run.y[0].tolist(), strict=True)])

    assert fit.approach is not None
    assert fit.approach.settled_c == pytest.approx(70, abs=1e-4)
    assert fit.approach.time_constant_s == pytest.approx(50_000 / 11, rel=1e-5)


def test_the_best_curve_is_that_of_another_least_squares() -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    seen = curve(start=20, settled=68, tau=4350, span=5400, every=30, noise=0.4, chance=chance)

    (settled, _, tau), _ = curve_fit(
        lambda t, s, a, tau: s + a * 2.718281828459045 ** (-t / tau),
        [m.seconds for m in seen], [m.celsius for m in seen], p0=(60, -40, 3000),
    )  # fmt: skip

    fit = fit_approach(seen).approach
    assert fit is not None
    assert fit.settled_c == pytest.approx(settled, rel=1e-5)
    assert fit.time_constant_s == pytest.approx(tau, rel=1e-5)


@pytest.mark.parametrize("degrees", [3, 4, 5, 8, 20, 100, 1000])
def test_students_t_is_that_of_scipy(degrees: int) -> None:
    assert student_t_95(degrees) == pytest.approx(float(student.ppf(0.95, degrees)), rel=3e-3)


@pytest.mark.parametrize(
    ("start", "settled", "tau", "span", "every", "target"),
    [(20, 68, 4350, 1800, 90, 45), (80, 20, 4200, 3600, 180, 40), (20, 68, 4350, 7200, 180, 64)],
)
def test_nine_in_ten_intervals_hold_the_time_of_meeting(
    start: float, settled: float, tau: float, span: float, every: float, target: float
) -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    truth = -tau * log((target - settled) / (start - settled)) - span
    held = 0
    for _ in range(RUNS):
        seen = curve(
            start=start, settled=settled, tau=tau, span=span, every=every, noise=0.4, chance=chance
        )
        told = predict_meeting(seen, target_c=target)
        assert told.earliest_s is not None
        held += told.earliest_s <= truth and (told.latest_s is None or truth <= told.latest_s)

    assert 0.85 <= held / RUNS <= 0.95


def test_nine_in_ten_intervals_hold_settled_temperature_and_time_constant() -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    held = []
    for _ in range(RUNS):
        seen = curve(start=20, settled=68, tau=4350, span=5400, every=90, noise=0.4, chance=chance)
        fit = fit_approach(seen)
        assert fit.settled is not None
        assert fit.time_constant is not None
        held.append((within(fit.settled, 68), within(fit.time_constant, 4350)))

    assert 0.85 <= sum(settled for settled, _ in held) / RUNS <= 0.95
    assert 0.85 <= sum(tau for _, tau in held) / RUNS <= 0.95


def within(interval: Interval, value: float) -> bool:
    return interval.low <= value <= interval.high


def test_the_beginning_of_a_warm_up_does_not_tell_where_it_settles() -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    told = 0
    for _ in range(100):
        seen = curve(start=20, settled=68, tau=4350, span=600, every=10, noise=0.5, chance=chance)
        told += fit_approach(seen).settled is not None

    assert told <= 2


def test_what_does_not_tell_where_it_settles_may_still_tell_the_next_minutes() -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    seen = curve(start=20, settled=68, tau=4350, span=600, every=10, noise=0.3, chance=chance)

    told = predict_meeting(seen, target_c=28)

    assert fit_approach(seen).approach is None
    assert told.earliest_s is not None
    assert told.expected_s is not None
    assert told.latest_s is not None
    assert told.earliest_s < told.expected_s < told.latest_s < told.earliest_s + 180


def test_a_curve_that_settles_below_the_gate_will_not_open_it() -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    seen = curve(start=60, settled=68, tau=4350, span=7200, every=60, noise=0.3, chance=chance)

    assert predict_meeting(seen, target_c=88) == Meeting(
        expected_s=None, earliest_s=None, latest_s=None
    )


def test_what_was_met_while_it_was_read_is_met_now() -> None:
    seen = curve(start=20, settled=68, tau=4350, span=3600, every=60)

    told = predict_meeting(seen, target_c=30)

    assert (told.earliest_s, told.expected_s, told.latest_s) == (0, 0, 0)


def test_what_lies_before_the_first_reading_is_not_met_from_here_on() -> None:
    seen = curve(start=40, settled=68, tau=4350, span=3600, every=60)

    assert predict_meeting(seen, target_c=25).expected_s is None


def test_a_temperature_that_does_not_change_tells_neither() -> None:
    seen = [Moment(60.0 * n, 60.0) for n in range(20)]

    fit, told = fit_approach(seen), predict_meeting(seen, target_c=88)

    assert fit.settled is None
    assert told.expected_s is None
    assert told.latest_s is None
    assert predict_meeting(seen, target_c=60).earliest_s == 0


def test_a_scattered_flat_temperature_may_never_meet_what_is_far() -> None:
    chance = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    seen = [Moment(60.0 * n, 60.0 + chance.gauss(0, 0.3)) for n in range(20)]

    told = predict_meeting(seen, target_c=60.1)
    far = predict_meeting(seen, target_c=88)

    assert (told.earliest_s, told.latest_s) == (0, None)
    assert far.latest_s is None
    assert far.earliest_s is None or far.earliest_s > 3600


def test_a_jump_tells_no_time_constant() -> None:
    seen = [Moment(60.0 * n, 70.0 if n else 20.0) for n in range(20)]

    assert fit_approach(seen).time_constant is None


def test_order_and_duplicates_change_nothing() -> None:
    seen = curve(start=20, settled=68, tau=4350, span=3600, every=60)

    assert fit_approach([*reversed(seen), *seen[:5]]) == fit_approach(seen)


def test_a_clock_that_starts_elsewhere_changes_nothing() -> None:
    seen = curve(start=20, settled=68, tau=4350, span=3600, every=60)
    shifted = [Moment(m.seconds - 3600, m.celsius) for m in seen]

    assert predict_meeting(shifted, target_c=55) == predict_meeting(seen, target_c=55)


@pytest.mark.parametrize("count", [0, 1, 5])
def test_fewer_than_six_times_are_refused(count: int) -> None:
    with pytest.raises(OutOfRange, match="at least 6 times"):
        fit_approach([Moment(60.0 * n, 20.0 + n) for n in range(count)])


def test_a_temperature_that_is_no_number_is_refused() -> None:
    with pytest.raises(OutOfRange, match="readings"):
        fit_approach([Moment(60.0 * n, nan) for n in range(9)])
