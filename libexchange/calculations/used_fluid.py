"""Judge used fluid from bench checks and laboratory results."""

from collections.abc import Iterator
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from libexchange.bench_checks import GATING, BenchChecks
from libexchange.calculations._faults import fault, out_of_range, raise_if_any, total_faults
from libexchange.calculations._pointers import into
from libexchange.errors import Fault
from libexchange.laboratory import LaboratoryResults
from libexchange.level import is_heavy
from libexchange.quantities import Volume
from libexchange.used_fluid import UsedFluidAnswer, judge_used_fluid

COUNTED_ML = (0.001, 1000.0)

EXAMPLE: dict[str, Any] = {
    "total": {"value": 9.0, "unit": "L"},
    "bench": {
        "colour": "brown",
        "smell": "normal",
        "debris": "grey_paste",
        "crackle": "silent",
        "glycol_strip": "negative",
        "blotter": "even",
    },
    "laboratory": {
        "viscosity_100": {
            "used": {"value": 6.9, "unit": "mm2/s"},
            "fresh": {"value": 7.4, "unit": "mm2/s"},
        },
        "water": {"value": 0.06, "unit": "%"},
        "iron": {"value": 120, "unit": "[ppm]"},
        "particles": {
            "at_4_um": {"value": 3000, "unit": "/mL"},
            "at_6_um": {"value": 500, "unit": "/mL"},
            "at_14_um": {"value": 7, "unit": "/mL"},
            "counted": {"value": 25, "unit": "mL"},
        },
    },
}


class UsedFluidRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What bench and laboratory found in the fluid of one unit; at least one but the blotter.

    total: 0.5 to 500 L, above 15 L counts as heavy duty; null as a car
    particles.counted: 0.001 to 1,000 mL
    laboratory_is_late: the results came after the work and decide nothing about it
    bench: what was seen at the bench    laboratory: results of a sample, null without any
    """

    total: Volume | None = None
    bench: BenchChecks | None = None
    laboratory: LaboratoryResults | None = None
    laboratory_is_late: bool = False


def calculate_used_fluid(request: UsedFluidRequest) -> UsedFluidAnswer:
    """One decision, the worst of all checks, with every reason and finding.

    Raises: InvalidInput    Source: common practice; limits as each finding says.

    >>> import msgspec
    >>> answer = calculate_used_fluid(msgspec.convert(EXAMPLE, UsedFluidRequest))
    >>> answer.decision, answer.cleanliness_code
    ('exchange_and_repeat', '19/16/10')
    """
    raise_if_any(_faults(request))
    total = request.total
    answer = judge_used_fluid(
        bench=request.bench or BenchChecks(),
        laboratory=request.laboratory or LaboratoryResults(),
        heavy=total is not None and is_heavy(total_l=total.l),
        laboratory_is_late=request.laboratory_is_late,
    )
    return replace(answer, findings=into(request, answer.findings))


def _faults(request: UsedFluidRequest) -> Iterator[Fault]:
    if request.total is not None:
        yield from total_faults(request.total)
    yield from _counted_faults(request.laboratory)
    if not _something_decides(request):
        yield fault(
            "/bench",
            "missing-field",
            "nothing was given that can decide",
            allowed="a bench check other than the blotter, or a result of the laboratory",
            remedy="Give what was seen or measured.",
        )


def _counted_faults(results: LaboratoryResults | None) -> Iterator[Fault]:
    particles = None if results is None else results.particles
    counted, (low_ml, high_ml) = None if particles is None else particles.counted, COUNTED_ML
    if counted is not None and not low_ml <= 1000 * counted.l <= high_ml:
        allowed = f"{low_ml:g} to {high_ml:g} mL"
        yield out_of_range("/laboratory/particles/counted", counted, allowed)


def _something_decides(request: UsedFluidRequest) -> bool:
    seen = any(getattr(request.bench, check, None) for check in (*GATING, "shifts"))
    return seen or _measured(request.laboratory)


def _measured(results: LaboratoryResults | None) -> bool:
    names = (name for name in LaboratoryResults.__struct_fields__ if name != "copper_before")
    return any(getattr(results, name, None) is not None for name in names)
