"""What a plan says where routes or all of it are barred: its reasons, and no rule of thumb."""

from typing import Any

import pytest
from msgspec.structs import replace

from libexchange.catalogue import CoolerCircuit, Family, TransmissionProfile
from libexchange.plan.priors import PRIORS
from libexchange.quantities import Temperature, Volume
from tests.libexchange.plan_desk import SIX_SPEED, planned


def unit(family: Family, total_l: float, drained_l: float) -> TransmissionProfile:
    volumes = {"total": Volume(total_l, "L"), "drained": Volume(drained_l, "L")}
    return replace(SIX_SPEED, family=family, **volumes)


@pytest.mark.parametrize("family", list(PRIORS))
def test_the_rule_of_thumb_adds_its_surplus_only_to_small_units(family: Family) -> None:
    surplus_l = {"wet_dual_clutch": 2.5, "cvt_with_converter": 2.5, "cvt_with_start_clutch": 2.5}
    surplus_l["power_split_hybrid"] = 2.5

    may: dict[str, Any] = {"line_exchange_in_maker_procedure": "yes"}
    may |= {"engine_idles_on_command": "yes"}
    small, large = (
        planned(replace(unit(family, *litres), **may)) for litres in ((8, 4.5), (12.5, 7))
    )

    assert small.rule_of_thumb is not None
    assert small.rule_of_thumb.litres.l == 8 + surplus_l.get(family, 3.5)
    assert large.rule_of_thumb is None


@pytest.mark.parametrize("family", ["wet_dual_clutch", "power_split_hybrid"])
def test_a_unit_whose_lines_stay_shut_has_no_rule_of_thumb(family: Family) -> None:
    assert planned(unit(family, 8, 4.5)).rule_of_thumb is None


def test_a_barred_plan_has_no_rule_of_thumb_and_one_with_care_has() -> None:
    in_line = CoolerCircuit(
        external_lines="yes", bypass="in_line", bypass_opens=Temperature(78, "Cel")
    )

    assert planned(SIX_SPEED, conditions=("no_drive",)).rule_of_thumb is None
    assert planned(replace(SIX_SPEED, cooler=in_line)).rule_of_thumb is not None


@pytest.mark.parametrize("condition", ["coolant_in_fluid", "no_drive", "after_repair"])
def test_what_bars_every_route_is_told_without_what_bars_one(condition: Any) -> None:
    plan = planned(unit("wet_dual_clutch", 6, 4), conditions=(condition,))

    told = [f.code for f in plan.findings if f.severity == "stop"]
    assert len(told) == 2
    assert "no-route-possible" in told
    batches = next(a for a in plan.alternatives if a.route == "line_batches")
    assert "line-batches-not-described" in [f.code for f in batches.reasons]


def test_where_each_route_is_barred_by_something_else_all_of_it_is_told() -> None:
    profile = replace(SIX_SPEED, drain_plug="no", pan_removable="no", fill_tube_reaches_sump="no")
    shut = replace(profile, cooler=CoolerCircuit(external_lines="no", bypass="none"))
    told = {f.code for f in planned(shut).findings if f.severity == "stop"}

    assert told == {
        "no-route-possible", "drain-plug-missing", "pan-not-removable",
        "fill-tube-not-reaching-sump", "no-external-cooler-lines", "line-batches-not-described",
    }  # fmt: skip
