"""Lists cut so that together they have room on one sheet; what is left out is counted."""

from collections.abc import Sequence
from typing import NamedTuple

from exchange_api.documents.blocks import shortened

LONGEST_LINE = 240
LETTERS_A_ROW = 78
"""So many letters surely have room in a row beside the verdict, most of them narrow."""

ROWS = 34
"""So many rows of these lists the sheet has room for, beside what always stands on it."""


class Fitted(NamedTuple):
    """The lists as they are shown, and how many of their lines are not."""

    beside: list[tuple[str, ...]]
    found: tuple[str, ...]
    watch: tuple[str, ...]
    next_due: tuple[str, ...]
    left_out: int


def fitted(
    *,
    fixed: Sequence[str] = (),
    beside: Sequence[Sequence[str]],
    found: Sequence[str],
    watch: Sequence[str],
    next_due: Sequence[str],
) -> Fitted:
    """The lists with the last lines of the longest taken away until all have room.

    The last of `beside` gives its lines first.
    No list loses its first line, so that nothing is passed over in silence. `fixed` lines take
    their room first and are never cut. A line that is cut short counts as left out.

    >>> fitted(beside=[["a"]], found=["b"] * 50, watch=["c"], next_due=["d"]).left_out
    19
    """
    given = [list(lines) for lines in (*beside, found, watch, next_due)]
    lists = [[shortened(line, LONGEST_LINE) for line in lines] for lines in given]
    room = ROWS - _rows(fixed)
    while sum(map(_rows, lists)) > room:
        longest = _longest(lists[len(beside) - 1 : len(beside)]) or _longest(lists)
        if not longest:
            break
        longest.pop()
    pairs = list(zip(given, lists, strict=True))
    left_out = [len(lines) - len(kept) for lines, kept in pairs]
    shown = [_with_rest(kept, left) for kept, left in zip(lists, left_out, strict=True)]
    shown_found, shown_watch, shown_due = shown[len(beside) :]
    cut = sum(old != new for lines, kept in pairs for old, new in zip(lines, kept, strict=False))
    return Fitted(shown[: len(beside)], shown_found, shown_watch, shown_due, sum(left_out) + cut)


def _longest(lists: Sequence[list[str]]) -> list[str]:
    """The longest that still has a line to give, or none."""
    return max((lines for lines in lists if len(lines) > 1), key=_rows, default=[])


def _with_rest(lines: Sequence[str], left: int) -> tuple[str, ...]:
    return (*lines, f"and {left} more") if left else tuple(lines)


def _rows(lines: Sequence[str]) -> int:
    return sum(-(-len(line) // LETTERS_A_ROW) for line in lines)
