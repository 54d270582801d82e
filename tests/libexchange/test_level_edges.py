"""Ways in which a look at the level goes wrong, by their number in the list of failure stories."""

from typing import Any

import pytest

from libexchange import level
from tests.libexchange.level_looks import (
    celsius,
    codes,
    correction_l,
    litres,
    look,
    mm,
    read_out,
    stick,
)


def seconds(value: float) -> dict[str, object]:
    return {"value": value, "unit": "s"}


def per_minute(value: float) -> dict[str, object]:
    return {"value": value, "unit": "K/min"}


def test_case_26_a_check_at_80_instead_of_40_is_short_by_a_quarter_litre() -> None:
    answer = look(temperature=celsius(80), window={"low": celsius(40), "high": celsius(40)})

    assert answer.verdict == "redo"
    assert correction_l(answer) == pytest.approx(0.244, abs=1e-3)
    assert answer.findings[0].values["worth_with_hold_up_l"] == pytest.approx(0.305, abs=1e-3)
    assert answer.uncertainty is not None


def test_case_27_a_check_at_20_would_overfill() -> None:
    answer = look(temperature=celsius(20), observed="nothing")

    assert (answer.verdict, answer.correction) == ("wait", None)
    assert codes(answer) == ["level-read-below-window"]


def test_case_28_a_falling_temperature_voids_the_plug() -> None:
    assert codes(look(rate=per_minute(-0.3))) == ["level-read-while-cooling"]
    assert codes(look(method="overflow_feed", rate=per_minute(-0.3))) == [
        "level-read-while-cooling"
    ]


@pytest.mark.parametrize("rate", [-1.1, 1.1])
def test_case_28_a_stick_or_read_out_wants_a_steady_temperature(rate: float) -> None:
    for answer in (stick(15, rate=per_minute(rate)), read_out(0, rate=per_minute(rate))):
        assert answer.verdict == "cannot_tell"
        assert codes(answer) == ["level-read-while-temperature-changes"]


def test_case_31_an_engine_that_is_off_lets_one_to_two_litres_run_out() -> None:
    for method in ("overflow_plug", "overflow_feed"):
        answer = look(method=method, engine_running=False, observed="stream")
        assert (answer.verdict, codes(answer)) == ("cannot_tell", ["engine-off-at-overflow-plug"])


@pytest.mark.parametrize(("running", "wanted"), [(False, True), (True, False)])
def test_case_31_a_stick_read_with_the_engine_in_the_wrong_state_is_void(
    running: bool, wanted: bool
) -> None:
    answer = stick(22, engine_running=running, checked_with_engine_running=wanted)

    assert (answer.verdict, answer.correction) == ("cannot_tell", None)
    assert codes(answer) == ["engine-state-wrong-at-level-check"]


def test_case_31_a_plug_that_is_checked_with_the_engine_off_is_void_while_it_runs() -> None:
    answer = look(engine_running=True, checked_with_engine_running=False)

    assert codes(answer) == ["engine-state-wrong-at-level-check"]


@pytest.mark.parametrize("field", ["gears_cycled", "selector_right"])
def test_case_32_a_selector_that_was_not_moved_or_stands_wrong_is_void(field: str) -> None:
    answer = look(**{field: False})

    assert (answer.verdict, codes(answer)) == ("cannot_tell", ["selector-not-as-required"])
    assert answer.findings[0].pointer == f"#/{field}"
    assert look(**{field: True}).verdict == "in_range"


def test_case_33_a_degree_of_slope_is_a_quarter_litre_and_cannot_tell() -> None:
    answer = look(slope={"value": -1, "unit": "deg"})

    assert (answer.verdict, codes(answer)) == ("cannot_tell", ["level-read-on-slope"])
    assert answer.findings[0].values["worth_l"] == pytest.approx(0.244, abs=1e-3)


def test_case_33_a_slope_of_a_wall_is_no_error() -> None:
    assert look(slope={"value": 90, "unit": "deg"}).verdict == "cannot_tell"


def test_case_34_a_missing_overflow_tube_stops_before_it_runs_empty() -> None:
    answer = look(overflow_tube_fitted=False, observed="stream")

    assert (answer.verdict, codes(answer)) == ("cannot_tell", ["overflow-tube-missing"])
    assert answer.findings[0].severity == "stop"
    assert stick(15, overflow_tube_fitted=False).verdict == "in_range"


@pytest.mark.parametrize(
    ("observed", "watched", "verdict"),
    [
        ("stream", 29, "wait"),
        ("thread", 29, "wait"),
        ("stream", 30, "let_run"),
        ("drip", 5, "in_range"),
    ],
)
def test_case_35_a_wave_or_the_content_of_the_tube_is_not_over_full(
    observed: str, watched: float, verdict: str
) -> None:
    assert look(observed=observed, observed_for=seconds(watched)).verdict == verdict


def test_case_36_cold_marks_read_hot_are_void() -> None:
    answer = stick(15, {"marks": "cold"}, temperature=celsius(40))

    assert (answer.verdict, codes(answer)) == (
        "cannot_tell", ["cold-marks-read-hot", "level-by-cold-marks"],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("height", "at_c", "verdict", "correction"),
    [
        (15, 20, "wait", None),
        (25, 20, "wait", None),
        (8, 20, "add", 0.2),
        (8, 10, "wait", None),
        (15, 34, "cannot_tell", None),
    ],
)
def test_case_36_cold_marks_are_only_a_reference(
    height: float, at_c: float, verdict: str, correction: float | None
) -> None:
    cold = {"low": celsius(16), "high": celsius(30)}
    answer = stick(height, {"marks": "cold"}, temperature=celsius(at_c), cold_window=cold)

    assert (answer.verdict, correction_l(answer)) == (verdict, correction)


def test_case_36_cold_marks_cannot_be_told_without_the_window() -> None:
    answer = stick(15, {"marks": "cold"}, window=None)

    assert answer.verdict == "cannot_tell"
    assert codes(answer) == ["level-window-unknown", "level-by-cold-marks"]


@pytest.mark.parametrize(
    ("other", "verdict"), [(18, "in_range"), (18.1, "cannot_tell"), (11, "cannot_tell")]
)
def test_case_36_a_stick_not_seated_or_read_on_the_wrong_side_is_void(
    other: float, verdict: str
) -> None:
    assert stick(15, {"other_side": mm(other)}).verdict == verdict


def test_case_36_of_two_readings_the_lower_one_counts() -> None:
    assert stick(11, {"other_side": mm(9)}).verdict == "add"


def test_case_37_a_top_passed_while_pouring_is_worth_litres() -> None:
    answer = look(temperature=celsius(50), observed="drip", added=litres(0.3), rounds=1)

    assert (answer.verdict, codes(answer)) == ("redo", ["level-read-above-window"])
    assert correction_l(answer) == pytest.approx(0.0305, abs=1e-3)


def test_case_38_a_correction_loop_ends_by_litres_and_by_rounds() -> None:
    by_litres = look(observed="nothing", added=litres(0.5), rounds=2)
    by_rounds = look(observed="nothing", added=litres(0.2), rounds=4)

    assert (by_litres.verdict, by_rounds.verdict) == ("stop", "stop")
    assert "leak" in by_litres.findings[0].remedy
    assert "leak" in by_rounds.findings[0].remedy


def test_case_38_a_stick_loop_ends_the_same_way() -> None:
    assert stick(8, added=litres(0.5), rounds=2).verdict == "stop"
    assert correction_l(stick(8, added=litres(0.4), rounds=1)) == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("height", "verdict", "severity"),
    [(27, "remove", None), (28, "remove", "caution"), (41, "stop", "stop")],
)
def test_case_39_an_overfill_is_not_settled_by_driving(
    height: float, verdict: str, severity: str | None
) -> None:
    answer = stick(height)
    found = [finding for finding in answer.findings if finding.code == "level-far-off"]

    assert answer.verdict == verdict
    assert [finding.severity for finding in found] == ([severity] if severity else [])
    assert all("driving does not settle it" in finding.remedy for finding in found)


def test_a_read_out_far_low_stops_the_engine() -> None:
    answer = read_out(-1.1)

    assert (answer.verdict, answer.correction) == ("stop", None)
    assert codes(answer) == ["level-far-off"]
    assert level.correction_limit_l(total_l=9) == 0.5


def test_case_40_foam_reads_high_and_waits() -> None:
    answer = stick(22, foam_seen=True)

    assert (answer.verdict, answer.correction) == ("wait", None)
    assert codes(answer) == ["level-fluid-aerated"]


@pytest.mark.parametrize(
    ("method", "needed_s"),
    [("overflow_plug", 30), ("overflow_feed", 30), ("dipstick", 60), ("sight", 120)],
)
def test_case_40_fluid_settles_before_it_is_read(method: str, needed_s: float) -> None:
    def verdict(waited: float) -> str:
        changes: dict[str, Any] = {"method": method, "waited": seconds(waited)}
        if method in ("dipstick", "sight"):
            return stick(15, **changes).verdict
        return look(**changes).verdict

    assert (verdict(needed_s - 1), verdict(needed_s)) == ("wait", "in_range")


def test_case_41_a_hybrid_that_stops_its_engine_during_the_check_is_void() -> None:
    assert look(engine_running=False).verdict == "cannot_tell"
    assert read_out(0, engine_running=False).verdict == "cannot_tell"


@pytest.mark.parametrize("value_l", [-0.3, -0.1, 0.1, 0.3])
def test_a_read_out_above_the_window_is_put_right_to_its_upper_edge(value_l: float) -> None:
    worth_l = level.expansion_shift_l(total_l=9, density_15_kg_m3=850, from_c=45, to_c=50)

    answer = read_out(value_l, temperature=celsius(50))

    assert answer.verdict == "redo"
    assert correction_l(answer) == pytest.approx(-value_l + worth_l, abs=1e-9)
