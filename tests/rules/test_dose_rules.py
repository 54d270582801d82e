"""Every forbidden combination of an additive against its case file: what breaks it, what passes."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from msgspec import convert

from libexchange.dose_rules import DOSE_RULES, DoseCase, forbidden
from libexchange.findings import Finding
from libexchange.rules import PLAN_RULES, ROUTE_RULES
from tests.findings.expected import expected

CASES = Path(__file__).parent / "dose_cases"
KINDS = {rule.kind.code: rule.kind for rule in DOSE_RULES}
HARMLESS: dict[str, Any] = {
    "kind": "cleaner",
    "placed": "before_exchange",
    "family": "converter_automatic",
    "pan_opened": True,
    "filter_changed": True,
}


def load(kind: str) -> list[Any]:
    return [
        pytest.param(path.stem, case, id=f"{path.stem}: {case['title']}")
        for path in sorted(CASES.glob("*.toml"))
        for case in tomllib.loads(path.read_text("utf-8"))[kind]
    ]


def found(changes: dict[str, Any], code: str) -> list[Finding]:
    merged = HARMLESS | {name: None if v == "null" else v for name, v in changes.items()}
    return [finding for finding in forbidden(convert(merged, DoseCase)) if finding.code == code]


@pytest.mark.parametrize(("code", "case"), load("breaks"))
def test_rule_finds_what_breaks_it(code: str, case: dict[str, Any]) -> None:
    assert found(case["case"], code) == [expected(KINDS[code], case)]


@pytest.mark.parametrize(("code", "case"), load("passes"))
def test_rule_is_silent_on_what_passes(code: str, case: dict[str, Any]) -> None:
    assert found(case["case"], code) == []


def test_a_cleaner_may_go_where_nothing_speaks_against_it() -> None:
    assert forbidden(convert(HARMLESS | {"maker_allows": "yes"}, DoseCase)) == []


def test_every_rule_has_a_case_file_and_every_case_file_a_rule() -> None:
    assert {rule.kind.code for rule in DOSE_RULES} == {path.stem for path in CASES.glob("*.toml")}


def test_codes_are_used_once_over_all_rules() -> None:
    codes = [rule.kind.code for rule in DOSE_RULES]
    codes += [rule.kind.code for rule in PLAN_RULES]
    codes += [rule.kind.code for rule in ROUTE_RULES]

    assert len(codes) == len(set(codes))


def test_case_61_a_cleaner_without_a_filter_change_is_stopped() -> None:
    assert found({"filter_changed": False}, "cleaner-without-filter")


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"family": "wet_dual_clutch"}, "additive-in-dual-clutch"),
        ({"family": "cvt_with_start_clutch"}, "additive-in-cvt"),
        ({"conditions": ["under_warranty"]}, "additive-under-warranty"),
    ],
)
def test_case_67_no_cleaner_in_dual_clutch_cvt_or_under_warranty(
    changes: dict[str, Any], code: str
) -> None:
    assert found(changes, code)


def test_case_69_a_conditioner_before_the_exchange_is_stopped() -> None:
    assert found({"kind": "conditioner"}, "conditioner-before-exchange")
