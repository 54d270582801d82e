"""From the uncertainty of single inputs to the 5 % and 95 % edges of what is calculated from them.

An input is told by three numbers: what 5 % of its kind lie below, what half lie below, and what 5 %
lie above. Between them it is normal on either side, each side with its own width, so an input may
be lopsided or have one side only. The result is taken as linear in each side of each input, with a
slope of its own on either side. Then the terms are independent and their first three cumulants add
up, and the edges follow by the Cornish-Fisher expansion. The two slopes matter: most inputs lower
the fresh share further than they raise it, and a band of one slope an input, centred on the typical
result, would be off by up to 0.02 share.
"""

from collections.abc import Iterable
from math import pi, sqrt
from typing import NamedTuple

from msgspec import Struct

from libexchange.errors import OutOfRange

EDGE_SCORE = 1.6448536269514722
"""Standard score of the 95 % edge of a normal distribution."""

_HALF_MEAN = 1 / sqrt(2 * pi)  # of a standard normal score, counted on one side only
_HALF_CUBE = sqrt(2 / pi)


class Spread(Struct, frozen=True, kw_only=True):
    """What an input may be.

    low: 5 % lie below    typical: half lie below    high: 5 % lie above
    source: where the three numbers come from
    Raises: OutOfRange unless low <= typical <= high

    >>> Spread(low=0.03, typical=0.12, high=0.5, source="memory").typical
    0.12
    """

    low: float
    typical: float
    high: float
    source: str

    def __post_init__(self) -> None:
        if not self.low <= self.typical <= self.high:
            allowed = f"{self.low:g} to {self.high:g}, low to high"
            raise OutOfRange(name="typical", value=self.typical, allowed=allowed)

    def at(self, score: float) -> float:
        """The value at a standard score, as a draw takes it.

        score: of a standard normal distribution [-]

        >>> spread = Spread(low=1.0, typical=1.0, high=1.5, source="memory")
        >>> spread.at(-2.0), spread.at(0.0), round(spread.at(EDGE_SCORE), 6)
        (1.0, 1.0, 1.5)
        """
        edge = self.high if score > 0 else self.low
        return self.typical + (edge - self.typical) * abs(score) / EDGE_SCORE


class Response(NamedTuple):
    """What the result changes by when one input goes from typical to its low or its high value."""

    at_low: float
    at_high: float


def edges(responses: Iterable[Response]) -> tuple[float, float]:
    """How far the 5 % and the 95 % edge of the result lie from its typical value.

    Both can lie on one side of it where most inputs push one way.

    responses: of independent inputs, in the unit of the result
    Returns: (5 %, 95 %) in the unit of the result, the first not above the second
    Source: Cornish and Fisher 1938, to the third cumulant.

    >>> spread = Response(at_low=-0.03, at_high=0.03), Response(at_low=0.04, at_high=-0.04)
    >>> low, high = edges(spread)
    >>> round(low, 6), round(high, 6)
    (-0.05, 0.05)
    """
    mean = variance = third = 0.0
    for response in responses:
        one = _cumulants(response)
        mean, variance, third = mean + one[0], variance + one[1], third + one[2]
    if variance <= 0:
        return mean, mean
    deviation = sqrt(variance)
    bent = third / variance * (EDGE_SCORE**2 - 1) / 6  # skewness times deviation, by the expansion
    return mean + bent - EDGE_SCORE * deviation, mean + bent + EDGE_SCORE * deviation


def _cumulants(response: Response) -> tuple[float, float, float]:
    """Mean, variance and third central moment of one term."""
    below, above = response.at_low / EDGE_SCORE, response.at_high / EDGE_SCORE
    mean = (below + above) * _HALF_MEAN
    square = (below**2 + above**2) / 2
    cube = (below**3 + above**3) * _HALF_CUBE
    return mean, square - mean**2, cube - 3 * mean * square + 2 * mean**3
