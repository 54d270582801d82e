"""How a lubricating oil grows with temperature: its volume and density at any other temperature.

Volumes that are added or compared are first brought to 15 degC. The formula is the 15 degC form
of the standard for lubricating oils; the 60 degF form of 2004 with its shift of the temperature
scale agrees with it within 1e-5 of the factor. Outside the stated range nothing is extrapolated.
"""

from math import exp

from libexchange.errors import check_range

LOWEST_DENSITY_15_KG_M3 = 800.9
HIGHEST_DENSITY_15_KG_M3 = 1163.5
LOWEST_TEMPERATURE_C = -50.0
HIGHEST_TEMPERATURE_C = 150.0
REFERENCE_TEMPERATURE_C = 15.0
EXPANSION_KG_M3_K = 0.6278
"""The constant of lubricating oils: expansion coefficient times density, both at 15 degC."""

LARGEST_VOLUME_L = 1e5
LARGEST_MASS_KG = 1e5


def thermal_expansion_per_k(*, density_15_kg_m3: float) -> float:
    """Thermal expansion coefficient at 15 degC, 0.6278 / density_15.

    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]
    Returns: coefficient [1/K]    Raises: OutOfRange
    Source: API MPMS 11.1 / ASTM D1250, lubricating oils.

    >>> round(thermal_expansion_per_k(density_15_kg_m3=850), 7)
    0.0007386
    """
    _check_density(density_15_kg_m3)
    return EXPANSION_KG_M3_K / density_15_kg_m3


def volume_correction_factor(*, density_15_kg_m3: float, temperature_c: float) -> float:
    """Factor that brings a volume at `temperature_c` to 15 degC.

    exp(-a dT (1 + 0.8 a dT)), a = 0.6278 / density_15, dT = temperature - 15.

    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]    temperature_c: -50 to 150 [degC]
    Returns: factor [L at 15 degC per L]    Raises: OutOfRange
    Source: API MPMS 11.1 / ASTM D1250, lubricating oils.

    >>> round(volume_correction_factor(density_15_kg_m3=850, temperature_c=80), 5)
    0.95137
    """
    _check_temperature("temperature_c", temperature_c)
    _check_density(density_15_kg_m3)
    return _factor(density_15_kg_m3, temperature_c)


def factor_between(*, density_15_kg_m3: float, temperature_c: float, base_c: float) -> float:
    """Factor that brings a volume at `temperature_c` to any other temperature `base_c`.

    The quotient of the two factors to 15 degC; trade bases are 20 degC and 60 degF (15.56 degC).

    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]    temperature_c, base_c: -50 to 150 [degC]
    Returns: factor [L at base_c per L]    Raises: OutOfRange
    Source: API MPMS 11.1 / ASTM D1250, lubricating oils.

    >>> round(factor_between(density_15_kg_m3=850, temperature_c=80, base_c=20), 5)
    0.9549
    """
    _check_temperature("base_c", base_c)
    to_15 = volume_correction_factor(density_15_kg_m3=density_15_kg_m3, temperature_c=temperature_c)
    return to_15 / _factor(density_15_kg_m3, base_c)


def density_at_kg_m3(*, density_15_kg_m3: float, temperature_c: float) -> float:
    """Density at a temperature: what a litre at 15 degC weighs fills more when it is warmer.

    density_15 * factor to 15 degC.

    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]    temperature_c: -50 to 150 [degC]
    Returns: density [kg/m3]    Raises: OutOfRange    Source: as `volume_correction_factor`.

    >>> round(density_at_kg_m3(density_15_kg_m3=850, temperature_c=80), 1)
    808.7
    """
    return density_15_kg_m3 * volume_correction_factor(
        density_15_kg_m3=density_15_kg_m3, temperature_c=temperature_c
    )


def density_at_15_kg_m3(*, density_kg_m3: float, temperature_c: float) -> float:
    """Density at 15 degC of what weighs `density_kg_m3` at another; inverse of `density_at_kg_m3`.

    Solved by repetition of density_15 = density / factor, which leaves at most 0.15 of the error.

    density_kg_m3: what 800.9 to 1163.5 at 15 degC weigh at the temperature [kg/m3]
    temperature_c: -50 to 150 [degC]
    Returns: density at 15 degC [kg/m3]    Raises: OutOfRange
    Source: as `volume_correction_factor`.

    >>> round(density_at_15_kg_m3(density_kg_m3=846.86, temperature_c=20), 1)
    850.0
    """
    low, high = (
        density_at_kg_m3(density_15_kg_m3=edge, temperature_c=temperature_c)
        for edge in (LOWEST_DENSITY_15_KG_M3, HIGHEST_DENSITY_15_KG_M3)
    )
    check_range(name="density_kg_m3", value=density_kg_m3, low=low, high=high, unit="kg/m3")
    found = density_kg_m3
    for _ in range(20):
        found = density_kg_m3 / _factor(found, temperature_c)
    return min(max(found, LOWEST_DENSITY_15_KG_M3), HIGHEST_DENSITY_15_KG_M3)


def volume_at_15_l(*, volume_l: float, density_15_kg_m3: float, temperature_c: float) -> float:
    """Volume at 15 degC of what fills `volume_l` at `temperature_c`.

    volume_l: 0 to 100,000 [L]    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]
    temperature_c: -50 to 150 [degC]
    Returns: volume at 15 degC [L]    Raises: OutOfRange    Source: as `volume_correction_factor`.

    >>> round(volume_at_15_l(volume_l=9, density_15_kg_m3=850, temperature_c=80), 3)
    8.562
    """
    check_range(name="volume_l", value=volume_l, low=0, high=LARGEST_VOLUME_L, unit="L")
    return volume_l * volume_correction_factor(
        density_15_kg_m3=density_15_kg_m3, temperature_c=temperature_c
    )


def volume_at_temperature_l(
    *, volume_15_l: float, density_15_kg_m3: float, temperature_c: float
) -> float:
    """Volume that `volume_15_l` fills at `temperature_c`; the inverse of `volume_at_15_l`.

    volume_15_l: 0 to 100,000 [L at 15 degC]    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]
    temperature_c: -50 to 150 [degC]
    Returns: volume [L]    Raises: OutOfRange    Source: as `volume_correction_factor`.

    >>> round(volume_at_temperature_l(volume_15_l=9, density_15_kg_m3=850, temperature_c=80), 2)
    9.46
    """
    check_range(name="volume_15_l", value=volume_15_l, low=0, high=LARGEST_VOLUME_L, unit="L")
    return volume_15_l / volume_correction_factor(
        density_15_kg_m3=density_15_kg_m3, temperature_c=temperature_c
    )


def volume_from_mass_15_l(*, mass_kg: float, density_15_kg_m3: float) -> float:
    """Volume at 15 degC of a weighed amount, whatever its temperature.

    mass_kg: 0 to 100,000 [kg]    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]
    Returns: volume at 15 degC [L]    Raises: OutOfRange    Source: definition of density.

    >>> volume_from_mass_15_l(mass_kg=8.5, density_15_kg_m3=850)
    10.0
    """
    check_range(name="mass_kg", value=mass_kg, low=0, high=LARGEST_MASS_KG, unit="kg")
    _check_density(density_15_kg_m3)
    return 1000 * mass_kg / density_15_kg_m3


def _factor(density_15_kg_m3: float, temperature_c: float) -> float:
    growth = EXPANSION_KG_M3_K / density_15_kg_m3 * (temperature_c - REFERENCE_TEMPERATURE_C)
    return exp(-growth * (1 + 0.8 * growth))


def _check_temperature(name: str, temperature_c: float) -> None:
    low, high = LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C
    check_range(name=name, value=temperature_c, low=low, high=high, unit="°C")


def _check_density(density_15_kg_m3: float) -> None:
    check_range(
        name="density_15_kg_m3",
        value=density_15_kg_m3,
        low=LOWEST_DENSITY_15_KG_M3,
        high=HIGHEST_DENSITY_15_KG_M3,
        unit="kg/m3",
    )
