"""Laboratory results that come while the job is open, and those that come after its close."""

from collections.abc import Iterable
from typing import NamedTuple

from msgspec.structs import replace

from libexchange.bench_checks import BenchChecks
from libexchange.findings import Finding
from libexchange.job.events import LateFinding
from libexchange.job.evidence import BenchState, is_heavy_unit
from libexchange.job.history import History
from libexchange.laboratory import LaboratoryResults
from libexchange.plan.records import Plan
from libexchange.used_fluid import judge_used_fluid
from libexchange.used_fluid_findings import LATE


class _Told(NamedTuple):
    """What results are judged with."""

    heavy: bool
    bench: BenchChecks


def laboratory_findings(
    plan: Plan, bench: BenchState | None, *, on_time: History, late: History
) -> list[Finding]:
    """What laboratory results say of the used fluid, pointing to what was seen at the bench.

    Results that came before the close count like any other check. Later ones decide nothing: they
    are told where the laboratory would have decided worse than the bench.
    Source: common practice.
    """
    told = _Told(is_heavy_unit(plan), bench.seen if bench else BenchChecks())
    before = [one for results in _of(on_time) for one in _judged(told, results, is_late=False)]
    after = [one for results in _of(late) for one in _judged(told, results, is_late=True)]
    counted = [one for one in before if one.pointer.startswith("#/laboratory")]
    summed = [one for one in after if one.code == LATE.code]
    return [replace(one, pointer="#/bench") for one in (*counted, *summed)]


def _of(history: History) -> Iterable[LaboratoryResults]:
    return (one.laboratory for one in history.of(LateFinding) if one.laboratory is not None)


def _judged(told: _Told, results: LaboratoryResults, *, is_late: bool) -> list[Finding]:
    return judge_used_fluid(
        bench=told.bench, laboratory=results, heavy=told.heavy, laboratory_is_late=is_late
    ).findings
