"""Who may answer for a stop: once it was found, as it was found, and never alone."""

from collections.abc import Callable, Sequence

from msgspec.structs import replace

from libexchange.findings import Finding
from libexchange.gate_opening import HARD_C
from libexchange.job.confirmations import NOT_OPEN_WHEN_CONFIRMED
from libexchange.job.course import Overridden
from libexchange.job.events import Correction, DeviceEvent, FindingOverridden
from libexchange.job.history import History
from libexchange.job.opened_hot import OPENED_HOT


def answered_for(
    overrides: Sequence[Overridden],
    history: History,
    *,
    now: Sequence[Finding],
    then: Callable[[list[DeviceEvent]], Sequence[Finding]],
) -> tuple[Overridden, ...]:
    """The overrides, allowed only where each stop of the code had been found when it was posted.

    A stop that was found anew since, or reads otherwise, is another one and needs another word.
    now: what is found with all events    then: tells what is found with some of them
    Source: common practice.

    >>> from libexchange.job.history import history_of
    >>> answered_for((), history_of([]), now=[], then=lambda events: [])
    ()
    """
    last = {event.code: event for event in history.of(FindingOverridden)}

    def counts(code: str) -> bool:
        if not (stops := _stops(now, code)):
            return True
        known = _stops(then(_before(history, last[code])), code)
        return all(stop in known and not _far_too_hot(stop) for stop in stops)

    return tuple(replace(one, allowed=one.allowed and counts(one.code)) for one in overrides)


def _stops(findings: Sequence[Finding], code: str) -> list[Finding]:
    return [one for one in findings if one.code == code and one.severity == "stop"]


def _far_too_hot(stop: Finding) -> bool:
    """An opening at which nobody may stand, whatever a plan or a person says."""
    read_c = stop.values.get("temperature_c")
    hot = stop.code in (OPENED_HOT.code, NOT_OPEN_WHEN_CONFIRMED.code)
    return hot and not (isinstance(read_c, float) and read_c <= HARD_C)


def _before(history: History, override: FindingOverridden) -> list[DeviceEvent]:
    """What counts of the events that came before it; corrections have done their work."""
    place = next(n for n, one in enumerate(history.events) if one.event == override)
    gone = set(history.withdrawn)
    return [
        one
        for one in history.events[:place]
        if one.event.event_id not in gone and not isinstance(one.event, Correction)
    ]
