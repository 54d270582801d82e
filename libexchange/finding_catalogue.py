"""Every kind of finding that the library makes, in one visible tuple."""

from libexchange import (
    balance,
    dose_findings,
    gate_findings,
    interval_findings,
    level_findings,
    outflow_findings,
    purge,
    used_fluid_findings,
    warmup_findings,
)
from libexchange.calculations import service_findings, target_findings, viscosity, volume_correction
from libexchange.dose_rules import DOSE_RULES
from libexchange.findings import Kind
from libexchange.job import (
    blocking,
    clocks,
    confirmations,
    course_findings,
    custody_findings,
    dose_told,
    evidence_findings,
    fluids,
    guidance,
    high_voltage,
    history,
    late_told,
    level_doubts,
    line_gate,
    look_doubts,
    opened,
    opened_hot,
    order,
    photo_doubts,
    ran_dry,
    share,
    share_findings,
    taken_back,
    verdict_findings,
)
from libexchange.plan import planning
from libexchange.rules import PLAN_RULES, ROUTE_RULES

_OF_RULES = (*(rule.kind for rule in PLAN_RULES), *(rule.kind for rule in ROUTE_RULES))
_NAMED = (
    *_OF_RULES,
    *planning.KINDS,
    *level_findings.KINDS,
    *gate_findings.KINDS,
    *balance.KINDS,
    *purge.KINDS,
    *target_findings.KINDS,
    *service_findings.KINDS,
    *used_fluid_findings.KINDS,
    *viscosity.KINDS,
    *volume_correction.KINDS,
    *dose_findings.KINDS,
    *(rule.kind for rule in DOSE_RULES),
    *interval_findings.KINDS,
    *warmup_findings.KINDS,
    *outflow_findings.KINDS,
    *blocking.KINDS,
    *clocks.KINDS,
    *confirmations.KINDS,
    *course_findings.KINDS,
    *custody_findings.KINDS,
    *dose_told.KINDS,
    *evidence_findings.KINDS,
    *fluids.KINDS,
    *guidance.KINDS,
    *high_voltage.KINDS,
    *history.KINDS,
    *late_told.KINDS,
    *level_doubts.KINDS,
    *look_doubts.KINDS,
    *line_gate.KINDS,
    *opened.KINDS,
    *opened_hot.KINDS,
    *order.KINDS,
    *photo_doubts.KINDS,
    *ran_dry.KINDS,
    *share.KINDS,
    *share_findings.KINDS,
    *taken_back.KINDS,
    *verdict_findings.KINDS,
)

ALL_KINDS: tuple[Kind, ...] = tuple(sorted(set(_NAMED), key=lambda kind: kind.code))
"""Every kind once, by code; a kind may be found in several places."""
