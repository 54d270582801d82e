"""How uncertain each input of a forecast is: low, typical and high, with the source of each.

Low and high are the 5 % and 95 % edges. Splits, run-back and exchange coefficients are from memory
at training-textbook level: no measured source is known to us for them.
"""

from msgspec import Struct

from libexchange.catalogue import Family
from libexchange.findings import COMMON_PRACTICE, MEMORY
from libexchange.uncertainty import Spread


def _memory(low: float, typical: float, high: float) -> Spread:
    return Spread(low=low, typical=typical, high=high, source=MEMORY)


def _practice(low: float, typical: float, high: float) -> Spread:
    return Spread(low=low, typical=typical, high=high, source=COMMON_PRACTICE)


_NONE = _memory(0.0, 0.0, 0.0)


class FamilySpreads(Struct, frozen=True, kw_only=True):
    """What is uncertain of a family.

    sump, converter, line, pockets, stranded: of the total fill; their typical values sum to 1 [-]
    sump_drained: of the sump by the drain plug [-]    sump_with_pan: of it with the pan off [-]
    converter_run_back, pockets_run_back: of them, run down before the drain closes [-]
    pocket_exchange, internal_return, short_cut: as in `circuit.Circuit` [-]
    """

    sump: Spread
    converter: Spread
    line: Spread
    pockets: Spread
    stranded: Spread
    sump_drained: Spread = _memory(0.75, 0.88, 0.95)
    sump_with_pan: Spread = _memory(0.92, 0.96, 0.99)
    converter_run_back: Spread = _memory(0.0, 0.05, 0.15)
    pockets_run_back: Spread = _memory(0.05, 0.15, 0.25)
    pocket_exchange: Spread = _memory(0.03, 0.12, 0.50)
    internal_return: Spread = _memory(1.0, 1.0, 1.5)
    short_cut: Spread = _memory(0.0, 0.05, 0.15)


class GivenSpreads(Struct, frozen=True, kw_only=True):
    """How far the amounts that a profile gives may be off, as factors on them [-].

    total: on the total    drained_share: on the drained amount divided by the total
    """

    total: Spread
    drained_share: Spread


SPREADS: dict[Family, FamilySpreads] = {
    "converter_automatic": FamilySpreads(
        sump=_memory(0.40, 0.48, 0.55),
        converter=_memory(0.22, 0.30, 0.38),
        line=_memory(0.04, 0.07, 0.10),
        pockets=_memory(0.08, 0.12, 0.18),
        stranded=_memory(0.01, 0.03, 0.05),
    ),
    "converter_automatic_light_truck": FamilySpreads(
        sump=_memory(0.38, 0.47, 0.55),
        converter=_memory(0.25, 0.32, 0.40),
        line=_memory(0.05, 0.08, 0.12),
        pockets=_memory(0.08, 0.11, 0.15),
        stranded=_memory(0.01, 0.02, 0.04),
    ),
    "converter_automatic_many_speeds": FamilySpreads(
        sump=_memory(0.42, 0.50, 0.58),
        converter=_memory(0.15, 0.22, 0.28),
        line=_memory(0.04, 0.07, 0.10),
        pockets=_memory(0.12, 0.18, 0.24),
        stranded=_memory(0.02, 0.03, 0.05),
    ),
    "wet_dual_clutch": FamilySpreads(
        sump=_memory(0.65, 0.75, 0.85),
        converter=_NONE,
        line=_memory(0.02, 0.05, 0.08),
        pockets=_memory(0.10, 0.16, 0.25),
        stranded=_memory(0.02, 0.04, 0.06),
        converter_run_back=_NONE,
        pockets_run_back=_memory(0.10, 0.25, 0.40),
        pocket_exchange=_memory(0.04, 0.15, 0.50),
    ),
    "cvt_with_converter": FamilySpreads(
        sump=_memory(0.45, 0.57, 0.65),
        converter=_memory(0.15, 0.20, 0.25),
        line=_memory(0.04, 0.07, 0.09),
        pockets=_memory(0.08, 0.12, 0.16),
        stranded=_memory(0.02, 0.04, 0.05),
        pockets_run_back=_memory(0.03, 0.10, 0.20),
        pocket_exchange=_memory(0.03, 0.10, 0.50),
    ),
    "cvt_with_start_clutch": FamilySpreads(
        sump=_memory(0.60, 0.72, 0.82),
        converter=_NONE,
        line=_memory(0.03, 0.05, 0.08),
        pockets=_memory(0.12, 0.19, 0.28),
        stranded=_memory(0.02, 0.04, 0.06),
        converter_run_back=_NONE,
        pockets_run_back=_memory(0.03, 0.10, 0.20),
        pocket_exchange=_memory(0.03, 0.10, 0.50),
    ),
    "heavy_duty_automatic": FamilySpreads(
        sump=_memory(0.45, 0.52, 0.58),
        converter=_memory(0.18, 0.23, 0.28),
        line=_memory(0.08, 0.14, 0.20),
        pockets=_memory(0.06, 0.08, 0.12),
        stranded=_memory(0.01, 0.03, 0.05),
        pockets_run_back=_memory(0.10, 0.20, 0.30),
    ),
    "power_split_hybrid": FamilySpreads(
        sump=_memory(0.80, 0.90, 0.95),
        converter=_NONE,
        line=_NONE,
        pockets=_memory(0.04, 0.08, 0.15),
        stranded=_memory(0.01, 0.02, 0.04),
        sump_drained=_memory(0.90, 0.94, 0.97),
        sump_with_pan=_memory(0.97, 0.98, 0.99),
        converter_run_back=_NONE,
    ),
}
"""The uncertain inputs of every family."""

GIVEN_SPREADS: dict[str, GivenSpreads] = {
    "maker": GivenSpreads(
        total=_practice(0.98, 1.0, 1.02), drained_share=_practice(0.95, 1.0, 1.05)
    ),
    "workshop_measurement": GivenSpreads(
        total=_practice(0.95, 1.0, 1.05), drained_share=_practice(0.95, 1.0, 1.05)
    ),
    "handbook": GivenSpreads(
        total=_memory(0.90, 1.0, 1.10), drained_share=_memory(0.93, 1.0, 1.07)
    ),
    "unknown": GivenSpreads(total=_memory(0.85, 1.0, 1.15), drained_share=_memory(0.90, 1.0, 1.10)),
}
"""How far total and drained amount may be off, by the kind of source. A maker's too: the heat of
the oil and the time it drips decide what leaves."""

OWN_PART = 0.25
"""Where a profile gives its own shares or coefficients, this part of the family's spread is left
around them (memory)."""

CUSTOMER_BAND = 0.08
"""Least half width told where total and drained amount are not maker data (common practice)."""

SUCTION_SPREAD = _memory(0.50, 0.70, 0.85)
"""Part of the sump that a probe in the fill tube reaches."""
