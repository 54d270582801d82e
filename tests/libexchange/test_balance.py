"""The fluid balance: everything at 15 degC, with the uncertainty of meters and temperatures."""

from math import sqrt
from random import Random
from typing import Any

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


def of(*entries: BalanceEntry, total: float = 9, expected: float = 0, **how: Any) -> Balance:
    return balance(
        density_15_kg_m3=850, total_l=total, entries=entries, expected_change_l=expected, **how
    )


def test_case_53_equal_indicated_litres_at_20_and_75_celsius_leave_half_a_litre() -> None:
    result = of(poured("in", 12, 20), poured("out", 12, 75))

    assert result.difference_l == pytest.approx(0.49, abs=0.005)
    assert (result.verdict, result.findings[0].code) == ("explain", "balance-not-closed")


def test_the_uncertainty_by_hand() -> None:
    """2 sqrt((in meter^2 + out meter^2 + 2 (V a dT)^2 + hose^2) / 3), at 15 degC."""
    result = of(poured("in", 10, meter_class=0.5), poured("out", 8, meter_class=2.0), hose_l=0.2)

    heat = [litres * 0.6278 / 850 * 3 for litres in (10, 8)]
    squares = 0.05**2 + 0.16**2 + heat[0] ** 2 + heat[1] ** 2 + 0.2**2
    assert result.uncertainty_l == pytest.approx(2 * sqrt(squares / 3), rel=1e-12)


def test_what_one_meter_measured_in_two_goes_errs_the_same_way() -> None:
    twice = of(poured("in", 6), poured("in", 6))

    assert twice.uncertainty_l == pytest.approx(of(poured("in", 12)).uncertainty_l)


@pytest.mark.parametrize(("meter_class", "error_l"), [(None, 0.2), (10, 0.04), (0, 0.0)])
def test_a_loss_that_nobody_measured_is_a_guess(meter_class: float | None, error_l: float) -> None:
    lost = of(poured("lost", 0.4, meter_class=meter_class), hose_l=0)

    heat = 0.4 * 0.6278 / 850 * 3
    assert lost.uncertainty_l == pytest.approx(2 * sqrt((error_l**2 + heat**2) / 3), rel=1e-12)


@pytest.mark.parametrize("direction", ["in", "out", "sampled", "additive"])
def test_what_was_poured_or_sampled_was_measured(direction: str) -> None:
    measured = of(poured(direction, 0.4), hose_l=0)

    heat = 0.4 * 0.6278 / 850 * 3
    assert measured.uncertainty_l == pytest.approx(2 * sqrt((0.004**2 + heat**2) / 3), rel=1e-12)


def test_a_weighed_loss_is_as_sure_as_any_weighed_amount() -> None:
    assert of(weighed("lost", 0.4)).uncertainty_l == of(weighed("out", 0.4)).uncertainty_l


def test_a_meter_class_counts_as_one_percent_unless_given() -> None:
    given_class, usual = poured("in", 12, meter_class=1.0), poured("in", 12)

    assert of(given_class).uncertainty_l == of(usual).uncertainty_l


def test_a_weighed_amount_needs_no_temperature_and_is_surer() -> None:
    by_mass = of(weighed("in", 8.5), weighed("out", 8.5))
    by_volume = of(poured("in", 10), poured("out", 10))

    assert (by_mass.in_15_l, by_mass.findings) == (10, [])
    assert by_mass.uncertainty_l < by_volume.uncertainty_l
    by_hand = 2 * sqrt((2 * 0.02**2 + 0.05**2) / 3)
    assert by_mass.uncertainty_l == pytest.approx(by_hand, rel=1e-12)


def test_a_volume_without_temperature_is_taken_as_read_and_is_less_sure() -> None:
    hot, unknown = of(poured("in", 9, 75)), of(poured("in", 9, None))

    assert unknown.in_15_l == 9
    heat = 9 * 0.6278 / 850 * 60
    by_hand = 2 * sqrt((0.09**2 + heat**2 + 0.05**2) / 3)
    assert unknown.uncertainty_l == pytest.approx(by_hand, rel=1e-12)
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
    [
        (9, 0.1, (0.3, 0.5)),
        (9, 0.15, (0.3, 0.5)),
        (9, 0.16, (0.32, 0.5)),
        (10, 0.1, (0.3, 0.5)),
        (10.2, 0.1, (0.3, 0.51)),
        (38, 0.5, (1.0, 1.9)),
        (9, 0.4, (0.8, 0.8)),
    ],
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


@pytest.mark.parametrize(
    ("extra", "total", "verdict", "severity"),
    [
        (0.3, 9, "ok", None),
        (0.301, 9, "explain", "caution"),
        (-0.6, 9, "explain", "caution"),
        (0.601, 9, "stop", "stop"),
        (-0.601, 9, "stop", "stop"),
        (0.9, 38, "ok", None),
        (1.8, 38, "explain", "caution"),
        (1.801, 38, "stop", "stop"),
    ],
)
def test_while_fluid_flows_the_running_difference_has_its_own_limits(
    extra: float, total: float, verdict: str, severity: str | None
) -> None:
    result = of(poured("in", 5 + extra), poured("out", 5), total=total, flowing=True)

    assert result.verdict == verdict
    assert (result.ok_l, result.stop_l) == live_limits_l(total_l=total)
    assert [f.severity for f in result.findings if f.code == "line-litres-differ"] == (
        [severity] if severity else []
    )


def test_the_limits_at_the_end_are_told() -> None:
    result = of(poured("in", 12), poured("out", 12))

    limits = end_limits_l(total_l=9, uncertainty_l=result.uncertainty_l)
    assert (result.ok_l, result.stop_l) == limits


def test_case_12_float_noise_does_not_lift_a_difference_over_its_limit() -> None:
    assert 12.3 - 12 > 0.3
    assert of(poured("in", 12.3), poured("out", 12), flowing=True).verdict == "ok"
    assert of(poured("in", 12.6), poured("out", 12), flowing=True).verdict == "explain"


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


@pytest.mark.parametrize("meter_class", [-0.1, 10.1])
def test_a_meter_class_is_0_to_10_percent(meter_class: float) -> None:
    assert poured("in", 1, meter_class=0).meter_class == 0
    assert poured("in", 1, meter_class=10).meter_class == 10
    with pytest.raises(ValidationError):
        poured("in", 1, meter_class=meter_class)


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
