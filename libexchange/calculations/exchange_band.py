"""How far the share of a given circuit may be off, when its numbers are only about right.

A circuit is rarely measured, so each of its numbers is taken as the middle of what it may be, with
5 % and 95 % edges around it that are from memory.
"""

from msgspec.structs import replace

from libexchange._circuit import LARGEST_VOLUME_L, SMALLEST_VOLUME_L
from libexchange.calculations.circuit_record import DrainBefore, start_of
from libexchange.circuit import Circuit
from libexchange.circuit_transform import share_after_exchange
from libexchange.findings import MEMORY
from libexchange.quantities import Volume
from libexchange.uncertainty import Response, Spread, edges

VOLUMES = ("sump_l", "converter_l", "line_l", "pockets_l", "stranded_l")
VOLUME_OFF = 0.15
"""Part of itself that each volume may be more or less [-]."""

EXCHANGE_FACTOR = 4.0
"""Factor by which the pocket exchange may be more or less [-]."""

RETURN_MORE, RETURN_LESS = 0.5, 0.5
"""Internal return: litres it may be more, and part of what is above 1 that it may be less [-]."""

SHORT_CUT_MORE, SHORT_CUT_LESS = 0.10, 0.05
"""What the short cut may be more and less [-]."""

DRAINED_OFF, RUN_BACK_OFF = 0.05, 2 / 3
"""Part of itself that the drained amount and each run-back may be more or less [-]."""


def spreads_about(circuit: Circuit) -> dict[str, Spread]:
    """What each number of a circuit may be; a volume or a pocket exchange of 0 stays 0.

    >>> spreads_about(Circuit(sump_l=4, line_l=1))["pocket_exchange"]
    Spread(low=0.03, typical=0.12, high=0.48, source='memory')
    """
    found = {name: _volume(getattr(circuit, name)) for name in VOLUMES}
    exchange, more, cut = circuit.pocket_exchange, circuit.internal_return, circuit.short_cut
    found["pocket_exchange"] = _spread(
        exchange / EXCHANGE_FACTOR, exchange, min(exchange * EXCHANGE_FACTOR, 1.0)
    )
    found["internal_return"] = _spread(
        more - RETURN_LESS * (more - 1), more, min(more + RETURN_MORE, 4.0)
    )
    found["short_cut"] = _spread(
        max(cut - SHORT_CUT_LESS, 0.0), cut, min(cut + SHORT_CUT_MORE, 0.3)
    )
    return {name: spread for name, spread in found.items() if spread.low < spread.high}


def spreads_before(before: DrainBefore | None) -> dict[str, Spread]:
    """What each number of the drain before may be; empty without one.

    >>> list(spreads_before(DrainBefore(drained=Volume(4, "L"))))
    ['drained']
    """
    if before is None:
        return {}
    drained_l, low, high = before.drained.l, 1 - RUN_BACK_OFF, 1 + RUN_BACK_OFF
    found = {
        "drained": _spread((1 - DRAINED_OFF) * drained_l, drained_l, (1 + DRAINED_OFF) * drained_l)
    }
    for name in ("converter_run_back", "pockets_run_back"):
        share = getattr(before, name)
        found[name] = _spread(low * share, share, min(high * share, 1.0))
    return {name: spread for name, spread in found.items() if spread.low < spread.high}


def share_with(
    *, circuit: Circuit, before: DrainBefore | None, exchanged_l: float, values: dict[str, float]
) -> float:
    """The fresh share with some numbers of circuit and drain other than given.

    values: by the names of `spreads_about` and `spreads_before`; a drain takes no more than the
    sump holds

    >>> circuit = Circuit(sump_l=4, line_l=1)
    >>> round(share_with(circuit=circuit, before=None, exchanged_l=5, values={"sump_l": 4.6}), 4)
    0.6536
    """
    own = {name: value for name, value in values.items() if name in circuit.__struct_fields__}
    changed = replace(circuit, **own)
    if before is not None:
        rest = {name: value for name, value in values.items() if name not in own}
        drained_l = min(rest.pop("drained", before.drained.l), changed.sump_l)
        before = replace(before, drained=Volume(drained_l, "L"), **rest)
    state = start_of(changed, before)
    return share_after_exchange(circuit=changed, state=state, exchanged_l=exchanged_l)


def share_edges(
    *, circuit: Circuit, before: DrainBefore | None, exchanged_l: float
) -> tuple[float, float]:
    """How far the 5 % and 95 % edges of the fresh share lie from what is expected [-].

    >>> unit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> edges_at_9_l = share_edges(circuit=unit, before=None, exchanged_l=9)
    >>> [round(edge, 3) for edge in edges_at_9_l]
    [-0.055, 0.027]
    """

    def share(**values: float) -> float:
        return share_with(circuit=circuit, before=before, exchanged_l=exchanged_l, values=values)

    expected, spreads = share(), spreads_about(circuit) | spreads_before(before)
    return edges(
        Response(
            at_low=share(**{name: spread.low}) - expected,
            at_high=share(**{name: spread.high}) - expected,
        )
        for name, spread in spreads.items()
    )


def _volume(volume_l: float) -> Spread:
    if not volume_l:
        return _spread(0.0, 0.0, 0.0)
    low_l = max((1 - VOLUME_OFF) * volume_l, SMALLEST_VOLUME_L)
    return _spread(low_l, volume_l, min((1 + VOLUME_OFF) * volume_l, LARGEST_VOLUME_L))


def _spread(low: float, typical: float, high: float) -> Spread:
    return Spread(low=low, typical=typical, high=high, source=MEMORY)
