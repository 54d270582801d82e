"""The band of a plan: against 10,000 draws of all its inputs at once, and what it keeps to."""

from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import Family, TransmissionProfile
from libexchange.plan.assumed import spreads_of, unit_with
from libexchange.plan.band import band_of
from libexchange.plan.forecast import estimate, litres_of
from libexchange.plan.priors import PRIORS
from libexchange.plan.request import Route
from libexchange.plan.routes import ROUTES, SUCTION_SHARE, Aim, Outcome
from libexchange.plan.spreads import SUCTION_SPREAD
from libexchange.plan.unit import Unit, unit_of
from libexchange.quantities import Volume
from tests.libexchange.drawn_shares import Array, after_line, after_opening, closed

DRAWS = 10_000
FEWER_DRAWS = 1_000
CLOSE = 0.015
AMOUNTS_L: dict[Family, tuple[float, float]] = {
    "converter_automatic": (9.0, 4.065),
    "converter_automatic_light_truck": (11.0, 5.0),
    "converter_automatic_many_speeds": (10.0, 4.92),
    "wet_dual_clutch": (6.8, 5.15),
    "cvt_with_converter": (8.0, 4.365),
    "cvt_with_start_clutch": (5.0, 3.4),
    "heavy_duty_automatic": (38.0, 19.55),
    "power_split_hybrid": (3.8, 3.2),
}
UNITS = [
    pytest.param(family, "maker", id=f"{family}, maker data") for family in PRIORS
] + [
    pytest.param(family, "unknown", id=f"{family}, source unknown")
    for family in ("converter_automatic", "cvt_with_start_clutch")
]  # fmt: skip


def profile(family: Family, kind: str = "maker") -> TransmissionProfile:
    total_l, drained_l = AMOUNTS_L[family]
    return replace(
        invented.six_speed(),
        family=family,
        total=Volume(total_l, "L"),
        drained=Volume(drained_l, "L"),
        source=replace(invented.INVENTED, kind=kind),
    )


def work(transmission: TransmissionProfile, route: Route, target_share: float = 0.8) -> Outcome:
    unit = unit_of(transmission, None)
    assert unit is not None
    return ROUTES[route](unit, Aim(target_share=target_share, exchanged_l=None))


@cache
def drawn(family: Family, kind: str) -> list[Unit]:
    """Units with every input drawn at once."""
    transmission = profile(family, kind)
    spreads = spreads_of(transmission)
    scores = np.random.default_rng(20_260_302).standard_normal((DRAWS, len(spreads)))
    return [
        unit_with(
            transmission, {n: s.at(z) for (n, s), z in zip(spreads.items(), row, strict=True)}
        )
        for row in scores.tolist()
    ]


def drawn_shares(units: list[Unit], outcome: Outcome) -> Array:
    circuits = [unit.circuit for unit in units]
    if outcome.route == "drain":
        return after_opening(circuits, [unit.by_plug for unit in units])
    if outcome.route == "pan_and_filter":
        return after_opening(circuits, [unit.with_pan for unit in units])
    if outcome.route == "pan_and_filter_then_line":
        openings = [unit.with_pan for unit in units]
        return after_line(circuits, openings, outcome.exchanged_l)
    if outcome.route == "line_exchange":
        return after_line(circuits, [closed()] * len(units), outcome.exchanged_l)
    settled = Aim(target_share=None, exchanged_l=None, cycles=outcome.cycles)
    some = units[:FEWER_DRAWS]
    return np.array([ROUTES[outcome.route](unit, settled).fresh_share for unit in some])


@pytest.mark.parametrize(
    "route", ["drain", "pan_and_filter", "pan_and_filter_then_line", "line_exchange"]
)
@pytest.mark.parametrize(("family", "kind"), UNITS)
def test_the_edges_are_those_of_ten_thousand_draws(family: Family, kind: str, route: Route) -> None:
    transmission = profile(family, kind)
    outcome = work(transmission, route)

    edges = outcome.fresh_share + np.array(band_of(transmission, outcome))

    shares = drawn_shares(drawn(family, kind), outcome)
    top = outcome.litres / transmission.total.l  # plug flow, which no band goes above
    assert edges[0] == pytest.approx(np.quantile(shares, 0.05), abs=CLOSE)
    assert min(edges[1], top) == pytest.approx(min(np.quantile(shares, 0.95), top), abs=CLOSE)


@pytest.mark.parametrize("family", ["converter_automatic", "cvt_with_start_clutch"])
def test_the_edges_of_drain_cycles_are_those_of_draws(family: Family) -> None:
    outcome = work(profile(family), "drain_cycles")

    edges = outcome.fresh_share + np.array(band_of(profile(family), outcome))

    shares = drawn_shares(drawn(family, "maker"), outcome)
    assert edges == pytest.approx(np.quantile(shares, [0.05, 0.95]), abs=CLOSE)


def test_the_edges_of_line_batches_are_those_of_draws() -> None:
    family: Family = "converter_automatic"
    outcome = work(profile(family), "line_batches")

    edges = outcome.fresh_share + np.array(band_of(profile(family), outcome))

    shares = drawn_shares(drawn(family, "maker")[:400], outcome)
    assert edges == pytest.approx(np.quantile(shares, [0.05, 0.95]), abs=0.02)


def test_the_typical_unit_is_the_one_that_is_planned_with() -> None:
    typical, planned = unit_with(invented.six_speed(), {}), unit_of(invented.six_speed(), None)

    assert planned is not None
    assert typical.circuit == planned.circuit
    assert (typical.by_plug, typical.with_pan) == (planned.by_plug, planned.with_pan)


def test_how_deep_the_probe_gets_widens_the_band_of_suction() -> None:
    below, above = band_of(profile("converter_automatic"), work(invented.six_speed(), "suction"))

    assert SUCTION_SPREAD.typical == SUCTION_SHARE
    assert below == pytest.approx(-0.15, abs=0.02)
    assert above == pytest.approx(0.08, abs=0.02)


def test_level_only_renews_nothing_for_certain() -> None:
    assert band_of(invented.six_speed(), work(invented.six_speed(), "level_only")) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("kind", "least"),
    [("maker", 0.0), ("workshop_measurement", 0.08), ("handbook", 0.08), ("unknown", 0.08)],
)
@pytest.mark.parametrize("route", ["drain_cycles", "pan_and_filter_then_line", "line_exchange"])
def test_a_customer_sees_at_least_eight_hundredths_unless_the_amounts_are_the_makers(
    kind: str, least: float, route: Route
) -> None:
    transmission = profile("converter_automatic", kind)
    unit, outcome = unit_of(transmission, None), work(transmission, route)
    assert unit is not None
    below, above = band_of(transmission, outcome)

    shown = estimate(transmission, unit, outcome)

    top = min(outcome.litres / 9.0, 1 - unit.circuit.stranded_l / 9.0)
    expected = outcome.fresh_share
    assert shown.low == pytest.approx(expected + min(below, -least), abs=1e-6)
    assert shown.high == pytest.approx(min(expected + max(above, least), top), abs=1e-6)


def test_a_band_never_goes_above_the_litres_put_in() -> None:
    transmission = profile("wet_dual_clutch", "unknown")
    unit, outcome = unit_of(transmission, None), work(transmission, "drain")
    assert unit is not None

    shown = estimate(transmission, unit, outcome)

    assert shown.high == shown.expected == pytest.approx(5.15 / 6.8, abs=1e-6)


def test_a_band_never_goes_below_nothing() -> None:
    transmission = replace(profile("converter_automatic", "unknown"), drained=Volume(0.5, "L"))
    unit, outcome = unit_of(transmission, None), work(transmission, "drain")
    assert unit is not None

    assert estimate(transmission, unit, outcome).low == 0.0


def test_the_least_litres_are_those_that_reach_the_target_with_luck() -> None:
    transmission = profile("converter_automatic")
    unit, outcome = unit_of(transmission, None), work(transmission, "line_exchange")
    assert unit is not None
    assert outcome.curve is not None
    shown = estimate(transmission, unit, outcome)
    lenient_l = outcome.curve.exchanged_l_for(target=0.8 - (shown.high - shown.expected))
    assert lenient_l is not None

    litres = litres_of(transmission, unit, outcome, 0.8)

    assert litres.minimum.l == round(lenient_l, 1) < litres.planned.l


def test_a_target_that_luck_cannot_reach_takes_all_planned_litres() -> None:
    transmission = profile("converter_automatic")
    unit, outcome = unit_of(transmission, None), work(transmission, "line_exchange", 0.999)
    assert unit is not None

    litres = litres_of(transmission, unit, outcome, 0.999)

    assert litres.minimum == litres.planned


def test_every_route_has_a_band() -> None:
    for route in ROUTES:
        below, above = band_of(invented.six_speed(), work(invented.six_speed(), route))

        assert below < 0 < above or route == "level_only"
