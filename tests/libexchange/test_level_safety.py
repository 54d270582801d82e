"""What ends the setting of a level, and that nothing is told to be added beyond what is safe."""

from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange import level
from libexchange.readings import Source
from tests.libexchange.level_looks import (
    celsius,
    codes,
    correction_l,
    litres,
    look,
    read_out,
    refill,
    stick,
)


@pytest.mark.parametrize("seen", [None, False])
def test_smoke_stops_the_setting_of_the_level(seen: bool | None) -> None:
    smoking = look(smoke_seen=True, observed="nothing")

    assert (smoking.verdict, smoking.correction) == ("stop", None)
    assert [(f.code, f.severity) for f in smoking.findings] == [("smoke-at-level-check", "stop")]
    assert look(smoke_seen=seen).verdict == "in_range"


@pytest.mark.parametrize(
    ("observed", "times", "verdict"),
    [
        ("nothing", 0, "add"),
        ("nothing", 1, "stop"),
        ("stream", 1, "stop"),
        ("drip", 1, "in_range"),
        ("drip", 5, "in_range"),
    ],
)
def test_a_level_that_is_off_again_after_a_drive_is_not_in_order(
    observed: str, times: int, verdict: str
) -> None:
    answer = look(observed=observed, off_after_drives=times)

    assert answer.verdict == verdict
    assert codes(answer) == (["level-off-again-after-drive"] if verdict == "stop" else [])
    assert verdict != "stop" or answer.correction is None


def test_a_cold_dry_plug_after_a_drive_is_no_level_that_is_off() -> None:
    answer = look(observed="nothing", off_after_drives=1, temperature=celsius(34))

    assert answer.verdict == "wait"


def test_a_stick_that_is_off_again_after_a_drive_stops_too() -> None:
    assert stick(8, off_after_drives=1).verdict == "stop"
    assert stick(22, off_after_drives=2).verdict == "stop"
    assert "2 times" in stick(22, off_after_drives=2).findings[-1].message
    assert "1 time before" in stick(22, off_after_drives=1).findings[-1].message


@pytest.mark.parametrize("source", get_args(Source))
def test_only_the_units_own_sensor_tells_the_temperature_of_a_level(source: Source) -> None:
    own = source in ("scan_tool", "scan_tool_typed")
    answers = [f(temperature_source=source) for f in (look, lambda **c: stick(15, **c))]

    for answer in answers:
        assert answer.verdict == ("in_range" if own else "cannot_tell")
        assert codes(answer) == ([] if own else ["level-temperature-not-by-own-sensor"])
    assert refill(4, 4, temperature_source=source).verdict == "in_range"
    if not own:
        off_k = {"in_line": 2, "clamp_on": 15, "infrared": 20, "dashboard": 20}[source]
        assert answers[0].findings[0].values["uncertainty_k"] == off_k


@pytest.mark.parametrize(
    ("out_l", "in_l", "verdict"),
    [(9, 0, "add"), (9.1, 0, "cannot_tell"), (0, 9, "remove"), (0, 9.1, "cannot_tell"),
     (30, 29, "add")],
)  # fmt: skip
def test_case_01_a_refill_that_differs_by_more_than_the_unit_holds_is_no_correction(
    out_l: float, in_l: float, verdict: str
) -> None:
    answer = refill(out_l, in_l)
    told = "refill-beyond-total" in codes(answer)

    assert (answer.verdict, told) == (verdict, verdict == "cannot_tell")
    assert (answer.correction is None) is told


@pytest.mark.parametrize(("added", "told"), [(0.0, True), (0.255, True), (0.257, False)])
def test_what_the_heat_is_worth_is_added_only_within_the_limit(added: float, told: bool) -> None:
    """80 against 40 degC is worth 0.2443 L on 9 L, and 0.5 L is the limit."""
    answer = look(window={"low": celsius(35), "high": celsius(40)}, temperature=celsius(80),
                  added=litres(added))  # fmt: skip

    assert answer.verdict == "redo"
    assert correction_l(answer) == (pytest.approx(0.2443, abs=1e-4) if told else None)
    assert (answer.uncertainty is not None) is told


@pytest.mark.parametrize(
    ("height", "at_c", "correction"),
    [(18, 85, 0.1243), (18, 60, -0.0284), (20, 60, -0.1084), (20.1, 60, None), (9.9, 60, None)],
)
def test_a_full_stick_on_hot_fluid_is_told_with_its_sign_between_its_marks(
    height: float, at_c: float, correction: float | None
) -> None:
    """A millimetre is 40 mL from the middle at 15, and the heat is worth 6.1 mL/K on 9 L."""
    answer = stick(height, temperature=celsius(at_c))

    assert answer.verdict == "redo"
    if correction is None:
        assert (answer.correction, answer.uncertainty) == (None, None)
    else:
        assert correction_l(answer) == pytest.approx(correction, abs=1e-4)


@pytest.mark.parametrize(("height", "verdict"), [(39.9, "redo"), (40.1, "stop"), (60, "stop")])
def test_a_litre_off_stops_the_engine_above_the_window_too(height: float, verdict: str) -> None:
    answer = stick(height, temperature=celsius(50))

    assert (answer.verdict, answer.correction) == (verdict, None)
    assert {"level-far-off", "level-read-above-window"} <= set(codes(answer))


@pytest.mark.parametrize(("at_c", "verdict"), [(110, "in_range"), (110.1, "stop")])
def test_above_110_celsius_no_level_is_read_whatever_the_window_says(
    at_c: float, verdict: str
) -> None:
    wide = {"low": celsius(90), "high": celsius(140)}
    for answer in (
        look(window=wide, temperature=celsius(at_c)),
        stick(15, window=wide, temperature=celsius(at_c)),
        refill(4, 4, window=wide, temperature=celsius(at_c)),
    ):
        hot = [(f.severity, f.pointer) for f in answer.findings if f.code == "fluid-overheated"]
        assert answer.verdict == verdict
        assert hot == ([("stop", "#/temperature")] if verdict == "stop" else [])


@pytest.mark.parametrize(
    ("out", "verdict", "severity"),
    [(0.1, "add", None), (0.1001, "add", "caution"), (1.1, "add", "caution"),
     (1.1001, "stop", "stop"), (3.0, "stop", "stop")],
)  # fmt: skip
def test_more_that_ran_out_than_was_added_is_told_and_stops_above_a_litre(
    out: float, verdict: str, severity: str | None
) -> None:
    answer = look(observed="nothing", added=litres(0.1), ran_out=litres(out))

    assert answer.verdict == verdict
    assert [(f.code, f.severity, f.pointer) for f in answer.findings] == (
        [("level-ran-out-beyond-added", severity, "#/ran_out")] if severity else []
    )


@pytest.mark.parametrize(
    ("rate", "verdict", "told"),
    [(4.0, "in_range", False), (4.01, "in_range", True), (8.0, "in_range", True),
     (8.01, "cannot_tell", True), (30.0, "cannot_tell", True)],
)  # fmt: skip
def test_a_plug_read_while_it_warms_too_fast_is_told_and_above_8_void(
    rate: float, verdict: str, told: bool
) -> None:
    for method in ("overflow_plug", "overflow_feed"):
        answer = look(method=method, rate={"value": rate, "unit": "K/min"})

        assert answer.verdict == verdict
        assert codes(answer) == (["level-read-while-warming-fast"] if told else [])
    assert all(
        f.message.startswith(f"The temperature changes by {rate:.2f}") for f in answer.findings
    )


@pytest.mark.parametrize(
    ("observed", "rest", "verdict", "severity"),
    [
        ("drip", 0.049, "in_range", None),
        ("drip", 0.05, "in_range", "note"),
        ("drip", 2.0, "in_range", "note"),
        ("thread", 0.05, "let_run", "note"),
        ("stream", 2.0, "let_run", "note"),
    ],
)
def test_what_is_outstanding_on_paper_is_told_though_fluid_runs_out(
    observed: str, rest: float, verdict: str, severity: str | None
) -> None:
    answer = look(observed=observed, outstanding=litres(rest))

    assert answer.verdict == verdict
    assert [(f.code, f.severity, f.values) for f in answer.findings] == (
        [("refill-not-complete", severity, {"outstanding_l": rest})] if severity else []
    )
    assert all(
        f.message.endswith("outstanding on paper, and yet fluid runs out.") for f in answer.findings
    )


def test_a_stick_without_litres_between_its_marks_has_no_scale() -> None:
    answer = stick(8, {"between_marks": litres(0)})

    assert (answer.verdict, answer.correction) == ("add", None)
    assert codes(answer) == ["dipstick-scale-unknown"]


def test_what_was_added_up_to_the_limit_leaves_no_step() -> None:
    less = look(observed="nothing", added=litres(0.49), rounds=1).findings[0]
    more = look(observed="nothing", added=litres(0.51), rounds=1).findings[0]

    assert less.title == "What may be added as a correction is used up"
    assert less.message == (
        "0.49 L were added after the refill; the limit is 0.50 L, and a step is 0.05 L at least."
    )
    assert more.message == "0.51 L were added after the refill; the limit is 0.50 L."


@pytest.mark.parametrize(("slope_deg", "told"), [(0.5, False), (0.51, True), (-0.51, True)])
def test_half_a_degree_is_level_ground(slope_deg: float, told: bool) -> None:
    answer = look(slope={"value": slope_deg, "unit": "deg"})

    assert (answer.verdict, "level-read-on-slope" in codes(answer)) == ("in_range", told)


@given(
    method=st.sampled_from(["overflow_plug", "overflow_feed", "dipstick", "sight"]),
    observed=st.sampled_from(["nothing", "drip", "thread", "stream"]),
    shown=st.floats(0, 40),
    added=st.floats(0, 2),
    total=st.floats(0.5, 60),
    temperature=st.floats(-40, 150),
    off=st.integers(0, 2),
)
def test_at_no_temperature_does_a_correction_go_beyond_what_is_safe(
    method: str,
    observed: str,
    shown: float,
    added: float,
    total: float,
    temperature: float,
    off: int,
) -> None:
    changes: dict[str, Any] = {
        "added": litres(added),
        "total": litres(total),
        "temperature": celsius(temperature),
        "off_after_drives": off,
    }
    if method == "dipstick":
        answer = stick(shown, **changes)
    elif method == "sight":
        answer = read_out(shown - 20, **changes)
    else:
        answer = look(observed=observed, method=method, **changes)

    limit_l = level.correction_limit_l(total_l=total)
    assert (correction_l(answer) or 0) <= max(limit_l - added, 0) + 1e-9
    assert (correction_l(answer) or 0) >= -max(total, 20)
    assert answer.verdict != "stop" or answer.correction is None
