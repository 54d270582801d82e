"""What was done to a chain of events: changed, removed, added and reordered, told apart.

An event is sealed where its own digests are those of its content, its number and the digest it
names before it. Numbers that are missing were removed; of two events with one number the sealed one
that others follow is the true one; a sealed event that the next does not name was replaced whole.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

from msgspec import ValidationError, convert

from libexchange.canonical import digest
from libexchange.record_faults import RecordFault, record_fault
from libexchange.sealing import TIED, Tie, content_digest, tie_digest


class Ends(NamedTuple):
    """What a chain must begin and end with, each None where that is not known.

    `start` is the digest before its first event, `head` the digest over the one of its last event,
    `total` how many events it has.
    """

    start: str | None
    head: str | None
    total: int | None


class _Entry(NamedTuple):
    """A tied event at its place in the list; `content` is the digest of what it holds now."""

    place: int
    tie: Tie
    content: str

    @property
    def is_own(self) -> bool:
        """Whether it holds what its content digest was made of."""
        return self.content == self.tie.content_digest

    @property
    def is_sealed(self) -> bool:
        """Whether both its digests are its own."""
        tie = self.tie
        made = tie_digest(
            number=tie.number, previous=tie.previous, content_digest=tie.content_digest
        )
        return self.is_own and made == tie.digest


def chain_faults(part: str, entries: Sequence[Any], ends: Ends) -> list[RecordFault]:
    """What differs in a chain of concealed events.

    part: its name in the record    Raises: OutOfRange for numbers that canonical JSON does not have

    >>> [one.code for one in chain_faults("events", [], Ends(start=None, head=None, total=2))]
    ['event-removed']
    """
    read = [_read(place, entry) for place, entry in enumerate(entries)]
    tied = [one for one in read if one is not None]
    last = _last(tied, ends)
    kept = _true_ones(tied, last, ends)
    places = {one.place for one in kept}
    by_number = sorted(kept, key=lambda one: one.tie.number)
    return [
        *(_added(part, place) for place in range(len(read)) if place not in places),
        *_removed(part, by_number, last),
        *_changed(part, by_number, last, ends),
        *_reordered(part, kept),
    ]


def _read(place: int, entry: Any) -> _Entry | None:
    """A tied event; None for what has no tie."""
    if not isinstance(entry, dict):
        return None
    try:
        tie = convert({name: entry.get(name) for name in TIED}, Tie)
    except ValidationError:
        return None
    return _Entry(place, tie, content_digest(entry))


def _last(tied: Iterable[_Entry], ends: Ends) -> int:
    """The number of the last event: that of the head if it is here, else as it was counted."""
    heads = [one.tie.number for one in tied if _is_head(one, ends)]
    if heads:
        return heads[0]
    if ends.total is not None:
        return ends.total
    return max((one.tie.number for one in tied), default=0)


def _is_head(one: _Entry, ends: Ends) -> bool:
    return ends.head is not None and digest(one.tie.digest) == ends.head


def _true_ones(tied: Sequence[_Entry], last: int, ends: Ends) -> list[_Entry]:
    """One event for each number of the chain, in the order of the list."""
    followed = {one.tie.previous for one in tied}
    best: dict[int, tuple[tuple[bool, bool], _Entry]] = {}
    for one in tied:
        trust = (one.is_sealed, one.tie.digest in followed or _is_head(one, ends))
        known = best.get(one.tie.number)
        if 1 <= one.tie.number <= last and (known is None or trust > known[0]):
            best[one.tie.number] = trust, one
    return sorted((one for _, one in best.values()), key=lambda one: one.place)


def _added(part: str, place: int) -> RecordFault:
    text = "The chain has no place for this event."
    return record_fault("event-added", f"/{part}/{place}", text)


def _removed(part: str, by_number: Sequence[_Entry], last: int) -> Iterator[RecordFault]:
    numbers = [0, *(one.tie.number for one in by_number), last + 1]
    places = [*(f"/{part}/{one.place}" for one in by_number), f"/{part}"]
    for (before, after), at in zip(pairwise(numbers), places, strict=True):
        missing = after - before - 1
        if missing > 0:
            which = f"{before + 1} to {after - 1}" if missing > 1 else f"{before + 1}"
            text = f"Number {which} of {last} is missing before here."
            yield record_fault("event-removed", at, text)


def _changed(
    part: str, by_number: Sequence[_Entry], last: int, ends: Ends
) -> Iterator[RecordFault]:
    if by_number and _starts_elsewhere(by_number[0], ends):
        text = "The first event does not follow what the chain starts from."
        yield record_fault("chain-differs", f"/{part}/{by_number[0].place}/previous", text)
    stated = {one.tie.content_digest for one in by_number if not one.is_own}
    after = {one.tie.number - 1: one for one in by_number if one.is_sealed}
    for one in by_number:
        is_last = one.tie.number == last and ends.head is not None
        if not one.is_own and one.content in stated:
            yield _differs("event-reordered", part, one, "holds what another event held")
        elif not one.is_sealed:
            yield _differs("event-changed", part, one, "is not what its digests were made of")
        elif is_last and not _is_head(one, ends):
            yield _differs("event-changed", part, one, "is not the one that the chain ends with")
        elif _is_passed_over(one, after.get(one.tie.number)):
            yield _differs("event-changed", part, one, "is not the one that the next one follows")


def _differs(code: str, part: str, one: _Entry, how: str) -> RecordFault:
    return record_fault(code, f"/{part}/{one.place}", f"Number {one.tie.number} {how}.")


def _is_passed_over(one: _Entry, after: _Entry | None) -> bool:
    return after is not None and after.tie.previous != one.tie.digest


def _starts_elsewhere(first: _Entry, ends: Ends) -> bool:
    begins = first.tie.number == 1 and first.is_sealed and ends.start is not None
    return begins and first.tie.previous != ends.start


def _reordered(part: str, kept: Sequence[_Entry]) -> Iterator[RecordFault]:
    """The fewest events that would have to be moved for the numbers to rise."""
    staying = _longest_rise([one.tie.number for one in kept])
    for one in kept:
        if one.tie.number not in staying:
            text = f"Number {one.tie.number} stands out of its order."
            yield record_fault("event-reordered", f"/{part}/{one.place}", text)


def _longest_rise(numbers: Sequence[int]) -> set[int]:
    """The members of a longest rising run through different numbers, gaps allowed."""
    ends: list[int] = []
    before: dict[int, int | None] = {}
    for number in numbers:
        at = bisect_left(ends, number)
        before[number] = ends[at - 1] if at else None
        ends[at : at + 1] = [number]
    run: set[int] = set()
    member = ends[-1] if ends else None
    while member is not None:
        run.add(member)
        member = before[member]
    return run
