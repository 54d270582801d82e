"""Hooks of the schemathesis run: data that get further, and a check on why any are refused."""

from collections.abc import Callable, Iterator
from hashlib import sha256
from itertools import cycle
from typing import Any

import schemathesis
from hypothesis import strategies as st
from schemathesis import Case, CheckContext, DeserializationContext, HookContext, Response
from schemathesis.core.parameters import ParameterLocation
from schemathesis.generation.meta import TestPhase

from tests.contract.stock import NOBODY, Stock
from tests.exchange_api.attachments.album import plain

_PAGED = frozenset({"wrong-cursor"})
_ENTRY = frozenset({"missing-header", "out-of-range", "stale", "window-reversed"})
CALCULATIONS = "/v1/calculations/"
_SEEN = frozenset({"missing-header", "stale"})
_REGISTERED = frozenset(
    {
        "address-not-allowed", "host-not-allowed", "malformed-url", "named-twice", "url-fragment",
        "url-scheme", "url-with-credentials",
    }
)  # fmt: skip
_CALCULATED = frozenset({"out-of-range"})
_CIRCUIT = frozenset({"drained-above-sump"})
_PLANNED = frozenset(
    {
        "exactly-one-of",
        "looks-erased",
        "mixed-currencies",
        "out-of-range",
        "unknown-id",
        "window-reversed",
    }
)

REASONS: dict[str, frozenset[str]] = {
    "calculateBalance": frozenset({"exactly-one-of"}),
    "calculateContainers": frozenset({"mixed-currencies"}),
    "calculateDose": frozenset({"range-reversed", *_CIRCUIT}),
    "calculateDrainCycles": frozenset({"exactly-one-of"}),
    "calculateExchange": _CIRCUIT,
    "calculateGate": frozenset({"missing-field", "window-reversed"}),
    "calculateInterval": frozenset({"service-after-today"}),
    "calculateLevel": frozenset({"marks-reversed", "missing-field", "window-reversed"}),
    "calculateOutflow": frozenset({"missing-field", "not-expected", *_CIRCUIT}),
    "calculateRequiredExchange": _CIRCUIT,
    "calculateUsedFluid": frozenset({"missing-field"}),
    "calculateViscosity": frozenset({"kv100-above-kv40"}),
    "calculateVolumeCorrection": frozenset({"exactly-one-of"}),
    "calculateWarmUp": frozenset({"missing-field", "settles-out-of-range"}),
    "closeJob": frozenset({"missing-header", "stale"}),
    "createApiKey": frozenset({"already-expired", "beyond-own-scopes", "named-twice"}),
    "createPlan": _PLANNED,
    "createWebhookEndpoint": _REGISTERED,
    "deleteWebhookEndpoint": _SEEN,
    "erasePersonalData": _SEEN | {"looks-erased"},
    "exportPlans": _PAGED,
    "getRecord": frozenset({"not-acceptable"}),
    "listAdditives": _PAGED,
    "listApiKeys": _PAGED,
    "listAuditLog": frozenset({"not-administrator", *_PAGED}),
    "listFluids": _PAGED,
    "listJobs": _PAGED,
    "listPlans": _PAGED,
    "listTransmissions": _PAGED,
    "listWebhookDeliveries": _PAGED,
    "listWebhookEndpoints": _PAGED,
    "previewPlan": _PLANNED,
    "putAdditive": _ENTRY,
    "putFluid": _ENTRY,
    "putLegalHold": frozenset({"looks-erased"}),
    "putTransmission": _ENTRY,
    "putWebhookEndpoint": _REGISTERED | _SEEN,
    "reopenJob": _SEEN | {"looks-erased"},
    "revokeApiKey": frozenset({"missing-header", "stale"}),
    "rotateWebhookSecret": _SEEN,
    "startJob": frozenset({"named-twice", "own-id", "unknown-id"}),
}
"""Why an operation may refuse what its schema admits: codes of faults, or the slug without any.

404 and 409 are besides: whether something is there is never a matter of the schema.
"""

_MIXED = frozenset({"putAdditive", "putFluid"})
"""Besides the calculations: records most of whose quantities have narrower ranges of their own."""

_ALWAYS_POSSIBLE = {404, 409}
_stock = Stock()
_PICTURES = {"image/jpeg": "JPEG", "image/png": "PNG"}
for _media_type, _format in _PICTURES.items():
    _colour = st.integers(0, 255)
    schemathesis.openapi.media_type(
        _media_type, st.builds(plain, st.tuples(_colour, _colour, _colour), st.just(_format))
    )
_OF_ITS_OWN: dict[str, tuple[str, Callable[[], str]]] = {
    "closeJob": ("job_id", _stock.open_job_id),
    "deleteWebhookEndpoint": ("endpoint_id", _stock.new_endpoint_id),
    "putWebhookEndpoint": ("endpoint_id", _stock.new_endpoint_id),
    "erasePersonalData": ("job_id", _stock.new_closed_job_id),
    "reopenJob": ("job_id", _stock.new_closed_job_id),
    "revokeApiKey": ("key_id", _stock.new_key_id),
    "rotateWebhookSecret": ("endpoint_id", _stock.new_endpoint_id),
}
"""What is changed by seeing it, so that each call needs one of its own."""
_NARROW = frozenset({"calculateLevel", "calculateVolumeCorrection"})
"""Most of what its schema admits cannot be true together, so that good data need the example."""
_turns = cycle((True, False))
_kept = cycle([True] * 10 + [False])


@schemathesis.hook
def before_call(
    context: HookContext,  # noqa: ARG001 -- a hook is called so
    case: Case[Any],
    kwargs: dict[str, Any],  # noqa: ARG001 -- a hook is called so
) -> None:
    """Spare good data the refusals that would hide everything behind them."""
    if not _is_good(case):
        return
    if "Idempotency-Key" in case.headers:
        case.headers["Idempotency-Key"] = _stock.fresh_id()
    if (next(_turns) or _operation_id(case) in _NARROW) and not _is_linked(case):
        _use_stock(case)
    match _operation_id(case):
        case "createPlan" | "previewPlan":
            _name_one_transmission(case)
        case "calculateVolumeCorrection":
            _tell_one_density(case)
        case "putAdditive" | "putFluid" | "putTransmission":
            _repeat_id(case)
        case "putAttachment":
            sent: Any = case.body
            case.path_parameters["digest"] = sha256(sent).hexdigest()


def _use_stock(case: Case[Any]) -> None:
    """Name things that are there; a job to be started or closed is a new one."""
    for name in case.path_parameters:
        case.path_parameters[name] = _stock.id_of(name) or case.path_parameters[name]
    if case.operation.path.startswith(CALCULATIONS) or _operation_id(case) in _MIXED:
        _mix_with_example(case)
    called = _operation_id(case)
    if called in _OF_ITS_OWN:
        parameter, make = _OF_ITS_OWN[called]
        case.path_parameters[parameter] = make()
    if called in _OF_ITS_OWN or called in {"putAdditive", "putFluid", "putTransmission"}:
        case.headers["If-Match"] = "*"
    match called:
        case "startJob":
            case.path_parameters["job_id"] = _stock.fresh_id()
            case.body = {"plan_id": _stock.plan_id}
        case "createWebhookEndpoint":
            case.body = NOBODY
        case "listWebhookDeliveries":
            case.query.pop("cursor", None)


def _mix_with_example(case: Case[Any]) -> None:
    """Most members are the documented example's, so that the numbers can go together."""
    content = case.operation.definition.raw["requestBody"]["content"]["application/json"]
    (example, *_) = content["examples"].values()
    members: Any = case.body
    members |= {name: value for name, value in example["value"].items() if next(_kept)}


def _tell_one_density(case: Case[Any]) -> None:
    """The two densities exclude each other."""
    asked: Any = case.body
    if asked.get("density_15"):
        asked.pop("measured_density", None)


def _name_one_transmission(case: Case[Any]) -> None:
    """The record and its id exclude each other, and one of the two is needed."""
    wanted: Any = case.body
    if not wanted.get("transmission_id"):
        wanted["transmission"] = wanted.get("transmission") or _stock.transmission
    elif wanted.get("transmission"):
        del wanted["transmission_id"]
    if wanted.get("fluid"):
        wanted.pop("fluid_id", None)
    for name in ("cleaner_id", "conditioner_id"):
        wanted.pop(name, None)


def _repeat_id(case: Case[Any]) -> None:
    """The id in the body is the one in the path."""
    record: Any = case.body
    (name,) = case.path_parameters
    record[name] = case.path_parameters[name]


@schemathesis.deserializer(*_PICTURES)
def picture_bytes(
    context: DeserializationContext,  # noqa: ARG001 -- it is called so
    response: Response,
) -> str:
    """A picture is no JSON: its schema tells its media type alone."""
    return response.content.decode("latin-1")


@schemathesis.check
def refused_for_a_stated_reason(
    ctx: CheckContext,  # noqa: ARG001 -- a check is called so
    response: Response,
    case: Case[Any],
) -> None:
    """Good data are refused only for what a schema cannot say."""
    status = response.status_code
    if not _is_good(case) or not 400 <= status < 500 or status in _ALWAYS_POSSIBLE:
        return
    other = set(_reasons(response.json())) - _allowed(case)
    assert not other, f"schema-valid data were refused for {sorted(other)}"


@schemathesis.check
def bad_events_are_refused_alone(
    ctx: CheckContext,  # noqa: ARG001 -- a check is called so
    response: Response,
    case: Case[Any],
) -> None:
    """What is wrong in an accepted post is told item by item."""
    if _operation_id(case) != "postEvents" or _is_good(case) or response.status_code != 200:
        return
    if case.meta is None or not case.meta.is_negative_at(ParameterLocation.BODY):
        return
    outcomes = {item["outcome"] for item in response.json()["items"]}
    assert "refused" in outcomes, "a post that breaks the schema was taken whole"


def _allowed(case: Case[Any]) -> frozenset[str]:
    always = _CALCULATED if case.operation.path.startswith(CALCULATIONS) else frozenset()
    return REASONS.get(_operation_id(case), frozenset()) | always


def _reasons(problem: dict[str, Any]) -> Iterator[str]:
    if not problem["errors"]:
        yield problem["type"].rpartition("/")[2]
    for error in problem["errors"]:
        if not _is_spelt_as_fraction(error):
            yield error["code"]


def _is_spelt_as_fraction(error: dict[str, Any]) -> bool:
    """To JSON Schema 3.0 is an integer, to the service it is not; no schema can tell them apart."""
    value = error.get("value")
    return error["code"] == "wrong-type" and isinstance(value, float) and value.is_integer()


def _is_linked(case: Case[Any]) -> bool:
    return case.meta is not None and case.meta.phase.name is TestPhase.STATEFUL


def _is_good(case: Case[Any]) -> bool:
    return case.meta is not None and case.meta.generation.mode.is_positive


def _operation_id(case: Case[Any]) -> str:
    return str(case.operation.definition.raw.get("operationId"))
