"""The readable account that the demonstration prints as it goes."""

from collections.abc import Iterable, Sequence
from typing import TypeVar

from rich.console import Console
from rich.progress import track

T = TypeVar("T")


class Account:
    """Titles and lines on a console."""

    def __init__(self, console: Console) -> None:
        self._console = console

    def title(self, text: str) -> None:
        """A part of the story begins."""
        self._console.print(f"\n[bold]{text}[/bold]", highlight=False)

    def line(self, text: str) -> None:
        """One thing that happened."""
        self._console.print(f"  {text}", highlight=False, markup=False, soft_wrap=True)

    def gap(self) -> None:
        """An empty line."""
        self._console.print()

    def following(self, work: Sequence[T], what: str) -> Iterable[T]:
        """The work, one by one, with a bar that shows how far it is."""
        return track(work, description=f"  {what}", console=self._console, transient=True)
