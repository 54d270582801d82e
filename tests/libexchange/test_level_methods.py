"""The five methods of reading a level, the correction loop, and how sure a look is."""

from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange import level
from libexchange.level_records import FreeSurface
from libexchange.quantities import Angle, Length
from tests.libexchange.level_looks import (
    celsius,
    codes,
    correction_l,
    litres,
    look,
    mm,
    read_out,
    refill,
    stick,
)

UNKNOWN_SCALE: dict[str, object] = {"between_marks": None}
SURFACE = {"length": mm(350), "width": mm(200)}


def degrees(value: float) -> dict[str, object]:
    return {"value": value, "unit": "deg"}


@pytest.mark.parametrize(("area_m2", "ml"), [(0.05, 50), (0.07, 70), (0.09, 90)])
def test_the_free_surface_tells_millilitres_for_a_millimetre(area_m2: float, ml: float) -> None:
    assert level.stick_ml_per_mm(free_surface_m2=area_m2) == pytest.approx(ml)


@given(st.floats(0.001, 2), st.floats(5, 90))
def test_a_leaning_stick_has_fewer_millilitres_for_a_millimetre(area: float, angle: float) -> None:
    upright = level.stick_ml_per_mm(free_surface_m2=area)
    leaning = level.stick_ml_per_mm(free_surface_m2=area, stick_angle_deg=angle)

    assert 0 < leaning <= upright


def test_a_stick_of_unknown_scale_is_told_by_the_surface() -> None:
    told = stick(9, UNKNOWN_SCALE | {"surface": SURFACE})
    leaning = stick(9, UNKNOWN_SCALE | {"surface": SURFACE | {"stick_angle": degrees(30)}})

    assert correction_l(told) == pytest.approx(0.35)
    assert correction_l(leaning) == pytest.approx(0.175)


@pytest.mark.parametrize(
    ("surface", "pointers"),
    [
        ({"length": 29, "width": 200}, ["/length"]),
        ({"length": 1001, "width": 1001}, ["/length", "/width"]),
        ({"length": 300, "width": 200, "stick_angle": 4.9}, ["/stick_angle"]),
    ],
)
def test_a_surface_out_of_range_is_refused(surface: dict[str, float], pointers: list[str]) -> None:
    fields: dict[str, Any] = {
        name: Angle(value, "deg") if name == "stick_angle" else Length(value, "mm")
        for name, value in surface.items()
    }
    with pytest.raises(ValueError, match="outside the range") as caught:
        FreeSurface(**fields)

    assert [fault.pointer for fault in caught.value.faults] == pointers  # type: ignore[attr-defined]  # InvalidInput


@pytest.mark.parametrize(
    ("slope", "total", "worth"), [(1, 9, 0.244), (-1, 9, 0.244), (0.5, 9, 0.122), (1, 18, 0.489)]
)
def test_a_degree_of_slope_is_worth_a_quarter_of_a_litre_on_nine(
    slope: float, total: float, worth: float
) -> None:
    assert level.slope_worth_l(total_l=total, slope_deg=slope) == pytest.approx(worth, abs=5e-4)


@given(st.floats(0.5, 200), st.floats(0, 45), st.floats(0, 20), st.floats(0, 5))
def test_whatever_is_less_sure_makes_the_look_less_sure(
    total: float, slope: float, error_k: float, reading_l: float
) -> None:
    def sure(**changes: float) -> float:
        least = {"slope_deg": 0.0, "temperature_error_k": 0.0, "reading_l": 0.0}
        return level.level_uncertainty_l(total_l=total, density_15_kg_m3=850, **least | changes)

    parts = (
        sure(slope_deg=slope), sure(temperature_error_k=error_k), sure(reading_l=reading_l),
    )  # fmt: skip
    whole = sure(slope_deg=slope, temperature_error_k=error_k, reading_l=reading_l)
    assert sure() == 0
    assert max(parts) <= whole <= sum(parts) * (1 + 1e-12)


def test_a_typed_temperature_is_less_sure_and_carried_into_the_answer() -> None:
    scanned, typed = look(), look(temperature_source="scan_tool_typed")

    assert scanned.uncertainty is not None
    assert typed.uncertainty is not None
    assert scanned.uncertainty.l < typed.uncertainty.l
    assert typed.verdict == "in_range"


@pytest.mark.parametrize(
    ("observed", "slope", "verdict", "correction"),
    [
        ("drip", 0.0, "in_range", None),
        ("drip", 0.5, "in_range", None),
        ("nothing", 0.5, "add", 0.3),
        ("drip", 1.0, "cannot_tell", None),
        ("nothing", 1.0, "cannot_tell", None),
        ("stream", -1.0, "cannot_tell", None),
    ],
)
def test_a_look_that_is_less_sure_than_the_tolerance_cannot_tell(
    observed: str, slope: float, verdict: str, correction: float | None
) -> None:
    answer = look(observed=observed, slope=degrees(slope))

    assert (answer.verdict, correction_l(answer)) == (verdict, correction)
    assert codes(answer) == (["level-read-on-slope"] if abs(slope) > 0.5 else [])


def test_a_measured_level_ground_is_surer_than_one_that_only_looks_level() -> None:
    measured, looked = look(slope=degrees(0)), look()

    assert measured.uncertainty is not None
    assert looked.uncertainty is not None
    assert measured.uncertainty.l < 0.05 < looked.uncertainty.l


def test_a_coarse_stick_cannot_tell_and_says_why() -> None:
    answer = stick(15, {"between_marks": litres(4)})

    assert (answer.verdict, answer.correction) == ("cannot_tell", None)
    assert "level-not-sure-enough" in codes(answer)


@pytest.mark.parametrize(
    ("observed", "verdict", "correction"),
    [("nothing", "add", 0.5), ("drip", "in_range", None), ("stream", "let_run", None)],
)
def test_a_feed_through_the_overflow_pushes_half_a_litre(
    observed: str, verdict: str, correction: float | None
) -> None:
    answer = look(method="overflow_feed", observed=observed)

    assert (answer.verdict, correction_l(answer)) == (verdict, correction)


def test_what_ran_back_out_was_no_correction() -> None:
    again = look(method="overflow_feed", observed="nothing", added=litres(0.9), ran_out=litres(0.6))
    stayed = look(method="overflow_feed", observed="nothing", added=litres(0.9))

    assert again.verdict == "add"
    assert correction_l(again) == pytest.approx(0.2)
    assert stayed.verdict == "stop"


@pytest.mark.parametrize(
    ("shows", "verdict", "correction"),
    [
        (0.2, "in_range", None),
        (-0.2, "in_range", None),
        (-0.3, "add", 0.3),
        (0.4, "remove", -0.4),
        (-0.9, "add", 0.5),
    ],
)
def test_a_read_out_tells_litres_and_nothing_unsafe_is_added(
    shows: float, verdict: str, correction: float | None
) -> None:
    answer = read_out(shows)

    assert (answer.verdict, correction_l(answer)) == (verdict, correction)


def test_a_sight_glass_is_read_by_its_marks() -> None:
    answer = stick(8, method="sight")

    assert (answer.verdict, correction_l(answer)) == ("add", 0.2)


def test_a_sight_that_reads_nothing_or_twice_is_refused() -> None:
    with pytest.raises(ValueError, match="either its reading or what it reads out"):
        read_out(0, read_out=None)
    with pytest.raises(ValueError, match="either its reading or what it reads out"):
        stick(15, method="sight", read_out=litres(0))


@pytest.mark.parametrize(
    ("out_l", "in_l", "verdict", "correction"),
    [
        (4.0, 4.0, "in_range", None),
        (4.0, 3.96, "in_range", None),
        (4.0, 3.945, "in_range", None),
        (3.945, 4.0, "in_range", None),
        (4.0, 3.5, "add", 0.5),
        (4.0, 2.0, "add", 2.0),
        (4.0, 4.5, "remove", -0.5),
    ],
)
def test_a_measured_refill_puts_back_what_came_out(
    out_l: float, in_l: float, verdict: str, correction: float | None
) -> None:
    answer = refill(out_l, in_l)

    assert (answer.verdict, correction_l(answer)) == (verdict, correction)
    assert codes(answer) == ["level-measured-not-seen"]


def test_with_an_unknown_window_what_came_out_still_goes_back() -> None:
    answer = refill(4.0, 3.0, window=None)

    assert (answer.verdict, correction_l(answer)) == ("cannot_tell", 1.0)
    assert codes(answer) == ["level-window-unknown", "level-measured-not-seen"]
    assert "by weight" in answer.findings[0].remedy


def test_a_measured_refill_knows_no_heat_no_trend_no_slope_and_no_engine() -> None:
    answer = refill(4, 4, temperature=celsius(90), rate={"value": -3, "unit": "K/min"},
                    slope=degrees(5), engine_running=False)  # fmt: skip

    assert (answer.verdict, codes(answer)) == ("in_range", ["level-measured-not-seen"])


def test_a_refill_measured_badly_cannot_tell() -> None:
    assert refill(4, 4, measured={"uncertainty": litres(0.3)}).verdict == "cannot_tell"
    assert refill(4, 4, measured={"uncertainty": litres(0.1)}).verdict == "in_range"


def test_the_rest_of_a_refill_goes_in_at_once_and_is_no_correction() -> None:
    answer = look(observed="nothing", outstanding=litres(1.8), added=litres(0.5))

    assert (answer.verdict, correction_l(answer)) == ("add", 1.8)
    assert codes(answer) == ["refill-not-complete"]


def test_the_heat_adds_to_the_uncertainty_of_a_computed_correction() -> None:
    inside, above = look(), look(temperature=celsius(80))

    assert inside.uncertainty is not None
    assert above.uncertainty is not None
    assert above.uncertainty.l > inside.uncertainty.l


@given(
    method=st.sampled_from(["overflow_plug", "overflow_feed", "dipstick", "sight"]),
    observed=st.sampled_from(["nothing", "drip", "thread", "stream"]),
    height=st.floats(0, 40),
    added=st.floats(0, 2),
    total=st.floats(0.5, 60),
    temperature=st.floats(35, 45),
)
def test_no_correction_goes_beyond_what_is_safe(
    method: str, observed: str, height: float, added: float, total: float, temperature: float
) -> None:
    by_stick = method in ("dipstick", "sight")
    shown: dict[str, Any] = {"method": method, "added": litres(added), "total": litres(total),
                             "temperature": celsius(temperature)}  # fmt: skip
    answer = stick(height, **shown) if by_stick else look(observed=observed, **shown)

    limit_l = level.correction_limit_l(total_l=total)
    assert (correction_l(answer) or 0) <= max(limit_l - added, 0) + 1e-9
    assert answer.verdict != "add" or added <= limit_l


@given(st.floats(0, 40), st.floats(0, 40))
def test_a_fuller_stick_never_asks_for_more(one: float, other: float) -> None:
    low, high = sorted((one, other))
    more, less = stick(low), stick(high)

    assert (correction_l(more) or 0) >= 0 or (correction_l(less) or 0) <= 0
    order = {"stop": 0, "add": 1, "in_range": 2, "remove": 3}
    if more.verdict != "stop" and less.verdict != "stop":
        assert order[more.verdict] <= order[less.verdict]


def test_a_reading_is_decoded_from_the_wire_with_all_its_fields() -> None:
    seen: dict[str, object] = {"marks": "cold", "other_side": mm(15), "surface": SURFACE}

    assert stick(15, seen, temperature=celsius(20)).verdict == "wait"
    with pytest.raises(msgspec.ValidationError, match="outside the range"):
        stick(15, {"surface": SURFACE | {"width": mm(5)}})
