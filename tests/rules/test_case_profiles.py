"""Cases of `tests/edge_cases.toml` that a plan has to catch in what it is asked with."""

from typing import Any

import pytest

from libexchange import invented
from libexchange.dose_findings import circuit_findings
from libexchange.findings import Finding
from libexchange.plan.records import Plan
from tests.rules.test_rules import plan_for

LINE_ROUTES = {"line_exchange", "pan_and_filter_then_line", "line_batches"}


def litres(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "L"}


def found(plan: Plan, code: str) -> list[tuple[str, str]]:
    return [(f.severity, f.pointer) for f in plan.findings if f.code == code]


def reasons(plan: Plan, code: str) -> dict[str, Finding]:
    return {a.route: f for a in plan.alternatives for f in a.reasons if f.code == code}


@pytest.mark.parametrize("drained_l", [9.0, 9.5])
def test_case_14_a_dry_fill_typed_as_service_fill_stops_the_plan(drained_l: float) -> None:
    plan = plan_for({"transmission": {"total": litres(9), "drained": litres(drained_l)}})

    assert found(plan, "dry-fill-below-service-fill") == [("stop", "#/transmission/drained")]
    assert not plan.feasible


def test_case_15_a_service_fill_typed_as_total_stops_or_is_asked_about() -> None:
    same = plan_for({"transmission": {"total": litres(4.06), "drained": litres(4.06)}})
    near = plan_for({"transmission": {"total": litres(4.5), "drained": litres(4.06)}})

    assert found(same, "dry-fill-below-service-fill") == [("stop", "#/transmission/drained")]
    assert found(near, "drained-share-unusual") == [("caution", "#/transmission/drained")]


def test_case_16_an_initial_fill_without_the_cooler_lines_differs_from_its_circuit() -> None:
    parts_l = (19.5, 9.0, 5.5, 3.0, 1.0)
    without_lines_l = sum(parts_l) - 5.5

    told = circuit_findings(circuit_l=sum(parts_l), total_l=without_lines_l)
    assert [f.code for f in told] == ["circuit-differs-from-total"]
    assert circuit_findings(circuit_l=sum(parts_l), total_l=38) == []


def test_case_17_a_deep_pan_or_a_second_cooler_differs_from_the_total_of_the_data() -> None:
    told = circuit_findings(circuit_l=9 + 0.5, total_l=9)

    assert [f.code for f in told] == ["circuit-differs-from-total"]


def test_case_18_shares_that_do_not_sum_to_one_are_told() -> None:
    shares = {"sump": 0.48, "converter": 0.3, "line": 0.07, "pockets": 0.0, "stranded": 0.02}
    plan = plan_for({"transmission": {"shares": shares}})

    assert found(plan, "compartment-shares-do-not-sum") == [("caution", "#/transmission/shares")]


def test_case_18_a_converter_in_a_family_that_has_none_is_told() -> None:
    changes = {"family": "wet_dual_clutch", "converter": litres(1)}
    plan = plan_for({"transmission": changes})

    code = "converter-volume-contradicts-profile"
    assert found(plan, code) == [("caution", "#/transmission/converter")]


def test_case_20_a_vehicle_of_other_years_is_asked_about() -> None:
    fits = [{"model": "Invented saloon", "year_from": 2010, "year_to": 2015}]
    asked = {"transmission": {"fits": fits}, "request": {"vehicle": {"model_year": 2016}}}

    told = found(plan_for(asked), "model-year-outside-fits")
    assert told == [("caution", "#/vehicle/model_year")]


def test_case_21_fluid_of_converter_units_is_not_poured_into_a_cvt() -> None:
    plan = plan_for({"transmission": {"fluid_kinds": ["invented-green-cvt"]}})

    assert found(plan, "fluid-not-approved") == [("stop", "#/fluid")]
    assert not plan.feasible


def test_case_21_a_name_that_is_nearly_alike_is_another_kind() -> None:
    kind = invented.red_fluid().kinds[0]
    plan = plan_for({"transmission": {"fluid_kinds": [f"{kind}-2"]}})

    assert found(plan, "fluid-not-approved") == [("stop", "#/fluid")]


def test_case_22_a_new_fluid_may_serve_an_old_unit_and_not_the_other_way_round() -> None:
    old, new = "invented-old", "invented-new"
    forward = plan_for({"transmission": {"fluid_kinds": [old]}, "fluid": {"kinds": [new, old]}})
    backward = plan_for({"transmission": {"fluid_kinds": [new]}, "fluid": {"kinds": [old]}})

    assert found(forward, "fluid-not-approved") == []
    assert found(backward, "fluid-not-approved") == [("stop", "#/fluid")]


def test_case_25_a_fluid_that_fits_all_needs_the_list_of_the_maker() -> None:
    unlisted = plan_for({"transmission": {"fluid_kinds": []}})
    universal = plan_for({"fluid": {"kinds": []}})

    code = "fluid-approval-unknown"
    assert found(unlisted, code) == [("caution", "#/transmission/fluid_kinds")]
    assert found(universal, "fluid-not-approved") == [("stop", "#/fluid")]


def test_case_59_without_oil_lines_no_line_is_opened() -> None:
    plan = plan_for({"transmission": {"cooler": {"external_lines": "no"}}})
    told = reasons(plan, "no-external-cooler-lines")

    assert set(told) == LINE_ROUTES
    assert {finding.severity for finding in told.values()} == {"stop"}
    assert plan.route not in LINE_ROUTES


def test_case_65_burnt_and_slipping_is_diagnosed_and_not_exchanged() -> None:
    plan = plan_for({"request": {"conditions": ["burnt_and_slipping"]}})

    assert found(plan, "burnt-fluid-in-slipping-unit") == [("stop", "#/conditions")]
    assert not plan.feasible


def test_case_101_every_drain_says_how_the_right_plug_is_told() -> None:
    plan = plan_for({"request": {"route": "pan_and_filter"}})
    texts = [c.text for s in plan.steps for c in s.cautions if c.code == "right-plug"]

    opened = [s.kind for s in plan.steps if s.kind in ("drain", "pan_and_filter")]
    assert len(texts) == len(opened) > 0
    assert all("do not start" in text for text in texts)


def test_the_invented_six_speed_has_none_of_these_faults() -> None:
    plan = plan_for({})

    assert plan.feasible
    assert [f.code for f in plan.findings if f.severity == "stop"] == []
