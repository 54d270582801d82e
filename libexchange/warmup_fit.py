"""What readings tell of a warming or cooling unit, and when it will meet a temperature.

The readings are fitted by least squares with T = settled + a exp(-t / time constant). For a given
time constant that is a straight line in exp(-t / time constant), so only the time constant is
searched for. An interval holds whatever leaves the sum of squares within Student's t of the best
(profile likelihood); for the time at which a temperature is met that is Fieller's interval at every
time constant that the readings allow. Errors of readings are taken as independent.

Source: Golub and Pereyra 1973 (variable projection); Fieller 1954; Seber and Wild, Nonlinear
Regression (profile intervals).
"""

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from math import exp, fsum, inf, log, sqrt
from typing import NamedTuple

from msgspec import Struct

from libexchange.errors import OutOfRange
from libexchange.warmup import Approach, check_temperature

LEAST_READINGS = 6
LEAST_NOISE_K = 0.1
"""A reading is not taken to be better than this, however well the readings agree [K]."""

FASTEST, SLOWEST = 1 / 50, 1000.0
"""Time constants that are searched, in units of the time that the readings span."""

SURELY = 2.0
"""A jump and a straight line must miss the readings by this many times Student's t, else the time
constant is not told: a curve that chance alone may have drawn would tell it wrongly."""

GRID, WITHIN, HALVINGS = 96, 48, 50
GOLDEN = (sqrt(5) - 1) / 2
Z_95 = 1.6448536269514722


class Moment(NamedTuple):
    """A temperature at a time; the time may start anywhere."""

    seconds: float
    celsius: float


class Interval(Struct, frozen=True, kw_only=True):
    """A value with the limits of its 90 % interval."""

    low: float
    expected: float
    high: float


class ApproachFit(Struct, frozen=True, kw_only=True):
    """What readings tell: where the temperature settles [degC], and how fast [s].

    Both are null where the readings do not tell them apart, as in the nearly straight beginning of
    a warm-up, or on a temperature that hardly changes. `noise_k` is the scatter of a reading [K].
    """

    settled: Interval | None
    time_constant: Interval | None
    noise_k: float

    @property
    def approach(self) -> Approach | None:
        """The fitted approach, null where it cannot be told."""
        if self.settled is None or self.time_constant is None:
            return None
        return Approach(
            settled_c=self.settled.expected, time_constant_s=self.time_constant.expected
        )


class Meeting(Struct, frozen=True, kw_only=True):
    """When a temperature is met, in seconds after the last reading, with its 90 % interval.

    expected_s: null when the best curve does not meet it from here on
    earliest_s: null when no curve that fits does    latest_s: null when some such curve does not
    """

    expected_s: float | None
    earliest_s: float | None
    latest_s: float | None


def fit_approach(readings: Sequence[Moment]) -> ApproachFit:
    """Settled temperature and time constant from readings, or that they cannot be told.

    readings: at 6 times or more, in any order, duplicates count once [s, -273.15 to 2,000 degC]
    Raises: OutOfRange    Source: least squares, see the module.

    >>> standing = [Moment(600.0 * n, 20 + 60 * exp(-600 * n / 4200)) for n in range(20)]
    >>> fit = fit_approach(standing)
    >>> round(fit.settled.expected, 3), round(fit.time_constant.expected, 1)
    (20.0, 4200.0)
    >>> fit_approach([Moment(10.0 * n, 40 + 0.3 * n) for n in range(12)]).settled is None
    True
    """
    search = _search(tuple(readings))
    noise_k = sqrt(search.variance)
    if search.untold:
        return ApproachFit(settled=None, time_constant=None, noise_k=noise_k)
    settled = [_settled(line, search) for line in search.allowed]
    taus = [line.tau_s for line in search.allowed]
    return ApproachFit(
        settled=Interval(
            low=min(low for low, _ in settled),
            expected=search.best.at(0.0),
            high=max(high for _, high in settled),
        ),
        time_constant=Interval(low=min(taus), expected=search.best.tau_s, high=max(taus)),
        noise_k=noise_k,
    )


def predict_meeting(readings: Sequence[Moment], *, target_c: float) -> Meeting:
    """When the readings say that a temperature will be met, with an interval.

    It needs no settled temperature: the near future can be told where the far one cannot.

    readings: as `fit_approach`    target_c: any [degC]
    Raises: OutOfRange    Source: Fieller's interval, see the module.

    >>> warming = [Moment(30.0 * n, 68 - 48 * exp(-30 * n / 4350)) for n in range(21)]
    >>> meeting = predict_meeting(warming, target_c=30)
    >>> round(meeting.expected_s), meeting.earliest_s < meeting.expected_s < meeting.latest_s
    (416, True)
    """
    search = _search(tuple(readings))
    found = [_met_within(line, search, target_c) for line in search.allowed]
    pieces = [piece for within, _ in found for piece in within]
    always = all(surely for _, surely in found)
    return Meeting(
        expected_s=_expected_s(search, target_c),
        earliest_s=min((early for early, _ in pieces), default=None),
        latest_s=max(late for _, late in pieces) if always else None,
    )


def student_t_95(degrees: int) -> float:
    """The 95 % quantile of Student's t, so that both tails leave 90 %.

    degrees: of freedom, from 3 [-]    Returns: within 0.3 % [-]
    Source: Abramowitz and Stegun 26.7.5.

    >>> round(student_t_95(10), 3)
    1.812
    """
    z, n = Z_95, degrees
    return (
        z
        + (z**3 + z) / (4 * n)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * n**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * n**3)
    )


class _Line(NamedTuple):
    """The straight line through the readings over x = exp(-t / tau), and what it leaves over."""

    tau_s: float
    mean_x: float
    mean_c: float
    spread: float
    slope: float
    squares: float

    def at(self, x: float) -> float:
        return self.mean_c + self.slope * (x - self.mean_x)


class _Search(NamedTuple):
    """The best line, the lines that the readings allow, and whether they tell the time constant."""

    best: _Line
    allowed: list[_Line]
    limit: float
    variance: float
    readings: int
    span_s: float
    untold: bool


@lru_cache(maxsize=32)  # a forecast of several temperatures asks for the same search again
def _search(readings: tuple[Moment, ...]) -> _Search:
    moments = sorted(set(readings))
    times_s = {moment.seconds for moment in moments}
    if len(times_s) < LEAST_READINGS:
        raise OutOfRange(name="readings", value=len(times_s), allowed="at least 6 times")
    for moment in moments:
        check_temperature(readings=moment.celsius)
    shifted = [Moment(m.seconds - moments[0].seconds, m.celsius) for m in moments]
    span_s = shifted[-1].seconds
    grid = [_line(shifted, tau_s) for tau_s in _spaced(FASTEST * span_s, SLOWEST * span_s, GRID)]
    best = _refined(shifted, grid)
    degrees = len(moments) - 3
    variance = max(best.squares / degrees, LEAST_NOISE_K**2)
    room = student_t_95(degrees) ** 2 * variance
    allowed = _allowed(shifted, grid, best, best.squares + room)
    ends = min(grid[0].squares, grid[-1].squares) - best.squares
    untold = ends <= SURELY**2 * room
    return _Search(best, allowed, best.squares + room, variance, len(moments), span_s, untold)


def _line(moments: Sequence[Moment], tau_s: float) -> _Line:
    xs = [exp(-moment.seconds / tau_s) for moment in moments]
    mean_x = fsum(xs) / len(xs)
    mean_c = fsum(moment.celsius for moment in moments) / len(xs)
    spread = fsum((x - mean_x) ** 2 for x in xs)
    pairs = [(x - mean_x, m.celsius - mean_c) for x, m in zip(xs, moments, strict=True)]
    slope = fsum(x * c for x, c in pairs) / spread
    squares = fsum((c - slope * x) ** 2 for x, c in pairs)
    return _Line(tau_s, mean_x, mean_c, spread, slope, squares)


def _spaced(low: float, high: float, count: int) -> Iterator[float]:
    return (low * (high / low) ** (step / (count - 1)) for step in range(count))


def _refined(moments: Sequence[Moment], grid: Sequence[_Line]) -> _Line:
    """The least squares between the neighbours of the best of the grid, by golden section."""
    at = min(range(len(grid)), key=lambda n: grid[n].squares)
    low, high = log(grid[max(at - 1, 0)].tau_s), log(grid[min(at + 1, len(grid) - 1)].tau_s)
    best = grid[at]
    for _ in range(HALVINGS):
        step = GOLDEN * (high - low)
        left, right = _line(moments, exp(high - step)), _line(moments, exp(low + step))
        low, high = (low, low + step) if left.squares < right.squares else (high - step, high)
        best = min(best, left, right, key=lambda line: line.squares)
    return best


def _allowed(
    moments: Sequence[Moment], grid: Sequence[_Line], best: _Line, limit: float
) -> list[_Line]:
    """Lines over the range of time constants within the limit."""
    good = [line.tau_s for line in grid if line.squares <= limit]
    low_s, high_s = min([*good, best.tau_s]), max([*good, best.tau_s])
    below = max((line.tau_s for line in grid if line.tau_s < low_s), default=None)
    above = min((line.tau_s for line in grid if line.tau_s > high_s), default=None)

    def fits(tau_s: float) -> bool:
        return _line(moments, tau_s).squares <= limit

    low_s = low_s if below is None else _edge(fits, low_s, below)
    high_s = high_s if above is None else _edge(fits, high_s, above)
    return [best, *(_line(moments, tau_s) for tau_s in _spaced(low_s, high_s, WITHIN))]


def _edge(fits: Callable[[float], bool], inside: float, outside: float) -> float:
    """The last value that fits, by halving between one that does and one that does not."""
    for _ in range(HALVINGS // 2):
        middle = sqrt(inside * outside)
        inside, outside = (middle, outside) if fits(middle) else (inside, middle)
    return inside


def _settled(line: _Line, search: _Search) -> tuple[float, float]:
    room = max(search.limit - line.squares, 0.0)
    half = sqrt(room * (1 / search.readings + line.mean_x**2 / line.spread))
    return line.at(0.0) - half, line.at(0.0) + half


def _met_within(
    line: _Line, search: _Search, target_c: float
) -> tuple[list[tuple[float, float]], bool]:
    """Earliest and latest meeting for one time constant; whether all curves within it meet."""
    pieces, surely = [], True
    for low_x, high_x in _fieller(line, search, target_c):
        surely = surely and low_x > 0 and high_x <= 1
        if low_x < 1 and high_x > 0:
            late_x, early_x = max(low_x, 0.0), min(high_x, 1.0)
            pieces.append((_seconds(line, search, early_x), _seconds(line, search, late_x)))
    return pieces, surely


def _fieller(line: _Line, search: _Search, target_c: float) -> list[tuple[float, float]]:
    """Where the line may be at the target: (slope u - d)^2 <= room (1/n + u^2/spread)."""
    room = max(search.limit - line.squares, 0.0)
    d = target_c - line.mean_c
    a = line.slope**2 - room / line.spread
    root = (line.slope * d) ** 2 - a * (d**2 - room / search.readings)
    if a <= 0 and (root < 0 or a == 0):
        return [(-inf, inf)]
    ends = sorted((line.slope * d + sign * sqrt(max(root, 0.0))) / a for sign in (-1, 1))
    low_x, high_x = line.mean_x + ends[0], line.mean_x + ends[1]
    return [(low_x, high_x)] if a > 0 else [(-inf, low_x), (high_x, inf)]


def _expected_s(search: _Search, target_c: float) -> float | None:
    line = search.best
    if line.slope == 0:
        return None
    x = line.mean_x + (target_c - line.mean_c) / line.slope
    return _seconds(line, search, x) if 0 < x <= 1 else None


def _seconds(line: _Line, search: _Search, x: float) -> float:
    return max(-line.tau_s * log(x) - search.span_s, 0.0) if x > 0 else inf
