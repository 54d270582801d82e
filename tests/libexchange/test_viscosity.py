"""The viscosity-temperature chart and the viscosity index, against independent forms of both."""

from math import exp, inf, nan

import pytest
from chemicals.viscosity import viscosity_index as index_of_chemicals
from hypothesis import given
from hypothesis import strategies as st

from libexchange._viscosity_index_table import (
    AT_100_MM2_S,
    OF_INDEX_0_MM2_S,
    OF_INDEX_100_MM2_S,
)
from libexchange.errors import OutOfRange
from libexchange.viscosity import (
    ViscosityLine,
    cold_flow_caution,
    line_through,
    reference_oils,
    viscosity_at_mm2_s,
    viscosity_function,
    viscosity_index,
    viscosity_of_function_mm2_s,
    viscosity_on_line_mm2_s,
)

OF_FITS = """
2.0 3.8 1.14673 1.7576 -0.109 0.84155 1.5521 -0.077
3.8 4.4 3.38095 -15.4952 33.196 0.78571 1.7929 -0.183
4.4 5.0 2.5000 -7.2143 13.812 0.82143 1.5679 0.119
5.0 6.4 0.10100 16.6350 -45.469 0.04985 9.1613 -18.557
6.4 7.0 3.35714 -23.5643 78.466 0.22619 7.7369 -16.656
7.0 7.7 0.01191 21.4750 -72.870 0.79762 -0.7321 14.610
7.7 9.0 0.41858 16.1558 -56.040 0.05794 10.5156 -28.240
9.0 12 0.88779 7.5527 -16.600 0.26665 6.7015 -10.810
12 15 0.76720 10.7972 -38.180 0.20073 8.4658 -22.490
15 18 0.97305 5.3135 -2.200 0.28889 5.9741 -4.930
18 22 0.97256 5.2500 -0.980 0.24504 7.4160 -16.730
22 28 0.91413 7.4759 -21.820 0.20323 9.1267 -34.230
28 40 0.87031 9.7157 -50.770 0.18411 10.1015 -46.750
40 55 0.84703 12.6752 -133.310 0.17029 11.4866 -80.620
55 70 0.85921 11.1009 -83.190 0.17130 11.3680 -76.940
"""
"""From, to, and the parabolas of L and H that the standard's appendix fits (from memory)."""

FITS = [tuple(map(float, row.split())) for row in OF_FITS.strip().splitlines()]
FLUIDS = st.tuples(st.floats(2.5, 20), st.floats(1.2, 12)).map(
    lambda pair: {"kv100_mm2_s": pair[0], "kv40_mm2_s": pair[0] * pair[1]}
)


@given(viscosity=st.floats(0.21, 2e7))
def test_the_chart_function_comes_back(viscosity: float) -> None:
    z = viscosity_function(viscosity_mm2_s=viscosity)

    assert viscosity_of_function_mm2_s(z=z) == pytest.approx(viscosity, rel=1e-12)


@given(viscosity=st.floats(0.21, 10))
def test_the_closed_inverse_of_the_standard_is_close(viscosity: float) -> None:
    rest = viscosity_function(viscosity_mm2_s=viscosity) - 0.7
    closed = rest - exp(-0.7487 - 3.295 * rest + 0.6119 * rest**2 - 0.3193 * rest**3)

    assert viscosity_of_function_mm2_s(z=rest + 0.7) == pytest.approx(closed, rel=0, abs=4e-4)


@given(fluid=FLUIDS)
def test_the_measured_viscosities_come_back(fluid: dict[str, float]) -> None:
    at_40 = viscosity_at_mm2_s(**fluid, temperature_c=40)
    at_100 = viscosity_at_mm2_s(**fluid, temperature_c=100)

    assert at_40 == pytest.approx(fluid["kv40_mm2_s"], rel=1e-9)
    assert at_100 == pytest.approx(fluid["kv100_mm2_s"], rel=1e-9)


@given(fluid=FLUIDS, temperature=st.floats(0, 140))
def test_warmer_fluid_is_thinner(fluid: dict[str, float], temperature: float) -> None:
    cooler = viscosity_at_mm2_s(**fluid, temperature_c=temperature)
    warmer = viscosity_at_mm2_s(**fluid, temperature_c=temperature + 10)

    assert warmer < cooler


def test_a_line_that_leaves_the_chart_is_refused_on_either_side() -> None:
    steep = line_through(first_mm2_s=1000, first_k=313.15, second_mm2_s=1, second_k=373.15)

    with pytest.raises(OutOfRange, match="where the viscosity"):
        viscosity_on_line_mm2_s(line=steep, temperature_k=490)
    with pytest.raises(OutOfRange, match="where the viscosity"):
        viscosity_on_line_mm2_s(line=steep, temperature_k=225)


@pytest.mark.parametrize(
    ("first_k", "second_k", "second_mm2_s", "what"),
    [
        (199, 373.15, 7.4, "first_k"),
        (313.15, 501, 7.4, "second_k"),
        (313.15, 313.15, 7.4, "second_k"),
        (373.15, 313.15, 7.4, "second_k"),
        (313.15, 373.15, 34.6, "second_mm2_s"),
        (313.15, 373.15, 0.2, "second_mm2_s"),
        (313.15, nan, 7.4, "second_k"),
    ],
)
def test_points_that_fix_no_line_are_refused(
    first_k: float, second_k: float, second_mm2_s: float, what: str
) -> None:
    with pytest.raises(OutOfRange, match=what):
        line_through(
            first_mm2_s=34.5, first_k=first_k, second_mm2_s=second_mm2_s, second_k=second_k
        )


@pytest.mark.parametrize("viscosity", [0.2099, 2.1e7, nan, inf, -1])
def test_viscosities_off_the_chart_are_refused(viscosity: float) -> None:
    with pytest.raises(OutOfRange):
        viscosity_function(viscosity_mm2_s=viscosity)
    with pytest.raises(OutOfRange):
        viscosity_index(kv40_mm2_s=viscosity, kv100_mm2_s=7.4)
    with pytest.raises(OutOfRange):
        viscosity_index(kv40_mm2_s=34.5, kv100_mm2_s=viscosity)


@pytest.mark.parametrize("temperature", [-50.1, 150.1, nan, inf])
def test_temperatures_outside_are_refused(temperature: float) -> None:
    with pytest.raises(OutOfRange, match="temperature_c"):
        viscosity_at_mm2_s(kv40_mm2_s=34.5, kv100_mm2_s=7.4, temperature_c=temperature)


def test_temperatures_of_a_line_have_their_own_range() -> None:
    with pytest.raises(OutOfRange, match="temperature_k"):
        viscosity_on_line_mm2_s(line=ViscosityLine(7.8, 3.0), temperature_k=199)


def test_a_function_value_below_the_chart_is_refused() -> None:
    with pytest.raises(OutOfRange, match="z"):
        viscosity_of_function_mm2_s(z=1.06)


def test_the_table_agrees_with_the_parabolas_of_the_appendix() -> None:
    checked = 0
    table = zip(AT_100_MM2_S, OF_INDEX_0_MM2_S, OF_INDEX_100_MM2_S, strict=True)
    for y, low, high in table:
        for start, end, a, b, c, d, e, f in FITS:
            if start <= y <= end:
                assert low == pytest.approx(a * y * y + b * y + c, rel=1.2e-3)
                assert high == pytest.approx(d * y * y + e * y + f, rel=1.2e-3)
                checked += 1

    assert checked > len(AT_100_MM2_S) == 311


@given(y=st.floats(2, 70))
def test_reference_oils_lie_between_their_neighbours_in_the_table(y: float) -> None:
    oils = reference_oils(kv100_mm2_s=y)
    place = max(k for k, edge in enumerate(AT_100_MM2_S) if edge <= y)
    after = min(place + 1, len(AT_100_MM2_S) - 1)

    assert OF_INDEX_0_MM2_S[place] <= oils.index_0_mm2_s <= OF_INDEX_0_MM2_S[after]
    assert OF_INDEX_100_MM2_S[place] <= oils.index_100_mm2_s <= OF_INDEX_100_MM2_S[after]


def test_table_and_equations_meet_at_70() -> None:
    below, above = reference_oils(kv100_mm2_s=70), reference_oils(kv100_mm2_s=70.000001)

    assert below.index_0_mm2_s == 4905
    assert above.index_0_mm2_s == pytest.approx(below.index_0_mm2_s, rel=1e-3)
    assert above.index_100_mm2_s == pytest.approx(below.index_100_mm2_s, rel=1e-3)


@given(y=st.floats(2, 300).filter(lambda y: y != 70), ratio=st.floats(1.05, 30))
def test_the_index_is_that_of_the_chemicals_library(y: float, ratio: float) -> None:
    """It has a table of its own; at 70 mm2/s it takes the equations and we the table's last row."""
    ours = viscosity_index(kv40_mm2_s=y * ratio, kv100_mm2_s=y)
    theirs = index_of_chemicals(nu_40=1e-6 * y * ratio, nu_100=1e-6 * y)

    assert ours == pytest.approx(theirs, rel=1e-8, abs=1e-6)


@pytest.mark.parametrize(("kv40", "kv100"), [(34.5, 7.4), (22.83, 5.05), (73.3, 8.86), (6, 1.99)])
def test_the_whole_index_is_that_of_the_chemicals_library(kv40: float, kv100: float) -> None:
    ours = viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=kv100)
    theirs = index_of_chemicals(nu_40=1e-6 * kv40, nu_100=1e-6 * kv100, rounding=True)

    assert (None if ours is None else round(ours)) == theirs


@pytest.mark.parametrize("viscosity", [0.21, 2e7])
def test_the_edges_of_the_chart_are_on_it(viscosity: float) -> None:
    z = viscosity_function(viscosity_mm2_s=viscosity)

    assert viscosity_of_function_mm2_s(z=z) == pytest.approx(viscosity, rel=1e-12)
    with pytest.raises(OutOfRange, match="z is"):
        viscosity_of_function_mm2_s(z=z * (1 + 1e-9) if viscosity > 1 else z * (1 - 1e-9))


@pytest.mark.parametrize(
    ("first_k", "second_k"), [(200, 500), (200, 201), (499, 500), (313.15, 373.15)]
)
def test_a_line_passes_through_both_of_its_points(first_k: float, second_k: float) -> None:
    line = line_through(first_mm2_s=34.5, first_k=first_k, second_mm2_s=7.4, second_k=second_k)

    for temperature_k, viscosity in ((first_k, 34.5), (second_k, 7.4)):
        found = viscosity_on_line_mm2_s(line=line, temperature_k=temperature_k)
        assert found == pytest.approx(viscosity, rel=1e-6)


def test_a_fluid_that_does_not_thin_has_a_level_line() -> None:
    line = line_through(first_mm2_s=20, first_k=313.15, second_mm2_s=20, second_k=373.15)

    assert line.slope == 0
    assert viscosity_on_line_mm2_s(line=line, temperature_k=250) == pytest.approx(20, rel=1e-9)


@pytest.mark.parametrize("temperature", [-50, 150])
def test_the_edges_of_temperature_are_computed(temperature: float) -> None:
    assert viscosity_at_mm2_s(kv40_mm2_s=34.5, kv100_mm2_s=7.4, temperature_c=temperature) > 0


def test_there_are_no_reference_oils_below_2() -> None:
    with pytest.raises(OutOfRange, match="kv100_mm2_s"):
        reference_oils(kv100_mm2_s=1.99)


@given(y=st.floats(2, 1000))
def test_the_reference_oils_have_their_own_index(y: float) -> None:
    oils = reference_oils(kv100_mm2_s=y)

    low = viscosity_index(kv40_mm2_s=oils.index_0_mm2_s, kv100_mm2_s=y)
    high = viscosity_index(kv40_mm2_s=oils.index_100_mm2_s, kv100_mm2_s=y)
    just_above = viscosity_index(kv40_mm2_s=oils.index_100_mm2_s * (1 - 1e-9), kv100_mm2_s=y)
    assert low == 0
    assert high == pytest.approx(100, abs=1e-9)
    assert just_above == pytest.approx(100, abs=1e-6)


@given(y=st.floats(2, 100), ratio=st.floats(1.05, 30))
def test_the_thicker_in_the_cold_the_lower_the_index(y: float, ratio: float) -> None:
    thin = viscosity_index(kv40_mm2_s=y * ratio, kv100_mm2_s=y)
    thick = viscosity_index(kv40_mm2_s=y * ratio * 1.1, kv100_mm2_s=y)

    assert thin is not None
    assert thick is not None
    assert thick < thin


def test_the_index_begins_at_2() -> None:
    assert viscosity_index(kv40_mm2_s=6, kv100_mm2_s=1.9999) is None
    assert viscosity_index(kv40_mm2_s=6.394, kv100_mm2_s=2.0) == 100


def test_fluid_thicker_in_the_heat_has_no_index() -> None:
    with pytest.raises(OutOfRange, match="kv100_mm2_s is 8"):
        viscosity_index(kv40_mm2_s=7, kv100_mm2_s=8)


@pytest.mark.parametrize(
    ("temperature", "viscosity", "cautioned"),
    [(0, 200, False), (-0.1, 200, True), (20, 1000, False), (20, 1001, True)],
)
def test_cold_flow_is_cautioned_where_the_line_does_not_show_it(
    temperature: float, viscosity: float, cautioned: bool
) -> None:
    found = cold_flow_caution(temperature_c=temperature, viscosity_mm2_s=viscosity)

    assert [finding.code for finding in found] == ["cold-flow-not-shown"] * cautioned


@pytest.mark.parametrize(
    ("intercept", "temperature_k", "what"), [(10.0, 200.0, "too thick"), (9.0, 500.0, "too thin")]
)
def test_a_line_that_leaves_the_chart_is_refused(
    intercept: float, temperature_k: float, what: str
) -> None:
    line = ViscosityLine(intercept=intercept, slope=3.95)

    with pytest.raises(OutOfRange) as raised:
        viscosity_on_line_mm2_s(line=line, temperature_k=temperature_k)

    told = raised.value
    assert (told.name, told.value) == ("temperature_k", temperature_k), what
    assert told.allowed == "where the viscosity is 0.21 to 2e+07 mm2/s"
