"""How a circuit and the drain before an exchange are written in a request."""

from typing import Annotated

from msgspec import Meta, Struct

from libexchange._circuit import LARGEST_VOLUME_L, SMALLEST_VOLUME_L
from libexchange.calculations._faults import fault, out_of_range
from libexchange.circuit import Circuit, CircuitState, all_old, drain_and_refill
from libexchange.errors import Fault
from libexchange.quantities import Share, Volume

Cells = Annotated[int, Meta(ge=1, le=10)]

_NOTHING = Volume(0, "L")
_VOLUMES = ("sump", "converter", "line", "pockets", "stranded")


class CircuitRecord(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the fluid of a unit sits and how it moves; only the sump has to be given.

    sump: 0.05 to 500 L    converter, line, pockets, stranded: 0, or 0.05 to 500 L
    converter_cells, line_cells: 1 to 10    pocket_exchange: 0 to 1
    internal_return: 1 to 4    short_cut: 0 to 0.3    Source of the defaults: common practice.
    """

    sump: Volume
    converter: Volume = _NOTHING
    line: Volume = _NOTHING
    pockets: Volume = _NOTHING
    stranded: Volume = _NOTHING
    converter_cells: Cells = 2
    line_cells: Cells = 4
    pocket_exchange: Share = 0.12
    internal_return: Annotated[float, Meta(ge=1, le=4)] = 1.0
    short_cut: Annotated[float, Meta(ge=0, le=0.3)] = 0.0


class DrainBefore(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A drain and refill before the line exchange.

    drained: leaves the sump, at most what it holds
    converter_run_back, pockets_run_back: 0 to 1, part of them that had run down and left too
    """

    drained: Volume
    converter_run_back: Share = 0.0
    pockets_run_back: Share = 0.0


def circuit_faults(circuit: CircuitRecord, before: DrainBefore | None) -> list[Fault]:
    """Every reason why a circuit and the drain before cannot be computed.

    >>> circuit = CircuitRecord(sump=Volume(4, "L"), line=Volume(0.01, "L"))
    >>> [fault.pointer for fault in circuit_faults(circuit, DrainBefore(drained=Volume(5, "L")))]
    ['/circuit/line', '/before/drained']
    """
    found = [
        out_of_range(f"/circuit/{name}", volume, _allowed(name))
        for name in _VOLUMES
        if not _fits(name, volume := getattr(circuit, name))
    ]
    if before is not None and before.drained.l > circuit.sump.l:
        found.append(_drained_above_sump(circuit, before))
    return found


def circuit_of(record: CircuitRecord) -> Circuit:
    """The circuit that a record describes; raises OutOfRange.

    >>> circuit_of(CircuitRecord(sump=Volume(9, "L"))).total_l
    9.0
    """
    return Circuit(
        sump_l=record.sump.l,
        converter_l=record.converter.l,
        line_l=record.line.l,
        pockets_l=record.pockets.l,
        stranded_l=record.stranded.l,
        converter_cells=record.converter_cells,
        line_cells=record.line_cells,
        pocket_exchange=record.pocket_exchange,
        internal_return=record.internal_return,
        short_cut=record.short_cut,
    )


def start_of(circuit: Circuit, before: DrainBefore | None) -> CircuitState:
    """The state in which the line exchange starts: all old, or drained and refilled.

    Raises: OutOfRange

    >>> start_of(Circuit(sump_l=4), DrainBefore(drained=Volume(3, "L"))).sump
    0.75
    """
    if before is None:
        return all_old(circuit)
    return drain_and_refill(
        circuit=circuit,
        state=all_old(circuit),
        drained_l=before.drained.l,
        converter_run_back=before.converter_run_back,
        pockets_run_back=before.pockets_run_back,
    )


def _fits(name: str, volume: Volume) -> bool:
    absent = volume.l == 0 and name != "sump"
    return absent or SMALLEST_VOLUME_L <= volume.l <= LARGEST_VOLUME_L


def _allowed(name: str) -> str:
    present = f"{SMALLEST_VOLUME_L:g} to {LARGEST_VOLUME_L:g} L"
    return present if name == "sump" else f"0, or {present}"


def _drained_above_sump(circuit: CircuitRecord, before: DrainBefore) -> Fault:
    return fault(
        "/before/drained",
        "drained-above-sump",
        "more is drained than the sump holds",
        value=before.drained,
        allowed=f"0 to {circuit.sump.l:g} L",
        remedy="Give what leaves the sump itself; what runs back is given as a share.",
    )
