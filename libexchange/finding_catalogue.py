"""Every kind of finding that the library makes, in one visible tuple."""

from libexchange import balance, gate_findings, level_findings
from libexchange.calculations import target_findings
from libexchange.findings import Kind
from libexchange.job import (
    fluids,
    gates,
    guidance,
    history,
    looks,
    opened,
    share,
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
    *target_findings.KINDS,
    *fluids.KINDS,
    *gates.KINDS,
    *guidance.KINDS,
    *history.KINDS,
    *looks.KINDS,
    *opened.KINDS,
    *share.KINDS,
    *verdict_findings.KINDS,
)

ALL_KINDS: tuple[Kind, ...] = tuple(sorted(set(_NAMED), key=lambda kind: kind.code))
"""Every kind once, by code; a kind may be found in several places."""
