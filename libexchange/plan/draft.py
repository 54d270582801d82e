"""A step before it has its number, and the gate of what is opened."""

from msgspec import Struct

from libexchange.plan.records import Gate, StepKind
from libexchange.quantities import Temperature, Volume

OPEN_BELOW = Temperature(60, "Cel")
"""Above this, plug, pan and lines stay shut unless the maker demands hot work (common practice)."""


class Draft(Struct, frozen=True, kw_only=True):
    """A step before it is numbered and gets its cautions."""

    kind: StepKind
    title: str
    gate: Gate | None = None
    quantity: Volume | None = None


def opening(gate_id: str, below: Temperature) -> Gate:
    """The gate before something is opened.

    >>> opening("gate-open", OPEN_BELOW).high.c
    60.0
    """
    return Gate(
        gate_id=gate_id,
        kind="opening",
        low=None,
        high=below,
        minimum_flow=None,
        hold=None,
        continuing=False,
        text=f"Fluid below {below.c:g} °C, unless the maker demands hot work and protection "
        "is confirmed.",
    )
