"""The ISO 4406 code of how many particles a fluid carries."""

from bisect import bisect_left

from libexchange.errors import check_range

UPPER_LIMITS_PER_ML = (
    0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64, 1.3, 2.5, 5.0, 10.0, 20.0, 40.0, 80.0, 160.0, 320.0,
    640.0, 1300.0, 2500.0, 5000.0, 10000.0, 20000.0, 40000.0, 80000.0, 160000.0, 320000.0,
    640000.0, 1300000.0, 2500000.0,
)  # fmt: skip
"""The most particles per mL of scale numbers 0 to 28: doubling, but rounded by the standard."""

FEWEST_COUNTED = 20
MOST_PER_ML = 1e9


def scale_number(*, per_ml: float) -> int:
    """Scale number of a particle count: more than the limit below, up to and including its own.

    per_ml: particles of a size and larger, 0 to 1,000,000,000 [1/mL]
    Returns: 0 to 28, and 29 for "more than 28" [-]    Raises: OutOfRange
    Source: ISO 4406, table of scale numbers.

    >>> scale_number(per_ml=1300), scale_number(per_ml=1305)
    (17, 18)
    """
    check_range(name="per_ml", value=per_ml, low=0, high=MOST_PER_ML, unit="1/mL")
    return bisect_left(UPPER_LIMITS_PER_ML, per_ml)


def scale_limits_per_ml(*, scale: int) -> tuple[float, float]:
    """Particle counts of a scale number: more than the first, up to and including the second.

    scale: 0 to 28 [-]    Returns: [1/mL]    Raises: OutOfRange    Source: ISO 4406.

    >>> scale_limits_per_ml(scale=17)
    (640.0, 1300.0)
    """
    check_range(name="scale", value=scale, low=0, high=len(UPPER_LIMITS_PER_ML) - 1)
    below = UPPER_LIMITS_PER_ML[scale - 1] if scale else 0.0
    return below, UPPER_LIMITS_PER_ML[scale]


def cleanliness_code(*, per_ml: tuple[float, float, float], counted_ml: float | None = None) -> str:
    """The ISO 4406 code, such as 19/16/10, of counts at 4, 6 and 14 um(c) and larger.

    A number that rests on fewer than 20 counted particles is marked with >=, for the count is too
    small to be sure of; without the counted volume nothing is marked.

    per_ml: 0 to 1,000,000,000 each [1/mL]
    counted_ml: fluid in which particles were counted, above 0 to 100,000 [mL]
    Returns: three scale numbers, >28 above the table    Raises: OutOfRange    Source: ISO 4406.

    >>> cleanliness_code(per_ml=(3000, 500, 7))
    '19/16/10'
    >>> cleanliness_code(per_ml=(160, 40, 0.6), counted_ml=25)
    '14/12/>=6'
    """
    if counted_ml is not None:
        check_range(name="counted_ml", value=counted_ml, low=1e-6, high=1e5, unit="mL")
    return "/".join(_marked(count, counted_ml) for count in per_ml)


def _marked(per_ml: float, counted_ml: float | None) -> str:
    scale = scale_number(per_ml=per_ml)
    if scale == len(UPPER_LIMITS_PER_ML):
        return f">{scale - 1}"
    few = counted_ml is not None and per_ml * counted_ml < FEWEST_COUNTED
    return f">={scale}" if few else str(scale)
