"""How much a cooler line carries: what thick cold fluid does to it, and what the pump gives."""

from libexchange.errors import check_range

LARGEST_FLOW_L_MIN = 200.0


def laminar_flow_l_min(
    *, flow_l_min: float, kv_mm2_s: float, other_kv_mm2_s: float, surplus_l_min: float
) -> float:
    """Flow of the same line at another viscosity and the same pressure.

    flow * kv / other_kv, at most what the pump has left over for the line.

    flow_l_min: 0 to 200, at the first viscosity [L/min]
    kv_mm2_s, other_kv_mm2_s: 0.21 to 20,000,000 [mm2/s]
    surplus_l_min: 0 to 200, what the pump has to spare [L/min]
    Returns: flow [L/min]    Raises: OutOfRange
    Source: laminar flow in pipes (Hagen, Poiseuille).

    >>> round(laminar_flow_l_min(
    ...     flow_l_min=2.1, kv_mm2_s=84, other_kv_mm2_s=25.6, surplus_l_min=20), 1)
    6.9
    """
    check_range(name="flow_l_min", value=flow_l_min, low=0, high=LARGEST_FLOW_L_MIN, unit="L/min")
    for name, value in (("kv_mm2_s", kv_mm2_s), ("other_kv_mm2_s", other_kv_mm2_s)):
        check_range(name=name, value=value, low=0.21, high=2e7, unit="mm2/s")
    check_range(
        name="surplus_l_min", value=surplus_l_min, low=0, high=LARGEST_FLOW_L_MIN, unit="L/min"
    )
    return min(flow_l_min * kv_mm2_s / other_kv_mm2_s, surplus_l_min)


def pump_flow_l_min(*, displacement_cm3: float, speed_rpm: float, efficiency: float) -> float:
    """What a pump delivers; most of it goes to clutches and leakage, the line gets the rest.

    displacement * speed * volumetric efficiency.

    displacement_cm3: 0 to 500, per turn [cm3]    speed_rpm: 0 to 10,000 [1/min]
    efficiency: 0 to 1 [-]    Returns: flow [L/min]    Raises: OutOfRange
    Source: definition of displacement and volumetric efficiency.

    >>> pump_flow_l_min(displacement_cm3=20, speed_rpm=700, efficiency=1)
    14.0
    """
    check_range(name="displacement_cm3", value=displacement_cm3, low=0, high=500, unit="cm3")
    check_range(name="speed_rpm", value=speed_rpm, low=0, high=10_000, unit="1/min")
    check_range(name="efficiency", value=efficiency, low=0, high=1)
    return displacement_cm3 * speed_rpm * efficiency / 1000
