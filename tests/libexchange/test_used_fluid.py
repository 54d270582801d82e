"""Used fluid: every check by its case, the worst ruling of several, and cleanliness codes."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import convert

from libexchange.bench_checks import BenchChecks
from libexchange.cleanliness import (
    UPPER_LIMITS_PER_ML,
    cleanliness_code,
    scale_limits_per_ml,
    scale_number,
)
from libexchange.errors import OutOfRange
from libexchange.laboratory import LaboratoryResults
from libexchange.used_fluid import UsedFluidAnswer, judge_used_fluid
from libexchange.used_fluid_findings import DECISIONS, INCOMPLETE, KINDS, severity_of

Case = dict[str, Any]
TEXT = Path(__file__).with_name("used_fluid_cases.toml").read_text(encoding="utf-8")
CASES: list[Case] = tomllib.loads(TEXT)["case"]
BY_TITLE = pytest.mark.parametrize("case", CASES, ids=[case["title"] for case in CASES])


def judged(case: Case) -> UsedFluidAnswer:
    return judge_used_fluid(
        bench=convert(case.get("bench", {}), BenchChecks),
        laboratory=convert(case.get("laboratory", {}), LaboratoryResults),
        heavy=case.get("heavy", False),
        laboratory_is_late=case.get("late", False),
    )


@BY_TITLE
def test_a_case_is_decided(case: Case) -> None:
    answer = judged(case)

    codes = [finding.code for finding in answer.findings if finding.code != INCOMPLETE.code]
    assert (answer.decision, sorted(codes)) == (case["decision"], sorted(case["codes"]))
    assert answer.cleanliness_code == case.get("cleanliness_code")


@BY_TITLE
def test_the_decision_is_the_worst_of_its_reasons(case: Case) -> None:
    answer = judged(case)

    worst = max((DECISIONS.index(reason.decision) for reason in answer.reasons), default=0)
    assert answer.decision == DECISIONS[worst]


@BY_TITLE
def test_every_reason_has_its_finding_as_grave_as_it(case: Case) -> None:
    answer = judged(case)

    found = {(finding.code, finding.pointer): finding.severity for finding in answer.findings}
    for reason in answer.reasons:
        assert found[reason.code, reason.pointer] == severity_of(reason.decision)


@pytest.mark.parametrize("case", [case for case in CASES if "overridable" in case])
def test_what_may_be_overridden_is_told(case: Case) -> None:
    assert judged(case).overridable is case["overridable"]


@BY_TITLE
def test_the_override_of_a_stop_takes_a_name_a_reason_and_a_signature(case: Case) -> None:
    answer = judged(case)

    overridden = answer.decision.startswith("stop") and answer.overridable
    needs = ("name", "reason", "customer_signature") if overridden else ()
    assert answer.override_needs == needs


@BY_TITLE
def test_late_results_decide_nothing(case: Case) -> None:
    late = case | {"late": True}
    bench_only = {"bench": case.get("bench", {}), "heavy": case.get("heavy", False)}

    assert judged(late).decision == judged(bench_only).decision
    assert judged(late).reasons == judged(bench_only).reasons


def test_every_code_has_a_case() -> None:
    shown = {code for case in CASES for code in case["codes"]} | {INCOMPLETE.code}

    assert shown == {kind.code for kind in KINDS}


@pytest.mark.parametrize(
    ("decision", "latest_km"),
    [("proceed", None), ("proceed_gently", 1500), ("exchange_and_repeat", 2000)],
)
def test_a_recheck_is_due_where_the_decision_is_a_caution(
    decision: str, latest_km: float | None
) -> None:
    rechecks = {
        answer.recheck and answer.recheck.latest.km
        for answer in map(judged, CASES)
        if answer.decision == decision
    }

    assert rechecks == {latest_km}


def test_no_recheck_is_due_after_a_stop() -> None:
    answers = [judged(case) for case in CASES if case["decision"].startswith("stop")]

    assert {answer.recheck for answer in answers} == {None}


def test_missing_bench_checks_are_named() -> None:
    answer = judged({"bench": {"colour": "clear", "crackle": "silent"}})

    (finding,) = answer.findings
    assert finding.values == {"missing": "smell, debris, glycol strip"}


@pytest.mark.parametrize(("scale", "upper"), list(enumerate(UPPER_LIMITS_PER_ML)))
def test_a_limit_belongs_to_its_own_number_and_the_next_count_to_the_next(
    scale: int, upper: float
) -> None:
    assert scale_number(per_ml=upper) == scale
    assert scale_number(per_ml=upper * 1.0001) == scale + 1


@pytest.mark.parametrize("scale", [7, 8, 17, 18, 27, 28])
def test_rounded_limits_are_where_a_logarithm_would_err(scale: int) -> None:
    """Doubling from 0.01 would put these limits elsewhere: the table decides."""
    assert UPPER_LIMITS_PER_ML[scale] != pytest.approx(0.01 * 2**scale, rel=1e-6)


@given(per_ml=st.floats(0, 3e6))
def test_a_count_lies_within_the_limits_of_its_scale_number(per_ml: float) -> None:
    scale = scale_number(per_ml=per_ml)

    if scale == len(UPPER_LIMITS_PER_ML):
        assert per_ml > 2.5e6
    else:
        above, upper = scale_limits_per_ml(scale=scale)
        assert above < per_ml <= upper or per_ml == 0


@pytest.mark.parametrize(
    ("counted_ml", "code"),
    [(None, "16/14/8"), (10, "16/14/8"), (9.9, "16/14/>=8"), (0.1, "16/>=14/>=8")],
)
def test_fewer_than_twenty_counted_particles_are_marked(
    counted_ml: float | None, code: str
) -> None:
    assert cleanliness_code(per_ml=(600, 100, 2), counted_ml=counted_ml) == code


def test_counts_above_the_table_say_so() -> None:
    assert cleanliness_code(per_ml=(3e6, 2.5e6, 0), counted_ml=1e-5) == ">28/28/>=0"


@pytest.mark.parametrize("per_ml", [-1e-6, 1e9 + 1, float("nan")])
def test_impossible_counts_are_refused(per_ml: float) -> None:
    with pytest.raises(OutOfRange, match="per_ml"):
        scale_number(per_ml=per_ml)


@pytest.mark.parametrize("scale", [-1, 29])
def test_scale_numbers_outside_the_table_have_no_limits(scale: int) -> None:
    with pytest.raises(OutOfRange, match="scale"):
        scale_limits_per_ml(scale=scale)


@pytest.mark.parametrize("counted_ml", [0, 9.99e-7, 100_000.1])
def test_impossible_samples_are_refused(counted_ml: float) -> None:
    with pytest.raises(OutOfRange, match="counted_ml"):
        cleanliness_code(per_ml=(1, 1, 1), counted_ml=counted_ml)


def test_the_largest_counts_and_samples_are_computed() -> None:
    assert scale_number(per_ml=1e9) == 29
    assert cleanliness_code(per_ml=(0.01, 0.01, 0.01), counted_ml=1e5) == "0/0/0"
    assert cleanliness_code(per_ml=(0.01, 0.01, 0.01), counted_ml=1e-6) == ">=0/>=0/>=0"
