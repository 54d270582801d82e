"""Litres in against litres out, all at 15 degC, with the uncertainty of meters and temperatures."""

from collections.abc import Iterable, Sequence
from math import fsum, sqrt
from typing import Annotated, Literal, NamedTuple

from msgspec import Meta, Struct

from libexchange.errors import Fault, InvalidInput
from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.fluid import thermal_expansion_per_k, volume_at_15_l, volume_from_mass_15_l
from libexchange.level import is_heavy
from libexchange.quantities import Mass, Temperature, Volume

METER_CLASS_PERCENT = 1.0
SCALE_CLASS_PERCENT = 0.2
GUESS_PERCENT = 50.0
"""Spill and drip that nobody measured are known to about half (memory) [% of the amount]."""

TEMPERATURE_ERROR_K = 3.0
UNKNOWN_TEMPERATURE_K = 60.0  # from fluid off the shelf to fluid just drained hot
HOSE_L = 0.05
SAME_L = 1e-9
"""Litres closer than this are the same, so that 12.3 - 12 is not above 0.3."""

Direction = Literal["in", "out", "lost", "sampled", "additive"]
"""Where an amount went: `lost` is spill and drip, `additive` went in beside the fluid."""

BalanceVerdict = Literal["ok", "explain", "stop"]

NOT_CLOSED = Kind(
    code="balance-not-closed",
    severity="caution",
    title="What went in does not match what came out",
    remedy="Look for spill, a missed entry or a wrong unit, and check the level again before any "
    "drive.",
    source=COMMON_PRACTICE,
)
TEMPERATURE_MISSING = Kind(
    code="entry-temperature-missing",
    severity="note",
    title="The temperature of a volume was not measured",
    remedy="Weigh it, or measure its temperature; it was taken as read at 15 °C.",
    source=COMMON_PRACTICE,
)
LITRES_DIFFER = Kind(
    code="line-litres-differ",
    severity="caution",
    title="Litres in and out drift apart during the line exchange",
    remedy="Slow the faster side. At the stop limit: feed and engine off, level the difference "
    "out, look for air, a kink or a wrong meter factor.",
    source=COMMON_PRACTICE,
)
TOO_VAGUE = Kind(
    code="balance-too-vague",
    severity="caution",
    title="The litres are not known well enough for a balance",
    remedy="Weigh them, or use a better meter and read the temperatures; check the level again "
    "before any drive.",
    source=COMMON_PRACTICE,
)
CHANGE_LARGE = Kind(
    code="expected-change-large",
    severity="caution",
    title="The expected change is more than half of what the unit holds",
    remedy="Check it: it is the level correction, plus what was missing, minus what was over, and "
    "not the litres that were filled in.",
    source=COMMON_PRACTICE,
)
KINDS = (NOT_CLOSED, TEMPERATURE_MISSING, LITRES_DIFFER, TOO_VAGUE, CHANGE_LARGE)
"""Every finding code of a balance."""


class BalanceEntry(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One amount of fluid, by volume at a temperature or by mass.

    `meter_class` is the error limit of meter or scale [% of the amount]; null is 1.0 for a volume,
    0.2 for a mass, and 50 for a volume that was lost, which is a guess.

    direction: where it went    volume, mass: exactly one of the two    temperature: of that fluid
    meter_class: error limit of meter or scale [% of the amount]
    Raises: InvalidInput unless exactly one of volume and mass is given.
    """

    direction: Direction
    volume: Volume | None = None
    mass: Mass | None = None
    temperature: Temperature | None = None
    meter_class: Annotated[float, Meta(ge=0, le=10)] | None = None

    def __post_init__(self) -> None:
        if (self.volume is None) == (self.mass is None):
            raise InvalidInput(_amount_fault(self))


def _amount_fault(entry: BalanceEntry) -> Fault:
    return Fault(
        pointer="/volume",
        code="exactly-one-of",
        detail="neither is given" if entry.volume is None else "both are given",
        value=entry.volume,
        allowed="exactly one of volume and mass",
        remedy="Give the volume with its temperature, or the mass.",
    )


class Balance(Struct, frozen=True, kw_only=True):
    """A fluid balance at 15 degC; `difference_l` is in - out - lost - sampled + additive.

    A difference is ok up to `ok_l` off what was expected, to be explained up to `stop_l`.
    """

    in_15_l: float
    out_15_l: float
    difference_l: float
    uncertainty_l: float
    ok_l: float
    stop_l: float
    verdict: BalanceVerdict
    findings: list[Finding]


class _Part(NamedTuple):
    """One entry in litres at 15 degC with the limits of its meter and temperature errors."""

    direction: Direction
    volume_l: float
    meter_l: float
    temperature_l: float


def balance_uncertainty_l(*, errors_l: Iterable[float], hose_l: float = HOSE_L) -> float:
    """Expanded uncertainty of a balance: 2 sqrt(sum of squares / 3), each error rectangular.

    errors_l: limits of independent errors, here meter and temperature per direction [L]
    hose_l: what may hang in the hoses [L]    Returns: uncertainty [L]
    Source: common practice; rectangular limits as in JCGM 100 (memory).

    >>> round(balance_uncertainty_l(errors_l=[0.12, 0.12, 0.0266, 0.0266]), 2)
    0.21
    """
    return 2 * sqrt(fsum(error_l**2 for error_l in (*errors_l, hose_l)) / 3)


def end_limits_l(*, total_l: float, uncertainty_l: float) -> tuple[float, float]:
    """Up to where a difference is ok, and up to where it needs explaining.

    total_l: [L]    uncertainty_l: expanded uncertainty [L]
    Returns: max(0.3, 2 U) and max(0.5, 5 % of total), the second never below the first [L]
    Source: common practice.

    >>> end_limits_l(total_l=9, uncertainty_l=0.21)
    (0.42, 0.5)
    """
    ok_l = max(0.3, 2 * uncertainty_l)
    return ok_l, max(0.5, 0.05 * total_l, ok_l)


def live_limits_l(*, total_l: float) -> tuple[float, float]:
    """Running difference of in and out at which to warn and to stop while fluid flows.

    total_l: above 15 L counts as heavy [L]    Returns: warn, stop [L]    Source: common practice.

    >>> live_limits_l(total_l=9), live_limits_l(total_l=38)
    ((0.3, 0.6), (0.9, 1.8))
    """
    return (0.9, 1.8) if is_heavy(total_l=total_l) else (0.3, 0.6)


def balance(
    *,
    density_15_kg_m3: float,
    total_l: float,
    entries: Sequence[BalanceEntry],
    expected_change_l: float = 0.0,
    hose_l: float = HOSE_L,
    flowing: bool = False,
) -> Balance:
    """What stayed in the unit at 15 degC against what was expected to stay.

    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]    total_l: fill of the unit [L]
    entries: any order, temperatures -50 to 150 degC
    expected_change_l: level correction, plus what was missing, minus what was over [L]
    hose_l: what may hang in the hoses [L]
    flowing: judged by the limits while fluid flows, else by those at the end
    Raises: OutOfRange    Source: API MPMS 11.1 for volumes; limits are common practice.

    >>> fill = BalanceEntry(direction="in", volume=Volume(12, "L"),
    ...                     temperature=Temperature(20, "Cel"))
    >>> drain = BalanceEntry(direction="out", volume=Volume(12, "L"),
    ...                      temperature=Temperature(75, "Cel"))
    >>> round(balance(density_15_kg_m3=850, total_l=9, entries=[fill, drain]).difference_l, 2)
    0.49
    """
    parts = [_part(entry, density_15_kg_m3) for entry in entries]
    sums = {d: fsum(p.volume_l for p in parts if p.direction == d) for d in _SIGNS}
    difference_l = fsum(sign * sums[direction] for direction, sign in _SIGNS.items())
    uncertainty_l = balance_uncertainty_l(errors_l=_errors_l(parts), hose_l=hose_l)
    at_end_l = end_limits_l(total_l=total_l, uncertainty_l=uncertainty_l)
    limits_l = live_limits_l(total_l=total_l) if flowing else at_end_l
    off_l, kind = difference_l - expected_change_l, LITRES_DIFFER if flowing else NOT_CLOSED
    return Balance(
        in_15_l=sums["in"],
        out_15_l=sums["out"],
        difference_l=difference_l,
        uncertainty_l=uncertainty_l,
        ok_l=limits_l[0],
        stop_l=limits_l[1],
        verdict=_verdict(abs(off_l), limits_l),
        findings=[*_off(kind, off_l, uncertainty_l, limits_l), *_without_temperature(entries)],
    )


_SIGNS: dict[Direction, int] = {"in": 1, "out": -1, "lost": -1, "sampled": -1, "additive": 1}


def volume_15_l(entry: BalanceEntry, *, density_15_kg_m3: float) -> float:
    """The volume of an entry at 15 degC; a volume of unknown temperature counts as read.

    density_15_kg_m3: 800.9 to 1163.5 [kg/m3]
    Returns: volume at 15 degC [L]    Raises: OutOfRange
    Source: API MPMS 11.1, lubricating oils.

    >>> volume_15_l(BalanceEntry(direction="out", mass=Mass(8.5, "kg")), density_15_kg_m3=850)
    10.0
    """
    if entry.mass is not None:
        return volume_from_mass_15_l(mass_kg=entry.mass.kg, density_15_kg_m3=density_15_kg_m3)
    read_l = entry.volume.l if entry.volume else 0.0
    if entry.temperature is None:
        return read_l
    return volume_at_15_l(
        volume_l=read_l, density_15_kg_m3=density_15_kg_m3, temperature_c=entry.temperature.c
    )


def _part(entry: BalanceEntry, density_15_kg_m3: float) -> _Part:
    volume_l = volume_15_l(entry, density_15_kg_m3=density_15_kg_m3)
    percent = _usual_percent(entry) if entry.meter_class is None else entry.meter_class
    growth_l = volume_l * thermal_expansion_per_k(density_15_kg_m3=density_15_kg_m3)
    return _Part(
        entry.direction, volume_l, volume_l * percent / 100, growth_l * _temperature_error_k(entry)
    )


def _usual_percent(entry: BalanceEntry) -> float:
    if entry.mass is not None:
        return SCALE_CLASS_PERCENT
    return GUESS_PERCENT if entry.direction == "lost" else METER_CLASS_PERCENT


def _temperature_error_k(entry: BalanceEntry) -> float:
    if entry.mass is not None:
        return 0.0
    return UNKNOWN_TEMPERATURE_K if entry.temperature is None else TEMPERATURE_ERROR_K


def _errors_l(parts: Sequence[_Part]) -> list[float]:
    """Meter and temperature errors add up within a direction, which shares its meter."""
    errors_l = []
    for direction in _SIGNS:
        own = [part for part in parts if part.direction == direction]
        errors_l += [fsum(p.meter_l for p in own), fsum(p.temperature_l for p in own)]
    return errors_l


def _verdict(off_l: float, limits_l: tuple[float, float]) -> BalanceVerdict:
    ok_l, explain_l = limits_l
    if off_l <= ok_l + SAME_L:
        return "ok"
    return "explain" if off_l <= explain_l + SAME_L else "stop"


def _off(
    kind: Kind, off_l: float, uncertainty_l: float, limits_l: tuple[float, float]
) -> list[Finding]:
    verdict = _verdict(abs(off_l), limits_l)
    if verdict == "ok":
        return []
    values = {"off_l": off_l, "uncertainty_l": uncertainty_l, "ok_l": limits_l[0]}
    text = f"{off_l:+.2f} L against what was expected; ok is up to {limits_l[0]:.2f} L."
    severity = kind.severity if verdict == "explain" else "stop"
    return [kind.at("#/entries", text, values=values, severity=severity)]


def _without_temperature(entries: Sequence[BalanceEntry]) -> list[Finding]:
    return [
        TEMPERATURE_MISSING.at(
            f"#/entries/{index}",
            f"{entry.volume.l:.2f} L were taken as read; the uncertainty is wider for it.",
            values={"volume_l": entry.volume.l},
        )
        for index, entry in enumerate(entries)
        if entry.volume is not None and entry.temperature is None
    ]
