"""What came to light later, as findings: told before the close it counts, after it it is told."""

from collections.abc import Iterator
from uuid import UUID

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.events import LateFinding, LeakChecked
from libexchange.job.history import History

FOUND_LATER = Kind(
    code="found-later",
    severity="caution",
    title="Something came to light that was not seen at its time",
    remedy="Read it under found_later and deal with it. A leak is answered by a dry leak check "
    "after its repair; what was told in error is withdrawn by a correction.",
    source=COMMON_PRACTICE,
)
FOUND_AFTER_CLOSE = Kind(
    code="found-after-close",
    severity="caution",
    title="Something came to light after the close",
    remedy="Read it under found_later and tell the customer. Where work follows from it, reopen "
    "the job: then it counts.",
    source=COMMON_PRACTICE,
)
KINDS = (FOUND_LATER, FOUND_AFTER_CLOSE)
"""Every finding code of what came to light later."""


def later_findings(*, on_time: History, late: History) -> list[Finding]:
    """What came to light later, of the severity it was told with; pointers count `found_later`.

    A leak that somebody found dry since is a note. What comes after the close changes no verdict.
    Source: common practice.

    >>> from libexchange.job.history import history_of
    >>> later_findings(on_time=history_of([]), late=history_of([]))
    []
    """
    after = enumerate(late.of(LateFinding), start=len(on_time.of(LateFinding)))
    return [*_counted(on_time), *(_told(FOUND_AFTER_CLOSE, n, event) for n, event in after)]


def _counted(history: History) -> Iterator[Finding]:
    """Results of a laboratory are judged by themselves; told beside them is only a stop."""
    dry = _found_dry(history)
    for number, event in enumerate(history.of(LateFinding)):
        if event.laboratory is None or event.severity == "stop":
            yield _told(FOUND_LATER, number, event, dry_since=event.event_id in dry)


def _told(kind: Kind, number: int, event: LateFinding, *, dry_since: bool = False) -> Finding:
    """A finding in words of its own: it repeats nothing that a person wrote."""
    source = event.source.replace("_", " ")
    text = f"Source: {source}. " + ("It was found dry since." if dry_since else "See its text.")
    return kind.at(
        f"#/found_later/{number}",
        text,
        values={"source": event.source, "event_id": str(event.event_id)},
        severity="note" if dry_since else event.severity,
    )


def _found_dry(history: History) -> set[UUID]:
    """The leaks that came to light and that the last leak check, made after them, found no more."""
    checks = history.of(LeakChecked)
    if not checks or checks[-1].result != "dry":
        return set()
    before = history.in_force[: history.in_force.index(checks[-1])]
    return {one.event_id for one in before if isinstance(one, LateFinding) and one.source == "leak"}
