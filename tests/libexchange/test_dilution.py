"""The textbook models against quadrature and scipy, and what must hold for any input."""

from collections.abc import Callable
from math import exp, inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import poisson

from libexchange.dilution import (
    MOST_CYCLES,
    cycle_fresh_share,
    cycles_ceiling,
    cycles_for_share,
    fresh_share_after_cycles,
    mixed_exchanged_l,
    mixed_share,
    plug_exchanged_l,
    plug_share,
    tanks_inside_share,
    tanks_outlet_share,
)
from libexchange.errors import OutOfRange

TOTALS = st.floats(0.05, 500)
SHARES = st.floats(0, 1)
RENEWALS = st.floats(0, 5)
TANKS = st.integers(1, 100)


@given(total=TOTALS, renewals=RENEWALS, start=SHARES, feed=SHARES)
def test_mixed_there_and_back_is_the_same_exchange(
    total: float, renewals: float, start: float, feed: float
) -> None:
    exchanged = renewals * total
    share = mixed_share(
        exchanged_l=exchanged, total_l=total, initial_share=start, incoming_share=feed
    )
    back = mixed_exchanged_l(share=share, total_l=total, initial_share=start, incoming_share=feed)

    assert min(start, feed) <= share <= max(start, feed)
    if abs(feed - start) > 1e-3:
        assert back == pytest.approx(exchanged, rel=1e-9, abs=1e-9 * total)


@pytest.mark.parametrize(("share", "start", "feed"), [(0.1, 0.2, 0.9), (0.95, 0.2, 0.9)])
def test_mixing_never_leaves_the_span_of_start_and_feed(
    share: float, start: float, feed: float
) -> None:
    assert (
        mixed_exchanged_l(share=share, total_l=9, initial_share=start, incoming_share=feed) is None
    )


def test_mixing_never_ends_at_the_feed() -> None:
    assert mixed_exchanged_l(share=1.0, total_l=9) is None


@given(total=TOTALS, renewals=RENEWALS, kept=st.floats(0, 1))
def test_plug_flow_beats_any_number_of_tanks(total: float, renewals: float, kept: float) -> None:
    plug = plug_share(exchanged_l=renewals * total, total_l=total)
    less = plug_share(exchanged_l=renewals * total, total_l=total, stranded_l=kept * total)

    for tanks in (1, 2, 30):
        inside = tanks_inside_share(exchanged_l=renewals * total, total_l=total, tanks=tanks)
        assert inside <= plug + 1e-12
    assert less == pytest.approx(min(plug, 1 - kept), abs=1e-12)


@given(total=TOTALS, share=SHARES)
def test_plug_there_and_back_is_the_same_share(total: float, share: float) -> None:
    exchanged = plug_exchanged_l(share=share, total_l=total)

    assert exchanged is not None
    assert plug_share(exchanged_l=exchanged, total_l=total) == pytest.approx(share, abs=1e-15)


def test_plug_flow_does_not_reach_the_stranded_litres() -> None:
    assert plug_exchanged_l(share=0.9, total_l=10, stranded_l=1) == 9.0
    assert plug_exchanged_l(share=0.91, total_l=10, stranded_l=1) is None


@given(total=TOTALS, renewals=st.floats(0, 20), tanks=TANKS)
def test_tanks_in_series_follow_the_poisson_distribution(
    total: float, renewals: float, tanks: int
) -> None:
    exchanged = renewals * total
    outlet = tanks_outlet_share(exchanged_l=exchanged, total_l=total, tanks=tanks)
    inside = tanks_inside_share(exchanged_l=exchanged, total_l=total, tanks=tanks)

    mean = tanks * exchanged / total
    olds = [float(poisson.cdf(k, mean)) for k in range(tanks)]
    assert outlet == pytest.approx(1 - olds[-1], rel=0, abs=1e-11)
    assert inside == pytest.approx(1 - sum(olds) / tanks, rel=0, abs=1e-11)
    assert outlet <= inside + 1e-12


def test_one_tank_is_the_mixed_model() -> None:
    assert tanks_outlet_share(exchanged_l=7, total_l=9, tanks=1) == pytest.approx(
        mixed_share(exchanged_l=7, total_l=9), rel=1e-14
    )


@pytest.mark.parametrize(("target", "cycles"), [(0.8, 3), (0.9, 5), (0.99, None)])
def test_cycles_meet_independent_counts(target: float, cycles: int | None) -> None:
    """Computed independently: q 0.45 of what is reachable, 2 % stranded."""
    needed = cycles_for_share(target_share=target, drained_l=0.45 * 98, total_l=100, stranded_l=2)

    assert needed == cycles


@given(
    renewed=st.floats(0.05, 0.95),
    total=TOTALS,
    stranded=st.floats(0, 0.3),
    cycles=st.integers(0, 20),
)
def test_an_exact_target_needs_exactly_its_cycles(
    renewed: float, total: float, stranded: float, cycles: int
) -> None:
    kept = stranded * total
    drained = renewed * (total - kept)
    target = fresh_share_after_cycles(
        cycles=cycles, drained_l=drained, total_l=total, stranded_l=kept
    )
    needed = cycles_for_share(
        target_share=target, drained_l=drained, total_l=total, stranded_l=kept
    )

    distinct = (1 - renewed) ** cycles > 1e-10
    assert not distinct or needed == cycles


@pytest.mark.parametrize("percent", range(1, 100))
def test_round_drains_are_never_off_by_one(percent: int) -> None:
    """Where a logarithm fails: 1 - (1 - q)^n typed as a decimal."""
    for cycles in range(1, 5):
        target = 1 - (1 - percent / 100) ** cycles
        typed = float(f"{target:.12g}")
        needed = cycles_for_share(target_share=typed, drained_l=percent, total_l=100)
        assert needed == cycles or (1 - percent / 100) ** cycles < 1e-11


def test_case_76_a_target_at_the_ceiling_is_out_of_reach() -> None:
    assert cycles_ceiling(total_l=10, stranded_l=0.3) == 0.97
    assert cycles_for_share(target_share=0.97, drained_l=4, total_l=10, stranded_l=0.3) is None
    assert cycles_for_share(target_share=1.0, drained_l=10, total_l=10) is None


def test_too_many_cycles_are_given_up_below_the_ceiling() -> None:
    assert cycles_for_share(target_share=0.5, drained_l=0.001, total_l=100) is None
    assert cycles_for_share(target_share=0.5, drained_l=0, total_l=100) is None
    assert cycles_ceiling(total_l=100) > 0.5


def test_nothing_asked_needs_no_cycle() -> None:
    assert cycles_for_share(target_share=0, drained_l=4, total_l=10) == 0


@given(renewed=st.floats(0.01, 1), cycles=st.integers(1, 50))
def test_cycles_beat_one_mixed_tank_litre_for_litre(renewed: float, cycles: int) -> None:
    share = fresh_share_after_cycles(cycles=cycles, drained_l=renewed, total_l=1)

    assert share >= 1 - exp(-cycles * renewed) - 1e-12


@pytest.mark.parametrize(
    ("name", "formula"),
    [
        ("exchanged_l", lambda bad: mixed_share(exchanged_l=bad, total_l=9)),
        ("total_l", lambda bad: mixed_share(exchanged_l=1, total_l=bad)),
        ("share", lambda bad: mixed_exchanged_l(share=bad, total_l=9)),
        ("initial_share", lambda bad: mixed_share(exchanged_l=1, total_l=9, initial_share=bad)),
        ("exchanged_l", lambda bad: plug_share(exchanged_l=bad, total_l=9)),
        ("share", lambda bad: plug_exchanged_l(share=bad, total_l=9)),
        ("tanks", lambda bad: tanks_inside_share(exchanged_l=1, total_l=9, tanks=bad)),
        ("drained_l", lambda bad: cycle_fresh_share(drained_l=bad, total_l=9)),
        ("stranded_l", lambda bad: cycle_fresh_share(drained_l=1, total_l=9, stranded_l=bad)),
        ("stranded_l", lambda bad: cycles_ceiling(total_l=9, stranded_l=bad)),
        ("target_share", lambda b: cycles_for_share(target_share=b, drained_l=4, total_l=9)),
        ("cycles", lambda b: fresh_share_after_cycles(cycles=b, drained_l=4, total_l=9)),
    ],
)
@pytest.mark.parametrize("bad", [-1, nan, inf, 1e6])
def test_what_cannot_be_is_refused_by_name(
    name: str, formula: Callable[[float], object], bad: float
) -> None:
    with pytest.raises(OutOfRange) as refused:
        formula(bad)

    assert refused.value.name == name


def test_the_most_cycles_are_still_computed() -> None:
    assert fresh_share_after_cycles(cycles=MOST_CYCLES, drained_l=4, total_l=9) == 1.0


def test_a_thousand_cycles_are_the_most() -> None:
    unit = {"drained_l": 0.01, "total_l": 10.0}
    last, beyond = (fresh_share_after_cycles(cycles=n, **unit) for n in (1000, 999))

    assert cycles_for_share(target_share=last, **unit) == 1000
    assert cycles_for_share(target_share=beyond, **unit) == 999
    assert cycles_for_share(target_share=last + 1e-6, **unit) is None
