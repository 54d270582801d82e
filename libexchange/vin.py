"""The vehicle identification number: its alphabet and its check digit.

The check digit is law in North America. Elsewhere the ninth place is the maker's own, so that a
number from there which does not satisfy the rule is not wrong.
"""

from typing import Literal

from msgspec import Struct

from libexchange.errors import Fault, InvalidInput

CheckDigit = Literal["matches", "differs", "not_applicable"]
"""`differs` is said only where the rule binds the maker."""

VALUES = {
    **{str(digit): digit for digit in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7,
    "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}
"""What each of the 33 characters counts: all digits, and all letters but I, O and Q."""

WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
"""What each place counts; the ninth, which holds the check digit itself, counts nothing."""

CHECK_PLACE = 8
NORTH_AMERICA = frozenset("12345")


class VinAnswer(Struct, frozen=True, kw_only=True):
    """Whether a number can be one at all, and what its ninth place says.

    well_formed: length and alphabet    check_digit: right, wrong, or outside the rule's reach
    """

    well_formed: bool
    check_digit: CheckDigit


_NOT_WELL_FORMED = Fault(  # without the number itself, which is personal
    pointer="/vin",
    code="not-well-formed",
    detail="not a vehicle identification number",
    allowed="17 digits and letters, but not I, O and Q",
    remedy="Read it again from the vehicle.",
)


def is_well_formed(*, vin: str) -> bool:
    """Whether it has 17 characters of the alphabet; small letters count as capitals.

    vin: any text; nothing is trimmed or mended [-]
    Source: ISO 3779; 49 CFR 565.

    >>> is_well_formed(vin="1G4AH59H45G118341"), is_well_formed(vin="1G4AH59H45O118341")
    (True, False)
    """
    capitals = _capitals(vin)
    return len(capitals) == len(WEIGHTS) and all(character in VALUES for character in capitals)


def weighted_sum(*, vin: str) -> int:
    """Sum over the places of what the character counts times what the place counts.

    vin: well-formed [-]    Returns: sum [-]
    Raises: InvalidInput for a number that is not well-formed    Source: 49 CFR 565.15(c).

    >>> weighted_sum(vin="1G4AH59H45G118341")
    411
    """
    if not is_well_formed(vin=vin):
        raise InvalidInput(_NOT_WELL_FORMED)
    pairs = zip(_capitals(vin), WEIGHTS, strict=True)
    return sum(VALUES[character] * weight for character, weight in pairs)


def check_digit(*, vin: str) -> str:
    """The character that the rule puts in the ninth place: the sum modulo 11, X for 10.

    vin: well-formed, its own ninth place is not looked at [-]    Returns: 0 to 9 or X
    Raises: InvalidInput for a number that is not well-formed    Source: 49 CFR 565.15(c).

    >>> check_digit(vin="1M8GDM9AXKP042788")
    'X'
    """
    return "0123456789X"[weighted_sum(vin=vin) % 11]


def judge_vin(*, vin: str) -> VinAnswer:
    """Whether a number is well-formed and what its check digit says.

    `matches` is said of any number that satisfies the rule, for units built elsewhere for North
    America carry the digit too. A number that does not is said to differ only if its first
    character is 1 to 5, North America; elsewhere the rule binds nobody, and one that is not
    well-formed has no check digit. A match does not prove a number right: letters and digits that
    count alike may be swapped unseen.

    vin: any text [-]    Source: 49 CFR 565; ISO 3779; ISO 3780 for the first character.

    >>> judge_vin(vin="ZZZ00000000000017").check_digit
    'not_applicable'
    """
    if not is_well_formed(vin=vin):
        return VinAnswer(well_formed=False, check_digit="not_applicable")
    capitals = _capitals(vin)
    if capitals[CHECK_PLACE] == check_digit(vin=vin):
        return VinAnswer(well_formed=True, check_digit="matches")
    bound = capitals[0] in NORTH_AMERICA
    return VinAnswer(well_formed=True, check_digit="differs" if bound else "not_applicable")


def _capitals(vin: str) -> str:
    """Capitals of plain letters only: some other letters turn into plain ones, or into two."""
    return vin.upper() if vin.isascii() else vin
