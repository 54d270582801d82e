"""Figures as columns of text."""

from collections.abc import Iterable, Sequence

from tests.performance.figures import Figures

HEAD = ("calls/s", "p50 ms", "p99 ms", "client")


def cells(told: Figures) -> list[str]:
    """The columns that every table has."""
    return [
        f"{told.rate:,.0f}",
        f"{told.p50_ms:.2f}",
        f"{told.p99_ms:.2f}",
        f"{told.client:.0%}",
    ]


def ratios(told: Figures, beside: Figures) -> list[str]:
    """How many times the other's rate, median and p99 these are."""
    return [
        f"{told.rate / beside.rate:.3f}",
        f"{told.p50_ms / beside.p50_ms:.2f}",
        f"{told.p99_ms / beside.p99_ms:.2f}",
    ]


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Rows under a head, as Markdown that also reads well in a terminal.

    >>> print(table(["call", "calls/s"], [["get", "9"]]))
    | call | calls/s |
    | ---- | ------- |
    | get  | 9       |
    """
    lines = [list(head), *map(list, rows)]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    lines.insert(1, ["-" * width for width in widths])
    return "\n".join(_line(line, widths) for line in lines)


def _line(line: Sequence[str], widths: Sequence[int]) -> str:
    told = (text.ljust(width) for text, width in zip(line, widths, strict=True))
    return f"| {' | '.join(told)} |"
