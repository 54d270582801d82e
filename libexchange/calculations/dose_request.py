"""How a dose is asked for, and what makes that impossible to compute."""

from collections.abc import Iterable
from typing import Annotated

from msgspec import Meta, Struct
from msgspec.structs import replace

from libexchange.calculations._faults import fault, out_of_range, total_faults
from libexchange.calculations.circuit_record import CircuitRecord, DrainBefore, circuit_faults
from libexchange.contact import ContactReading
from libexchange.dose import FixedByFill, PackRule, TreatRate, WholePacks
from libexchange.dose_rules import DoseCase
from libexchange.errors import Fault
from libexchange.quantities import Duration, Temperature, Volume
from libexchange.readings import MOST_READINGS

PACK_L, TREATS_L = (0.001, 100.0), (0.05, 1000.0)
NEEDED_RANGE_S, OPERATING_RANGE_C = (60.0, 3600.0), (20.0, 120.0)


class Pack(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The pack an additive comes in, and how many are opened.

    size: of one pack    rule: whether it is rounded up, or to the nearest below the cap
    """

    size: Volume
    rule: PackRule


class DoseExchange(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The exchange that a cleaner is followed by, or that a conditioner is dosed into.

    before: drain and refill ahead of the exchange, after the cleaner has acted
    exchanged: litres through the line; for a conditioner those after the dose is all in
    spread: the litres that carry a conditioner; null when it goes straight into the sump
    circuit: the unit that the fluid is exchanged in
    """

    circuit: CircuitRecord
    before: DrainBefore | None = None
    exchanged: Volume
    spread: Volume | None = None


class DoseContact(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was seen while a cleaner acted.

    needed: 1 to 60 min, null stands for 12 min
    operating: the timer runs above it; null stands for 60 Cel
    readings: of temperature and engine since the cleaner went in, in any order
    """

    readings: Annotated[list[ContactReading], Meta(max_length=MOST_READINGS)]
    needed: Duration | None = None
    operating: Temperature | None = None


class DoseRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An additive, the unit it is meant for, and what is done after it.

    total: 0.5 to 500 L    refill: at most the total; needed where the dose counts by it
    level_low_by: how much the level is known to be low
    treat: how much the additive's maker states    pack: that it comes in, null when loose
    exchange: what follows a cleaner or carries a conditioner    contact: what was seen of it
    case: the unit and the fluid, to tell what is forbidden
    """

    case: DoseCase
    treat: TreatRate
    pack: Pack | None = None
    total: Volume
    refill: Volume | None = None
    level_low_by: Volume | None = None
    exchange: DoseExchange | None = None
    contact: DoseContact | None = None


def dose_faults(request: DoseRequest) -> Iterable[Fault]:
    """Every reason why a dose cannot be computed.

    >>> from libexchange.dose import Percent
    >>> case = DoseCase(kind="cleaner", placed="before_exchange")
    >>> request = DoseRequest(case=case, treat=Percent(3), total=Volume(900, "L"))
    >>> [fault.pointer for fault in dose_faults(request)]
    ['/total']
    """
    yield from total_faults(request.total)
    if request.refill and request.refill.l > request.total.l:
        yield out_of_range("/refill", request.refill, "at most the total fill")
    if request.level_low_by and request.level_low_by.l > request.total.l:
        yield out_of_range("/level_low_by", request.level_low_by, "at most the total fill")
    if request.pack and not PACK_L[0] <= request.pack.size.l <= PACK_L[1]:
        yield out_of_range("/pack/size", request.pack.size, "1 mL to 100 L")
    yield from _treat_faults(request.treat)
    if request.exchange:
        after = request.exchange
        for one in circuit_faults(after.circuit, after.before):
            yield replace(one, pointer=f"/exchange{one.pointer}")
    if request.contact:
        yield from _contact_faults(request.contact)


def _treat_faults(treat: TreatRate) -> Iterable[Fault]:
    if isinstance(treat, WholePacks):
        if not PACK_L[0] <= treat.pack.l <= PACK_L[1]:
            yield out_of_range("/treat/pack", treat.pack, "1 mL to 100 L")
        if not TREATS_L[0] <= treat.treats.l <= TREATS_L[1]:
            yield out_of_range("/treat/treats", treat.treats, "0.05 to 1,000 L")
    if isinstance(treat, FixedByFill):
        for index, one in enumerate(treat.ranges):
            if one.low.l > one.high.l:
                yield fault(
                    f"/treat/ranges/{index}/low",
                    "range-reversed",
                    "the lower edge is above the upper edge",
                    value=one.low,
                    allowed=f"at most {one.high.l:g} L",
                    remedy="Give the smaller fill as low.",
                )


def _contact_faults(seen: DoseContact) -> Iterable[Fault]:
    if seen.needed and not NEEDED_RANGE_S[0] <= seen.needed.s <= NEEDED_RANGE_S[1]:
        yield out_of_range("/contact/needed", seen.needed, "1 to 60 min")
    low_c, high_c = OPERATING_RANGE_C
    if seen.operating and not low_c <= seen.operating.c <= high_c:
        yield out_of_range("/contact/operating", seen.operating, "20 to 120 °C")
