"""Check the characters and the check digit of a vehicle identification number."""

from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.fields import TEXT_PATTERN
from libexchange.vin import VinAnswer, judge_vin

EXAMPLE: dict[str, Any] = {"vin": "1M8GDM9AXKP042788"}


class VinRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A number as it was read; a wrong length or character is an answer, not an error.

    vin: the number as read, up to 64 characters
    """

    vin: Annotated[str, Meta(max_length=64, pattern=TEXT_PATTERN)]


def calculate_vin(request: VinRequest) -> VinAnswer:
    """Whether the number is well-formed, and whether its check digit is right where it has one.

    Source: ISO 3779; 49 CFR 565.

    >>> calculate_vin(VinRequest(vin="1M8GDM9AXKP042788"))
    VinAnswer(well_formed=True, check_digit='matches')
    """
    return judge_vin(vin=request.vin)
