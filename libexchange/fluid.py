"""How a lubricating oil grows with temperature, and its volume at 15 degC.

Volumes that are added or compared are first brought to 15 degC. The formula is the 15 degC form
of the standard for lubricating oils; the later 60 degF form agrees with it within 2e-5 of the
factor. Outside the stated range nothing is extrapolated.
"""

from math import exp

from libexchange.errors import check_range

LOWEST_DENSITY_15_KG_M3 = 800.9
HIGHEST_DENSITY_15_KG_M3 = 1163.5
LOWEST_TEMPERATURE_C = -50.0
HIGHEST_TEMPERATURE_C = 150.0
REFERENCE_TEMPERATURE_C = 15.0
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
    return 0.6278 / density_15_kg_m3


def volume_correction_factor(*, density_15_kg_m3: float, temperature_c: float) -> float:
    """Factor that brings a volume at `temperature_c` to 15 degC.

    exp(-a dT (1 + 0.8 a dT)), a = 0.6278 / density_15, dT = temperature - 15.

    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]    temperature_c: -50 to 150 [degC]
    Returns: factor [L at 15 degC per L]    Raises: OutOfRange
    Source: API MPMS 11.1 / ASTM D1250, lubricating oils.

    >>> round(volume_correction_factor(density_15_kg_m3=850, temperature_c=80), 5)
    0.95137
    """
    check_range(
        name="temperature_c",
        value=temperature_c,
        low=LOWEST_TEMPERATURE_C,
        high=HIGHEST_TEMPERATURE_C,
        unit="degC",
    )
    expansion_per_k = thermal_expansion_per_k(density_15_kg_m3=density_15_kg_m3)
    growth = expansion_per_k * (temperature_c - REFERENCE_TEMPERATURE_C)
    return exp(-growth * (1 + 0.8 * growth))


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


def _check_density(density_15_kg_m3: float) -> None:
    check_range(
        name="density_15_kg_m3",
        value=density_15_kg_m3,
        low=LOWEST_DENSITY_15_KG_M3,
        high=HIGHEST_DENSITY_15_KG_M3,
        unit="kg/m3",
    )
