"""Field types that several records share: text, names, times, money."""

from datetime import datetime
from decimal import Decimal
from typing import Annotated

from msgspec import Meta, Struct

SLUG_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*(?!\n)$"
TEXT_PATTERN = r"^[^\x00-\x1f\x7f]*(?!\n)$"
TOLD_PATTERN = r"^[^\x00-\x1f\x7f]*[0-9A-Za-z\u00c0-\u1fff\u3040-\ud7ff][^\x00-\x1f\x7f]*(?!\n)$"
"""Text that tells something: a letter of whatever script, or a digit, is in it."""

Slug = Annotated[
    str, Meta(min_length=2, max_length=64, pattern=SLUG_PATTERN, examples=["invented-six-speed"])
]
"""An identifier of the catalogue: lower-case words joined by hyphens."""

Text = Annotated[str, Meta(min_length=1, max_length=200, pattern=TEXT_PATTERN)]
"""One line of text without control characters."""

LongText = Annotated[str, Meta(min_length=1, max_length=2000, pattern=TEXT_PATTERN)]
"""A remark without control characters."""

PERSONAL = Meta(extra={"personal": True})
"""Marks a text that is or may be about a person; by it `libexchange.personal` conceals it."""

Person = Annotated[str, Meta(min_length=1, max_length=200, pattern=TOLD_PATTERN), PERSONAL]
"""Who did, decided, checked or was told something; a blank is nobody."""

PersonalText = Annotated[LongText, PERSONAL]
"""Words that were typed in, which may tell of a person."""

Reason = Annotated[str, Meta(min_length=1, max_length=2000, pattern=TOLD_PATTERN), PERSONAL]
"""Why somebody did what has to be answered for; a blank is no reason."""

ERASED_PATTERN = r"\[erased [0-9a-f]{64}\]"
"""What stands in place of an erased text: its commitment, in every personal type."""

Vin = Annotated[str, Meta(pattern=rf"^([A-HJ-NPR-Z0-9]{{17}}|{ERASED_PATTERN})(?!\n)$"), PERSONAL]
"""A vehicle identification number, which leads to a person."""

RevealingDigest = Annotated[str, PERSONAL]
"""An unsalted digest over personal fields: who tries all numbers finds the one that it is of."""

Digest = Annotated[str, Meta(pattern=r"^[0-9a-f]{64}(?!\n)$", examples=["ab" * 32])]
"""A SHA-256 in small hexadecimal digits."""

Instant = Annotated[datetime, Meta(tz=True)]
"""A moment with its offset from UTC (RFC 3339)."""

Currency = Annotated[str, Meta(pattern=r"^[A-Z]{3}(?!\n)$", examples=["EUR"])]
"""An ISO 4217 currency code."""

Amount = Annotated[str, Meta(pattern=r"^-?[0-9]{1,12}(\.[0-9]{1,4})?(?!\n)$", examples=["12.50"])]
"""A decimal number as text, so that no cent is lost."""


class Money(Struct, frozen=True, forbid_unknown_fields=True):
    """An amount in a currency.

    amount: a decimal number, as text    currency: its code of three letters

    >>> Money("12.50", "EUR").decimal
    Decimal('12.50')
    """

    amount: Amount
    currency: Currency

    @property
    def decimal(self) -> Decimal:
        """The amount as an exact decimal number."""
        return Decimal(self.amount)
