"""Edges of a sum of independent, perhaps lopsided terms: exact where they can be, else by draws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from libexchange.errors import OutOfRange
from libexchange.uncertainty import EDGE_SCORE, Response, Spread, edges

SCORES = np.linspace(-12, 12, 2401)  # the bend at 0 falls between two of Simpson's parabolas
DENSITY = stats.norm.pdf(SCORES)

changes = st.floats(-0.2, 0.2)
responses = st.lists(st.builds(Response, at_low=changes, at_high=changes), min_size=1, max_size=12)


def cumulants(response: Response) -> tuple[float, float, float]:
    """Mean, variance and third central moment of one term, by numerical integration."""
    term = np.where(SCORES > 0, response.at_high, -response.at_low) * SCORES / EDGE_SCORE

    def moment(power: int, centre: float) -> float:
        return float(integrate.simpson((term - centre) ** power * DENSITY, x=SCORES))

    mean = moment(1, 0.0)
    return mean, moment(2, mean), moment(3, mean)


def test_the_score_is_that_of_the_95_percent_edge() -> None:
    assert pytest.approx(stats.norm.ppf(0.95), abs=1e-15) == EDGE_SCORE


@pytest.mark.parametrize("score", [-3.0, -EDGE_SCORE, -0.5, 0.0, 0.5, EDGE_SCORE, 3.0])
def test_a_value_lies_as_far_out_as_its_score_on_its_own_side(score: float) -> None:
    spread = Spread(low=1.0, typical=2.0, high=6.0, source="memory")

    width = 4.0 if score > 0 else 1.0
    assert spread.at(score) == pytest.approx(2.0 + width * score / EDGE_SCORE, abs=1e-12)


@pytest.mark.parametrize(("low", "typical", "high"), [(0.2, 0.1, 0.3), (0.1, 0.4, 0.3)])
def test_a_spread_out_of_order_is_refused(low: float, typical: float, high: float) -> None:
    with pytest.raises(OutOfRange, match="typical"):
        Spread(low=low, typical=typical, high=high, source="memory")


def test_a_spread_may_have_one_side_or_none() -> None:
    assert Spread(low=1.0, typical=1.0, high=1.5, source="memory").at(-1.0) == 1.0
    assert Spread(low=1.0, typical=1.0, high=1.0, source="memory").at(2.0) == 1.0


def test_no_input_and_inputs_without_effect_leave_no_band() -> None:
    assert edges([]) == (0.0, 0.0)
    assert edges([Response(at_low=0.0, at_high=0.0)]) == (0.0, 0.0)


def test_one_even_input_has_its_own_edges() -> None:
    assert edges([Response(at_low=-0.03, at_high=0.03)]) == pytest.approx((-0.03, 0.03))
    assert edges([Response(at_low=0.03, at_high=-0.03)]) == pytest.approx((-0.03, 0.03))


def test_even_inputs_add_up_by_their_squares() -> None:
    even = [Response(at_low=-0.03, at_high=0.03), Response(at_low=-0.04, at_high=0.04)]

    assert edges(even) == pytest.approx((-0.05, 0.05))


@given(responses)
def test_the_edges_are_those_of_the_first_three_cumulants(given_responses: list[Response]) -> None:
    low, high = edges(given_responses)

    mean, variance, third = np.sum([cumulants(one) for one in given_responses], axis=0)
    deviation = np.sqrt(variance)
    skewness = third / deviation**3 if deviation > 1e-9 else 0.0
    bent = skewness * (EDGE_SCORE**2 - 1) / 6
    assert low == pytest.approx(mean + deviation * (bent - EDGE_SCORE), abs=1e-6)
    assert high == pytest.approx(mean + deviation * (bent + EDGE_SCORE), abs=1e-6)


@given(responses)
def test_turning_every_change_round_turns_the_edges_round(given_responses: list[Response]) -> None:
    low, high = edges(given_responses)
    turned = [Response(at_low=-one.at_low, at_high=-one.at_high) for one in given_responses]

    assert edges(turned) == pytest.approx((-high, -low), abs=1e-12)


def test_lopsided_inputs_agree_with_draws() -> None:
    lopsided = [Response(-0.01 * n, -0.03) for n in range(3)] + [Response(-0.02, 0.05)]
    scores = np.random.default_rng(7).standard_normal((200_000, len(lopsided))) / EDGE_SCORE
    low_side, high_side = np.array(lopsided).T
    draws = np.where(scores > 0, high_side * scores, -low_side * scores).sum(axis=1)

    assert edges(lopsided) == pytest.approx(np.quantile(draws, [0.05, 0.95]), abs=0.002)
