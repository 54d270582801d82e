"""The vessels of the equipment: fresh fluid that can be drawn, room for used fluid, its meters."""

from libexchange.errors import check_range
from libexchange.fluid import volume_at_temperature_l

HEEL_RESERVE_L = 0.3
FULL_SHARE, STOP_SHARE = 0.95, 0.97
WASTE_RESERVE_L = 2.0
LARGEST_VESSEL_L = 10_000.0


def usable_fresh_l(*, level_l: float, heel_l: float) -> float:
    """Fresh fluid that can be drawn: the level less the heel that the pump does not reach.

    level_l: 0 to 10,000 [L]    heel_l: 0 to 10,000, usually 1 to 2 [L]
    Returns: volume [L]    Raises: OutOfRange    Source: common practice.

    >>> usable_fresh_l(level_l=18, heel_l=1.5)
    16.5
    """
    _check("level_l", level_l)
    _check("heel_l", heel_l)
    return max(level_l - heel_l, 0.0)


def fresh_needed_l(*, planned_l: float, hose_fill_l: float) -> float:
    """Fresh fluid that a job needs: planned litres, hoses, and a reserve of 1 L or 10 %.

    planned_l: 0 to 10,000 [L]    hose_fill_l: 0 to 10,000, empty hoses that are filled first [L]
    Returns: planned + hoses + max(1 L, 10 % of planned) [L]    Raises: OutOfRange
    Source: common practice.

    >>> fresh_needed_l(planned_l=9, hose_fill_l=0.5), fresh_needed_l(planned_l=20, hose_fill_l=0)
    (10.5, 22.0)
    """
    _check("planned_l", planned_l)
    _check("hose_fill_l", hose_fill_l)
    return planned_l + hose_fill_l + max(1.0, 0.1 * planned_l)


def fresh_runs_out(*, level_l: float, heel_l: float) -> bool:
    """Whether to stop drawing while fluid flows: 0.3 L above the heel or less are left.

    level_l, heel_l: 0 to 10,000 [L]    Raises: OutOfRange    Source: common practice.

    >>> fresh_runs_out(level_l=1.75, heel_l=1.5)
    True
    """
    _check("level_l", level_l)
    _check("heel_l", heel_l)
    return level_l <= heel_l + HEEL_RESERVE_L


def waste_room_l(*, capacity_l: float, level_l: float) -> float:
    """Room for used fluid, which is taken up to 0.95 of the vessel.

    capacity_l, level_l: 0 to 10,000 [L]    Returns: volume [L]    Raises: OutOfRange
    Source: common practice.

    >>> waste_room_l(capacity_l=60, level_l=40)
    17.0
    """
    _check("capacity_l", capacity_l)
    _check("level_l", level_l)
    return max(FULL_SHARE * capacity_l - level_l, 0.0)


def waste_needed_l(
    *, out_15_l: float, density_15_kg_m3: float, temperature_c: float, cleaner_l: float = 0.0
) -> float:
    """Room that a job needs: what comes out, as hot as it comes, cleaner, and 2 L of reserve.

    out_15_l: 0 to 100,000 [L at 15 degC]    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]
    temperature_c: -50 to 150, of what comes out [degC]    cleaner_l: 0 to 10,000 [L]
    Returns: out at temperature + cleaner + 2 L [L]    Raises: OutOfRange
    Source: API MPMS 11.1 for the growth; the reserve is common practice.

    >>> need_l = waste_needed_l(out_15_l=12, density_15_kg_m3=850, temperature_c=80, cleaner_l=0.3)
    >>> round(need_l, 2)
    14.91
    """
    _check("cleaner_l", cleaner_l)
    hot_l = volume_at_temperature_l(
        volume_15_l=out_15_l, density_15_kg_m3=density_15_kg_m3, temperature_c=temperature_c
    )
    return hot_l + cleaner_l + WASTE_RESERVE_L


def waste_runs_over(*, capacity_l: float, level_l: float) -> bool:
    """Whether to stop while fluid flows: the vessel is full to 0.97 or more.

    capacity_l, level_l: 0 to 10,000 [L]    Raises: OutOfRange    Source: common practice.

    >>> waste_runs_over(capacity_l=100, level_l=97), waste_runs_over(capacity_l=100, level_l=96.9)
    (True, False)
    """
    _check("capacity_l", capacity_l)
    _check("level_l", level_l)
    return level_l >= STOP_SHARE * capacity_l


def meter_factor(*, factor: float, true_l: float, indicated_l: float) -> float:
    """The new factor of a meter after a check: the old one times true over indicated litres.

    factor: 0.5 to 2, set while it was checked [-]    true_l, indicated_l: 0.1 to 10,000 [L]
    Returns: factor [-]    Raises: OutOfRange    Source: manual of an oil control handle.

    >>> round(meter_factor(factor=1.0, true_l=10.0, indicated_l=10.2), 4)
    0.9804
    """
    check_range(name="factor", value=factor, low=0.5, high=2)
    check_range(name="true_l", value=true_l, low=0.1, high=LARGEST_VESSEL_L, unit="L")
    check_range(name="indicated_l", value=indicated_l, low=0.1, high=LARGEST_VESSEL_L, unit="L")
    return factor * true_l / indicated_l


def _check(name: str, volume_l: float) -> None:
    check_range(name=name, value=volume_l, low=0, high=LARGEST_VESSEL_L, unit="L")
