"""A plain record as it was signed: its personal texts replaced where they are said to stand.

Places in a chain are found by the number that an event bears, not by where it lies now, so that one
event that was removed, added or moved does not hide what became of the others.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from libexchange.errors import InvalidInput
from libexchange.personal import Disclosure, PersonalPlaces, conceal_at
from libexchange.record_faults import RecordFault
from libexchange.verification_envelope import as_refused

_IN_CHAIN = re.compile(r"/(events|late_events)/(0|[1-9]\d{0,8})(/.*)")


def concealed_plain(
    members: dict[str, Any], places: Iterable[PersonalPlaces]
) -> tuple[set[Disclosure], list[RecordFault]]:
    """What was disclosed in a plain record, whose texts are replaced in place, and what is astray.

    >>> concealed_plain({"by": "invented"}, [PersonalPlaces(salt="ab" * 32, pointers=("/by",))])[1]
    []
    """
    numbered = _numbered(members)
    disclosures: set[Disclosure] = set()
    faults: list[RecordFault] = []
    for one in places:
        for pointer in (there for told in one.pointers for there in _places(told, numbered)):
            try:
                hidden = conceal_at(members, [PersonalPlaces(salt=one.salt, pointers=(pointer,))])
                disclosures.update(hidden.disclosures)
            except InvalidInput as invalid:
                faults += as_refused(invalid).faults
    return disclosures, faults


_Numbered = dict[tuple[str, int], list[int]]


def _numbered(members: dict[str, Any]) -> _Numbered:
    """Where the events of each number lie, by chain."""
    found: defaultdict[tuple[str, int], list[int]] = defaultdict(list)
    for chain in ("events", "late_events"):
        entries = members.get(chain)
        for place, entry in enumerate(entries if isinstance(entries, list) else ()):
            number = entry.get("number") if isinstance(entry, dict) else None
            if isinstance(number, int):
                found[chain, number].append(place)
    return found


def _places(pointer: str, numbered: _Numbered) -> Iterator[str]:
    """Where what a pointer led to lies now; nowhere where its event is gone."""
    told = _IN_CHAIN.fullmatch(pointer)
    if told is None:
        yield pointer
        return
    chain, place, rest = told.groups()
    for now in numbered.get((chain, int(place) + 1), ()):
        yield f"/{chain}/{now}{rest}"
