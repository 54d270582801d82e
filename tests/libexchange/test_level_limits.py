"""The limits of a level to the digit, on a unit of 9 L: just within and just outside."""

from typing import Any

import msgspec
import pytest

from libexchange import level
from libexchange.level_records import DipstickReading, FreeSurface, LevelCheck
from libexchange.quantities import Angle, Length
from tests.libexchange.level_looks import LOOK, codes, correction_l, litres, look, refill, stick

GROWTH_L_PER_K = 9 * (0.6278 / 850 - 6e-5)


def test_a_drip_is_what_the_fluid_grows_by_in_a_minute() -> None:
    drip = level.drip_ml_per_min(total_l=9, density_15_kg_m3=850, rate_k_per_min=2)

    assert drip == pytest.approx(2000 * GROWTH_L_PER_K, rel=1e-12)


@pytest.mark.parametrize(
    ("total", "tolerance", "limit", "step"),
    [(5, 0.2, 0.5, 0.3), (9, 0.2, 0.5, 0.3), (12.5, 0.2778, 0.5, 0.3), (15, 0.3333, 0.6, 0.3),
     (15.1, 0.3356, 0.604, 1.0), (38, 0.8444, 1.52, 1.0)],
)  # fmt: skip
def test_tolerance_limit_and_step_by_the_total(
    total: float, tolerance: float, limit: float, step: float
) -> None:
    assert level.tolerance_l(total_l=total) == pytest.approx(tolerance, abs=5e-5)
    assert level.correction_limit_l(total_l=total) == pytest.approx(limit, abs=5e-5)
    assert level.step_l(total_l=total) == step


def test_the_parts_of_the_uncertainty_add_in_squares() -> None:
    """Half a degree of slope is 0.1222 L, 3 K with hold-up 0.0229 L, a millimetre 0.04 L."""
    plug, by_stick = look(), stick(15)

    assert plug.uncertainty is not None
    assert by_stick.uncertainty is not None
    slope_l = 200 * 0.00872687 * 70 / 1000
    heat_l = 3 * 1.25 * GROWTH_L_PER_K
    assert plug.uncertainty.l == pytest.approx((slope_l**2 + heat_l**2) ** 0.5, rel=1e-5)
    assert by_stick.uncertainty.l == pytest.approx(
        (slope_l**2 + heat_l**2 + 0.04**2) ** 0.5, rel=1e-5
    )


def test_a_measured_slope_counts_with_what_its_meter_may_be_off() -> None:
    answer = look(slope={"value": 0.4, "unit": "deg"}, temperature_source="scan_tool_typed")

    assert answer.uncertainty is not None
    heat_l, slope_l = 5 * 1.25 * GROWTH_L_PER_K, 200 * 0.00872687 * 70 / 1000
    assert answer.uncertainty.l == pytest.approx((slope_l**2 + heat_l**2) ** 0.5, rel=1e-5)


def test_amounts_that_were_measured_are_one_percent_sure() -> None:
    answer, worse = refill(9, 8.88), refill(9, 8.87)

    assert answer.uncertainty is not None
    assert answer.uncertainty.l == pytest.approx(0.01 * (9**2 + 8.88**2) ** 0.5)
    assert (answer.verdict, worse.verdict) == ("in_range", "add")


@pytest.mark.parametrize(("in_l", "verdict"), [(0.951, "in_range"), (0.949, "add")])
def test_less_than_50_millilitres_are_not_put_right(in_l: float, verdict: str) -> None:
    assert refill(1, in_l).verdict == verdict


@pytest.mark.parametrize(
    ("height", "told"), [(27.4, None), (27.6, -0.504), (2.6, None), (2.4, 0.504)]
)
def test_half_a_litre_off_is_far_off(height: float, told: float | None) -> None:
    found = [f for f in stick(height).findings if f.code == "level-far-off"]

    assert [f.values["missing_l"] for f in found] == (
        [] if told is None else [pytest.approx(told, abs=1e-9)]
    )


@pytest.mark.parametrize(("height", "verdict"), [(39.9, "remove"), (40.1, "stop")])
def test_a_litre_off_stops_the_engine(height: float, verdict: str) -> None:
    assert stick(height).verdict == verdict


@pytest.mark.parametrize(("added", "correction"), [(0.4499, 0.0501), (0.4501, None)])
def test_less_than_50_millilitres_of_room_end_the_correction(
    added: float, correction: float | None
) -> None:
    answer = look(observed="nothing", added=litres(added), rounds=1)

    if correction is None:
        assert (answer.verdict, answer.correction) == ("stop", None)
    else:
        assert correction_l(answer) == pytest.approx(correction)


@pytest.mark.parametrize(("rounds", "stops"), [(3, False), (4, True)])
def test_a_fourth_round_is_one_too_many(rounds: int, stops: bool) -> None:
    assert ("level-rounds-beyond-limit" in codes(look(rounds=rounds))) is stops


def band(millimetres: float) -> DipstickReading:
    return DipstickReading(
        height=Length(5, "mm"), low_mark=Length(0, "mm"), high_mark=Length(millimetres, "mm")
    )


def test_marks_are_at_least_a_millimetre_apart() -> None:
    assert band(1).band_mm == 1
    with pytest.raises(ValueError, match="not 1 mm above the low mark"):
        band(0.99)


def test_a_stick_stands_between_5_and_90_degrees() -> None:
    sides: dict[str, Any] = {"length": Length(30, "mm"), "width": Length(1000, "mm")}

    assert FreeSurface(stick_angle=Angle(5, "deg"), **sides).ml_per_mm == pytest.approx(
        2.6147, 1e-4
    )
    assert FreeSurface(stick_angle=Angle(90, "deg"), **sides).ml_per_mm == pytest.approx(30)
    with pytest.raises(ValueError, match="outside the range"):
        FreeSurface(stick_angle=Angle(4.9, "deg"), **sides)


@pytest.mark.parametrize(("times", "fits"), [(10, True), (11, False), (-1, False)])
def test_drives_are_counted_up_to_ten(times: int, fits: bool) -> None:
    if fits:
        assert look(off_after_drives=times).verdict == "in_range"
    else:
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert(LOOK | {"off_after_drives": times}, LevelCheck)
