"""Cases 1 to 13 of `tests/edge_cases.toml`: numbers and units as people mistake them."""

from math import inf, nan

import pytest
from msgspec import ValidationError, json

from libexchange.balance import BalanceEntry, balance
from libexchange.errors import OutOfRange
from libexchange.quantities import (
    Content,
    Distance,
    Duration,
    Pressure,
    Quantity,
    Temperature,
    Torque,
    Volume,
)


def moved(direction: str, volume: Volume) -> BalanceEntry:
    return BalanceEntry(
        direction="in" if direction == "in" else "out",
        volume=volume,
        temperature=Temperature(15, "Cel"),
    )


def test_case_01_twelve_quarts_typed_as_litres_do_not_close_a_balance() -> None:
    entries = [moved("in", Volume(12, "L")), moved("out", Volume(12, "[qt_us]"))]
    told = balance(density_15_kg_m3=850, total_l=9, entries=entries)

    assert told.difference_l == pytest.approx(0.64, abs=0.005)
    assert (told.verdict, [f.code for f in told.findings]) == ("stop", ["balance-not-closed"])


def test_case_01_a_british_quart_is_a_fifth_more_than_a_us_quart() -> None:
    assert Volume(1, "[qt_us]").l == 0.946352946
    assert Volume(1, "[qt_br]").l == 1.1365225


@pytest.mark.parametrize(
    ("unit", "litres"),
    [
        ("[gal_us]", 3.785411784),
        ("[gal_br]", 4.54609),
        ("[pt_us]", 0.473176473),
        ("[foz_us]", 0.0295735295625),
    ],
)
def test_case_02_gallons_pints_and_ounces_have_their_own_codes(unit: str, litres: float) -> None:
    assert json.decode(f'{{"value": 1, "unit": "{unit}"}}', type=Volume).l == litres


@pytest.mark.parametrize("unit", ["gal", "qt", "pt", "[foz_br]", "l", "Liter"])
def test_case_02_a_gallon_or_quart_of_no_country_is_refused(unit: str) -> None:
    with pytest.raises(ValidationError, match="Invalid enum value"):
        json.decode(f'{{"value": 1, "unit": "{unit}"}}', type=Volume)


def test_case_03_inch_pounds_are_a_twelfth_of_foot_pounds() -> None:
    inch, foot = Torque(88, "[lbf_av].[in_i]"), Torque(88, "[lbf_av].[ft_i]")

    assert inch.n_m == pytest.approx(9.94, abs=0.005)
    assert foot.n_m == pytest.approx(119.3, abs=0.05)
    assert foot.n_m == pytest.approx(12 * inch.n_m, rel=1e-12)


@pytest.mark.parametrize("unit", ["kgf.m", "Nm", "lb", "ft.lb"])
def test_case_03_any_other_torque_is_refused(unit: str) -> None:
    with pytest.raises(ValidationError, match="Invalid enum value"):
        json.decode(f'{{"value": 10, "unit": "{unit}"}}', type=Torque)


def test_case_05_bar_kilopascal_and_psi_are_one_pressure() -> None:
    assert Pressure(100, "kPa").bar == 1.0
    assert Pressure(30, "[psi]").bar == pytest.approx(2.068, abs=0.0005)
    assert Pressure(2, "bar").to("kPa").value == 200.0


@pytest.mark.parametrize("unit", ["psi", "Bar", "mbar", "Pa"])
def test_case_05_any_other_pressure_is_refused(unit: str) -> None:
    with pytest.raises(ValidationError, match="Invalid enum value"):
        json.decode(f'{{"value": 2, "unit": "{unit}"}}', type=Pressure)


def test_case_06_two_tenths_of_a_percent_are_2000_ppm() -> None:
    assert Content(0.2, "%").ppm == Content(2000, "[ppm]").ppm


@pytest.mark.parametrize("text", ['{"value": "8,5", "unit": "L"}', '{"value": 8,5, "unit": "L"}'])
def test_case_07_a_decimal_comma_is_refused_and_not_read_as_85_or_8(text: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 -- the second text is no JSON at all
        json.decode(text, type=Volume)


def test_case_09_miles_are_not_kilometres() -> None:
    assert Distance(100_000, "[mi_i]").km == pytest.approx(160_934.4)


@pytest.mark.parametrize("kind", [Volume, Duration, Pressure, Torque, Distance])
@pytest.mark.parametrize("value", [nan, inf, -inf])
def test_case_10_what_is_no_number_is_refused(kind: type[Quantity], value: float) -> None:
    unit = kind.base_unit()
    with pytest.raises(OutOfRange):
        kind(value, unit)


@pytest.mark.parametrize("value", ["null", '""', "NaN", "Infinity", "[]"])
def test_case_10_json_has_no_such_numbers(value: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 -- some are no JSON, some no number
        json.decode(f'{{"value": {value}, "unit": "L"}}', type=Volume)


def test_case_10_minus_zero_is_zero_and_zero_is_not_null() -> None:
    assert str(Volume(-0.0, "L").value) == "0.0"
    assert json.decode('{"value": 0, "unit": "L"}', type=Volume | None) == Volume(0, "L")
    assert json.decode("null", type=Volume | None) is None


def test_case_11_a_negative_volume_or_time_is_refused() -> None:
    for negative in (lambda: Volume(-5e-324, "L"), lambda: Duration(-1, "min")):
        with pytest.raises(OutOfRange):
            negative()


def test_case_12_a_volume_has_an_end_and_a_tiny_one_is_kept() -> None:
    assert Volume(100_000, "L").l == 1e5
    assert Volume(5e-324, "L").l == 5e-324
    for huge in (100_000.1, 1e9, 1e308):
        with pytest.raises(OutOfRange):
            Volume(huge, "L")


@pytest.mark.parametrize("value", ["true", "false"])
def test_case_13_true_is_not_one_litre(value: str) -> None:
    with pytest.raises(ValidationError):
        json.decode(f'{{"value": {value}, "unit": "L"}}', type=Volume)


def test_case_13_true_of_a_python_caller_is_not_one_litre_either() -> None:
    with pytest.raises(TypeError):
        Volume(True, "L")
