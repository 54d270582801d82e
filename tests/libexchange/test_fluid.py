"""Volume correction against the 60 degF form of 2004, written out here from its publication."""

from collections.abc import Callable
from math import exp, inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.errors import OutOfRange
from libexchange.fluid import (
    thermal_expansion_per_k,
    volume_at_15_l,
    volume_at_temperature_l,
    volume_correction_factor,
    volume_from_mass_15_l,
)

SOURCE_2004 = "API MPMS 11.1 (2004), lubricating oils"
DENSITIES = st.floats(800.9, 1163.5)
TEMPERATURES = st.floats(-50, 150)

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
    for _ in range(50):
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


@given(density=DENSITIES, temperature=TEMPERATURES)
def test_both_forms_of_the_standard_agree(density: float, temperature: float) -> None:
    ours = volume_correction_factor(density_15_kg_m3=density, temperature_c=temperature)
    theirs = factor_15_2004(density_15_kg_m3=density, temperature_c=temperature)

    assert ours == pytest.approx(theirs, rel=0, abs=2e-5)


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
    ],
)
def test_densities_outside_are_refused(density: float, formula: Callable[[float], float]) -> None:
    with pytest.raises(OutOfRange, match="density_15_kg_m3"):
        formula(density)


@pytest.mark.parametrize("temperature", [-50.1, 150.1, nan, inf, -inf])
def test_temperatures_outside_are_refused(temperature: float) -> None:
    with pytest.raises(OutOfRange, match="temperature_c"):
        volume_correction_factor(density_15_kg_m3=850, temperature_c=temperature)


@pytest.mark.parametrize("amount", [-0.001, nan, inf])
def test_amounts_outside_are_refused(amount: float) -> None:
    with pytest.raises(OutOfRange, match="volume_l"):
        volume_at_15_l(volume_l=amount, density_15_kg_m3=850, temperature_c=40)
    with pytest.raises(OutOfRange, match="volume_15_l"):
        volume_at_temperature_l(volume_15_l=amount, density_15_kg_m3=850, temperature_c=40)
    with pytest.raises(OutOfRange, match="mass_kg"):
        volume_from_mass_15_l(mass_kg=amount, density_15_kg_m3=850)
