"""The records of the compartment model: what a unit holds, and how fresh each part of it is."""

from math import fsum
from typing import ClassVar

from msgspec import Struct

from libexchange.errors import OutOfRange, check_range

SMALLEST_VOLUME_L = 0.05
LARGEST_VOLUME_L = 500.0
MOST_CELLS = 10


class Circuit(Struct, frozen=True, kw_only=True):
    """Where the fluid of a transmission sits, and how it moves between these places.

    sump_l: 0.05 to 500, pan and case [L]
    converter_l, line_l, pockets_l, stranded_l: 0, or 0.05 to 500 [L]; line is lines and cooler up
        to where they are opened, pockets swap slowly with the sump, stranded never moves
    converter_cells, line_cells: 1 to 10 equal mixed cells in series [-]
    pocket_exchange: 0 to 1, litres swapped between pockets and sump per litre exchanged [-]
    internal_return: 1 to 4, litres through the converter per litre to waste; 1 with the bypass
        fully open, and taken as 1 without a converter [-]
    short_cut: 0 to 0.3, part of the fresh fluid sucked straight into the pick-up [-]
    Raises: OutOfRange naming the field    Source: defaults are common practice.

    >>> Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2).total_l
    9.0
    """

    sump_l: float
    converter_l: float = 0.0
    line_l: float = 0.0
    pockets_l: float = 0.0
    stranded_l: float = 0.0
    converter_cells: int = 2
    line_cells: int = 4
    pocket_exchange: float = 0.12
    internal_return: float = 1.0
    short_cut: float = 0.0

    _RANGES: ClassVar[dict[str, tuple[float, float]]] = {
        "converter_cells": (1, MOST_CELLS),
        "line_cells": (1, MOST_CELLS),
        "pocket_exchange": (0, 1),
        "internal_return": (1, 4),
        "short_cut": (0, 0.3),
    }

    def __post_init__(self) -> None:
        check_range(
            name="sump_l", value=self.sump_l, low=SMALLEST_VOLUME_L, high=LARGEST_VOLUME_L, unit="L"
        )
        for name in ("converter_l", "line_l", "pockets_l", "stranded_l"):
            value = getattr(self, name)
            if value != 0 and not SMALLEST_VOLUME_L <= value <= LARGEST_VOLUME_L:
                allowed = f"0, or {SMALLEST_VOLUME_L:g} to {LARGEST_VOLUME_L:g} L"
                raise OutOfRange(name=name, value=value, allowed=allowed)
        for name, (low, high) in self._RANGES.items():
            check_range(name=name, value=getattr(self, name), low=low, high=high)

    @property
    def total_l(self) -> float:
        """Volume of everything, the dry fill [L]."""
        return fsum((self.sump_l, self.converter_l, self.line_l, self.pockets_l, self.stranded_l))

    @property
    def active_l(self) -> float:
        """Volume that the flow passes through: sump, converter and line [L]."""
        return self.sump_l + self.converter_l + self.line_l

    @property
    def converters(self) -> int:
        """Converter cells that are there: none without a converter [-]."""
        return self.converter_cells if self.converter_l else 0

    @property
    def lines(self) -> int:
        """Line cells that are there: none without a line [-]."""
        return self.line_cells if self.line_l else 0

    @property
    def pockets_swap(self) -> bool:
        """Whether anything in pockets is ever reached."""
        return self.pockets_l > 0 and self.pocket_exchange > 0


class CircuitState(Struct, frozen=True, kw_only=True):
    """How fresh each part of a circuit is: shares 0 to 1 of fresh fluid, one per cell.

    converter, line: in the direction of flow; empty where the circuit has none
    pockets, stranded: 0 where the circuit has none
    Raises: OutOfRange

    >>> CircuitState(sump=0.5, converter=(0.2, 0.1), line=(), pockets=0.0, stranded=0.0).sump
    0.5
    """

    sump: float
    converter: tuple[float, ...]
    line: tuple[float, ...]
    pockets: float
    stranded: float

    def __post_init__(self) -> None:
        for name in ("sump", "pockets", "stranded"):
            check_range(name=name, value=getattr(self, name), low=0, high=1)
        for name in ("converter", "line"):
            for share in getattr(self, name):
                check_range(name=name, value=share, low=0, high=1)


def all_old(circuit: Circuit) -> CircuitState:
    """The state before any service: nothing is fresh.

    >>> all_old(Circuit(sump_l=5, converter_l=2)).converter
    (0.0, 0.0)
    """
    return CircuitState(
        sump=0.0,
        converter=(0.0,) * circuit.converters,
        line=(0.0,) * circuit.lines,
        pockets=0.0,
        stranded=0.0,
    )


def check_fits(*, circuit: Circuit, state: CircuitState) -> None:
    """Raise OutOfRange unless the state has the cells that the circuit has.

    >>> circuit = Circuit(sump_l=5, converter_l=2)
    >>> check_fits(circuit=circuit, state=all_old(circuit))
    """
    for name, cells, there in (
        ("converter", state.converter, circuit.converters),
        ("line", state.line, circuit.lines),
    ):
        if len(cells) != there:
            raise OutOfRange(name=name, value=len(cells), allowed=f"{there} cells")
