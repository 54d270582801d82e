"""Retained samples and the legal hold as they are shown and kept."""

from datetime import date
from typing import Literal

from msgspec import Struct

from libexchange.fields import Instant, Person, PersonalText
from libexchange.quantities import Distance, Temperature, Volume

Standing = Literal["drawn", "split", "sealed", "handed_over", "destroyed"]
"""What became of a sample last; one that is split or destroyed is gone."""

GONE: tuple[Standing, ...] = ("split", "destroyed")


class HandOver(Struct, frozen=True, kw_only=True):
    """A sample went to `to`; `seal` is the number that was read then, null where nobody read it.

    given_by, reason: null where nobody said
    at: when    to: who has it now    seal_whole: whether the seal was found whole
    """

    at: Instant
    given_by: Person | None
    to: Person
    reason: PersonalText | None
    seal: str | None
    seal_whole: bool


class RetainedSample(Struct, frozen=True, kw_only=True):
    """A sample, or a part of one that was split, with all that became of it.

    drawn_from to odometer: of a part those of its whole    volume: null for a part
    taken: of used fluid, before the work or after the level was set, null where nobody said
    keep_until: the last day that was told
    holder: who has it now; who drew it until it is handed over, null where nobody said
    sample_id: its name    fluid: used or new    drawn_from: where    drawn_at: when
    drawn_by, sealed_by, destroyed_by: null where nobody said    lot: of new fluid, else null
    temperature: of the fluid then    odometer: of the vehicle then
    part_of: the whole it was split from    parts: that it was split into
    seal: number of the last one, null while unsealed    sealed_at: null while unsealed
    kept_for: whose part it is    place: where it is kept    hand_overs: oldest first
    destroyed_at, destroyed_reason: null while it is there    standing: what it is now
    """

    sample_id: str
    fluid: Literal["used", "new"]
    drawn_from: Literal["sump", "sump_unmixed", "line", "drain", "container"]
    drawn_at: Instant
    drawn_by: Person | None
    lot: str | None
    taken: Literal["before", "after"] | None
    temperature: Temperature | None
    odometer: Distance | None
    volume: Volume | None
    part_of: str | None
    parts: tuple[str, ...]
    seal: str | None
    sealed_at: Instant | None
    sealed_by: Person | None
    kept_for: Literal["workshop", "customer", "laboratory"] | None
    keep_until: date | None
    place: str | None
    holder: Person | None
    hand_overs: tuple[HandOver, ...]
    destroyed_at: Instant | None
    destroyed_by: Person | None
    destroyed_reason: PersonalText | None
    standing: Standing


class LegalHoldState(Struct, frozen=True, kw_only=True):
    """The last word on a legal hold: by whom, why, and since when it is so.

    state: whether evidence may not be destroyed, or may be again    since: when it became so
    by: who said so    reason: why
    """

    state: Literal["set", "lifted"]
    by: Person
    reason: PersonalText
    since: Instant


def is_held(hold: LegalHoldState | None) -> bool:
    """Whether a legal hold stands: one was set and has not been lifted.

    >>> is_held(None)
    False
    """
    return hold is not None and hold.state == "set"
