"""Kinematic viscosity at a temperature from two measured ones, and the viscosity index.

Two points fix a straight line on the viscosity-temperature chart. The line is good where the
fluid flows like a simple liquid; near its cloud point it says nothing of how thick it gets.
"""

from bisect import bisect_right
from math import exp, log10
from typing import NamedTuple

from libexchange._viscosity_index_table import (
    AT_100_MM2_S,
    OF_INDEX_0_MM2_S,
    OF_INDEX_100_MM2_S,
)
from libexchange.errors import OutOfRange, check_range
from libexchange.findings import MEMORY, Finding, Kind

LOWEST_VISCOSITY_MM2_S = 0.21
HIGHEST_VISCOSITY_MM2_S = 2e7
LOWEST_TEMPERATURE_C = -50.0
HIGHEST_TEMPERATURE_C = 150.0
LOWEST_INDEXED_MM2_S = 2.0
COLD_C = 0.0
THICK_MM2_S = 1000.0

COLD_FLOW = Kind(
    code="cold-flow-not-shown",
    severity="caution",
    title="The fluid may flow worse in the cold than the two viscosities tell",
    remedy="Take the maker's low-temperature viscosity (ASTM D2983) and pour point; warm the fluid "
    "before it is pumped or measured.",
    source=MEMORY,
)


class ViscosityLine(NamedTuple):
    """The straight line log10 log10 Z = intercept - slope log10 T, T in kelvin."""

    intercept: float
    slope: float


def viscosity_function(*, viscosity_mm2_s: float) -> float:
    """Z of the viscosity-temperature chart.

    Z = v + 0.7 + exp(-1.47 - 1.84 v - 0.51 v^2); above 2 mm2/s the last term is below 0.001.

    viscosity_mm2_s: 0.21 to 20,000,000 [mm2/s]    Returns: Z [-]    Raises: OutOfRange
    Source: ASTM D341.

    >>> round(viscosity_function(viscosity_mm2_s=1.0), 6)
    1.721928
    """
    _check_viscosity("viscosity_mm2_s", viscosity_mm2_s)
    return viscosity_mm2_s + 0.7 + _low_viscosity_term(viscosity_mm2_s)


def viscosity_of_function_mm2_s(*, z: float) -> float:
    """Kinematic viscosity whose chart function is `z`; the exact inverse of `viscosity_function`.

    z: 1.0628 to 20,000,000.7 [-]    Returns: [mm2/s]    Raises: OutOfRange
    Source: ASTM D341; its closed approximation of the inverse differs by up to 0.0002 mm2/s.

    >>> round(viscosity_of_function_mm2_s(z=1.721928), 5)
    1.0
    """
    low, high = (
        viscosity_function(viscosity_mm2_s=edge)
        for edge in (LOWEST_VISCOSITY_MM2_S, HIGHEST_VISCOSITY_MM2_S)
    )
    check_range(name="z", value=z, low=low, high=high)
    viscosity = z - 0.7
    for _ in range(40):  # a step leaves at most 0.32 of the error, the slope of the term at 0.21
        viscosity = z - 0.7 - _low_viscosity_term(viscosity)
    return viscosity


def line_through(
    *, first_mm2_s: float, first_k: float, second_mm2_s: float, second_k: float
) -> ViscosityLine:
    """The chart line through two measured viscosities.

    first_mm2_s, second_mm2_s: 0.21 to 20,000,000, the second at the higher temperature and not
    higher [mm2/s]    first_k: 200 to 499 [K]    second_k: first_k + 1 to 500 [K]
    Returns: intercept and slope [-]    Raises: OutOfRange    Source: ASTM D341.

    >>> line = line_through(first_mm2_s=34.5, first_k=313.15, second_mm2_s=7.4, second_k=373.15)
    >>> round(line.intercept, 3), round(line.slope, 3)
    (7.764, 3.035)
    """
    check_range(name="first_k", value=first_k, low=200, high=499, unit="K")
    check_range(name="second_k", value=second_k, low=first_k + 1, high=500, unit="K")
    _check_pair(first_mm2_s=first_mm2_s, second_mm2_s=second_mm2_s)
    first, second = _height(first_mm2_s), _height(second_mm2_s)
    slope = (first - second) / (log10(second_k) - log10(first_k))
    return ViscosityLine(intercept=first + slope * log10(first_k), slope=slope)


def viscosity_on_line_mm2_s(*, line: ViscosityLine, temperature_k: float) -> float:
    """Kinematic viscosity on a chart line.

    line: intercept and slope [-]    temperature_k: 200 to 500 [K]
    Returns: 0.21 to 20,000,000 [mm2/s]    Raises: OutOfRange, also where the line leaves the chart
    Source: ASTM D341.

    >>> line = ViscosityLine(intercept=7.76353, slope=3.03482)
    >>> round(viscosity_on_line_mm2_s(line=line, temperature_k=353.15), 2)
    11.15
    """
    check_range(name="temperature_k", value=temperature_k, low=200, high=500, unit="K")
    height = line.intercept - line.slope * log10(temperature_k)
    if not _height(LOWEST_VISCOSITY_MM2_S) <= height <= _height(HIGHEST_VISCOSITY_MM2_S):
        allowed = "where the viscosity is 0.21 to 2e+07 mm2/s"
        raise OutOfRange(name="temperature_k", value=temperature_k, allowed=allowed)
    return viscosity_of_function_mm2_s(z=10.0 ** (10.0**height))


def viscosity_at_mm2_s(*, kv40_mm2_s: float, kv100_mm2_s: float, temperature_c: float) -> float:
    """Kinematic viscosity at a temperature, from those at 40 and 100 degC.

    kv40_mm2_s, kv100_mm2_s: 0.21 to 20,000,000, the second not higher [mm2/s]
    temperature_c: -50 to 150 [degC]
    Returns: 0.21 to 20,000,000 [mm2/s]    Raises: OutOfRange    Source: ASTM D341.

    >>> round(viscosity_at_mm2_s(kv40_mm2_s=34.5, kv100_mm2_s=7.4, temperature_c=20), 1)
    76.8
    """
    low, high = LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C
    check_range(name="temperature_c", value=temperature_c, low=low, high=high, unit="°C")
    _check_pair(kv40_mm2_s=kv40_mm2_s, kv100_mm2_s=kv100_mm2_s)
    line = line_through(
        first_mm2_s=kv40_mm2_s, first_k=313.15, second_mm2_s=kv100_mm2_s, second_k=373.15
    )
    return viscosity_on_line_mm2_s(line=line, temperature_k=temperature_c + 273.15)


class ReferenceOils(NamedTuple):
    """Viscosities at 40 degC of the oils of index 0 and 100 that are as thick at 100 degC."""

    index_0_mm2_s: float
    index_100_mm2_s: float


def reference_oils(*, kv100_mm2_s: float) -> ReferenceOils:
    """L and H of the standard: from its table by linear interpolation, above 70 by its equations.

    L = 0.8353 Y^2 + 14.67 Y - 216, H = 0.1684 Y^2 + 11.85 Y - 97, Y = kv100.

    kv100_mm2_s: 2 to 20,000,000 [mm2/s]    Returns: [mm2/s]    Raises: OutOfRange
    Source: ASTM D2270 / ISO 2909.

    >>> [round(viscosity, 2) for viscosity in reference_oils(kv100_mm2_s=8.86)]
    [119.94, 69.48]
    """
    low, high = LOWEST_INDEXED_MM2_S, HIGHEST_VISCOSITY_MM2_S
    check_range(name="kv100_mm2_s", value=kv100_mm2_s, low=low, high=high, unit="mm2/s")
    if kv100_mm2_s > AT_100_MM2_S[-1]:
        return ReferenceOils(
            (0.8353 * kv100_mm2_s + 14.67) * kv100_mm2_s - 216,
            (0.1684 * kv100_mm2_s + 11.85) * kv100_mm2_s - 97,
        )
    return ReferenceOils(
        _interpolated(OF_INDEX_0_MM2_S, kv100_mm2_s),
        _interpolated(OF_INDEX_100_MM2_S, kv100_mm2_s),
    )


def index_up_to_100(*, kv40_mm2_s: float, index_0_mm2_s: float, index_100_mm2_s: float) -> float:
    """Procedure A: 100 (L - U) / (L - H), U = kv40; below 0 for oils thinner in the heat than L.

    kv40_mm2_s, index_0_mm2_s, index_100_mm2_s: at 40 degC, in one unit, the second above the third
    Returns: index [-]    Source: ASTM D2270, procedure A.

    >>> index_up_to_100(kv40_mm2_s=200, index_0_mm2_s=400, index_100_mm2_s=150)
    80.0
    """
    return 100 * (index_0_mm2_s - kv40_mm2_s) / (index_0_mm2_s - index_100_mm2_s)


def index_above_100(*, kv40_mm2_s: float, kv100_mm2_s: float, index_100_mm2_s: float) -> float:
    """Procedure B: 100 + (10^N - 1) / 0.00715, N = (log10 H - log10 U) / log10 Y.

    kv40_mm2_s, kv100_mm2_s: U and Y [mm2/s]    index_100_mm2_s: H at 40 degC [mm2/s]
    Returns: index [-]    Source: ASTM D2270, procedure B.

    >>> round(index_above_100(kv40_mm2_s=22.83, kv100_mm2_s=5.05, index_100_mm2_s=28.97), 1)
    156.4
    """
    exponent = (log10(index_100_mm2_s) - log10(kv40_mm2_s)) / log10(kv100_mm2_s)
    return 100 + (10**exponent - 1) / 0.00715


def viscosity_index(*, kv40_mm2_s: float, kv100_mm2_s: float) -> float | None:
    """Viscosity index, not rounded; the standard reports it to the nearest whole number.

    Procedure A while kv40 is not below that of the oil of index 100, else procedure B.

    kv40_mm2_s, kv100_mm2_s: 0.21 to 20,000,000, the second not higher [mm2/s]
    Returns: index [-], None below 2 mm2/s at 100 degC, where it is not defined
    Raises: OutOfRange    Source: ASTM D2270 / ISO 2909.

    >>> round(viscosity_index(kv40_mm2_s=73.3, kv100_mm2_s=8.86))
    92
    """
    _check_pair(kv40_mm2_s=kv40_mm2_s, kv100_mm2_s=kv100_mm2_s)
    if kv100_mm2_s < LOWEST_INDEXED_MM2_S:
        return None
    oils = reference_oils(kv100_mm2_s=kv100_mm2_s)
    if kv40_mm2_s >= oils.index_100_mm2_s:
        return index_up_to_100(kv40_mm2_s=kv40_mm2_s, **oils._asdict())
    return index_above_100(
        kv40_mm2_s=kv40_mm2_s, kv100_mm2_s=kv100_mm2_s, index_100_mm2_s=oils.index_100_mm2_s
    )


def cold_flow_caution(*, temperature_c: float, viscosity_mm2_s: float) -> list[Finding]:
    """A caution below 0 degC or above 1,000 mm2/s, where the chart line is not to be relied on.

    temperature_c: [degC]    viscosity_mm2_s: read from the line at that temperature [mm2/s]
    Source: memory; ASTM D341 warns of use below the cloud point.

    >>> cold_flow_caution(temperature_c=20, viscosity_mm2_s=77)
    []
    """
    if temperature_c >= COLD_C and viscosity_mm2_s <= THICK_MM2_S:
        return []
    text = f"{viscosity_mm2_s:.4g} mm2/s at {temperature_c:g} °C is what the line gives at best."
    values = {"temperature_c": temperature_c, "viscosity_mm2_s": viscosity_mm2_s}
    return [COLD_FLOW.at("#/temperature", text, values=values)]


def _check_viscosity(name: str, viscosity_mm2_s: float) -> None:
    low, high = LOWEST_VISCOSITY_MM2_S, HIGHEST_VISCOSITY_MM2_S
    check_range(name=name, value=viscosity_mm2_s, low=low, high=high, unit="mm2/s")


def _check_pair(**colder_first: float) -> None:
    """Both on the chart, and no fluid is thicker at the higher temperature."""
    (cold_name, cold_mm2_s), (hot_name, hot_mm2_s) = colder_first.items()
    _check_viscosity(cold_name, cold_mm2_s)
    low, high = LOWEST_VISCOSITY_MM2_S, cold_mm2_s
    check_range(name=hot_name, value=hot_mm2_s, low=low, high=high, unit="mm2/s")


def _low_viscosity_term(viscosity_mm2_s: float) -> float:
    return exp(-1.47 - 1.84 * viscosity_mm2_s - 0.51 * viscosity_mm2_s**2)


def _height(viscosity_mm2_s: float) -> float:
    """How high a viscosity stands on the chart: log10 log10 Z."""
    return log10(log10(viscosity_function(viscosity_mm2_s=viscosity_mm2_s)))


def _interpolated(of_oil_mm2_s: tuple[float, ...], kv100_mm2_s: float) -> float:
    above = min(bisect_right(AT_100_MM2_S, kv100_mm2_s), len(AT_100_MM2_S) - 1)
    left, right = AT_100_MM2_S[above - 1], AT_100_MM2_S[above]
    share = (kv100_mm2_s - left) / (right - left)
    return of_oil_mm2_s[above - 1] + share * (of_oil_mm2_s[above] - of_oil_mm2_s[above - 1])
