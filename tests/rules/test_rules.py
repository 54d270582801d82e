"""Every rule against its case file: what breaks it and what passes."""

import tomllib
from pathlib import Path
from typing import Any
from uuid import UUID

import msgspec
import pytest

from libexchange import invented
from libexchange.catalogue import Additive, FluidProduct, TransmissionProfile
from libexchange.findings import Finding
from libexchange.plan.planning import make_plan
from libexchange.plan.records import Plan
from libexchange.plan.request import PlanRequest
from libexchange.rules import PLAN_RULES, ROUTE_RULES
from tests.findings.expected import expected

CASES = Path(__file__).parent / "cases"
CODES = [*(rule.kind.code for rule in PLAN_RULES), *(rule.kind.code for rule in ROUTE_RULES)]
KINDS = {rule.kind.code: rule.kind for rules in (PLAN_RULES, ROUTE_RULES) for rule in rules}
Case = dict[str, Any]


def load(kind: str) -> list[Any]:
    return [
        pytest.param(path.stem, case, id=f"{path.stem}: {case['title']}")
        for path in sorted(CASES.glob("*.toml"))
        for case in tomllib.loads(path.read_text())[kind]
    ]


def merged(base: Any, patch: Any) -> Any:
    """A record with a patch laid over it; "null" is null and "absent" takes a field out."""
    if patch == "null":
        return None
    if not (isinstance(base, dict) and isinstance(patch, dict)):
        return patch
    both = {**base, **{name: merged(base.get(name), value) for name, value in patch.items()}}
    return {name: value for name, value in both.items() if value != "absent"}


def additive_of(name: str, case: Case) -> Additive | None:
    """The cleaner or the conditioner, where the case asks for one."""
    if name not in case:
        return None
    base = invented.cleaner() if name == "cleaner" else invented.conditioner()
    return msgspec.convert(merged(msgspec.to_builtins(base), case[name]), Additive)


def by_id(request: Case) -> Case:
    """The request as it names transmission and fluid by their ids."""
    ids = {f"{name}_id": request[name][f"{name}_id"] for name in ("transmission", "fluid")}
    return {**request, **ids, "transmission": None, "fluid": None}


def plan_for(case: Case) -> Plan:
    transmission = merged(msgspec.to_builtins(invented.six_speed()), case.get("transmission", {}))
    fluid = merged(msgspec.to_builtins(invented.red_fluid()), case.get("fluid", {}))
    request = merged(msgspec.to_builtins(invented.routine_request()), case.get("request", {}))
    request |= {"transmission": transmission, "fluid": fluid}
    if case.get("without_fluid"):
        request["fluid"] = None
    additives = {name: additive_of(name, case) for name in ("cleaner", "conditioner")}
    request |= {f"{name}_id": one.additive_id for name, one in additives.items() if one}
    named = by_id(request) if case.get("by_id") else request
    decoded = msgspec.convert(named, PlanRequest)
    return make_plan(
        request=decoded,
        transmission=msgspec.convert(transmission, TransmissionProfile),
        fluid=msgspec.convert(request["fluid"], FluidProduct | None),
        plan_id=UUID(int=1),
        created_at=decoded.requested_at,
        cleaner=additives["cleaner"],
        conditioner=additives["conditioner"],
    )


def found(case: Case, code: str) -> list[Finding]:
    plan = plan_for(case)
    if "route" not in case:
        return [finding for finding in plan.findings if finding.code == code]
    alternative = next(a for a in plan.alternatives if a.route == case["route"])
    return [finding for finding in alternative.reasons if finding.code == code]


@pytest.mark.parametrize(("code", "case"), load("breaks"))
def test_rule_finds_what_breaks_it(code: str, case: Case) -> None:
    assert found(case, code) == [expected(KINDS[code], case)]


@pytest.mark.parametrize(("code", "case"), load("passes"))
def test_rule_is_silent_on_what_passes(code: str, case: Case) -> None:
    assert found(case, code) == []


def test_every_rule_has_a_case_file_and_every_case_file_a_rule() -> None:
    codes = set(CODES)

    assert codes == {path.stem for path in CASES.glob("*.toml")}


def test_codes_are_kebab_case_and_name_no_severity() -> None:
    assert len(CODES) == len(set(CODES))
    assert not [
        c for c in CODES if c != c.lower() or {"stop", "caution", "note"} & set(c.split("-"))
    ]
