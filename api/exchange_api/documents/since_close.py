"""What came after the close and must be known to whoever reads the verdict."""

from collections.abc import Iterator

from exchange_api.documents.blocks import shortened
from exchange_api.documents.history import late_in_force, open_late
from exchange_api.documents.words import day, sentence
from libexchange.job.events import JobEvent, LateFinding, LeakChecked, TestDriven
from libexchange.record import JobRecord

LONGEST_TEXT = 600
"""Longer words are cut here, and what is cut stands in the section of what came to light."""

SOURCES = {
    "laboratory": "told by the laboratory",
    "customer": "told by the customer",
    "lot_recall": "a lot was recalled",
    "leak": "a leak",
    "inspection": "found at an inspection",
}


def since_of(record: JobRecord) -> tuple[str, ...]:
    """Findings of severity stop, then an open leak or complaint, then how much else is open."""
    grave = grave_since(record)
    told = {event.event_id for event in grave}
    others = sum(one not in told for one in open_late(record))
    lines = [_line(event) for event in grave]
    if others:
        more = "more " if grave else ""
        entries = "entry" if others == 1 else "entries"
        lines.append(f"{others} {more}{entries} came after the close that nobody has dealt with.")
    return tuple(lines)


def grave_since(record: JobRecord) -> list[JobEvent]:
    """The events after the close for which nobody should drive before asking."""
    return [*_stops(record), *_last_if_bad(record)]


def _stops(record: JobRecord) -> Iterator[JobEvent]:
    for event in late_in_force(record):
        if isinstance(event, LateFinding) and event.severity == "stop":
            yield event


def _last_if_bad(record: JobRecord) -> Iterator[JobEvent]:
    """The last leak check and the last drive, where they are bad and nobody dealt with them."""
    unanswered = set(open_late(record))
    for kind, bad in ((LeakChecked, "leak"), (TestDriven, "complaint")):
        for event in [one for one in late_in_force(record) if isinstance(one, kind)][-1:]:
            if event.result == bad and event.event_id in unanswered:
                yield event


def _line(event: JobEvent) -> str:
    on = day(event.occurred_at.date())
    match event:
        case LateFinding():
            text = shortened(sentence(event.text), LONGEST_TEXT)
            return f"STOP, {on}, {SOURCES[event.source]}: {text}"
        case LeakChecked():
            return f"A leak was seen on {on}."
    return f"A drive on {on} brought a complaint."
