"""In which order the work was done: what was checked or finished before the work proves nothing."""

from collections.abc import Iterator

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.checked_since import CheckedSince

FINISHED_EARLY = Kind(
    code="finished-before-last-opening",
    severity="stop",
    title="Something was opened, or fluid moved, after the work was said to be finished",
    remedy="Finish what was begun, then post work_finished again.",
    source=COMMON_PRACTICE,
)
ORDER_NOT_TOLD = Kind(
    code="order-of-work-not-told",
    severity="caution",
    title="What was done after what cannot be told from the times",
    remedy="Post each event with the moment when it happened. Look for leaks once more after the "
    "level is set.",
    source=COMMON_PRACTICE,
)
KINDS = (FINISHED_EARLY, ORDER_NOT_TOLD)
"""Every finding code of the order of work."""

JUDGED = ("change", "look")
PROOFS = ("leak check", "drive")
"""What proves nothing where it bears the moment of what it is to judge."""


def order_findings(checked: CheckedSince) -> list[Finding]:
    """What the order of the events says against the work.

    Source: common practice.

    >>> order_findings(CheckedSince())
    []
    """
    return [*_early(checked), *_untold(checked)]


def _early(checked: CheckedSince) -> Iterator[Finding]:
    if checked.finished_early:
        text = "What was opened or moved last came after work_finished."
        yield FINISHED_EARLY.at("#/finished_at", text)


def _untold(checked: CheckedSince) -> Iterator[Finding]:
    moments = checked.moments
    judged = {moments[one] for one in JUDGED if one in moments}
    proved = {moments[one] for one in PROOFS if one in moments}
    same = sorted(one for one, at in moments.items() if at in judged & proved)
    if same:
        text = f"These bear one moment: {', '.join(same)}."
        yield ORDER_NOT_TOLD.at("#", text, values={"same": ", ".join(same)})
