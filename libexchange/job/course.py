"""The course of a job beside its steps: pauses, ends, overrides, what came to light later."""

from collections.abc import Iterable, Iterator
from itertools import chain, zip_longest
from typing import Literal
from uuid import UUID

from msgspec import Struct

from libexchange.fields import Instant, Person, PersonalText
from libexchange.findings import Severity
from libexchange.job.course_events import FluidIn
from libexchange.job.events import (
    Aborted,
    FindingOverridden,
    LateFinding,
    MadeSafe,
    Paused,
    Resumed,
    Voided,
)
from libexchange.job.history import History
from libexchange.job.somebody_else import same_person


class Pause(Struct, frozen=True, kw_only=True):
    """A pause: `held_by` answers for the vehicle; `resumed_at` is null while it lasts.

    paused_at: when    next_action: to begin with    fluid_in: as whoever paused tells
    reason: null where none was told    resumed_by: null while it lasts
    """

    paused_at: Instant
    next_action: PersonalText
    fluid_in: FluidIn
    held_by: Person
    reason: PersonalText | None
    resumed_at: Instant | None
    resumed_by: Person | None


class Ended(Struct, frozen=True, kw_only=True):
    """How the job ended before its plan was through.

    kind: aborted, or voided as opened in error    at: when    by: who    reason: why
    """

    kind: Literal["aborted", "voided"]
    at: Instant
    by: Person
    reason: PersonalText


class Secured(Struct, frozen=True, kw_only=True):
    """The vehicle was made safe, as the one who did it tells.

    at: when    by: who    fluid_in: how much is in    vehicle: what it may do
    """

    at: Instant
    by: Person
    fluid_in: FluidIn
    vehicle: Literal["drive", "tow", "stays_here"]


class Overridden(Struct, frozen=True, kw_only=True):
    """Someone answered for going on against a stop.

    `allowed` is false where nobody may, where the same person acknowledged it, and where the stop
    had not been found yet.

    code: of the stop    by: who answers    reason: why    at: when
    acknowledged_by: the customer or somebody else who agreed
    """

    code: str
    by: Person
    reason: PersonalText
    acknowledged_by: Person
    at: Instant
    allowed: bool


class FoundLater(Struct, frozen=True, kw_only=True):
    """What came to light afterwards; before the close it counts, later it stands beside it.

    at: when it was told    source: where from    severity: as told    text: in words
    about: the late events that it deals with
    """

    at: Instant
    source: Literal["laboratory", "customer", "lot_recall", "leak", "inspection"]
    severity: Severity
    text: PersonalText
    about: tuple[UUID, ...]


NEVER_OVERRIDDEN = frozenset(
    {
        "arrived-with-other-fluid",
        "balance-not-closed",
        "bench-checks-disagree",
        "coolant-in-fluid",
        "coolant-metal-high",
        "crackle-test-shows-water",
        "drive-without-known-level",
        "equipment-not-purged",
        "finished-before-last-opening",
        "fluid-not-told",
        "fluid-opened-of-other-kind",
        "glycol-in-sample",
        "glycol-strip-positive",
        "high-voltage-not-acknowledged",
        "high-voltage-opened-unqualified",
        "job-aborted",
        "job-voided",
        "leak-found",
        "leak-not-checked",
        "level-looked-at-by-stuck-sensor",
        "level-not-known",
        "level-not-looked-at-after-leak",
        "level-not-set",
        "litres-not-recorded",
        "make-safe-missing",
        "more-ran-out-than-was-over",
        "moved-litres-unbelievable",
        "no-sound-baseline",
        "opening-too-hot",
        "stop-taken-back-alone",
        "test-drive-missing",
        "unit-without-drive",
        "used-fluid-milky",
        "used-fluid-smells-foreign",
        "vehicle-may-not-drive",
        "voided-with-work-done",
        "water-content-high",
        "work-not-finished",
        "work-without-feasible-plan",
    }
)
"""Codes for which nobody may answer: coolant, another fluid, no drive, an unknown level, what was
not made safe, and the checks that cannot be skipped (common practice)."""


def pauses_of(history: History) -> tuple[Pause, ...]:
    """Every pause; one that begins while another lasts takes its place."""
    told = [event for event in history.in_force if isinstance(event, Paused | Resumed)]
    return tuple(
        Pause(
            paused_at=event.occurred_at,
            next_action=event.next_action,
            fluid_in=event.fluid_in,
            held_by=event.held_by,
            reason=event.reason,
            resumed_at=end.occurred_at if end else None,
            resumed_by=end.by if isinstance(end, Resumed) else None,
        )
        for event, end in zip_longest(told, told[1:])
        if isinstance(event, Paused)
    )


def ended(history: History) -> Ended | None:
    """The end before the plan was through; that it was opened in error outweighs an abort."""
    ends: list[Voided | Aborted] = [*history.of(Voided), *history.of(Aborted)]
    for event in ends[:1]:
        return Ended(
            kind="voided" if isinstance(event, Voided) else "aborted",
            at=event.occurred_at,
            by=event.by,
            reason=event.reason,
        )
    return None


def secured(history: History, event: MadeSafe | None) -> Secured | None:
    """How the vehicle was made safe, null where that was before the abort.

    event: the last time it was, unless something was opened or moved since
    """
    places = [n for n, one in enumerate(history.in_force) if isinstance(one, Aborted)]
    if event is None or (places and history.in_force.index(event) < places[0]):
        return None
    return Secured(
        at=event.occurred_at, by=event.by, fluid_in=event.fluid_in, vehicle=event.vehicle
    )


def overridden(history: History) -> tuple[Overridden, ...]:
    """Who answers for what; the last word on each code. Nobody answers for it alone."""
    last = {event.code: event for event in history.of(FindingOverridden)}
    return tuple(
        Overridden(
            code=event.code,
            by=event.by,
            reason=event.reason,
            acknowledged_by=event.acknowledged_by,
            at=event.occurred_at,
            allowed=event.code not in NEVER_OVERRIDDEN
            and not same_person(event.by, event.acknowledged_by),
        )
        for event in last.values()
    )


def found_later(histories: Iterable[History]) -> tuple[FoundLater, ...]:
    """Every late finding, before the close or after it."""
    return tuple(_later(chain.from_iterable(one.of(LateFinding) for one in histories)))


def _later(events: Iterable[LateFinding]) -> Iterator[FoundLater]:
    for event in events:
        yield FoundLater(
            at=event.occurred_at,
            source=event.source,
            severity=event.severity,
            text=event.text,
            about=event.about,
        )
