"""What a laboratory measured in a sample of used fluid, and what it decides.

A value is judged against the limits of its kind: above normal is a note, then caution, then act.
Most limits are from memory and yield to the maker's own and to the trend of the unit.
"""

from collections.abc import Iterator
from typing import NamedTuple

from msgspec import Struct

from libexchange.cleanliness import cleanliness_code, scale_number
from libexchange.findings import Kind
from libexchange.quantities import AcidNumber, Content, KinematicViscosity, ParticleCount, Volume
from libexchange.used_fluid_findings import (
    ACID,
    COOLANT_METAL,
    COUNTS_UPSIDE_DOWN,
    GLYCOL,
    SILICON,
    THICKER,
    THINNER,
    UNCLEAN,
    WATER,
    WEAR_METAL,
    Decision,
    Ruling,
    ruling,
)


class ViscosityPair(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Kinematic viscosity of the used and of the unused fluid at one temperature.

    used, fresh: both at that temperature
    """

    used: KinematicViscosity
    fresh: KinematicViscosity


class AcidNumberPair(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Acid number of the used and of the unused fluid (ASTM D664).

    used, fresh: [mg KOH/g]
    """

    used: AcidNumber
    fresh: AcidNumber


class ParticleCounts(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Particles of 4, 6 and 14 um(c) and larger; `counted` is the fluid they were counted in.

    at_4_um, at_6_um, at_14_um: particles of that size and larger per millilitre
    counted: null leaves out the mark for small counts
    """

    at_4_um: ParticleCount
    at_6_um: ParticleCount
    at_14_um: ParticleCount
    counted: Volume | None = None


class LaboratoryResults(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Results of one sample; null is what was not measured.

    copper_before: of the sample before this one; high copper that does not rise is a caution only
    viscosity_40, viscosity_100: of used and fresh fluid at 40 and 100 Cel
    acid_number: of used and fresh fluid    water: all of it, dissolved or free
    iron, copper, lead, tin, aluminium: wear metals by mass
    silicon: dirt or sealant    sodium, potassium: coolant    glycol: coolant itself
    particles: counts for the cleanliness code of ISO 4406
    """

    viscosity_40: ViscosityPair | None = None
    viscosity_100: ViscosityPair | None = None
    acid_number: AcidNumberPair | None = None
    water: Content | None = None
    glycol: Content | None = None
    iron: Content | None = None
    copper: Content | None = None
    copper_before: Content | None = None
    aluminium: Content | None = None
    lead: Content | None = None
    tin: Content | None = None
    silicon: Content | None = None
    sodium: Content | None = None
    potassium: Content | None = None
    particles: ParticleCounts | None = None


class Limits(NamedTuple):
    """From where a value is a note, from where a caution, and from where to act.

    `caution_from` and `act_from` are false where the limit itself still counts as below it.
    """

    note: float
    caution: float
    act: float
    caution_from: bool = True
    act_from: bool = True


class _Item(NamedTuple):
    """How one result is judged."""

    kind: Kind
    limits: Limits
    at_caution: Decision
    at_act: Decision


THICKENING_PERCENT = Limits(10, 15, 25)
THINNING_PERCENT = Limits(10, 20, 25, caution_from=False)
ACID_RISE_MG_PER_G = Limits(1, 1.5, 3)
WATER_PPM = Limits(300, 500, 1000)
HEAVY_WATER_PPM = Limits(2000, 2000, 2000, caution_from=False, act_from=False)
CAUTION_CODE, ACT_CODE = (21, 19, 16), (23, 21, 18)

_THICKER = _Item(THICKER, THICKENING_PERCENT, "proceed_gently", "exchange_and_repeat")
_THINNER = _Item(THINNER, THINNING_PERCENT, "proceed_gently", "exchange_and_repeat")
_ACID = _Item(ACID, ACID_RISE_MG_PER_G, "proceed_gently", "exchange_and_repeat")
_WATER = _Item(WATER, WATER_PPM, "exchange_and_repeat", "stop_coolant")
_HEAVY_WATER = _WATER._replace(limits=HEAVY_WATER_PPM)


def _metal(kind: Kind, note: float, caution: float, act: float, at_act: Decision) -> _Item:
    return _Item(kind, Limits(note, caution, act, act_from=False), "proceed_gently", at_act)


ELEMENTS: dict[str, _Item] = {
    "iron": _metal(WEAR_METAL, 150, 200, 350, "stop_mechanical"),
    "copper": _metal(WEAR_METAL, 80, 150, 300, "stop_mechanical"),
    "aluminium": _metal(WEAR_METAL, 30, 60, 100, "stop_mechanical"),
    "lead": _metal(WEAR_METAL, 20, 40, 80, "stop_mechanical"),
    "tin": _metal(WEAR_METAL, 10, 20, 40, "stop_mechanical"),
    "silicon": _metal(SILICON, 20, 35, 60, "exchange_and_repeat"),
    "sodium": _metal(COOLANT_METAL, 20, 50, 100, "stop_coolant"),
    "potassium": _metal(COOLANT_METAL, 20, 50, 100, "stop_coolant"),
}
"""How each element is judged [ppm]."""


def laboratory_rulings(results: LaboratoryResults, *, heavy: bool) -> list[Ruling]:
    """What the results of a sample decide, each by itself.

    heavy: a unit of more than 15 L, where water up to 0.2 % is common condensation
    Source: fluid analysis table of a heavy-duty operator manual for viscosity, acid number, water
    and glycol; the rest from memory.

    >>> results = LaboratoryResults(glycol=Content(5, "[ppm]"))
    >>> [one.decision for one in laboratory_rulings(results, heavy=False)]
    ['stop_coolant']
    """
    return [
        *_viscosity(results),
        *_acid(results),
        *_water_and_glycol(results, heavy),
        *_elements(results),
        *_particles(results.particles),
    ]


def particles_code(particles: ParticleCounts) -> str:
    """The ISO 4406 code of the counts.

    >>> count = ParticleCount(1300, "/mL")
    >>> particles_code(ParticleCounts(at_4_um=count, at_6_um=count, at_14_um=count))
    '17/17/17'
    """
    counted = particles.counted
    return cleanliness_code(
        per_ml=_per_ml(particles), counted_ml=None if counted is None else 1000 * counted.l
    )


def _per_ml(particles: ParticleCounts) -> tuple[float, float, float]:
    return particles.at_4_um.per_ml, particles.at_6_um.per_ml, particles.at_14_um.per_ml


def _judged(item: _Item, name: str, value: float, unit: str) -> Iterator[Ruling]:
    """The ruling of one value, none while it is normal; float noise at a limit is taken off."""
    value, limits = round(value, 9), item.limits
    if value > limits.act or (limits.act_from and value == limits.act):
        decision = item.at_act
    elif value > limits.caution or (limits.caution_from and value == limits.caution):
        decision = item.at_caution
    elif value >= limits.note:
        decision = "proceed"
    else:
        return
    text = f"{name.replace('_', ' ').capitalize()}: {value:.6g} {unit}; act at {limits.act:g}."
    yield ruling(
        item.kind, decision, f"#/laboratory/{name}", text, value=value, unit=unit, act=limits.act
    )


def _viscosity(results: LaboratoryResults) -> Iterator[Ruling]:
    for name in ("viscosity_40", "viscosity_100"):
        pair: ViscosityPair | None = getattr(results, name)
        if pair is not None:
            used, fresh = pair.used.mm2_s, pair.fresh.mm2_s
            item = _THICKER if used > fresh else _THINNER
            yield from _judged(item, name, 100 * abs(used - fresh) / fresh, "% of change")


def _acid(results: LaboratoryResults) -> Iterator[Ruling]:
    if (pair := results.acid_number) is not None:
        rise = pair.used.mg_per_g - pair.fresh.mg_per_g
        yield from _judged(_ACID, "acid_number", rise, "mg/g of rise")


def _water_and_glycol(results: LaboratoryResults, heavy: bool) -> Iterator[Ruling]:
    if results.water is not None:
        yield from _judged(_HEAVY_WATER if heavy else _WATER, "water", results.water.ppm, "ppm")
    if results.glycol is not None and results.glycol.ppm > 0:
        text = f"Glycol: {results.glycol.ppm:g} ppm; any is too much."
        glycol_ppm = results.glycol.ppm
        yield ruling(GLYCOL, "stop_coolant", "#/laboratory/glycol", text, glycol_ppm=glycol_ppm)


def _elements(results: LaboratoryResults) -> Iterator[Ruling]:
    for name, item in ELEMENTS.items():
        content: Content | None = getattr(results, name)
        if content is None:
            continue
        steady = name == "copper" and _copper_does_not_rise(results)
        used = item._replace(at_act=item.at_caution) if steady else item
        yield from _judged(used, name, content.ppm, "ppm")


def _copper_does_not_rise(results: LaboratoryResults) -> bool:
    """New coolers leach copper, so that only a rise speaks of wear."""
    before, now = results.copper_before, results.copper
    return before is not None and now is not None and now.ppm <= before.ppm


def _particles(particles: ParticleCounts | None) -> Iterator[Ruling]:
    if particles is None:
        return
    per_ml = _per_ml(particles)
    if sorted(per_ml, reverse=True) != list(per_ml):
        text = "The counts at 4, 6 and 14 um do not fall."
        yield ruling(COUNTS_UPSIDE_DOWN, "proceed", "#/laboratory/particles", text)
    scales = [scale_number(per_ml=count) for count in per_ml]
    if decision := _cleanliness_decision(scales):
        text = f"ISO 4406 {particles_code(particles)}."
        yield ruling(
            UNCLEAN, decision, "#/laboratory/particles", text, code=particles_code(particles)
        )


def _cleanliness_decision(scales: list[int]) -> Decision | None:
    """The worst number decides; codes are compared number by number."""

    def reached(code: tuple[int, int, int]) -> bool:
        return any(scale >= limit for scale, limit in zip(scales, code, strict=True))

    if reached(ACT_CODE):
        return "exchange_and_repeat"
    return "proceed_gently" if reached(CAUTION_CODE) else None
