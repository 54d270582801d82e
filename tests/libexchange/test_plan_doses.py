"""Additives in plans: how much, where among the steps, and what stays."""

from decimal import Decimal
from typing import Any

import pytest

from libexchange.dose import (
    Drain,
    FillRange,
    FixedByFill,
    Percent,
    PerRefill,
    PerTotal,
    WholePacks,
    dosed,
    share_left,
)
from libexchange.fields import Money
from libexchange.plan.request import Prices
from libexchange.plan.unit import unit_of
from libexchange.quantities import DoseRate, Duration, Temperature, Volume
from tests.libexchange.dose_desk import (
    CLEANER,
    CONDITIONER,
    LINE,
    PAN_LINE,
    cleaner,
    conditioner,
    dose_of,
    kinds,
    severities,
    step,
)
from tests.libexchange.plan_desk import SIX_SPEED, alternative, found, planned


def test_an_additive_is_never_a_standing_step() -> None:
    plan = planned()

    assert plan.offline_card is not None
    assert plan.offline_card.doses == ()
    assert not {"dose_cleaner", "cleaner_contact", "dose_conditioner"} & set(kinds(plan))
    assert "additive" not in {line.kind for line in plan.quote_lines}


def test_the_cleaner_acts_before_the_pan_comes_off() -> None:
    plan = planned(cleaner=CLEANER)

    at = kinds(plan).index("dose_cleaner")
    assert kinds(plan)[at - 1 : at + 4] == [
        "prove_fill_opening", "dose_cleaner", "cleaner_contact", "cool_down", "pan_and_filter",
    ]  # fmt: skip
    dose = step(plan, "dose_cleaner")
    assert dose.quantity == Volume(0.325, "L")
    assert dose.title.startswith("Draw off 325 mL, then add 325 mL of Invented cleaner (1 pack)")
    assert dose.gate is not None
    assert dose.gate.high == Temperature(60, "Cel")
    assert {caution.code for caution in dose.cautions} == {"chemical", "hot-fluid"}


def test_the_contact_step_is_gated_by_its_timer() -> None:
    gate = step(planned(cleaner=CLEANER), "cleaner_contact").gate

    assert gate is not None
    assert (gate.kind, gate.low, gate.hold) == (
        "contact_time", Temperature(60, "Cel"), Duration(10, "min"),
    )  # fmt: skip


def test_a_cleaner_without_a_time_of_its_own_acts_for_twelve_minutes() -> None:
    hot = Temperature(70, "Cel")
    plan = planned(cleaner=cleaner(contact=None, contact_above=hot))

    gate = step(plan, "cleaner_contact").gate
    assert gate is not None
    assert (gate.low, gate.hold) == (hot, Duration(12, "min"))
    assert dose_of(plan, "cleaner").contact == Duration(12, "min")


def test_the_exchange_is_as_long_as_the_cleaner_needs_to_get_out() -> None:
    plain, cleaned = planned(route=PAN_LINE), planned(cleaner=CLEANER, route=PAN_LINE)

    litres = [step(plan, "line_exchange").quantity for plan in (plain, cleaned)]
    assert litres[0] is not None
    assert litres[1] is not None
    assert litres[1].l > litres[0].l
    unit = unit_of(SIX_SPEED, None)
    assert unit is not None
    opening = unit.with_pan
    drain = Drain(opening.sump_l, opening.converter_run_back, opening.pockets_run_back)
    state = dosed(circuit=unit.circuit, dosed_l=0.325)
    left = [
        share_left(circuit=unit.circuit, state=state, exchanged_l=litres_l, drain=drain)
        for litres_l in (litres[1].l, litres[1].l - 0.1)
    ]
    assert left[0] <= 0.005 < left[1]
    assert dose_of(cleaned, "cleaner").share_left == pytest.approx(left[0], abs=1e-6)


def test_a_target_that_needs_more_than_the_cleaner_keeps_its_litres() -> None:
    members: dict[str, Any] = {"route": PAN_LINE, "target_fresh_share": 0.9}

    assert planned(cleaner=CLEANER, **members).litres == planned(**members).litres


def test_without_a_target_the_cleaner_still_gets_its_litres() -> None:
    plan = planned(cleaner=cleaner(treat=PerTotal(DoseRate(49, "mL/L")), pack=None),
                   reason="maker_drain", route=PAN_LINE)  # fmt: skip

    assert dose_of(plan, "cleaner").share_left <= 0.005


def test_fixed_litres_are_not_changed_but_what_is_left_is_said() -> None:
    plan = planned(cleaner=CLEANER, exchanged=Volume(4, "L"), route=PAN_LINE)

    assert step(plan, "line_exchange").quantity == Volume(4, "L")
    told = found(plan.findings, "cleaner-left-above-limit")
    assert (told.severity, told.pointer) == ("caution", "#/cleaner_id")


@pytest.mark.parametrize("route", ["drain", "drain_cycles", LINE])
def test_a_route_that_leaves_the_filter_in_takes_no_cleaner(route: str) -> None:
    plan = planned(cleaner=CLEANER)

    assert severities(plan, route, "cleaner-without-filter") == ["stop"]
    assert alternative(plan, route).standing == "no"
    assert severities(plan, PAN_LINE, "cleaner-without-filter") == []


def test_a_pan_alone_does_not_get_the_cleaner_out() -> None:
    plan = planned(cleaner=CLEANER)

    assert severities(plan, "pan_and_filter", "cleaner-left-above-limit") == ["stop"]
    assert plan.route == PAN_LINE


@pytest.mark.parametrize(
    ("treat", "pack", "rule", "dose_l", "packs"),
    [
        (PerTotal(DoseRate(35, "mL/L")), None, "ceil", 0.315, None),
        (PerTotal(DoseRate(35, "mL/L")), Volume(150, "mL"), "ceil", 0.45, 3),
        (PerTotal(DoseRate(35, "mL/L")), Volume(200, "mL"), "nearest", 0.4, 2),
        (PerTotal(DoseRate(35, "mL/L")), Volume(250, "mL"), "nearest", 0.25, 1),
        (Percent(3), None, "ceil", 0.27, None),
        (WholePacks(Volume(300, "mL"), Volume(9, "L")), None, "ceil", 0.3, 1),
        (WholePacks(Volume(200, "mL"), Volume(6, "L")), None, "ceil", 0.4, 2),
        (
            FixedByFill((FillRange(low=Volume(6, "L"), high=Volume(9, "L"),
                                   dose=Volume(350, "mL")),)),
            None, "ceil", 0.35, None,
        ),
    ],
)  # fmt: skip
def test_every_way_of_stating_a_dose_is_dosed(
    treat: Any, pack: Volume | None, rule: Any, dose_l: float, packs: int | None
) -> None:
    plan = planned(cleaner=cleaner(treat=treat, pack=pack, pack_rule=rule))

    dose = dose_of(plan, "cleaner")
    assert dose.dose.l == pytest.approx(dose_l)
    assert dose.packs == packs
    assert dose.share_of_total == pytest.approx(dose_l / 9, abs=1e-6)
    assert dose.draw_off == dose.dose


def test_a_dose_by_refill_counts_what_the_route_puts_back() -> None:
    by_refill = PerRefill(DoseRate(30, "mL/L"))
    plan = planned(conditioner=conditioner(treat=by_refill), route="drain")
    whole = planned(conditioner=conditioner(treat=by_refill), route=LINE)

    assert plan.litres is not None
    assert dose_of(plan, "conditioner").dose.l == pytest.approx(0.03 * 4.065, abs=5e-4)
    assert dose_of(whole, "conditioner").dose.l == pytest.approx(0.03 * 9)


def test_a_conditioner_goes_into_the_last_litres_of_an_exchange() -> None:
    plan = planned(conditioner=CONDITIONER, route=LINE)

    dose = dose_of(plan, "conditioner")
    assert (dose.placed, dose.draw_off.l) == ("last_litres", 0)
    assert dose.share_kept is not None
    assert 0.98 < dose.share_kept < 1
    assert dose.share_left == pytest.approx(dose.share_kept * 0.025, abs=1e-6)
    assert kinds(plan)[kinds(plan).index("dose_conditioner") + 1] == "line_exchange"


@pytest.mark.parametrize(
    ("members", "treat"),
    [({"route": "drain"}, Percent(2.5)), ({"route": LINE, "exchanged": Volume(0.2, "L")},
                                          Percent(2.5))],
)  # fmt: skip
def test_where_the_last_litres_cannot_carry_it_it_goes_in_at_level_setting(
    members: dict[str, Any], treat: Percent
) -> None:
    plan = planned(conditioner=conditioner(treat=treat), **members)

    dose = dose_of(plan, "conditioner")
    assert (dose.placed, dose.share_kept, dose.draw_off) == ("level_setting", 1.0, dose.dose)
    assert kinds(plan)[kinds(plan).index("dose_conditioner") + 1] == "set_level"
    assert "Draw off 225 mL" in step(plan, "dose_conditioner").title


def test_packs_are_quoted_and_a_missing_price_is_named() -> None:
    prices = Prices(cleaner_per_pack=Money("19.00", "EUR"))
    plan = planned(cleaner=cleaner(pack=Volume(200, "mL")), conditioner=CONDITIONER, prices=prices)

    lines = {line.line_id: line for line in plan.quote_lines}
    assert (lines["line-cleaner"].count, lines["line-cleaner"].amount) == (
        2, Money("38.00", "EUR"),
    )  # fmt: skip
    loose = lines["line-conditioner"]
    assert (loose.count, loose.volume, loose.amount) == (1, Volume(0.225, "L"), None)
    missing = str(found(plan.findings, "price-missing").values["missing"]).split(", ")
    assert "conditioner_per_pack" in missing
    assert "cleaner_per_pack" not in missing


def test_the_cost_of_a_route_counts_its_doses() -> None:
    prices = Prices(
        fluid_per_litre=Money("10", "EUR"), labour_per_hour=Money("100", "EUR"),
        used_fluid_per_litre=Money("0", "EUR"), conditioner_per_pack=Money("7.50", "EUR"),
    )  # fmt: skip
    plain = planned(prices=prices, route="drain")
    dosed_plan = planned(prices=prices, route="drain", conditioner=CONDITIONER)

    costs = [alternative(plan, "drain").cost for plan in (plain, dosed_plan)]
    assert costs[0] is not None
    assert costs[1] is not None
    added = costs[1].decimal - costs[0].decimal
    assert added == Decimal("7.50") + Decimal("0.2") * 100  # a pack, and 0.2 h to put it in
