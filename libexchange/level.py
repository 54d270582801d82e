"""What temperature, drip and stick are worth in litres when the fluid level is set.

`level_verdict` judges one look at the level with these.
"""

from math import hypot, radians, sin, tan

from libexchange.errors import check_range
from libexchange.fluid import thermal_expansion_per_k

CASE_EXPANSION_PER_K = 6e-5
HOLD_UP_FACTOR = 1.25
TYPICAL_DENSITY_15_KG_M3 = 850.0
HEAVY_ABOVE_L = 15.0
TEMPERATURE_ERROR_K = 3.0
SLOPE_ERROR_DEG = 0.5
"""What a vehicle that looks level may lean without anybody having measured it [deg]."""

REACH_MM = 200.0
"""From the middle of the pan to the plug or stick (memory)."""

SURFACE_ML_PER_MM_PER_L = 70 / 9
"""Free surface in the pan by the total: 0.07 m2 on a 9 L unit (memory)."""

TOLERANCE_L, TOLERANCE_L_PER_L = 0.2, 0.2 / 9
STEP_L, HEAVY_STEP_L = 0.3, 1.0
FEED_STEP_L = 0.5


def expansion_shift_l(
    *,
    total_l: float,
    density_15_kg_m3: float,
    from_c: float,
    to_c: float,
    case_expansion_per_k: float = CASE_EXPANSION_PER_K,
    hold_up_factor: float = 1.0,
) -> float:
    """Volume by which the fluid outgrows its case between two temperatures; negative on cooling.

    total (alpha - case) (to - from) hold_up, alpha = 0.6278 / density_15.

    total_l: 0 or more [L]    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]    from_c, to_c: [degC]
    case_expansion_per_k: 3e-5 to 8e-5 [1/K]
    hold_up_factor: 1 to 1.7 [-], more than 1 where thick cold fluid hangs on the walls
    Returns: volume [L]    Raises: OutOfRange
    Source: API MPMS 11.1, lubricating oils; case and hold-up from memory.

    >>> round(expansion_shift_l(total_l=9, density_15_kg_m3=850, from_c=40, to_c=80), 3)
    0.244
    """
    check_range(name="hold_up_factor", value=hold_up_factor, low=1, high=1.7)
    check_range(name="case_expansion_per_k", value=case_expansion_per_k, low=3e-5, high=8e-5)
    growth_per_k = thermal_expansion_per_k(density_15_kg_m3=density_15_kg_m3) - case_expansion_per_k
    return total_l * growth_per_k * (to_c - from_c) * hold_up_factor


def drip_ml_per_min(*, total_l: float, density_15_kg_m3: float, rate_k_per_min: float) -> float:
    """What drips from an overflow plug at the right level while the fluid warms up.

    total_l: 0 or more [L]    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]
    rate_k_per_min: [K/min]; nothing drips unless it is positive
    Returns: flow [mL/min]    Raises: OutOfRange    Source: as `expansion_shift_l`.

    >>> round(drip_ml_per_min(total_l=9, density_15_kg_m3=850, rate_k_per_min=2), 1)
    12.2
    """
    per_minute_l = expansion_shift_l(
        total_l=total_l, density_15_kg_m3=density_15_kg_m3, from_c=0, to_c=max(rate_k_per_min, 0.0)
    )
    return 1000 * per_minute_l


def dipstick_addition_l(
    *, reading_mm: float, target_mm: float, ml_per_mm: float, half_band_l: float
) -> float:
    """What to add by a stick: never negative, never more than half the band at once.

    reading_mm, target_mm: height on the stick [mm]    ml_per_mm: above 0 [mL/mm]
    half_band_l: half of what lies between the marks, 0 or more [L]
    Returns: volume to add [L]    Source: common practice.

    >>> dipstick_addition_l(reading_mm=2, target_mm=5, ml_per_mm=40, half_band_l=0.2)
    0.12
    """
    wanted_l = (target_mm - reading_mm) * ml_per_mm / 1000
    return min(max(wanted_l, 0.0), half_band_l)


def correction_limit_l(*, total_l: float) -> float:
    """The most that may be added after the refill before something else is wrong.

    total_l: 0 or more [L]    Returns: max(0.5 L, 4 % of total) [L]    Source: common practice.

    >>> correction_limit_l(total_l=38)
    1.52
    """
    return max(0.5, 0.04 * total_l)


def is_heavy(*, total_l: float) -> bool:
    """Whether the larger steps and limits of heavy units apply: a total above 15 L.

    total_l: 0 or more [L]    Source: common practice.

    >>> is_heavy(total_l=9)
    False
    """
    return total_l > HEAVY_ABOVE_L


def step_l(*, total_l: float) -> float:
    """What is added at once where a look tells only that it is low.

    total_l: 0 or more [L]    Returns: 0.3 L, or 1 L for heavy units [L]    Source: common practice.

    >>> step_l(total_l=9)
    0.3
    """
    return HEAVY_STEP_L if is_heavy(total_l=total_l) else STEP_L


def tolerance_l(*, total_l: float) -> float:
    """How far off the right level is still right: 0.2 L, more in proportion above 9 L.

    total_l: 0 or more [L]    Returns: volume [L]    Source: memory.

    >>> tolerance_l(total_l=9)
    0.2
    """
    return max(TOLERANCE_L, TOLERANCE_L_PER_L * total_l)


def slope_worth_l(*, total_l: float, slope_deg: float) -> float:
    """What a slope is worth at a plug or stick 200 mm from the middle of the pan.

    reach tan(slope) times the free surface, which is taken in proportion to the total.

    total_l: 0 or more [L]    slope_deg: -45 to 45, its sign does not matter [deg]
    Returns: volume, 0 or more [L]    Raises: OutOfRange    Source: geometry, sizes from memory.

    >>> round(slope_worth_l(total_l=9, slope_deg=1), 2)
    0.24
    """
    check_range(name="slope_deg", value=slope_deg, low=-45, high=45, unit="deg")
    height_mm = REACH_MM * tan(radians(abs(slope_deg)))
    return height_mm * SURFACE_ML_PER_MM_PER_L * total_l / 1000


def stick_ml_per_mm(*, free_surface_m2: float, stick_angle_deg: float = 90.0) -> float:
    """Millilitres for a millimetre on a stick, from the free surface of the fluid.

    surface times sin(angle): a leaning stick shows more millimetres for the same rise.

    free_surface_m2: 0.001 to 2 [m2]    stick_angle_deg: to the horizontal, 5 to 90 [deg]
    Returns: [mL/mm]    Raises: OutOfRange    Source: geometry.

    >>> stick_ml_per_mm(free_surface_m2=0.07)
    70.0
    >>> round(stick_ml_per_mm(free_surface_m2=0.07, stick_angle_deg=30), 3)
    35.0
    """
    check_range(name="free_surface_m2", value=free_surface_m2, low=0.001, high=2, unit="m2")
    check_range(name="stick_angle_deg", value=stick_angle_deg, low=5, high=90, unit="deg")
    return 1000 * free_surface_m2 * sin(radians(stick_angle_deg))


def level_uncertainty_l(
    *,
    total_l: float,
    density_15_kg_m3: float,
    temperature_error_k: float = TEMPERATURE_ERROR_K,
    slope_deg: float = SLOPE_ERROR_DEG,
    reading_l: float = 0.0,
) -> float:
    """How well one look tells the level: slope, temperature and reading together.

    total_l: 0 or more [L]    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]
    temperature_error_k: 0 or more [K]    slope_deg: -45 to 45 [deg]
    reading_l: what the reading itself may be off, 0 or more [L]
    Returns: expanded uncertainty [L]    Raises: OutOfRange    Source: memory.

    >>> round(level_uncertainty_l(total_l=9, density_15_kg_m3=850), 2)
    0.12
    """
    temperature_l = expansion_shift_l(
        total_l=total_l,
        density_15_kg_m3=density_15_kg_m3,
        from_c=0,
        to_c=temperature_error_k,
        hold_up_factor=HOLD_UP_FACTOR,
    )
    return hypot(slope_worth_l(total_l=total_l, slope_deg=slope_deg), temperature_l, reading_l)
