"""Evidence that was withdrawn by a correction although it stopped the job.

A slip is put right by a correction, and so is a truth that somebody does not like. What no single
person may answer for, no single person takes back either.
"""

from collections.abc import Iterable

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.events import (
    Arrived,
    BenchChecked,
    Correction,
    DeviceEvent,
    FluidOpened,
    LateFinding,
    LeakChecked,
    ReadingTaken,
    TestDriven,
)
from libexchange.job.history import History
from libexchange.job.somebody_else import agreed_since

STOP_TAKEN_BACK = Kind(
    code="stop-taken-back",
    severity="caution",
    title="What stopped the job was withdrawn, and somebody else agreed",
    remedy="Keep what shows that it was a slip: the strip, the bottle, the photo.",
    source=COMMON_PRACTICE,
)
TAKEN_BACK_ALONE = Kind(
    code="stop-taken-back-alone",
    severity="stop",
    title="What stopped the job was withdrawn, and nobody else has agreed",
    remedy="Say who withdrew it, let somebody else look again, and post a second check of the "
    "correction by that person; else withdraw nothing and act on what was found.",
    source=COMMON_PRACTICE,
)
KINDS = (STOP_TAKEN_BACK, TAKEN_BACK_ALONE)
"""Every finding code of evidence that was withdrawn."""

GRAVE = frozenset(
    {
        "arrived-with-other-fluid",
        "bench-checks-disagree",
        "coolant-in-fluid",
        "coolant-metal-high",
        "crackle-test-shows-water",
        "fluid-opened-of-other-kind",
        "glycol-in-sample",
        "glycol-strip-positive",
        "leak-found",
        "level-not-looked-at-after-leak",
        "ran-without-flow",
        "unit-without-drive",
        "used-fluid-milky",
    }
)
"""Codes of stops that nobody takes back alone."""

EVIDENCE = (Arrived, BenchChecked, FluidOpened, LateFinding, LeakChecked, ReadingTaken, TestDriven)
"""What may bring a stop by what it says, rather than by what is missing."""


def with_all(history: History) -> list[DeviceEvent]:
    """The events as if nothing had been withdrawn.

    >>> from libexchange.job.history import history_of
    >>> with_all(history_of([]))
    []
    """
    return [one for one in history.events if not isinstance(one.event, Correction)]


def taken_back(history: History, *, before: Iterable[str], now: Iterable[str]) -> list[Finding]:
    """What is to be said of stops that stood before corrections and stand no more.

    before, now: the codes of the stops as if nothing had been withdrawn, and as they are

    >>> from libexchange.job.history import history_of
    >>> taken_back(history_of([]), before=["leak-found"], now=[])
    []
    """
    codes = ", ".join(sorted((set(before) & GRAVE) - set(now)))
    if not codes:
        return []
    return [_told(one, codes, _agreed(history, one)) for one in _corrections(history)]


def _corrections(history: History) -> list[Correction]:
    """Those that withdrew evidence."""
    gone = set(history.withdrawn)
    evidence = {
        one.event.event_id
        for one in history.events
        if one.event.event_id in gone and isinstance(one.event, EVIDENCE)
    }
    events = (one.event for one in history.events)
    return [one for one in events if isinstance(one, Correction) and one.corrects in evidence]


def _agreed(history: History, correction: Correction) -> bool:
    since, by = correction.occurred_at, correction.by
    return agreed_since(history, checked="correction", since=since, by=by)


def _told(correction: Correction, codes: str, agreed: bool) -> Finding:
    text = f"The correction {correction.event_id} took back {correction.corrects}: {codes}."
    values = {
        "event_id": str(correction.event_id),
        "corrects": str(correction.corrects),
        "codes": codes,
    }
    kind = STOP_TAKEN_BACK if agreed else TAKEN_BACK_ALONE
    return kind.at("#/withdrawn", text, values=values)
