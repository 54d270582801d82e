"""What ties a concealed record together: a digest of each part, a chain through its events.

Everything here works on plain JSON values, so that a record can be checked whatever version of the
library made it.
"""

from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import Any

from msgspec import Struct

from libexchange.canonical import digest
from libexchange.fields import Digest

TIED = ("number", "previous", "content_digest", "digest")
"""The members of a chained event that tie it; the others are its content."""

CHAINS = ("events", "late_events")
"""The parts of a record that are chains."""

APART = frozenset({"digest", "parts", *CHAINS})
"""The parts of a record that have no digest of their own."""


class Tie(Struct, frozen=True, kw_only=True):
    """The place of an event in its chain: `previous` is the digest of the one before it."""

    number: int
    previous: Digest
    content_digest: Digest
    digest: Digest


def tie_digest(*, number: int, previous: str, content_digest: str) -> str:
    """The digest that ties an event to the one before it.

    SHA-256 over its number, the digest before it and that of its content, joined by line feeds.

    number: from 1 on [-]    previous: for the first event, what the chain starts from
    Source: FIPS 180-4.

    >>> tie_digest(number=1, previous="ab" * 32, content_digest="cd" * 32)[:8]
    'b2535814'
    """
    return sha256(f"{number}\n{previous}\n{content_digest}".encode()).hexdigest()


def content_digest(entry: Mapping[str, Any]) -> str:
    """The SHA-256 of what a concealed entry holds beside its tie, in canonical form.

    Raises: OutOfRange for numbers that canonical JSON does not have

    >>> content_digest({"device_id": "a", "number": 1}) == content_digest({"device_id": "a"})
    True
    """
    return digest({name: value for name, value in entry.items() if name not in TIED})


def ties(start: str, entries: Iterable[Mapping[str, Any]]) -> list[Tie]:
    """The tie of each concealed entry, in their order.

    start: what the chain starts from

    >>> [one.number for one in ties("ab" * 32, [{"device_id": "a"}, {"device_id": "b"}])]
    [1, 2]
    """
    tied: list[Tie] = []
    for number, entry in enumerate(entries, 1):
        previous = tied[-1].digest if tied else start
        content = content_digest(entry)
        of = tie_digest(number=number, previous=previous, content_digest=content)
        tied.append(Tie(number=number, previous=previous, content_digest=content, digest=of))
    return tied


def parts_of(form: Mapping[str, Any]) -> dict[str, str]:
    """The digest of each part of a concealed record but its chains.

    Raises: OutOfRange for numbers that canonical JSON does not have

    >>> list(parts_of({"digest": "", "events": [], "job_id": "1"}))
    ['job_id']
    """
    return {name: digest(part) for name, part in form.items() if name not in APART}


def record_digest(form: Mapping[str, Any]) -> str:
    """The SHA-256 of a concealed record without its own digest, in the canonical form.

    Raises: OutOfRange for numbers that canonical JSON does not have
    Source: RFC 8785, FIPS 180-4.

    >>> record_digest({"job_id": "1", "digest": "ab"}) == record_digest({"job_id": "1"})
    True
    """
    return digest(form, without=("digest",))
