"""Litres and shares as a job tells them; what is decided is decided before, by the exact ones."""

from typing import TypeVar

from msgspec import Struct
from msgspec.structs import asdict, replace

from libexchange.quantities import Volume, VolumeChange

LITRE_DIGITS = 3
"""To the millilitre, which no meter of a bay tells."""

SHARE_DIGITS = 6

Part = TypeVar("Part", bound=Struct | None)


def rounded(part: Part) -> Part:
    """A part of a job with its litres and shares rounded; null stays null.

    >>> from libexchange.job.share import ReachedShare
    >>> share = ReachedShare(low=0.7, expected=0.79646276427, high=0.83,
    ...                      exchanged_15=Volume(3.9951750274692186, "L"),
    ...                      refilled_15=Volume(4.4, "L"), basis="calculated")
    >>> rounded(share).expected, rounded(share).exchanged_15
    (0.796463, Volume(value=3.995, unit='L'))
    """
    if part is None:
        return part
    return replace(part, **{name: _rounded(value) for name, value in asdict(part).items()})


def _rounded(value: object) -> object:
    match value:
        case Volume(unit="L") | VolumeChange(unit="L"):
            return replace(value, value=_without_sign(round(value.value, LITRE_DIGITS)))
        case float():
            return _without_sign(round(value, SHARE_DIGITS))
    return value


def _without_sign(number: float) -> float:
    """A nothing that was a little below has no sign."""
    return number or 0.0
