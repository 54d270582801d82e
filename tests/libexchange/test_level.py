"""The level: what temperature is worth in litres, and the verdict of one look."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange import level
from libexchange.level_findings import KINDS
from libexchange.level_records import LevelAnswer
from tests.libexchange import level_looks as looks
from tests.libexchange.level_looks import STICK, celsius, codes, litres, look, read_out, refill


def stick(height_mm: float, **changes: object) -> LevelAnswer:
    return looks.stick(height_mm, changes)


@pytest.mark.parametrize(
    ("total_l", "with_case_l", "with_hold_up_l"),
    [(7, 0.19, 0.24), (9, 0.24, 0.31), (12, 0.33, 0.41), (38, 1.03, 1.29)],
    ids=lambda value: f"common practice {value}",
)
def test_a_check_at_80_instead_of_40_celsius_leaves_the_unit_short(
    total_l: float, with_case_l: float, with_hold_up_l: float
) -> None:
    def shift(hold_up_factor: float) -> float:
        return level.expansion_shift_l(
            total_l=total_l,
            density_15_kg_m3=850,
            from_c=40,
            to_c=80,
            hold_up_factor=hold_up_factor,
        )

    assert shift(1.0) == pytest.approx(with_case_l, abs=0.005)
    assert shift(1.25) == pytest.approx(with_hold_up_l, abs=0.006)


@given(total_l=st.floats(0.5, 200), from_c=st.floats(-40, 150), to_c=st.floats(-40, 150))
def test_expansion_there_and_back_is_nothing(total_l: float, from_c: float, to_c: float) -> None:
    there = level.expansion_shift_l(total_l=total_l, density_15_kg_m3=850, from_c=from_c, to_c=to_c)
    back = level.expansion_shift_l(total_l=total_l, density_15_kg_m3=850, from_c=to_c, to_c=from_c)

    assert there == -back


@given(rate=st.floats(-5, 0))
def test_nothing_drips_at_the_right_level_unless_it_warms_up(rate: float) -> None:
    assert level.drip_ml_per_min(total_l=9, density_15_kg_m3=850, rate_k_per_min=rate) == 0


@given(
    reading=st.floats(0, 200),
    target=st.floats(0, 200),
    scale=st.floats(1, 200),
    half_band=st.floats(0, 2),
)
def test_a_stick_never_adds_more_than_half_its_band(
    reading: float, target: float, scale: float, half_band: float
) -> None:
    added = level.dipstick_addition_l(
        reading_mm=reading, target_mm=target, ml_per_mm=scale, half_band_l=half_band
    )

    assert 0 <= added <= half_band
    assert added == 0 or reading < target


@pytest.mark.parametrize(
    ("observed", "verdict"),
    [("nothing", "add"), ("drip", "in_range"), ("thread", "let_run"), ("stream", "let_run")],
)
def test_what_leaves_the_overflow_plug_in_the_window_decides(observed: str, verdict: str) -> None:
    answer = look(observed=observed)

    assert answer.verdict == verdict
    assert answer.uncertainty is not None
    assert answer.uncertainty.l > 0.1
    assert answer.findings == []


@pytest.mark.parametrize(("total", "step"), [(9, 0.3), (15, 0.3), (38, 1.0)])
def test_a_heavy_unit_is_corrected_in_larger_steps(total: float, step: float) -> None:
    answer = look(observed="nothing", total=litres(total))

    assert answer.correction is not None
    assert answer.correction.l == step


def test_the_last_step_stays_within_the_limit() -> None:
    answer = look(observed="nothing", added=litres(0.3), rounds=1)

    assert answer.verdict == "add"
    assert answer.correction is not None
    assert answer.correction.l == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("total", "added", "observed", "stops"),
    [
        (9, 0.5, "drip", False),
        (9, 0.51, "drip", True),
        (9, 0.5, "nothing", True),
        (38, 1.5, "drip", False),
        (38, 1.53, "drip", True),
    ],
)
def test_more_than_half_a_litre_or_four_percent_stops(
    total: float, added: float, observed: str, stops: bool
) -> None:
    answer = look(total=litres(total), added=litres(added), observed=observed, rounds=2)

    assert (answer.verdict == "stop") is stops
    assert ("level-correction-beyond-limit" in codes(answer)) is stops


def test_a_fourth_round_stops_and_names_a_leak() -> None:
    answer = look(observed="nothing", added=litres(0.2), rounds=4)

    assert answer.verdict == "stop"
    assert codes(answer) == ["level-rounds-beyond-limit"]
    assert "leak" in answer.findings[0].remedy


def test_an_unknown_window_is_never_made_up() -> None:
    answer = look(window=None)

    assert (answer.verdict, answer.correction, answer.uncertainty) == ("cannot_tell", None, None)
    assert [(f.code, f.severity) for f in answer.findings] == [("level-window-unknown", "stop")]


@pytest.mark.parametrize("edge", [35.0, 45.0])
def test_the_edges_belong_to_the_window(edge: float) -> None:
    assert look(temperature=celsius(edge)).verdict == "in_range"


def test_below_the_window_waits_and_says_what_the_cold_is_worth() -> None:
    answer = look(temperature=celsius(20), observed="stream")

    assert (answer.verdict, answer.correction) == ("wait", None)
    assert answer.findings[0].values["worth_l"] == pytest.approx(9 * 6.786e-4 * 15, rel=1e-3)


def test_five_kelvin_above_the_window_is_worth_30_to_38_millilitres() -> None:
    answer = look(temperature=celsius(50))

    assert answer.verdict == "redo"
    assert answer.findings[0].values["worth_l"] == pytest.approx(0.030, abs=0.001)
    assert answer.findings[0].values["worth_with_hold_up_l"] == pytest.approx(0.038, abs=0.001)
    assert answer.correction is not None
    assert answer.correction.l == answer.findings[0].values["worth_l"]


def test_above_the_window_nothing_is_computed_from_a_dry_plug() -> None:
    answer = look(temperature=celsius(50), observed="nothing")

    assert (answer.verdict, answer.correction, answer.uncertainty) == ("redo", None, None)


@pytest.mark.parametrize(("rate", "verdict"), [(-0.2, "in_range"), (-0.21, "cannot_tell")])
def test_a_plug_read_while_cooling_is_void(rate: float, verdict: str) -> None:
    assert look(rate={"value": rate, "unit": "K/min"}).verdict == verdict


def test_a_stick_may_be_read_while_cooling() -> None:
    reading = STICK | {"height": {"value": 15, "unit": "mm"}}
    rate = {"value": -1, "unit": "K/min"}
    answer = look(method="dipstick", observed=None, reading=reading, rate=rate)

    assert answer.verdict == "in_range"


def test_an_open_overflow_plug_with_the_engine_off_is_void() -> None:
    answer = look(engine_running=False)

    assert answer.verdict == "cannot_tell"
    assert codes(answer) == ["engine-off-at-overflow-plug"]


def test_a_unit_that_is_checked_with_the_engine_off_is_not_void() -> None:
    answer = look(engine_running=False, checked_with_engine_running=False)

    assert answer.verdict == "in_range"


@pytest.mark.parametrize(
    ("height", "verdict", "correction"),
    [(8, "add", 0.2), (10, "in_range", None), (20, "in_range", None), (24, "remove", -0.2)],
)
def test_the_marks_of_a_stick_decide(height: float, verdict: str, correction: float | None) -> None:
    answer = stick(height)

    assert answer.verdict == verdict
    assert (answer.correction.l if answer.correction else None) == correction


def test_a_stick_of_unknown_scale_gives_no_litres() -> None:
    answer = stick(8, between_marks=None)

    assert (answer.verdict, answer.correction) == ("add", None)
    assert codes(answer) == ["dipstick-scale-unknown"]


def test_a_stick_read_too_hot_is_corrected_by_what_the_heat_is_worth() -> None:
    reading = STICK | {"height": {"value": 15, "unit": "mm"}}
    answer = look(method="dipstick", observed=None, reading=reading, temperature=celsius(85))

    assert answer.verdict == "redo"
    assert answer.correction is not None
    assert answer.correction.l == pytest.approx(0.244, abs=0.001)


@pytest.mark.parametrize(
    ("low", "high", "unit", "suspect"),
    [
        (95, 113, "Cel", True),
        (95, 113, "[degF]", False),
        (94.9, 110, "Cel", False),
        (94.9, 110.1, "Cel", True),
        (86, 122, "Cel", True),
        (82, 104, "Cel", False),
        (35, 45, "Cel", False),
    ],
)
def test_a_window_between_95_and_113_or_beyond_110_celsius_looks_like_fahrenheit(
    low: float, high: float, unit: str, suspect: bool
) -> None:
    window = {"low": {"value": low, "unit": unit}, "high": {"value": high, "unit": unit}}
    answer = look(window=window, temperature=celsius(100))

    assert ("window-looks-like-fahrenheit" in codes(answer)) is suspect


def test_a_look_without_what_was_seen_is_refused() -> None:
    with pytest.raises(ValueError, match="what was observed"):
        look(observed=None)
    with pytest.raises(ValueError, match="its reading"):
        look(method="dipstick", observed=None)


def test_marks_in_the_wrong_order_are_refused() -> None:
    with pytest.raises(msgspec.ValidationError, match="the high mark is not 1 mm above"):
        stick(8, high_mark={"value": 9, "unit": "mm"})


def test_every_finding_of_the_level_is_listed() -> None:
    listed = {kind.code for kind in KINDS}

    seen = {
        *codes(look(window=None, rounds=4, added=litres(3))),
        *codes(look(temperature=celsius(10), engine_running=False)),
        *codes(look(temperature=celsius(90), rate={"value": -1, "unit": "K/min"})),
        *codes(look(window={"low": celsius(95), "high": celsius(113)})),
        *codes(stick(8, between_marks=None)),
        *codes(stick(15, between_marks=litres(4))),
        *codes(stick(15, marks="cold", other_side={"value": 30, "unit": "mm"})),
        *codes(look(overflow_tube_fitted=False, gears_cycled=False, foam_seen=True)),
        *codes(look(observed="stream", observed_for={"value": 9, "unit": "s"})),
        *codes(look(waited={"value": 9, "unit": "s"}, slope={"value": 2, "unit": "deg"})),
        *codes(look(observed="nothing", outstanding=litres(2))),
        *codes(read_out(1, engine_running=False, rate={"value": 3, "unit": "K/min"})),
        *codes(refill(4, 4)),
        *codes(refill(14, 4)),
        *codes(look(smoke_seen=True, temperature_source="dashboard")),
        *codes(look(observed="nothing", off_after_drives=1)),
        *codes(look(ran_out=litres(0.1), rate={"value": 9, "unit": "K/min"})),
        *codes(look(temperature=celsius(111))),
    }
    assert seen - {"fluid-overheated"} == listed
