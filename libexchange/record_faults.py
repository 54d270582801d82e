"""What can differ in a record that is checked. Nothing here repeats a personal text."""

from typing import Any

from msgspec import Struct

REMEDIES = {
    "too-large": "Send the document alone, as it was handed over.",
    "not-json": "Take the document as it was handed over.",
    "duplicate-name": "Take the document as it was handed over; no two readers agree on this one.",
    "not-a-record": "Take the record of a job, signed or as JSON.",
    "not-canonical": "Take the document as it was handed over, without new spaces or order.",
    "unprotected-member": "Leave out what nobody has signed.",
    "critical-header": "Take a document signed without extensions.",
    "alg-not-allowed": "Take a document signed with EdDSA; nothing else is trusted.",
    "keys-not-readable": "Take the public keys as the service serves them.",
    "unknown-key": "Take the public keys of whoever signed, old ones included, from where they are "
    "published.",
    "signature-differs": "Do not rely on it: what is here is not what was signed.",
    "payload-not-canonical": "Take the document as it was handed over.",
    "record-digest-differs": "Do not rely on it: compare it with the record as it was closed.",
    "other-digest": "Ask for the record that goes with the digest, or which of both was handed "
    "over.",
    "part-changed": "Compare this part with the record as it was closed.",
    "part-added": "Ask where this part comes from.",
    "part-removed": "Ask for the record with this part.",
    "event-changed": "Compare this event with the record as it was closed.",
    "event-removed": "Ask for the events that are missing.",
    "event-added": "Ask where this event comes from.",
    "event-reordered": "Order the events by their numbers.",
    "chain-differs": "Compare plan and events with the record as it was closed.",
    "disclosure-differs": "Take the personal texts and salts that came with the record.",
}
"""Every code of a fault, with what to do about it."""


class RecordFault(Struct, frozen=True, kw_only=True):
    """One thing that differs in a record, told apart by its code.

    `pointer` leads into the record, or to `header`, `protected`, `payload` and `signature` of the
    document around it.
    """

    code: str
    pointer: str
    detail: str
    remedy: str


class Refused(Exception):
    """What is checked cannot be read any further; `faults` say why."""

    def __init__(self, *faults: RecordFault) -> None:
        super().__init__("; ".join(f"{one.pointer}: {one.detail}" for one in faults))
        self.faults = faults


def record_fault(code: str, pointer: str, detail: str) -> RecordFault:
    """A fault with the remedy of its code.

    >>> record_fault("event-added", "/events/3", "It is not of this chain.").remedy
    'Ask where this event comes from.'
    """
    return RecordFault(code=code, pointer=pointer, detail=detail, remedy=REMEDIES[code])


def differing(
    code: str, pointer: str, detail: str, *, expected: Any, found: Any
) -> list[RecordFault]:
    """A fault unless what was found is what was expected."""
    return [] if found == expected else [record_fault(code, pointer, detail)]
