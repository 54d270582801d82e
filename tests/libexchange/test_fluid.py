"""Volume correction against the 60 degF form of 2004, written out here from its publication."""

import tomllib
from collections.abc import Callable
from itertools import pairwise
from math import exp, inf, nan
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.errors import OutOfRange
from libexchange.fluid import (
    density_at_15_kg_m3,
    density_at_kg_m3,
    factor_between,
    thermal_expansion_per_k,
    volume_at_15_l,
    volume_at_temperature_l,
    volume_correction_factor,
    volume_from_mass_15_l,
)

SOURCE_2004 = "API MPMS 11.1 (2004), lubricating oils"
DENSITIES = st.floats(800.9, 1163.5)
TEMPERATURES = st.floats(-50, 150)
PUBLISHED = Path(__file__).parents[1] / "reference" / "published.toml"
TO_15 = [
    value
    for value in tomllib.loads(PUBLISHED.read_text(encoding="utf-8"))["value"]
    if "ctl_2004_15C" in value["expected"]
]

ITS90_SHIFT = (
    -0.148759, -0.267408, 1.08076, 1.269056, -4.089591, -1.871251, 7.438081, -3.536296,
)  # fmt: skip
BASE_SHIFT = 0.01374979547  # twice what the scales differ by at 60 degF


def ipts68_degf(its90_degf: float) -> float:
    """The temperature on the scale that the constants of 1980 were fitted on."""
    celsius = (its90_degf - 32) / 1.8
    scaled = celsius / 630
    shift = 0.0
    for coefficient in reversed(ITS90_SHIFT):
        shift = (shift + coefficient) * scaled
    return 1.8 * (celsius - shift) + 32


def factor_60_2004(*, density_60_kg_m3: float, temperature_degf: float) -> float:
    """Factor to 60 degF with K1 = 0.34878 alone, as for lubricating oils."""
    a = BASE_SHIFT / 2 * 0.34878 / density_60_kg_m3
    density_star = density_60_kg_m3 * (1 + (exp(a * (1 + 0.8 * a)) - 1) / (1 + a * (1 + 1.6 * a)))
    alpha = 0.34878 / density_star
    rise = ipts68_degf(temperature_degf) - 60.0068749
    return exp(-alpha * rise * (1 + 0.8 * alpha * (rise + BASE_SHIFT)))


def factor_15_2004(*, density_15_kg_m3: float, temperature_c: float) -> float:
    """The same to 15 degC: the density at 60 degF is found first, by repetition."""
    density_60 = density_15_kg_m3
    for _ in range(6):  # each round leaves less than a thousandth of the error
        base = factor_60_2004(density_60_kg_m3=density_60, temperature_degf=59)
        density_60 = density_15_kg_m3 / base
    warm = factor_60_2004(density_60_kg_m3=density_60, temperature_degf=temperature_c * 1.8 + 32)
    return warm / base


def test_the_oracle_meets_the_published_scale_shift() -> None:
    """T2-01 [seen] API MPMS 11.1 (2004)."""
    assert ipts68_degf(60.0) == pytest.approx(60.0068749, rel=0, abs=1e-7)


@pytest.mark.parametrize(
    ("density_60", "degf", "published"),
    [
        pytest.param(850, 0, 1.024434, id=f"T2-14 [computed] {SOURCE_2004}"),
        pytest.param(850, 100, 0.983504, id=f"T2-15 [computed] {SOURCE_2004}"),
        pytest.param(870, 212, 0.938076, id=f"T2-17 [computed] {SOURCE_2004}"),
    ],
)
def test_the_oracle_meets_published_factors(
    density_60: float, degf: float, published: float
) -> None:
    factor = factor_60_2004(density_60_kg_m3=density_60, temperature_degf=degf)

    assert factor == pytest.approx(published, rel=0, abs=2e-6)


@pytest.mark.parametrize("value", TO_15, ids=[f"{v['id']} [{v['status']}]" for v in TO_15])
def test_the_oracle_meets_published_factors_to_15_degc(value: dict[str, Any]) -> None:
    given = value["inputs"]
    factor = factor_15_2004(density_15_kg_m3=given["rho15_kg_m3"], temperature_c=given["t_degC"])

    assert factor == pytest.approx(value["expected"]["ctl_2004_15C"], rel=0, abs=2e-6)


def between_the_forms(density: float, temperature: float) -> float:
    ours = volume_correction_factor(density_15_kg_m3=density, temperature_c=temperature)
    return ours - factor_15_2004(density_15_kg_m3=density, temperature_c=temperature)


def test_both_forms_of_the_standard_agree_within_2e_5_over_the_whole_range() -> None:
    """On a grid of 4 kg/m3 and 2 K, edges included; between its points next to nothing changes."""
    densities = [800.9 + (1163.5 - 800.9) * step / 90 for step in range(91)]
    grid = [[between_the_forms(rho, -50 + 2 * step) for step in range(101)] for rho in densities]
    steps = [
        abs(after - before)
        for lines in (grid, zip(*grid, strict=True))
        for line in lines
        for before, after in pairwise(line)
    ]

    assert max(abs(one) for line in grid for one in line) + max(steps) < 1e-5
    assert max(steps) < 5e-7


@given(density=DENSITIES, temperature=TEMPERATURES, base=TEMPERATURES)
def test_both_forms_agree_between_any_two_temperatures(
    density: float, temperature: float, base: float
) -> None:
    ours = factor_between(density_15_kg_m3=density, temperature_c=temperature, base_c=base)
    theirs = factor_15_2004(density_15_kg_m3=density, temperature_c=temperature) / factor_15_2004(
        density_15_kg_m3=density, temperature_c=base
    )

    assert ours == pytest.approx(theirs, rel=0, abs=2e-5)


@given(density=DENSITIES, warm=TEMPERATURES, base=TEMPERATURES, other=TEMPERATURES)
def test_a_detour_over_another_temperature_changes_nothing(
    density: float, warm: float, base: float, other: float
) -> None:
    def factor(temperature: float, to: float) -> float:
        return factor_between(density_15_kg_m3=density, temperature_c=temperature, base_c=to)

    assert factor(warm, other) * factor(other, base) == pytest.approx(factor(warm, base), rel=1e-14)
    assert factor(base, base) == 1
    assert factor(warm, 15) == volume_correction_factor(
        density_15_kg_m3=density, temperature_c=warm
    )


@given(density=DENSITIES, temperature=TEMPERATURES)
def test_a_volume_weighs_the_same_at_any_temperature(density: float, temperature: float) -> None:
    volume = volume_at_temperature_l(
        volume_15_l=10, density_15_kg_m3=density, temperature_c=temperature
    )

    weight = volume * density_at_kg_m3(density_15_kg_m3=density, temperature_c=temperature)
    assert weight == pytest.approx(10 * density, rel=1e-14)


@given(density=DENSITIES | st.sampled_from([800.9, 1163.5]), temperature=TEMPERATURES)
def test_the_density_at_15_comes_back(density: float, temperature: float) -> None:
    there = density_at_kg_m3(density_15_kg_m3=density, temperature_c=temperature)
    back = density_at_15_kg_m3(density_kg_m3=there, temperature_c=temperature)

    assert back == pytest.approx(density, rel=1e-13)
    assert 800.9 <= back <= 1163.5


@pytest.mark.parametrize("celsius", [-50, 15, 150])
@pytest.mark.parametrize(("edge", "outwards"), [(800.9, -0.001), (1163.5, 0.001)])
def test_a_density_that_would_be_outside_at_15_is_refused(
    celsius: float, edge: float, outwards: float
) -> None:
    there = density_at_kg_m3(density_15_kg_m3=edge, temperature_c=celsius)

    back = density_at_15_kg_m3(density_kg_m3=there, temperature_c=celsius)
    assert back == pytest.approx(edge, rel=1e-13)
    with pytest.raises(OutOfRange, match="density_kg_m3"):
        density_at_15_kg_m3(density_kg_m3=there + outwards, temperature_c=celsius)


@given(density=DENSITIES)
def test_at_15_degc_nothing_is_corrected(density: float) -> None:
    assert volume_correction_factor(density_15_kg_m3=density, temperature_c=15) == 1.0


@given(density=DENSITIES, temperature=st.floats(-50, 149))
def test_warmer_fluid_is_worth_less(density: float, temperature: float) -> None:
    cooler = volume_correction_factor(density_15_kg_m3=density, temperature_c=temperature)
    warmer = volume_correction_factor(density_15_kg_m3=density, temperature_c=temperature + 1)

    assert warmer < cooler


@given(density=DENSITIES)
def test_the_expansion_is_the_slope_of_the_factor(density: float) -> None:
    above = volume_correction_factor(density_15_kg_m3=density, temperature_c=15.001)
    below = volume_correction_factor(density_15_kg_m3=density, temperature_c=14.999)

    slope = (below - above) / 0.002
    assert thermal_expansion_per_k(density_15_kg_m3=density) == pytest.approx(slope, rel=1e-6)


@given(volume=st.floats(0, 1e5), density=DENSITIES, temperature=TEMPERATURES)
def test_there_and_back_is_the_same_volume(
    volume: float, density: float, temperature: float
) -> None:
    at_15 = volume_at_15_l(volume_l=volume, density_15_kg_m3=density, temperature_c=temperature)
    back = volume_at_temperature_l(
        volume_15_l=min(at_15, 1e5), density_15_kg_m3=density, temperature_c=temperature
    )

    assert back == pytest.approx(volume, rel=1e-14) or at_15 > 1e5


@given(mass=st.floats(0, 1e4), density=DENSITIES)
def test_a_weighed_volume_weighs_what_was_weighed(mass: float, density: float) -> None:
    volume = volume_from_mass_15_l(mass_kg=mass, density_15_kg_m3=density)

    assert volume * density / 1000 == pytest.approx(mass, rel=1e-14)


@pytest.mark.parametrize("density", [800.8, 1163.6, nan, inf, -850, 0])
@pytest.mark.parametrize(
    "formula",
    [
        lambda rho: thermal_expansion_per_k(density_15_kg_m3=rho),
        lambda rho: volume_from_mass_15_l(mass_kg=1, density_15_kg_m3=rho),
        lambda rho: volume_correction_factor(density_15_kg_m3=rho, temperature_c=40),
        lambda rho: factor_between(density_15_kg_m3=rho, temperature_c=40, base_c=20),
        lambda rho: density_at_kg_m3(density_15_kg_m3=rho, temperature_c=40),
    ],
)
def test_densities_outside_are_refused(density: float, formula: Callable[[float], float]) -> None:
    with pytest.raises(OutOfRange, match="density_15_kg_m3"):
        formula(density)


@pytest.mark.parametrize("temperature", [-50.1, 150.1, nan, inf, -inf])
def test_temperatures_outside_are_refused(temperature: float) -> None:
    with pytest.raises(OutOfRange, match="temperature_c"):
        volume_correction_factor(density_15_kg_m3=850, temperature_c=temperature)
    with pytest.raises(OutOfRange, match="temperature_c"):
        factor_between(density_15_kg_m3=850, temperature_c=temperature, base_c=20)
    with pytest.raises(OutOfRange, match="base_c"):
        factor_between(density_15_kg_m3=850, temperature_c=20, base_c=temperature)
    with pytest.raises(OutOfRange, match="temperature_c"):
        density_at_15_kg_m3(density_kg_m3=850, temperature_c=temperature)


def test_the_largest_amounts_are_computed() -> None:
    assert volume_at_15_l(volume_l=1e5, density_15_kg_m3=850, temperature_c=15) == 1e5
    assert volume_at_temperature_l(volume_15_l=1e5, density_15_kg_m3=850, temperature_c=15) == 1e5
    assert volume_from_mass_15_l(mass_kg=1e5, density_15_kg_m3=1000) == 1e5


@pytest.mark.parametrize("amount", [-0.001, 100_000.1, nan, inf])
def test_amounts_outside_are_refused(amount: float) -> None:
    with pytest.raises(OutOfRange, match="volume_l"):
        volume_at_15_l(volume_l=amount, density_15_kg_m3=850, temperature_c=40)
    with pytest.raises(OutOfRange, match="volume_15_l"):
        volume_at_temperature_l(volume_15_l=amount, density_15_kg_m3=850, temperature_c=40)
    with pytest.raises(OutOfRange, match="mass_kg"):
        volume_from_mass_15_l(mass_kg=amount, density_15_kg_m3=850)
