"""Where an additive must not go in a plan, what is too much of it, and what is no record of one."""

from typing import Any

import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import Known
from libexchange.dose import FillRange, FixedByFill, Percent, WholePacks
from libexchange.errors import InvalidInput, OutOfRange
from libexchange.quantities import Duration, Temperature, Volume
from tests.libexchange.dose_desk import (
    CLEANER,
    CONDITIONER,
    LINE,
    PAN_LINE,
    cleaner,
    conditioner,
    dose_of,
    severities,
)
from tests.libexchange.plan_desk import SIX_SPEED, found, planned


@pytest.mark.parametrize(
    ("profile", "members", "code"),
    [
        ({"additives_allowed_by_maker": "no"}, {}, "additive-barred-by-maker"),
        ({}, {"conditions": ("under_warranty",)}, "additive-under-warranty"),
        ({}, {"conditions": ("burnt_smell",)}, "additive-in-burnt-fluid"),
        ({}, {"conditions": ("burnt_and_slipping",)}, "additive-in-slipping-unit"),
        ({}, {"conditions": ("debris_in_pan",)}, "additive-with-debris"),
        ({}, {"conditions": ("coolant_in_fluid",)}, "additive-with-coolant"),
        ({}, {"reason": "unknown_fluid"}, "additive-in-unknown-fluid"),
        ({"family": "wet_dual_clutch"}, {}, "additive-in-dual-clutch"),
        ({"family": "cvt_with_converter"}, {}, "additive-in-cvt"),
        ({"family": "power_split_hybrid"}, {}, "additive-near-electric-machine"),
        ({"electric_machine_in_fluid": "yes"}, {}, "additive-near-electric-machine"),
    ],
)
def test_where_an_additive_must_not_go_every_route_is_refused_and_points_at_it(
    profile: dict[str, Any], members: dict[str, Any], code: str
) -> None:
    plan = planned(replace(SIX_SPEED, **profile), conditioner=CONDITIONER, **members)

    for one in plan.alternatives:
        told = found(one.reasons, code)
        assert (told.severity, told.pointer) == ("stop", "#/conditioner_id")
    assert not plan.feasible


@pytest.mark.parametrize("condition", ["leak", "no_drive", "shift_complaint"])
def test_conditions_that_say_nothing_about_additives_bar_none(condition: str) -> None:
    plan = planned(conditioner=CONDITIONER, conditions=(condition,))

    told = {f.code for one in plan.alternatives for f in one.reasons}
    assert {code for code in told if code.startswith("additive-")} == {
        "additive-permission-unknown"
    }


@pytest.mark.parametrize(
    ("allowed", "severity"), [("unknown", "caution"), ("yes", None), ("no", None)]
)
def test_an_unknown_permission_is_a_caution_on_every_route(
    allowed: Known, severity: str | None
) -> None:
    plan = planned(replace(SIX_SPEED, additives_allowed_by_maker=allowed), cleaner=CLEANER)

    for one in plan.alternatives:
        told = [f.severity for f in one.reasons if f.code == "additive-permission-unknown"]
        assert told == ([severity] if severity else [])


def test_what_the_maker_of_the_unit_allows_goes_in() -> None:
    allowed = replace(SIX_SPEED, family="cvt_with_converter", additives_allowed_by_maker="yes")

    plan = planned(allowed, conditioner=CONDITIONER, route="drain")

    assert plan.feasible
    assert dose_of(plan, "conditioner").placed == "level_setting"


@pytest.mark.parametrize(("modified", "barred"), [("yes", True), ("unknown", True), ("no", False)])
def test_friction_modifier_goes_in_only_where_the_fluid_has_none(
    modified: Any, *, barred: bool
) -> None:
    fluid = replace(invented.red_fluid(), friction_modified=modified)
    plan = planned(fluid=fluid, conditioner=conditioner(friction_modifier=True))

    assert bool(severities(plan, "drain", "friction-modifier-twice")) is barred


@pytest.mark.parametrize(
    ("percent", "own_cap", "severity"),
    [
        (5.0, None, []),
        (5.01, None, ["caution"]),
        (6.0, None, ["caution"]),
        (6.01, None, ["stop"]),
        (3.0, 0.03, []),
        (3.01, 0.03, ["stop"]),
    ],
)
def test_a_dose_is_capped_by_habit_and_by_its_own_maker(
    percent: float, own_cap: float | None, severity: list[str]
) -> None:
    asked = conditioner(treat=Percent(percent), largest_share=own_cap)

    assert severities(planned(conditioner=asked), "drain", "dose-above-cap") == severity


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ({"treat": FixedByFill((FillRange(low=Volume(1, "L"), high=Volume(8.9, "L"),
                                          dose=Volume(0.3, "L")),))}, "dose-not-stated"),
        ({"treat": FixedByFill((FillRange(low=Volume(1, "L"), high=Volume(9, "L"),
                                          dose=Volume(1000.1, "L")),))}, "dose-not-stated"),
        ({"treat": FixedByFill((FillRange(low=Volume(1, "L"), high=Volume(9, "L"),
                                          dose=Volume(8, "L")),))}, "cleaner-left-unknown"),
    ],
)  # fmt: skip
def test_a_dose_that_cannot_be_told_is_no_step_and_a_stop(asked: dict[str, Any], code: str) -> None:
    plan = planned(conditioner=conditioner(**asked), route="drain")

    assert severities(plan, "drain", code) == ["stop"]
    assert not plan.feasible
    assert plan.steps == ()


def test_a_cleaner_without_a_stated_dose_asks_for_no_litres_of_its_own() -> None:
    other = FixedByFill((FillRange(low=Volume(1, "L"), high=Volume(2, "L"), dose=Volume(1, "L")),))
    plan = planned(cleaner=cleaner(treat=other), route=PAN_LINE)

    assert severities(plan, PAN_LINE, "dose-not-stated") == ["stop"]
    assert plan.litres == planned(route=PAN_LINE).litres


def test_a_unit_that_cannot_be_computed_gets_no_dose_but_what_forbids_it() -> None:
    odd = replace(SIX_SPEED, drained=Volume(9, "L"), additives_allowed_by_maker="no")
    plan = planned(odd, conditioner=CONDITIONER)

    assert severities(plan, "drain", "additive-barred-by-maker") == ["stop"]
    assert not plan.feasible


def test_a_unit_too_large_for_doses_gets_none() -> None:
    large = replace(SIX_SPEED, total=Volume(200.1, "L"), drained=Volume(90, "L"))

    assert severities(planned(large, conditioner=CONDITIONER), "drain", "dose-not-stated")
    at_limit = replace(large, total=Volume(200, "L"))
    assert not severities(planned(at_limit, conditioner=CONDITIONER), "drain", "dose-not-stated")


@pytest.mark.parametrize(
    ("minutes", "unusual"), [(9.9, True), (10, False), (15, False), (15.1, True)]
)
def test_an_unusual_contact_time_is_worth_a_note(minutes: float, *, unusual: bool) -> None:
    plan = planned(cleaner=cleaner(contact=Duration(minutes, "min")))

    assert severities(plan, PAN_LINE, "contact-time-unusual") == ["note"] * unusual


def test_the_volume_drawn_off_is_a_note_and_only_where_it_is_drawn_off() -> None:
    plan = planned(conditioner=CONDITIONER)

    assert severities(plan, "drain", "dose-raises-level") == ["note"]
    assert severities(plan, LINE, "dose-raises-level") == []


@pytest.mark.parametrize(
    ("asked", "pointer"),
    [
        ({"cleaner_id": "invented-other"}, "/cleaner_id"),
        ({"cleaner_id": None}, "/cleaner_id"),
    ],
)
def test_the_records_given_are_those_that_the_request_names(
    asked: dict[str, Any], pointer: str
) -> None:
    with pytest.raises(InvalidInput) as refused:
        planned(cleaner=CLEANER, **asked)

    assert [fault.pointer for fault in refused.value.faults] == [pointer]


def test_an_additive_whose_record_is_not_given_is_refused() -> None:
    with pytest.raises(InvalidInput, match="names no conditioner"):
        planned(conditioner_id="invented-conditioner")


def test_a_conditioner_is_no_cleaner() -> None:
    with pytest.raises(InvalidInput, match="names no cleaner"):
        planned(cleaner=CONDITIONER)


@pytest.mark.parametrize(
    ("changed", "inside", "outside"),
    [
        ("pack", Volume(1, "mL"), Volume(0.99, "mL")),
        ("pack", Volume(100, "L"), Volume(100.1, "L")),
        ("contact", Duration(1, "min"), Duration(59.9, "s")),
        ("contact", Duration(60, "min"), Duration(60.1, "min")),
        ("contact_above", Temperature(20, "Cel"), Temperature(19.9, "Cel")),
        ("contact_above", Temperature(120, "Cel"), Temperature(120.1, "Cel")),
        ("treat", WholePacks(Volume(1, "mL"), Volume(0.05, "L")),
         WholePacks(Volume(1, "mL"), Volume(0.049, "L"))),
        ("treat", WholePacks(Volume(100, "L"), Volume(1000, "L")),
         WholePacks(Volume(100.1, "L"), Volume(1000, "L"))),
        ("treat", WholePacks(Volume(1, "mL"), Volume(1000, "L")),
         WholePacks(Volume(1, "mL"), Volume(1001, "L"))),
        ("treat", WholePacks(Volume(1, "mL"), Volume(1000, "L")),
         WholePacks(Volume(0.9, "mL"), Volume(1000, "L"))),
        ("treat",
         FixedByFill((FillRange(low=Volume(6, "L"), high=Volume(6, "L"), dose=Volume(1, "mL")),)),
         FixedByFill((FillRange(low=Volume(7, "L"), high=Volume(6, "L"), dose=Volume(1, "mL")),))),
    ],
)  # fmt: skip
def test_an_additive_is_kept_within_what_can_be_computed(
    changed: str, inside: Any, outside: Any
) -> None:
    assert getattr(cleaner(**{changed: inside}), changed) == inside
    with pytest.raises(OutOfRange, match=changed):
        cleaner(**{changed: outside})
