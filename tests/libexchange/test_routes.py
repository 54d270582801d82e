"""What each route does to the fluid, how it is judged, and the steps that it becomes."""

from math import ceil
from typing import Any
from uuid import UUID

import msgspec
import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import Family, Known, TransmissionProfile
from libexchange.circuit import Circuit, all_old, fresh_share, idle
from libexchange.circuit_moves import line_batch, suction
from libexchange.plan.planning import make_plan
from libexchange.plan.records import Alternative, Plan
from libexchange.plan.request import Condition, Route
from libexchange.plan.routes import (
    LINE_ROUTES,
    MOST_BATCHES,
    OPEN_LINE_ROUTES,
    ROUTES,
    SUCTION_SHARE,
    Aim,
)
from libexchange.plan.unit import Unit, unit_of
from libexchange.quantities import Volume

SIX_SPEED = invented.six_speed()


def unit(transmission: TransmissionProfile = SIX_SPEED) -> Unit:
    computed = unit_of(transmission, None)
    assert computed is not None
    return computed


def aim(share: float | None, cycles: int | None = None) -> Aim:
    return Aim(target_share=share, exchanged_l=None, cycles=cycles)


def planned(transmission: TransmissionProfile = SIX_SPEED, **members: Any) -> Plan:
    request = replace(invented.routine_request(), transmission=transmission, **members)
    return make_plan(
        request=request,
        transmission=transmission,
        fluid=request.fluid,
        plan_id=UUID(int=1),
        created_at=request.requested_at,
    )


def alternative(route: Route, transmission: TransmissionProfile = SIX_SPEED) -> Alternative:
    return next(one for one in planned(transmission).alternatives if one.route == route)


def profile(**members: Any) -> TransmissionProfile:
    return replace(SIX_SPEED, **members)


def test_every_route_is_computed_in_the_order_of_their_depth() -> None:
    assert [one.route for one in planned().alternatives] == list(ROUTES)
    assert {"line_batches"} == OPEN_LINE_ROUTES - LINE_ROUTES


def test_setting_the_level_alone_renews_nothing() -> None:
    outcome = ROUTES["level_only"](unit(), aim(0.8))

    assert (outcome.litres, outcome.fresh_share, outcome.cycles) == (0, 0, None)


@pytest.mark.parametrize(("target", "cycles"), [(None, 1), (0.1, 1), (0.4, 2), (0.6, 3), (0.99, 4)])
def test_suction_goes_on_until_the_target_or_four_times(target: float | None, cycles: int) -> None:
    own = unit()
    circuit, state = own.circuit, all_old(own.circuit)
    for number in range(cycles):
        if number:
            state = idle(circuit=circuit, state=state, circulated_l=3 * circuit.total_l)
        state = suction(circuit=circuit, state=state, sump_share=SUCTION_SHARE)
    outcome = ROUTES["suction"](own, aim(target))

    assert outcome.cycles == cycles
    assert outcome.refilled_l == pytest.approx(cycles * 0.7 * circuit.sump_l)
    assert outcome.exchanged_l == 0
    assert outcome.fresh_share == pytest.approx(fresh_share(circuit=circuit, state=state))


def test_batches_hold_2_l_or_half_the_sump_and_stop_at_the_target() -> None:
    own = unit()
    outcome = ROUTES["line_batches"](own, aim(0.6))
    before = ROUTES["line_batches"](own, aim(None, (outcome.cycles or 0) - 1))
    state = all_old(own.circuit)
    for _ in range(outcome.cycles or 0):
        state = line_batch(circuit=own.circuit, state=state, batch_l=2)

    assert outcome.refilled_l == 2 * (outcome.cycles or 0)
    assert before.fresh_share < 0.6 <= outcome.fresh_share
    assert outcome.fresh_share == fresh_share(circuit=own.circuit, state=state)


def test_batches_of_a_small_sump_are_half_of_it() -> None:
    small = profile(total=Volume(5, "L"), drained=Volume(1.6, "L"))
    outcome = ROUTES["line_batches"](unit(small), aim(None, 1))

    assert outcome.refilled_l == pytest.approx(unit(small).circuit.sump_l / 2)
    assert outcome.refilled_l < 2


def test_batches_without_a_target_renew_the_total_fill_once() -> None:
    own = unit()

    assert ROUTES["line_batches"](own, aim(None)).cycles == ceil(own.circuit.total_l / 2)


def test_batches_end_at_1_8_total_fills_and_at_ten() -> None:
    own = unit()
    heavy = unit(profile(total=Volume(38, "L"), drained=Volume(19.5, "L")))

    assert ROUTES["line_batches"](own, aim(0.99)).cycles == int(1.8 * own.circuit.total_l / 2)
    assert ROUTES["line_batches"](heavy, aim(0.99)).cycles == MOST_BATCHES == 10
    assert ROUTES["line_batches"](heavy, aim(None)).cycles == MOST_BATCHES


def test_a_sump_at_its_least_gives_no_batch() -> None:
    least = replace(unit(), circuit=Circuit(sump_l=0.05, converter_l=3))

    assert ROUTES["line_batches"](least, aim(0.5)).litres == 0


@pytest.mark.parametrize("route", ["drain_cycles", "suction", "line_batches"])
@pytest.mark.parametrize("cycles", [1, 3])
def test_a_settled_number_of_cycles_is_kept(route: Route, cycles: int) -> None:
    assert ROUTES[route](unit(), aim(0.01, cycles)).cycles == cycles


@pytest.mark.parametrize(
    ("reaches", "standing"), [("yes", "possible"), ("unknown", "caution"), ("no", "no")]
)
def test_suction_needs_a_tube_that_reaches_the_pan_floor(reaches: Known, standing: str) -> None:
    assert alternative("suction", profile(fill_tube_reaches_sump=reaches)).standing == standing


@pytest.mark.parametrize(
    ("route", "condition", "severity"),
    [
        ("suction", "leak", "stop"),
        ("suction", "high_distance_never_serviced", "caution"),
        ("line_batches", "leak", "stop"),
        ("line_batches", "high_distance_never_serviced", "caution"),
        ("level_only", "leak", "caution"),
        ("level_only", "high_distance_never_serviced", "note"),
    ],
)
def test_what_arrival_says_holds_for_suction_as_for_cycles_and_for_batches_as_for_lines(
    route: Route, condition: Condition, severity: str
) -> None:
    plan = planned(conditions=(condition,))
    reasons = next(one for one in plan.alternatives if one.route == route).reasons

    found = [reason.severity for reason in reasons if reason.pointer == "#/conditions"]
    assert found == [severity]


@pytest.mark.parametrize("route", sorted(OPEN_LINE_ROUTES))
def test_unknown_fluid_is_not_pushed_through_the_lines(route: Route) -> None:
    plan = planned(profile(line_batches_in_maker_procedure="yes"), reason="unknown_fluid")
    reasons = next(one for one in plan.alternatives if one.route == route).reasons

    assert "unknown-fluid-in-unit" in {one.code for one in reasons if one.severity == "stop"}


@pytest.mark.parametrize("family", ["wet_dual_clutch", "cvt_with_converter", "power_split_hybrid"])
def test_suction_of_a_sensitive_unit_needs_acknowledgement(family: Family) -> None:
    own = profile(fill_tube_reaches_sump="yes", family=family)

    assert alternative("suction", own).standing == "caution"


@pytest.mark.parametrize(
    ("described", "standing"), [("yes", "caution"), ("unknown", "no"), ("no", "no")]
)
def test_batches_need_the_maker_s_description(described: Known, standing: str) -> None:
    own = profile(
        line_batches_in_maker_procedure=described, cooler=replace(SIX_SPEED.cooler, bypass="none")
    )

    assert alternative("line_batches", own).standing == standing


def test_batches_are_of_high_risk_and_take_longer_by_the_batch() -> None:
    own = profile(line_batches_in_maker_procedure="yes")
    batches, lines = alternative("line_batches", own), alternative("line_exchange", own)

    assert (batches.risk, lines.risk) == ("high", "medium")
    assert batches.hands_on is not None
    assert lines.hands_on is not None
    assert batches.elapsed is not None
    assert lines.elapsed is not None
    batch_h = (batches.hands_on.value - lines.hands_on.value) / (batches.cycles or 0)
    assert batch_h == pytest.approx(0.1)
    waits_h = batches.elapsed.value - batches.hands_on.value
    assert waits_h == pytest.approx(lines.elapsed.value - lines.hands_on.value)


def test_a_look_at_the_level_takes_0_6_h_of_hands() -> None:
    looked = alternative("level_only")

    assert looked.hands_on is not None
    assert looked.hands_on.value == 0.6
    assert looked.risk == alternative("suction").risk == "low"


def test_the_level_alone_is_never_proposed_but_may_be_asked_for() -> None:
    proposed, asked = planned(target_fresh_share=0.01), planned(route="level_only")

    assert proposed.route != "level_only"
    assert asked.route == "level_only"
    assert asked.feasible
    kinds = [step.kind for step in asked.steps]
    assert kinds[:3] == ["arrival_check", "raise_vehicle", "prove_fill_opening"]
    assert kinds[-4:] == ["set_level", "leak_check", "test_drive", "hand_over"]
    assert not {"drain", "refill", "mix", "line_exchange"} & set(kinds)
    assert asked.litres is not None
    assert (asked.litres.planned.l, asked.litres.maximum.l) == (0, 1)


def test_where_only_the_level_is_left_no_route_is_proposed() -> None:
    shut = profile(
        drain_plug="no", pan_removable="no", fill_tube_reaches_sump="no",
        cooler=replace(SIX_SPEED.cooler, external_lines="no"),
    )  # fmt: skip
    plan = planned(shut)

    assert plan.route is None
    assert {one.route for one in plan.alternatives if one.standing != "no"} == {"level_only"}
    assert "no-route-possible" in {finding.code for finding in plan.findings}


def test_the_steps_of_suction_repeat_and_sum_up() -> None:
    plan = planned(profile(fill_tube_reaches_sump="yes"), route="suction")
    kinds = [step.kind for step in plan.steps if step.kind in ("suction", "refill", "mix")]

    cycles = next(a.cycles for a in plan.alternatives if a.route == "suction") or 0
    assert kinds == ["suction", "refill", "mix"] * cycles
    assert plan.litres is not None
    refilled = sum(step.quantity.l for step in plan.steps if step.quantity)
    assert refilled == pytest.approx(plan.litres.planned.l, abs=0.05 * (cycles + 1))
    sucked = next(step for step in plan.steps if step.kind == "suction")
    assert sucked.gate is not None
    assert sucked.gate.kind == "opening"


def test_the_steps_of_batches_stand_between_opening_and_shutting_the_lines() -> None:
    plan = planned(profile(line_batches_in_maker_procedure="yes"), route="line_batches")
    kinds = [step.kind for step in plan.steps]

    cycles = next(a.cycles for a in plan.alternatives if a.route == "line_batches") or 0
    first, last = kinds.index("line_batch"), kinds.index("cool_down")
    assert kinds[first - 2 : first] == ["connect_lines", "warm_up"]
    assert kinds[first:last] == ["line_batch", "refill"] * cycles
    assert kinds[last : last + 2] == ["cool_down", "disconnect_lines"]
    batch = plan.steps[first]
    assert batch.gate is not None
    assert batch.gate.kind == "line_exchange"
    assert "pump out 2.0 L" in batch.title
    assert "lubrication-starves" in {caution.code for caution in batch.cautions}


def test_a_profile_from_before_says_nothing_of_tube_and_batches_and_still_decodes() -> None:
    kept = msgspec.to_builtins(SIX_SPEED)
    del kept["fill_tube_reaches_sump"], kept["line_batches_in_maker_procedure"]

    assert msgspec.convert(kept, TransmissionProfile) == SIX_SPEED
    assert SIX_SPEED.fill_tube_reaches_sump == "unknown"
    assert SIX_SPEED.line_batches_in_maker_procedure == "unknown"


def test_litres_fixed_for_a_line_exchange_do_not_bind_batches() -> None:
    own = profile(line_batches_in_maker_procedure="yes")
    plan = planned(own, route="line_batches", exchanged=Volume(6, "L"))

    assert "fixed-litres-unused" in {finding.code for finding in plan.findings}
