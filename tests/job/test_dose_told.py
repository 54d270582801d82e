"""Additives in the bay against the plan: exact limits of what is told."""

import pytest

from libexchange import invented
from libexchange.findings import Finding
from libexchange.job.events import StepConfirmed
from libexchange.job.fold import fold
from libexchange.job.guidance import guidance
from tests.job.plans import Bay, plan_for

PLAN = plan_for(conditioner=invented.conditioner())  # 0.225 L in 9 L
TOLD = ("dose-over-planned", "dose-under-planned", "dose-above-cap", "additive-not-planned")


def told(bay: Bay) -> dict[str, str]:
    findings: tuple[Finding, ...] = fold(bay.plan, bay.events).findings
    return {one.code: one.severity for one in findings if one.code in TOLD}


def given(amount_l: float) -> Bay:
    bay = Bay(PLAN)
    if amount_l:
        bay.move("additive", amount_l, "dose_conditioner")
    bay.add(StepConfirmed, step_id=bay.step("dose_conditioner"))
    return bay


@pytest.mark.parametrize(
    ("amount_l", "state", "found"),
    [
        (0.0, "confirmed_without_amount", {"dose-under-planned": "caution"}),
        (0.2137, "given_in_part", {"dose-under-planned": "caution"}),
        (0.2138, "given", {}),
        (0.225, "given", {}),
        (0.2475, "given", {}),
        (0.2476, "given", {"dose-over-planned": "caution"}),
        (0.45, "given", {"dose-over-planned": "caution"}),
        (0.4501, "given", {"dose-over-planned": "caution", "dose-above-cap": "caution"}),
        (0.54, "given", {"dose-over-planned": "caution", "dose-above-cap": "caution"}),
        (0.5401, "given", {"dose-over-planned": "caution", "dose-above-cap": "stop"}),
        (2.25, "given", {"dose-over-planned": "caution", "dose-above-cap": "stop"}),
    ],
)
def test_a_dose_is_held_against_the_plan_and_the_cap(
    amount_l: float, state: str, found: dict[str, str]
) -> None:
    bay = given(amount_l)

    assert told(bay) == found
    assert [one.state for one in guidance(bay.plan, bay.events, bay.now).doses] == [state]


@pytest.mark.parametrize(
    ("amount_l", "found"),
    [
        (0.01, {"additive-not-planned": "caution"}),
        (0.45, {"additive-not-planned": "caution"}),
        (0.4501, {"additive-not-planned": "caution", "dose-above-cap": "caution"}),
        (0.5401, {"additive-not-planned": "caution", "dose-above-cap": "stop"}),
    ],
)
def test_an_unplanned_additive_is_told_and_capped(amount_l: float, found: dict[str, str]) -> None:
    bay = Bay(PLAN)
    bay.move("additive", amount_l)

    assert told(bay) == found


def test_a_variable_unit_takes_no_unplanned_additive() -> None:
    bay = Bay(plan_for(profile={"family": "cvt_with_converter"}))
    bay.move("additive", 0.3)

    assert told(bay) == {"additive-not-planned": "stop"}


def test_into_a_fluid_that_nobody_knows_goes_no_additive() -> None:
    bay = Bay(plan_for(reason="unknown_fluid"))
    bay.move("additive", 0.3)

    assert told(bay) == {"additive-not-planned": "stop"}
