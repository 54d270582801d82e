"""The calculation on the outflow: shares, coefficients, and what is doubtful in its samples."""

from typing import Any

import msgspec
import pytest

from libexchange import outflow_findings
from libexchange.calculations.outflow import (
    EXAMPLE,
    OutflowAnswer,
    OutflowRequest,
    calculate_outflow,
)
from libexchange.errors import InvalidInput

PLAIN: dict[str, Any] = {
    "signal": "fresh_share",
    "exchanged": {"value": 8.0, "unit": "L"},
    "total": {"value": 9.0, "unit": "L"},
    "total_uncertainty": {"value": 0, "unit": "L"},
}
RISING = ((2.0, 0.1), (4.0, 0.3), (6.0, 0.5), (8.0, 0.6))


def litres(value: float) -> dict[str, object]:
    return {"value": value, "unit": "L"}


def samples(*pairs: tuple[float, float], uncertainty: float = 0.02) -> list[dict[str, object]]:
    return [
        {"exchanged": litres(at_l), "value": value, "uncertainty": uncertainty}
        for at_l, value in pairs
    ]


def answer(base: dict[str, Any] = PLAIN, **changes: object) -> OutflowAnswer:
    asked = {"samples": samples(*RISING)} | base | changes
    return calculate_outflow(msgspec.convert(asked, OutflowRequest))


def codes(told: OutflowAnswer) -> list[tuple[str, str]]:
    return [(f.code.removeprefix("outflow-"), f.pointer) for f in told.findings]


def faults(base: dict[str, Any] = PLAIN, **changes: object) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as caught:
        answer(base, **changes)
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def test_shares_that_rise_gently_to_the_end_are_not_doubtful() -> None:
    told = answer()

    assert codes(told) == []
    assert told.coefficients is None
    assert told.fresh_share is not None
    assert told.fresh_share.expected == pytest.approx(0.622, abs=5e-4)
    assert [point.outflow_fresh_share for point in told.outflow] == [0.1, 0.3, 0.5, 0.6]
    assert [point.uncertainty for point in told.outflow] == pytest.approx([0.02] * 4)


def test_an_element_tells_the_same_as_its_shares() -> None:
    mixed = samples(*((at_l, 50 + 80 * share) for at_l, share in RISING), uncertainty=1.6)
    told = answer(
        signal="element_content",
        samples=mixed,
        old_reference={"value": 50, "uncertainty": 0},
        fresh_reference={"value": 130, "uncertainty": 0},
    )

    plain = answer().fresh_share
    assert plain is not None
    assert told.fresh_share is not None
    for name in ("low", "expected", "high"):
        assert getattr(told.fresh_share, name) == pytest.approx(getattr(plain, name))


def test_the_example_tells_two_coefficients_and_not_the_third() -> None:
    told = answer(EXAMPLE)

    assert told.coefficients is not None
    assert told.coefficients.pocket_exchange.state == "told"
    assert told.coefficients.internal_return.state == "told"
    assert told.coefficients.short_cut.state == "cannot_tell"
    assert told.coefficients.short_cut.low is None
    assert codes(told) == [("coefficient-not-told", "#/circuit/short_cut")]


def test_the_start_and_its_uncertainty_count() -> None:
    told = answer(start_fresh_share=0.2, start_uncertainty=0.05)

    assert told.fresh_share is not None
    assert told.fresh_share.expected == pytest.approx(0.822, abs=5e-4)
    assert told.fresh_share.high > 0.9


@pytest.mark.parametrize(("value", "found"), [(-0.051, False), (-0.052, True)])
def test_a_share_below_old_is_doubtful_beyond_its_noise(value: float, found: bool) -> None:
    told = answer(samples=samples((2.0, value), *RISING[1:]))

    assert (("share-impossible", "#/samples/0") in codes(told)) is found


@pytest.mark.parametrize(("value", "found"), [(1.051, False), (1.052, True)])
def test_a_share_above_fresh_is_doubtful_beyond_its_noise(value: float, found: bool) -> None:
    told = answer(samples=samples((2, 0.3), (4, 0.6), (6, 0.9), (8, value)))

    assert codes(told) == ([("share-impossible", "#/samples/3")] if found else [])


@pytest.mark.parametrize(("value", "found"), [(0.428, False), (0.427, True)])
def test_a_share_that_falls_beyond_its_noise_is_doubtful(value: float, found: bool) -> None:
    told = answer(samples=samples((2, 0.1), (4, 0.3), (6, 0.5), (8, value)))

    assert codes(told) == ([("share-falls", "#/samples/3")] if found else [])


def test_references_that_both_samples_share_do_not_hide_a_fall() -> None:
    told = answer(
        signal="dye",
        samples=samples((2, 0.1), (4, 0.3), (6, 0.5), (8, 0.4)),
        old_reference={"value": 0, "uncertainty": 0.15},
        fresh_reference={"value": 1, "uncertainty": 0.15},
    )

    assert codes(told) == [("share-falls", "#/samples/3")]


@pytest.mark.parametrize(("rise", "found"), [(0.399, False), (0.401, True)])
def test_samples_far_apart_are_doubtful(rise: float, found: bool) -> None:
    first = answer(samples=samples((2, rise), (4, 0.5), (6, 0.6), (8, 0.7)))
    later = answer(samples=samples((2, 0.1), (4, 0.1 + rise), (6, 0.6), (8, 0.7)))

    assert codes(first) == ([("samples-far-apart", "#/samples/0")] if found else [])
    assert codes(later) == ([("samples-far-apart", "#/samples/1")] if found else [])


def test_order_changes_nothing_and_is_told() -> None:
    told = answer(samples=samples(RISING[1], RISING[0], *RISING[2:]))

    assert codes(told) == [("samples-out-of-order", "#/samples")]
    assert told.fresh_share == answer().fresh_share


def test_samples_at_the_same_litres_are_weighed() -> None:
    good = samples((4.0, 0.3), uncertainty=0.01)
    doubled = [*samples(RISING[0]), *good, *samples((4.0, 0.4)), *samples(*RISING[2:])]
    told = answer(samples=doubled)

    assert codes(told) == [("samples-at-same-litres", "#/samples/2")]
    assert told.outflow[1].outflow_fresh_share == pytest.approx((0.3 * 4 + 0.4) / 5)
    assert told.outflow[1].uncertainty == pytest.approx((1e4 + 2.5e3) ** -0.5)


def test_findings_point_at_the_samples_as_they_were_given() -> None:
    told = answer(samples=samples((8, 1.3), (6, 0.5), (4, 0.3), (2, 0.1)))

    assert ("share-impossible", "#/samples/0") in codes(told)


def test_a_sample_beyond_the_exchange_is_left_out() -> None:
    told = answer(samples=samples(*RISING, (8.001, 0.7)))

    assert codes(told) == [("sample-beyond-exchange", "#/samples/4")]
    assert told.fresh_share == answer().fresh_share


def test_quarts_that_end_with_the_exchange_do_not_lie_beyond_it() -> None:
    quarts = [
        sample | {"exchanged": {"value": at_l / 0.946352946, "unit": "[qt_us]"}}
        for sample, (at_l, _) in zip(samples(*RISING), RISING, strict=True)
    ]

    assert answer(samples=quarts).fresh_share == answer().fresh_share


def test_litres_after_the_last_sample_widen_the_interval() -> None:
    told, plain = answer(exchanged=litres(9.0)), answer()

    assert codes(told) == [("end-not-sampled", "#/samples/3")]
    assert told.fresh_share is not None
    assert plain.fresh_share is not None
    width = told.fresh_share.high - told.fresh_share.low
    assert width > 1.2 * (plain.fresh_share.high - plain.fresh_share.low)


@pytest.mark.parametrize("pairs", [(), ((2.0, 0.1),), ((0.0, 0.0), (2.0, 0.1)), ((2.0, 0.1),) * 3])
def test_too_few_samples_tell_no_share(pairs: tuple[tuple[float, float], ...]) -> None:
    told = answer(samples=samples(*pairs))

    assert ("samples-too-few", "#/samples") in codes(told)
    assert (told.fresh_share, told.outflow, told.coefficients) == (None, [], None)


@pytest.mark.parametrize(("fresh", "told"), [(10.1, True), (9.9, False), (0.0, False)])
def test_references_that_read_alike_tell_no_share(fresh: float, told: bool) -> None:
    result = answer(
        signal="colour_meter",
        samples=samples((4, 3.0), (8, 6.0), uncertainty=1.0),
        old_reference={"value": 0, "uncertainty": 2.0},
        fresh_reference={"value": fresh, "uncertainty": 1.0},
    )

    assert (result.fresh_share is not None) is told
    assert (("references-too-close", "#/fresh_reference") in codes(result)) is not told


def test_viscosity_is_not_linear_and_tells_no_share() -> None:
    told = answer(EXAMPLE, signal="viscosity")

    assert codes(told) == [("signal-not-linear", "#/signal")]
    assert told.fresh_share is None
    assert told.coefficients is not None
    assert told.coefficients.pocket_exchange.state == "cannot_tell"


def test_five_samples_tell_a_share_and_no_coefficient() -> None:
    told = answer(EXAMPLE, samples=EXAMPLE["samples"][::2][:5], exchanged=litres(9.0))

    assert codes(told) == [("samples-too-few-for-model", "#/samples")]
    assert told.fresh_share is not None


def test_a_circuit_that_cannot_have_given_the_samples_is_told() -> None:
    big = EXAMPLE["circuit"] | {"sump": litres(9.0)}
    told = answer(EXAMPLE, circuit=big, before={"drained": litres(8.0)})

    assert codes(told) == [
        ("circuit-total-differs", "#/circuit"), ("model-does-not-fit", "#/circuit"),
    ]  # fmt: skip
    assert told.coefficients is not None
    assert told.coefficients.internal_return.state == "cannot_tell"


@pytest.mark.parametrize(
    ("total", "found"), [(9.46, False), (9.48, True), (8.58, False), (8.56, True)]
)
def test_a_total_beside_the_circuit_is_told(total: float, found: bool) -> None:
    assert (
        ("circuit-total-differs", "#/circuit") in codes(answer(EXAMPLE, total=litres(total)))
    ) is found


def test_every_fault_is_told_at_once() -> None:
    reference = {"value": 1, "uncertainty": 0}

    assert faults(
        total=litres(0.4), total_uncertainty=litres(0.5), exchanged=litres(2001),
        old_reference=reference, fresh_reference=reference, before={"drained": litres(1)},
    ) == [
        ("/total", "out-of-range"),
        ("/total_uncertainty", "out-of-range"),
        ("/exchanged", "out-of-range"),
        ("/old_reference", "not-expected"),
        ("/fresh_reference", "not-expected"),
        ("/circuit", "missing-field"),
    ]  # fmt: skip
    assert faults(signal="dye") == [
        ("/old_reference", "missing-field"), ("/fresh_reference", "missing-field"),
    ]  # fmt: skip


def test_a_circuit_that_cannot_be_computed_is_refused() -> None:
    tiny = {"sump": litres(4.0), "line": litres(0.05), "line_cells": 10}

    assert faults(circuit={"sump": litres(0.01)}) == [("/circuit/sump", "out-of-range")]
    assert faults(circuit=tiny) == [("/exchanged", "out-of-range")]
    assert answer(circuit=tiny, exchanged=litres(5.0)).fresh_share is not None


def test_every_finding_code_is_found_here_and_named_after_the_outflow() -> None:
    codes_ = [kind.code for kind in outflow_findings.KINDS]

    assert len(set(codes_)) == len(codes_) == 15
    assert all(code.startswith("outflow-") for code in codes_)
