"""The calculation on volume correction: base temperatures, measured densities, faults."""

from typing import Any

import pytest
from msgspec import convert

from libexchange.calculations.volume_correction import (
    EXAMPLE,
    VolumeCorrectionAnswer,
    VolumeCorrectionRequest,
    calculate_volume_correction,
)
from libexchange.errors import InvalidInput
from libexchange.quantities import Volume

BARE = {name: EXAMPLE[name] for name in ("density_15", "temperature")}


def celsius(value: float) -> dict[str, object]:
    return {"value": value, "unit": "Cel"}


def density(value: float) -> dict[str, object]:
    return {"value": value, "unit": "kg/m3"}


def measured(value: float, at: float) -> dict[str, object]:
    return {"density_15": None, "measured_density": {
        "density": density(value), "temperature": celsius(at)}}  # fmt: skip


def corrected(**changes: object) -> VolumeCorrectionAnswer:
    return calculate_volume_correction(convert(BARE | changes, VolumeCorrectionRequest))


def faults(**changes: object) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as refused:
        corrected(**changes)
    return [(fault.pointer, fault.code) for fault in refused.value.faults]


def test_density_and_temperature_are_enough() -> None:
    answer = corrected()

    assert answer.factor == pytest.approx(0.951370152)
    assert answer.density.kg_m3 == pytest.approx(850 * 0.951370152)
    assert (answer.density_15.kg_m3, answer.volume_15, answer.base) == (850, None, None)
    assert answer.findings == []


@pytest.mark.parametrize(("base", "at_base"), [(20, 0.996302999), (40, 0.981436993), (15, 1.0)])
def test_a_volume_is_brought_to_any_base(base: float, at_base: float) -> None:
    volume = {"value": 9.2, "unit": "L"}
    told = corrected(base_temperature=celsius(base), volume=volume).base

    assert told is not None
    assert told.volume is not None
    assert told.factor == pytest.approx(0.951370152 / at_base)
    assert told.volume.l == pytest.approx(9.2 * 0.951370152 / at_base)
    assert told.density.kg_m3 == pytest.approx(850 * at_base)


def test_60_degf_is_a_base_as_any_other() -> None:
    us = corrected(base_temperature={"value": 60, "unit": "[degF]"}).base
    metric = corrected(base_temperature=celsius(140 / 9)).base

    assert us is not None
    assert metric is not None
    assert us.factor == pytest.approx(metric.factor, rel=1e-14)
    assert us.volume is None


def test_a_density_measured_at_20_is_as_good() -> None:
    at_15 = corrected()
    at_20 = corrected(**measured(850 * 0.996302999, 20))

    assert at_20.density_15.kg_m3 == pytest.approx(850, abs=1e-5)
    assert at_20.factor == pytest.approx(at_15.factor, abs=1e-8)


@pytest.mark.parametrize(("value", "codes"), [
    (900, []), (900.1, ["density-not-of-a-transmission-fluid"]),
])  # fmt: skip
def test_a_heavy_fluid_is_doubted(value: float, codes: list[str]) -> None:
    assert [one.code for one in corrected(density_15=density(value)).findings] == codes


def test_a_heavy_measured_density_is_doubted_where_it_stands() -> None:
    (finding,) = corrected(**measured(1000, 20)).findings

    assert finding.pointer == "#/measured_density/density"
    assert finding.values["density_15_kg_m3"] == pytest.approx(1003.1, abs=0.1)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"density_15": None}, [("/density_15", "exactly-one-of")]),
        (measured(850, 20) | {"density_15": density(850)}, [("/density_15", "exactly-one-of")]),
        (measured(850, 151), [("/measured_density/temperature", "out-of-range")]),
        (measured(850, -51), [("/measured_density/temperature", "out-of-range")]),
        (measured(797.7, 20), [("/measured_density/density", "out-of-range")]),
        (measured(1160.4, 20), [("/measured_density/density", "out-of-range")]),
        ({"base_temperature": celsius(150.1)}, [("/base_temperature", "out-of-range")]),
        (
            {"density_15": density(800.8), "temperature": celsius(-50.1)},
            [("/density_15", "out-of-range"), ("/temperature", "out-of-range")],
        ),
    ],
)
def test_what_cannot_be_corrected_is_refused(
    changes: dict[str, Any], expected: list[tuple[str, str]]
) -> None:
    assert faults(**changes) == expected


@pytest.mark.parametrize("value", [797.8, 1160.3])
def test_a_measured_density_is_judged_by_what_it_is_at_15(value: float) -> None:
    assert 800.9 <= corrected(**measured(value, 20)).density_15.kg_m3 <= 1163.5


def test_a_volume_that_grows_out_of_range_at_the_base_is_refused() -> None:
    most = {"value": Volume.high, "unit": "L"}

    assert faults(volume=most, base_temperature=celsius(100)) == [("/volume", "out-of-range")]
