"""Laboratory results of a job, before its close and after it."""

import pytest

from libexchange.bench_checks import BenchChecks
from libexchange.errors import InvalidInput
from libexchange.job.events import BenchChecked, LateFinding
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from libexchange.laboratory import LaboratoryResults
from libexchange.quantities import Content
from tests.job.plans import Bay, plan_for

PLAN = plan_for()
GLYCOL = LaboratoryResults(glycol=Content(200, "[ppm]"))


def test_laboratory_results_before_the_close_count_like_any_other_check() -> None:
    bay = Bay(PLAN).whole_job()
    bay.add(LateFinding, source="laboratory", text="invented", laboratory=GLYCOL)
    found = fold(PLAN, bay.events)

    assert [(one.code, one.severity, one.pointer) for one in found.findings] == [
        ("glycol-in-sample", "stop", "#/bench")
    ]
    assert verdict(PLAN, found).verdict == "not_accepted"


def test_laboratory_results_after_the_close_are_told_and_change_no_verdict() -> None:
    bay = Bay(PLAN).whole_job()
    bay.add(BenchChecked, bench=BenchChecks(smell="varnish"))
    close = len(bay.events)
    bay.add(LateFinding, source="laboratory", text="invented", laboratory=GLYCOL)
    bay.add(LateFinding, source="customer", text="invented")
    late = fold(PLAN, bay.events[:close], bay.events[close:])

    added = [one for one in late.findings if one.code == "laboratory-result-after-work"]
    assert [(one.severity, one.pointer) for one in added] == [("stop", "#/bench")]
    assert "glycol-in-sample" not in [one.code for one in late.findings]
    assert verdict(PLAN, late).verdict == "accepted"


def test_laboratory_results_come_from_a_laboratory() -> None:
    with pytest.raises(InvalidInput) as refused:
        Bay(PLAN).add(LateFinding, source="customer", text="invented", laboratory=GLYCOL)

    assert [one.code for one in refused.value.faults] == ["not-of-source"]
