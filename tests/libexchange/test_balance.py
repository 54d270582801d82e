"""The fluid balance: everything at 15 degC, with the uncertainty of meters and temperatures."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import ValidationError, convert

from libexchange.balance import (
    Balance,
    BalanceEntry,
    balance,
    end_limits_l,
    live_limits_l,
    volume_15_l,
)
from libexchange.errors import InvalidInput, OutOfRange
from libexchange.quantities import Mass, Temperature, Volume


def poured(
    direction: str, litres: float, celsius: float | None = 15, meter_class: float | None = None
) -> BalanceEntry:
    entry = {
        "direction": direction,
        "volume": {"value": litres, "unit": "L"},
        "temperature": None if celsius is None else {"value": celsius, "unit": "Cel"},
        "meter_class": meter_class,
    }
    return convert(entry, BalanceEntry)


def weighed(direction: str, kg: float) -> BalanceEntry:
    return convert({"direction": direction, "mass": {"value": kg, "unit": "kg"}}, BalanceEntry)


def of(*entries: BalanceEntry, total: float = 9, expected: float = 0) -> Balance:
    return balance(density_15_kg_m3=850, total_l=total, entries=entries, expected_change_l=expected)


@pytest.mark.parametrize(
    ("litres", "meter_class", "expected"),
    [(12, 1.0, 0.21), (12, 0.5, 0.12), (12, 2.0, 0.40), (45, 1.0, 0.76)],
    ids=lambda value: f"common practice {value}",
)
def test_the_uncertainty_of_a_balance_is_known_for_usual_meters(
    litres: float, meter_class: float, expected: float
) -> None:
    result = of(
        poured("in", litres, meter_class=meter_class),
        poured("out", litres, meter_class=meter_class),
    )

    # 45 L comes to 0.755 L at 850 kg/m3, which the source rounds up
    assert result.uncertainty_l == pytest.approx(expected, abs=0.0055)


def test_equal_indicated_litres_at_20_and_75_celsius_leave_half_a_litre() -> None:
    result = of(poured("in", 12, 20), poured("out", 12, 75))

    assert result.difference_l == pytest.approx(0.49, abs=0.005)
    assert (result.verdict, result.findings[0].code) == ("explain", "balance-not-closed")


def test_a_meter_class_counts_as_one_percent_unless_given() -> None:
    given_class, usual = poured("in", 12, meter_class=1.0), poured("in", 12)

    assert of(given_class).uncertainty_l == of(usual).uncertainty_l


def test_a_weighed_amount_needs_no_temperature_and_is_surer() -> None:
    by_mass = of(weighed("in", 8.5), weighed("out", 8.5))
    by_volume = of(poured("in", 10), poured("out", 10))

    assert (by_mass.in_15_l, by_mass.findings) == (10, [])
    assert by_mass.uncertainty_l < by_volume.uncertainty_l
    # by hand: 2 sqrt((2 (0.2 % of 10 L)^2 + 0.05^2) / 3)
    assert by_mass.uncertainty_l == pytest.approx(0.0663, abs=0.00005)


def test_a_volume_without_temperature_is_taken_as_read_and_is_less_sure() -> None:
    hot, unknown = of(poured("in", 9, 75)), of(poured("in", 9, None))

    assert unknown.in_15_l == 9
    assert unknown.uncertainty_l > 9 - hot.in_15_l
    assert [(f.code, f.pointer) for f in unknown.findings if "temperature" in f.code] == [
        ("entry-temperature-missing", "#/entries/0")
    ]


def test_losses_and_samples_leave_and_an_additive_stays() -> None:
    result = of(
        poured("in", 9), poured("out", 8), poured("lost", 0.3), poured("sampled", 0.1),
        poured("additive", 0.2),
    )  # fmt: skip

    assert (result.in_15_l, result.out_15_l) == (9, 8)
    assert result.difference_l == pytest.approx(0.8)


@pytest.mark.parametrize(
    ("extra", "expected", "verdict", "severity"),
    [
        (0.40, 0, "ok", None),
        (0.45, 0, "explain", "caution"),
        (0.55, 0, "stop", "stop"),
        (-0.55, 0, "stop", "stop"),
        (0.55, 0.3, "ok", None),
        (-0.40, 0.15, "stop", "stop"),
    ],
)
def test_the_difference_is_judged_against_the_expected_change(
    extra: float, expected: float, verdict: str, severity: str | None
) -> None:
    result = of(poured("in", 12 + extra), poured("out", 12), expected=expected)

    assert result.verdict == verdict
    assert [f.severity for f in result.findings] == ([severity] if severity else [])


@pytest.mark.parametrize(
    ("total", "uncertainty", "limits"),
    [(9, 0.1, (0.3, 0.5)), (38, 0.5, (1.0, 1.9)), (9, 0.4, (0.8, 0.8))],
)
def test_the_limits_at_the_end_grow_with_uncertainty_and_total(
    total: float, uncertainty: float, limits: tuple[float, float]
) -> None:
    assert end_limits_l(total_l=total, uncertainty_l=uncertainty) == pytest.approx(limits)


@pytest.mark.parametrize(("total", "limits"), [(15, (0.3, 0.6)), (15.1, (0.9, 1.8))])
def test_a_heavy_unit_has_wider_limits_while_fluid_flows(
    total: float, limits: tuple[float, float]
) -> None:
    assert live_limits_l(total_l=total) == limits


ENTRIES = st.builds(
    poured,
    st.sampled_from(["in", "out", "lost", "sampled", "additive"]),
    st.floats(0, 20),
    st.none() | st.floats(-50, 150),
    st.none() | st.floats(0, 10),
)


@given(entries=st.lists(ENTRIES, max_size=8), random=st.randoms(use_true_random=False))
def test_the_order_of_entries_changes_no_number(
    entries: list[BalanceEntry], random: Random
) -> None:
    shuffled = random.sample(entries, len(entries))
    one, other = of(*entries), of(*shuffled)

    assert (one.in_15_l, one.out_15_l, one.difference_l) == (
        other.in_15_l, other.out_15_l, other.difference_l,
    )  # fmt: skip
    assert (one.uncertainty_l, one.verdict) == (other.uncertainty_l, other.verdict)


@given(litres=st.floats(0.1, 50), celsius=st.floats(-50, 150))
def test_volume_and_mass_of_the_same_fluid_are_the_same_at_15_celsius(
    litres: float, celsius: float
) -> None:
    by_volume = volume_15_l(poured("in", litres, celsius), density_15_kg_m3=850)
    by_mass = volume_15_l(weighed("in", 0.85 * by_volume), density_15_kg_m3=850)

    assert by_mass == pytest.approx(by_volume)


@pytest.mark.parametrize("fields", [{}, {"volume": Volume(1, "L"), "mass": Mass(1, "kg")}])
def test_an_entry_has_exactly_one_of_volume_and_mass(fields: dict[str, Volume | Mass]) -> None:
    with pytest.raises(InvalidInput, match=r"/volume: (neither is|both are) given"):
        BalanceEntry(direction="in", **fields)  # type: ignore[arg-type]  # both are what it takes
    with pytest.raises(ValidationError, match="/volume: neither is given"):
        convert({"direction": "in"}, BalanceEntry)


def test_a_temperature_that_cannot_be_corrected_is_out_of_range() -> None:
    hot = BalanceEntry(direction="in", volume=Volume(1, "L"), temperature=Temperature(200, "Cel"))

    with pytest.raises(OutOfRange, match="temperature_c"):
        of(hot)
