"""Texts that look as erasure leaves them are not taken from callers: they would pass for proof."""

from msgspec import Struct

from exchange_api.bodies import refusal
from libexchange.errors import Fault
from libexchange.personal import is_erased
from libexchange.personal_fields import personal_texts


def refuse_erased(record: Struct, *, under: str = "") -> None:
    """Bar a record with such texts. Raises: Problem 422 with each of them.

    under: where the record stands in what was sent

    >>> from libexchange.plan.request import Vehicle
    >>> refuse_erased(Vehicle(reference="[erased]"))
    """
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
