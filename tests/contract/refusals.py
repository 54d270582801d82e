"""Hooks of the schemathesis run: data that get further, and a check on why any are refused."""

from collections.abc import Iterator
from itertools import count
from typing import Any
from uuid import UUID

import schemathesis
from schemathesis import Case, CheckContext, HookContext, Response

_PAGED = frozenset({"wrong-cursor"})
_ENTRY = frozenset({"missing-header", "out-of-range", "stale"})
_PLANNED = frozenset({"exactly-one-of", "mixed-currencies", "out-of-range", "unknown-id"})

REASONS: dict[str, frozenset[str]] = {
    "closeJob": frozenset({"missing-header", "stale"}),
    "createPlan": _PLANNED,
    "exportPlans": _PAGED,
    "listFluids": _PAGED,
    "listJobs": _PAGED,
    "listPlans": _PAGED,
    "listTransmissions": _PAGED,
    "previewPlan": _PLANNED,
    "putFluid": _ENTRY,
    "putTransmission": _ENTRY,
    "startJob": frozenset({"unknown-id"}),
}
"""Why an operation may refuse what its schema admits: codes of faults, or the slug without any.

404 and 409 are besides: whether something is there is never a matter of the schema.
"""

_ALWAYS_POSSIBLE = {404, 409}
_fresh = count(1)


@schemathesis.hook
def before_call(context: HookContext, case: Case, kwargs: dict[str, Any]) -> None:
    """Spare good data the refusals that would hide everything behind them."""
    if not _is_good(case):
        return
    match _operation_id(case):
        case "createPlan" | "previewPlan" if isinstance(case.body, dict):
            _name_each_once(case)
        case "putFluid" | "putTransmission" if isinstance(case.body, dict):
            (name,) = case.path_parameters
            case.path_parameters[name] = case.body[name]
    if "Idempotency-Key" in case.headers:
        case.headers["Idempotency-Key"] = str(UUID(int=next(_fresh)))


def _name_each_once(case: Case) -> None:
    """A record in the request makes its id superfluous, and both together are refused."""
    for record, entry_id in (("transmission", "transmission_id"), ("fluid", "fluid_id")):
        if case.body.get(record) is not None:
            case.body.pop(entry_id, None)


@schemathesis.check
def refused_for_a_stated_reason(ctx: CheckContext, response: Response, case: Case) -> None:
    """Good data are refused only for what a schema cannot say."""
    status = response.status_code
    if not _is_good(case) or not 400 <= status < 500 or status in _ALWAYS_POSSIBLE:
        return
    other = set(_reasons(response.json())) - REASONS.get(_operation_id(case), frozenset())
    assert not other, f"schema-valid data were refused for {sorted(other)}"


@schemathesis.check
def bad_events_are_refused_alone(ctx: CheckContext, response: Response, case: Case) -> None:
    """What is wrong in an accepted post is told item by item."""
    if _operation_id(case) != "postEvents" or _is_good(case) or response.status_code != 200:
        return
    if case.meta is None or not case.meta.is_negative_at("body"):
        return
    outcomes = {item["outcome"] for item in response.json()["items"]}
    assert "refused" in outcomes, "a post that breaks the schema was taken whole"


def _reasons(problem: dict[str, Any]) -> Iterator[str]:
    if not problem["errors"]:
        yield problem["type"].rpartition("/")[2]
    yield from (error["code"] for error in problem["errors"])


def _is_good(case: Case) -> bool:
    return case.meta is not None and case.meta.generation.mode.is_positive


def _operation_id(case: Case) -> str:
    return str(case.operation.definition.raw.get("operationId"))
