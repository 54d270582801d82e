"""Texts that look as erasure leaves them are not taken from callers: they would pass for proof."""

from msgspec import Struct

from exchange_api.bodies import refusal
from libexchange.errors import Fault
from libexchange.personal import is_erased
from libexchange.personal_fields import personal_texts

_BEGINNING = b"[erased "
"""Of every text that erasure leaves; JSON writes it as it is."""


def refuse_erased(record: Struct, *, under: str = "", written: bytes | None = None) -> None:
    """Bar a record with such texts. Raises: Problem 422 with each of them.

    under: where the record stands in what was sent
    written: the record as JSON where that is at hand, which is quicker to look through

    >>> from libexchange.plan.request import Vehicle
    >>> refuse_erased(Vehicle(reference="[erased]"))
    """
    if written is not None and _BEGINNING not in written:
        return
    found = [pointer for pointer, text in personal_texts(record) if is_erased(text)]
    if found:
        raise refusal([_looks_erased(under + pointer) for pointer in found])


def _looks_erased(pointer: str) -> Fault:
    return Fault(
        pointer=pointer,
        code="looks-erased",
        detail="it reads like what is left of an erased text",
        allowed="any other text",
        remedy="Write what is true, or leave it out.",
    )
