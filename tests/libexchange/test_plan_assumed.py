"""Which inputs of a forecast are uncertain, how far, and what unit other values make."""

import pytest
from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import CompartmentShares, ExchangeCoefficients, Family
from libexchange.errors import OutOfRange
from libexchange.findings import COMMON_PRACTICE, MEMORY
from libexchange.plan.assumed import spreads_of, unit_with
from libexchange.plan.priors import PRIORS
from libexchange.plan.spreads import GIVEN_SPREADS, OWN_PART, SPREADS, FamilySpreads
from libexchange.quantities import Volume
from libexchange.uncertainty import Spread

OPENINGS = ("sump_drained", "sump_with_pan", "converter_run_back", "pockets_run_back")
COEFFICIENTS = ("pocket_exchange", "internal_return", "short_cut")
OWN_SHARES = CompartmentShares(sump=0.5, converter=0.3, line=0.06, pockets=0.12, stranded=0.02)


def numbers(spread: Spread) -> tuple[float, float, float]:
    return spread.low, spread.typical, spread.high


@pytest.mark.parametrize("family", SPREADS)
def test_every_prior_names_its_source_and_is_what_is_planned_with(family: Family) -> None:
    spreads, priors = SPREADS[family], PRIORS[family]

    for name in FamilySpreads.__struct_fields__:
        spread = getattr(spreads, name)
        assert spread.source in (MEMORY, COMMON_PRACTICE)
        holder = next(
            one for one in (priors.shares, priors.coefficients, priors) if hasattr(one, name)
        )
        assert getattr(holder, name) == spread.typical


@pytest.mark.parametrize("kind", GIVEN_SPREADS)
def test_given_amounts_are_less_sure_the_less_is_known_of_their_source(kind: str) -> None:
    given = GIVEN_SPREADS[kind]

    assert given.total.typical == given.drained_share.typical == 1.0
    assert given.total.source in (MEMORY, COMMON_PRACTICE)
    assert given.total.high - given.total.low >= GIVEN_SPREADS["maker"].total.high - 0.98 - 1e-12
    assert given.total.high - given.total.low <= 0.3 + 1e-12


def test_a_profile_of_total_and_drained_amount_takes_all_else_from_its_family() -> None:
    spreads = spreads_of(invented.six_speed())
    family = SPREADS["converter_automatic"]

    assert set(spreads) == {
        "total", "drained_share", "converter", "line", "pockets", "stranded", *OPENINGS,
        *COEFFICIENTS,
    }  # fmt: skip
    assert numbers(spreads["total"]) == (0.98, 1.0, 1.02)
    assert numbers(spreads["drained_share"]) == (0.95, 1.0, 1.05)
    assert spreads["pockets"] == family.pockets
    assert spreads["short_cut"] == family.short_cut
    assert numbers(spreads["sump_drained"]) == (4.065 / 9 / 0.55, 0.88, 0.95)


@pytest.mark.parametrize(
    ("drained_l", "low"), [(3.0, 0.75), (0.75 * 0.55 * 9 + 1e-6, 0.75), (4.4, 0.88)]
)
def test_a_sump_that_would_be_larger_than_it_can_be_is_not_assumed(
    drained_l: float, low: float
) -> None:
    spread = spreads_of(replace(invented.six_speed(), drained=Volume(drained_l, "L")))[
        "sump_drained"
    ]

    assert numbers(spread) == pytest.approx((low, 0.88, 0.95), abs=1e-6)


def test_what_a_family_has_not_is_not_uncertain() -> None:
    names = set(spreads_of(replace(invented.six_speed(), family="power_split_hybrid")))

    assert not names & {"converter", "line", "converter_run_back"}


def test_own_shares_and_coefficients_keep_a_quarter_of_the_familys_spread() -> None:
    own = ExchangeCoefficients(pocket_exchange=0.2, internal_return=2.0, short_cut=0.1)
    spreads = spreads_of(replace(invented.six_speed(), shares=OWN_SHARES, coefficients=own))

    assert OWN_PART == 0.25
    assert "sump_drained" not in spreads
    assert numbers(spreads["sump"]) == pytest.approx((0.5 * 23 / 24, 0.5, 0.5 * (1 + 7 / 192)))
    assert numbers(spreads["pocket_exchange"]) == pytest.approx(
        (0.2 * (1 - 0.75 / 4), 0.2, 0.2 * (1 + (0.5 / 0.12 - 1) / 4))
    )
    assert numbers(spreads["internal_return"]) == pytest.approx((2.0, 2.0, 2.25))
    assert numbers(spreads["short_cut"]) == pytest.approx((0.075, 0.1, 0.15))


def test_an_own_value_stays_within_what_is_possible() -> None:
    own = ExchangeCoefficients(pocket_exchange=0.9, internal_return=4.0, short_cut=0.3)
    spreads = spreads_of(replace(invented.six_speed(), coefficients=own))

    assert spreads["pocket_exchange"].high == 1.0
    assert "internal_return" not in spreads
    assert spreads["short_cut"].high == 0.3


def test_a_known_converter_is_as_sure_as_the_total() -> None:
    spreads = spreads_of(replace(invented.six_speed(), converter=Volume(2.8, "L")))

    assert "converter" not in spreads
    assert numbers(spreads["converter_volume"]) == (0.98, 1.0, 1.02)


def test_an_own_share_that_the_family_lacks_is_taken_as_it_is() -> None:
    transmission = replace(invented.six_speed(), family="wet_dual_clutch", shares=OWN_SHARES)

    assert "converter" not in spreads_of(transmission)
    assert unit_with(transmission, {}).circuit.converter_l == pytest.approx(2.7)


def test_a_larger_total_takes_the_drained_amount_along() -> None:
    unit = unit_with(invented.six_speed(), {"total": 1.1})

    assert unit.circuit.total_l == pytest.approx(9.9)
    assert unit.circuit.sump_l == pytest.approx(
        1.1 * unit_with(invented.six_speed(), {}).circuit.sump_l
    )


def test_a_larger_share_of_one_part_is_taken_from_the_others_outside_the_sump() -> None:
    typical, changed = (
        unit_with(invented.six_speed(), {}),
        unit_with(invented.six_speed(), {"pockets": 0.24}),
    )

    assert changed.circuit.total_l == pytest.approx(9.0)
    assert changed.circuit.pockets_l > 1.5 * typical.circuit.pockets_l
    assert changed.circuit.converter_l < typical.circuit.converter_l


def test_own_shares_are_brought_back_to_their_sum() -> None:
    transmission = replace(invented.six_speed(), shares=OWN_SHARES)

    unit = unit_with(transmission, {"sump": 0.6})

    assert unit.circuit.total_l == pytest.approx(9.0)
    assert unit.circuit.sump_l == pytest.approx(9.0 * 0.6 / 1.1)


def test_a_known_converter_is_moved_by_its_factor() -> None:
    transmission = replace(invented.six_speed(), converter=Volume(2.5, "L"))

    assert unit_with(transmission, {"converter_volume": 1.02}).circuit.converter_l == 2.55


@pytest.mark.parametrize(
    ("name", "beyond", "limit"),
    [("pocket_exchange", 1.2, 1.0), ("internal_return", 0.5, 1.0), ("internal_return", 4.5, 4.0),
     ("short_cut", 0.4, 0.3), ("short_cut", -0.1, 0.0)],
)  # fmt: skip
def test_what_is_beyond_the_possible_counts_as_its_limit(
    name: str, beyond: float, limit: float
) -> None:
    assert getattr(unit_with(invented.six_speed(), {name: beyond}).circuit, name) == limit


def test_total_and_drained_amount_stay_computable() -> None:
    large = replace(invented.six_speed(), total=Volume(500, "L"), drained=Volume(250, "L"))
    small = replace(invented.six_speed(), total=Volume(0.5, "L"), drained=Volume(0.25, "L"))
    full = replace(invented.six_speed(), drained=Volume(8.9, "L"))

    assert unit_with(large, {"total": 1.02}).circuit.total_l == pytest.approx(500)
    assert unit_with(small, {"total": 0.98}).circuit.total_l == pytest.approx(0.5)
    assert unit_with(full, {}).by_plug.sump_l <= 0.98 * 9.0


def test_a_profile_of_which_nothing_is_drained_is_refused() -> None:
    with pytest.raises(OutOfRange, match="drained"):
        unit_with(replace(invented.six_speed(), drained=Volume(0, "L")), {})
