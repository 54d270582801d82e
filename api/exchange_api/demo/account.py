"""The readable account that the demonstration prints as it goes."""

from collections.abc import Iterable, Sequence
from typing import TypeVar

from rich.console import Console
from rich.progress import track
from rich.table import Table

T = TypeVar("T")


class Account:
    """Titles, lines and tables on a console."""

    def __init__(self, console: Console) -> None:
        self._console = console

    def title(self, text: str) -> None:
        """A part of the story begins."""
        self._console.print(f"\n[bold]{text}[/bold]", highlight=False)

    def line(self, text: str) -> None:
        """One thing that happened."""
        self._console.print(f"  {text}", highlight=False, markup=False, soft_wrap=True)

    def table(self, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
        """A small table."""
        table = Table(*heads, pad_edge=False, box=None, header_style="italic")
        for row in rows:
            table.add_row(*row)
        self._console.print(table, highlight=False, markup=False)

    def following(self, work: Sequence[T], what: str) -> Iterable[T]:
        """The work, one by one, with a bar that shows how far it is."""
        return track(work, description=f"  {what}", console=self._console, transient=True)
