"""Which route is proposed, and what a request may name instead of sending it."""

from uuid import UUID

import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import CompartmentShares, Known
from libexchange.errors import InvalidInput
from libexchange.plan.planning import make_plan
from tests.libexchange.plan_desk import SIX_SPEED, found, planned

HALF_STRANDED = replace(
    SIX_SPEED,
    shares=CompartmentShares(sump=0.6, converter=0.05, line=0.03, pockets=0.02, stranded=0.3),
)


@pytest.mark.parametrize(
    ("drain_plug", "pan_removable", "route"),
    [
        ("yes", "yes", "drain"),
        ("no", "unknown", "pan_and_filter"),  # though only the lines go without a caution
        ("no", "no", "line_exchange"),
    ],
)
def test_the_makers_drain_is_a_drain_wherever_one_can_be_had(
    drain_plug: Known, pan_removable: Known, route: str
) -> None:
    unit = replace(SIX_SPEED, drain_plug=drain_plug, pan_removable=pan_removable)

    assert planned(unit, reason="maker_drain").route == route


def test_litres_that_luck_may_save_are_not_in_the_minimum() -> None:
    litres = planned(route="line_exchange").litres

    assert litres is not None
    assert litres.minimum.l < litres.planned.l - 1


@pytest.mark.parametrize("route", ["line_exchange", "pan_and_filter_then_line"])
def test_where_no_luck_reaches_the_target_the_minimum_is_what_is_planned(route: str) -> None:
    plan = planned(HALF_STRANDED, route=route, target_fresh_share=0.95)

    assert plan.litres is not None
    assert plan.forecast is not None
    assert plan.forecast.fresh_share.high < 0.75
    assert plan.litres.minimum == plan.litres.planned


def test_a_unit_named_by_its_id_is_pointed_at_there() -> None:
    unit = replace(SIX_SPEED, drain_plug="unknown")
    by_id = replace(
        invented.routine_request(), transmission=None, transmission_id=unit.transmission_id
    )
    plan = make_plan(
        request=by_id,
        transmission=unit,
        fluid=invented.red_fluid(),
        plan_id=UUID(int=1),
        created_at=by_id.requested_at,
    )

    drain = next(one for one in plan.alternatives if one.route == "drain")
    assert found(drain.reasons, "drain-plug-unknown").pointer == "#/transmission_id"
    sent = next(one for one in planned(unit).alternatives if one.route == "drain")
    assert found(sent.reasons, "drain-plug-unknown").pointer == "#/transmission/drain_plug"


def test_a_fluid_is_named_or_sent_but_not_both() -> None:
    with pytest.raises(InvalidInput) as refused:
        planned(fluid_id="invented-red")

    (fault,) = refused.value.faults
    assert (fault.pointer, fault.code, fault.detail, fault.value) == (
        "/fluid_id",
        "exactly-one-of",
        "both are given",
        "invented-red",
    )
