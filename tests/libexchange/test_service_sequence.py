"""Services in any order: what stands after each of them."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import convert

from libexchange.calculations import CALCULATIONS
from libexchange.circuit import all_old, drain_and_refill, exchange, fresh_share
from libexchange.plan.records import Estimate
from tests.libexchange.service_sequences import (
    CIRCUIT,
    DRAIN,
    TANK,
    UNIT,
    Json,
    answer,
    dose,
    line,
    litres,
)


def test_pan_first_and_then_the_lines_is_the_exchange_calculation_s_own_example() -> None:
    by_name = {calculation.name: calculation for calculation in CALCULATIONS}
    example = by_name["exchange"].example
    exchanged = by_name["exchange"].calculate(convert(example, by_name["exchange"].request))
    drain = {"kind": "drain", **example["before"]}
    told = answer(drain, {"kind": "line_exchange", "exchanged": example["exchanged"]})

    assert told.fresh_share.expected == pytest.approx(exchanged.fresh_share.expected, rel=1e-13)
    assert told.ceiling == exchanged.ceiling


def test_the_pan_may_come_first_after_or_in_the_middle() -> None:
    first = answer(DRAIN, line(5)).fresh_share.expected
    middle = answer(line(2), DRAIN, line(3)).fresh_share.expected
    last = answer(line(5), DRAIN).fresh_share.expected

    assert first == pytest.approx(0.825032118, rel=0, abs=5e-10)
    assert first > middle > last


def test_each_step_tells_how_the_unit_stands_after_it() -> None:
    told = answer(DRAIN, line(5, fed_per_out=1.04), {"kind": "set_level"})
    drained = drain_and_refill(
        circuit=UNIT,
        state=all_old(UNIT),
        drained_l=3.8,
        converter_run_back=0.05,
        pockets_run_back=0.15,
    )

    after_drain, after_line, after_level = told.after
    assert (after_drain.put_in.l, after_drain.let_out.l) == pytest.approx((4.065, 4.065))
    assert after_drain.fresh_share == fresh_share(circuit=UNIT, state=drained)
    assert after_drain.sump_fresh_share == drained.sump
    assert (after_line.put_in.l, after_line.let_out.l) == pytest.approx((5.2, 5.0))
    assert after_line.sump.l == pytest.approx(4.5)
    assert (after_level.put_in.l, after_level.let_out.l) == pytest.approx((0, 0.2))
    assert after_level.sump.l == 4.3
    assert after_level.sump_fresh_share == after_line.sump_fresh_share
    assert told.fresh_share.expected == after_level.fresh_share
    assert (told.put_in.l, told.let_out.l) == pytest.approx((9.265, 9.265))


def test_a_low_sump_is_filled_up_with_fresh_fluid() -> None:
    told = answer(line(1, fed_per_out=0.5), {"kind": "set_level"}, circuit=TANK)

    low, full = told.after
    assert low.sump.l == pytest.approx(3.5)
    assert (full.put_in.l, full.let_out.l) == pytest.approx((0.5, 0))
    assert full.fresh_share == pytest.approx((3.5 * low.fresh_share + 0.5) / 4)


def test_every_kind_of_step_is_computed() -> None:
    told = answer(
        {"kind": "suction", "sump_share": 0.5},
        {"kind": "line_batch", "batch": litres(2)},
        {"kind": "idle", "circulated": litres(50)},
        line(2),
        circuit=TANK,
    )

    shares = [step.fresh_share for step in told.after]
    assert shares == pytest.approx([0.5, 0.75, 0.75, 1 - 0.25 * 0.6065306597126334])
    assert [(s.put_in.l, s.let_out.l) for s in told.after] == [(2, 2), (2, 2), (0, 0), (2, 2)]


def test_a_dose_is_no_fresh_fluid_and_thins_what_is_there() -> None:
    told = answer({"kind": "suction", "sump_share": 0.5}, dose("cleaner", 0.2), circuit=TANK)

    _, dosed = told.after
    assert dosed.fresh_share == pytest.approx(2 / 4.2)
    assert [one.substance for one in dosed.substances] == ["cleaner"]
    assert dosed.substances[0].share == pytest.approx(0.2 / 4.2)
    assert (dosed.put_in.l, dosed.let_out.l) == (0.2, 0)


def test_substances_are_followed_apart() -> None:
    cleaner, conditioner = dose("cleaner", 0.2), dose("conditioner", 0.1)
    more = dose("cleaner", 0.1)
    told = answer(cleaner, line(4, fed_per_out=0.95), conditioner, more, circuit=TANK)

    _, flushed, _, last = told.after
    cleaner_l = flushed.substances[0].share * 4.0
    assert [one.substance for one in last.substances] == ["cleaner", "conditioner"]
    assert last.substances[0].share == pytest.approx((cleaner_l + 0.1) / 4.2)
    assert last.substances[1].share == pytest.approx(0.1 / 4.2)


def test_what_is_dosed_and_washed_out_obeys_the_same_flows_as_old_fluid() -> None:
    """The sump of 4.2 L renewed by even flow: exp(-x / V) of the dose stays."""
    told = answer(dose("cleaner", 0.2), line(4.2), circuit=TANK)

    assert told.after[1].substances[0].share == pytest.approx(0.2 / 4.2 * 0.36787944117144233)


def test_the_band_is_that_of_an_exchange_where_the_steps_are_one() -> None:
    by_name = {calculation.name: calculation for calculation in CALCULATIONS}
    asked = {"circuit": CIRCUIT, "exchanged": litres(9)}
    exchanged = by_name["exchange"].calculate(convert(asked, by_name["exchange"].request))
    told = answer(line(9)).fresh_share

    assert told.expected == pytest.approx(exchanged.fresh_share.expected, rel=1e-12)
    assert told.low == pytest.approx(exchanged.fresh_share.low, rel=0, abs=1e-9)
    assert told.high == pytest.approx(exchanged.fresh_share.high, rel=0, abs=1e-9)


def test_the_band_stays_below_what_all_that_was_put_in_could_renew() -> None:
    few = answer(DRAIN, line(1.75))

    assert few.fresh_share.high == pytest.approx((3.8 + 0.145 + 0.12 + 1.75) / 9, rel=1e-12)
    assert few.fresh_share.expected < few.fresh_share.high


def test_the_band_stays_between_nothing_and_the_ceiling() -> None:
    little, much = answer(line(0)), answer(line(300))

    assert little.fresh_share == Estimate(low=0.0, expected=0.0, high=0.0)
    assert much.fresh_share.low < much.fresh_share.expected
    assert much.fresh_share.high == max(much.ceiling, much.fresh_share.expected)
    assert much.findings[-1].code == "band-not-measured"
    assert much.findings[-1].values == {
        "low": much.fresh_share.low, "high": much.fresh_share.high,
    }  # fmt: skip


def test_a_drain_takes_no_more_than_a_smaller_sump_holds() -> None:
    """The band is that of an exchange after a drain, but for how well the drain was measured."""
    by_name = {calculation.name: calculation for calculation in CALCULATIONS}
    drained = {"drained": litres(3.8), "converter_run_back": 0.0, "pockets_run_back": 0.0}
    asked = {"circuit": CIRCUIT, "before": drained, "exchanged": litres(5)}
    exchanged = by_name["exchange"].calculate(convert(asked, by_name["exchange"].request))
    told = answer({"kind": "drain"} | drained, line(5)).fresh_share

    assert told.expected == pytest.approx(exchanged.fresh_share.expected, rel=1e-12)
    assert told.high == pytest.approx(exchanged.fresh_share.high, rel=0, abs=0.005)
    assert told.low == pytest.approx(exchanged.fresh_share.low, rel=0, abs=0.005)


def test_a_circuit_that_the_work_cannot_be_done_to_is_not_in_the_band() -> None:
    """Nearly all of the sump is pumped out: where it held less the work was impossible."""
    unit = TANK | {"line": litres(1)}
    whole, most = (
        answer(line(3), {"kind": "line_batch", "batch": litres(batch_l)}, circuit=unit)
        for batch_l in (3.9, 3.3)
    )

    assert whole.fresh_share.expected - whole.fresh_share.low > 0.01
    assert whole.fresh_share.high - whole.fresh_share.expected < (
        most.fresh_share.high - most.fresh_share.expected
    )


STEPS = st.one_of(
    st.builds(lambda part: {"kind": "suction", "sump_share": part}, st.floats(0, 1)),
    st.builds(lambda part: {**DRAIN, "drained": litres(3 * part)}, st.floats(0, 1)),
    st.builds(line, st.floats(0, 6)),
    st.builds(
        lambda out_l, fed: line(out_l, fed_per_out=fed), st.floats(0, 2), st.floats(0.6, 1.4)
    ),
    st.builds(lambda out_l: {"kind": "line_batch", "batch": litres(out_l)}, st.floats(0, 2)),
    st.builds(lambda out_l: {"kind": "idle", "circulated": litres(out_l)}, st.floats(0, 30)),
    st.builds(dose, st.sampled_from(["cleaner", "conditioner"]), st.floats(0, 0.3)),
    st.just({"kind": "set_level"}),
)


@settings(max_examples=60, deadline=None)
@given(steps=st.lists(STEPS, min_size=1, max_size=5))
def test_litres_and_shares_hold_together_in_any_order(steps: list[Json]) -> None:
    # the level is set after each step, so that no order of steps runs the sump dry
    told = answer(*[one for step in steps for one in (step, {"kind": "set_level"})])

    assert told.put_in.l - told.let_out.l == pytest.approx(told.after[-1].sump.l - 4.3, abs=1e-9)
    for step in told.after:
        parts = [step.fresh_share, *(one.share for one in step.substances)]
        assert all(0 <= share <= 1 for share in parts)
        assert sum(parts) <= 1 + 1e-12
    assert told.fresh_share.low <= told.fresh_share.expected <= told.fresh_share.high


def test_an_even_line_step_is_an_exchange() -> None:
    state = exchange(circuit=UNIT, state=all_old(UNIT), exchanged_l=7)

    assert answer(line(7)).after[0].fresh_share == fresh_share(circuit=UNIT, state=state)
