"""What a document is made of, whatever its form: facts, tables, pictures, sections."""

from collections.abc import Iterable, Sequence
from typing import Literal

from msgspec import Struct

from exchange_api.documents.svg import Picture

Align = Literal["text", "number", "code"]
"""How a column stands: words, figures from the right, or digits that are compared."""


class Fact(Struct, frozen=True, kw_only=True):
    """A name, what it is, and what is to be known beside it."""

    name: str
    value: str
    note: str = ""


class Column(Struct, frozen=True, kw_only=True):
    """A column of a table; `share` is its part of the width, 0 for as wide as what it holds."""

    name: str
    align: Align = "text"
    share: float = 0


class Table(Struct, frozen=True, kw_only=True):
    """Rows of as many texts as there are columns."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


class Section(Struct, frozen=True, kw_only=True):
    """A heading and what stands below it, each part where there is one."""

    title: str
    lead: str = ""
    picture: Picture | None = None
    facts: tuple[Fact, ...] = ()
    table: Table | None = None
    note: str = ""


class Beside(Struct, frozen=True, kw_only=True):
    """What stands beside a verdict: a name and the lines that belong to it."""

    name: str
    lines: tuple[str, ...]


def table(columns: Sequence[Column], rows: Iterable[Sequence[str]]) -> Table | None:
    """The table of these rows, None where there are none.

    >>> table([Column(name="a")], []) is None
    True
    """
    told = tuple(tuple(row) for row in rows)
    return Table(columns=tuple(columns), rows=told) if told else None


def text(name: str, share: float = 0) -> Column:
    """A column of words."""
    return Column(name=name, share=share)


def number(name: str) -> Column:
    """A column of figures."""
    return Column(name=name, align="number")


def code(name: str, share: float = 0) -> Column:
    """A column of digits to compare."""
    return Column(name=name, align="code", share=share)


def shortened(line: str, most: int) -> str:
    """A line of at most so many letters, with dots where it was cut.

    >>> shortened("one two three", 9), shortened("one", 9)
    ('one two …', 'one')
    """
    if len(line) <= most:
        return line
    cut = line[: most - 1]
    kept = cut.rsplit(" ", 1)[0] if " " in cut[most // 2 :] else cut
    return f"{kept} …" if kept != cut else f"{cut}…"
