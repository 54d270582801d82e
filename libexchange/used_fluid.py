"""One decision from the bench checks and the laboratory results of used fluid."""

from typing import Literal

from msgspec import Struct

from libexchange.bench_checks import BenchChecks, bench_rulings
from libexchange.findings import Finding
from libexchange.laboratory import LaboratoryResults, laboratory_rulings, particles_code
from libexchange.quantities import Distance
from libexchange.used_fluid_findings import (
    LATE,
    WITHOUT_DRIVE,
    Decision,
    Ruling,
    ruling,
    worst_decision,
)

RECHECK_KM: dict[Decision, tuple[float, float]] = {
    "proceed_gently": (500.0, 1500.0),
    "exchange_and_repeat": (500.0, 2000.0),
}
"""After which distance to look again, from and to [km]; common practice."""

NEVER_OVERRIDDEN: tuple[Decision, ...] = ("stop_foreign_fluid", "stop_coolant")

OverrideNeed = Literal["name", "reason", "customer_signature"]
OVERRIDE_NEEDS: tuple[OverrideNeed, ...] = ("name", "reason", "customer_signature")
"""What the override of a stop has to carry; common practice."""


class UsedFluidReason(Struct, frozen=True, kw_only=True):
    """What one check asks for: `code` is that of its finding, `pointer` the check.

    decision: that it asks for
    """

    decision: Decision
    code: str
    pointer: str


class Recheck(Struct, frozen=True, kw_only=True):
    """The distance after which the fluid is checked again.

    earliest, latest: distances
    """

    earliest: Distance
    latest: Distance


class UsedFluidAnswer(Struct, frozen=True, kw_only=True):
    """The decision, which is the worst of its reasons, and everything found.

    overridable: whether a person may decide otherwise; stops for coolant, foreign fluid or a unit
    without drive never are.
    override_needs: what that takes; empty unless a stop can be overridden.
    recheck: null where none is due.    cleanliness_code: null where no particles were counted.
    decision: the worst    reasons: every check that asks for one    findings: the same in words
    """

    decision: Decision
    overridable: bool
    override_needs: tuple[OverrideNeed, ...]
    reasons: tuple[UsedFluidReason, ...]
    recheck: Recheck | None
    cleanliness_code: str | None
    findings: list[Finding]


def judge_used_fluid(
    *,
    bench: BenchChecks,
    laboratory: LaboratoryResults,
    heavy: bool = False,
    laboratory_is_late: bool = False,
) -> UsedFluidAnswer:
    """The worst ruling of all checks, with every reason; nothing found means proceed.

    Results that came after the work decide nothing about it: they are findings, and one more says
    so where the laboratory would have decided worse than the bench.

    heavy: a unit of more than 15 L    laboratory_is_late: the results came after the work
    Source: common practice; limits as in `laboratory` and `bench_checks`.

    >>> answer = judge_used_fluid(
    ...     bench=BenchChecks(smell="burnt", glycol_strip="positive"),
    ...     laboratory=LaboratoryResults())
    >>> answer.decision, answer.overridable, [reason.code for reason in answer.reasons]
    ('stop_coolant', False, ['used-fluid-smells-burnt', 'glycol-strip-positive'])
    """
    at_bench = bench_rulings(bench, heavy=heavy)
    at_laboratory = laboratory_rulings(laboratory, heavy=heavy)
    deciding = at_bench if laboratory_is_late else [*at_bench, *at_laboratory]
    late = _late(at_bench, at_laboratory) if laboratory_is_late else []
    decision, particles = worst_decision(deciding), laboratory.particles
    overridable = _overridable(decision, deciding)
    return UsedFluidAnswer(
        decision=decision,
        overridable=overridable,
        override_needs=OVERRIDE_NEEDS if overridable and decision.startswith("stop") else (),
        reasons=tuple(map(_reason, filter(_counts, deciding))),
        recheck=_recheck(decision, deciding),
        cleanliness_code=None if particles is None else particles_code(particles),
        findings=[one.finding for one in (*at_bench, *at_laboratory, *late)],
    )


def _late(at_bench: list[Ruling], at_laboratory: list[Ruling]) -> list[Ruling]:
    told, would_be = worst_decision(at_bench), worst_decision([*at_bench, *at_laboratory])
    if would_be == told:
        return []
    text = f"Decided at the bench: {told}; with the laboratory it would be {would_be}."
    return [ruling(LATE, would_be, "#/laboratory", text, decided=told, would_be=would_be)]


def _overridable(decision: Decision, rulings: list[Ruling]) -> bool:
    if decision in NEVER_OVERRIDDEN:
        return False
    return all(one.finding.code != WITHOUT_DRIVE.code for one in rulings)


def _counts(one: Ruling) -> bool:
    """Whether a ruling is a reason: one that lets work proceed is only worth knowing."""
    return one.decision != "proceed"


def _reason(one: Ruling) -> UsedFluidReason:
    finding = one.finding
    return UsedFluidReason(decision=one.decision, code=finding.code, pointer=finding.pointer)


def _recheck(decision: Decision, rulings: list[Ruling]) -> Recheck | None:
    """Within what every reason asks for."""
    if decision not in RECHECK_KM:
        return None
    asked = [RECHECK_KM[one.decision] for one in rulings if one.decision in RECHECK_KM]
    earliest_km = max(earliest for earliest, _ in asked)
    latest_km = min(latest for _, latest in asked)
    return Recheck(earliest=Distance(earliest_km, "km"), latest=Distance(latest_km, "km"))
