"""Whether somebody else than who did it agreed: what no single person answers for needs two."""

from datetime import datetime

from libexchange.job.events import SecondCheck
from libexchange.job.history import History


def same_person(one: str | None, other: str | None) -> bool:
    """Whether two names are of one person, whatever their capitals and spaces; unknown is nobody.

    >>> same_person("Invented  Hand", "invented hand"), same_person(None, None)
    (True, False)
    """
    if one is None or other is None:
        return False
    return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()


def agreed_since(history: History, *, checked: str, since: datetime, by: str | None) -> bool:
    """Whether the last second check of a matter since a moment is one that agrees, by another.

    by: who did it; without a name nobody is known to be another
    Source: common practice.

    >>> from datetime import UTC
    >>> from libexchange.job.history import history_of
    >>> at = datetime(2026, 3, 4, 8, tzinfo=UTC)
    >>> agreed_since(history_of([]), checked="fluid", since=at, by="invented hand")
    False
    """
    looks = [
        check
        for check in history.of(SecondCheck)
        if check.checked == checked and check.occurred_at >= since
    ]
    if not looks or by is None:
        return False
    return looks[-1].result == "agreed" and not same_person(looks[-1].by, by)
