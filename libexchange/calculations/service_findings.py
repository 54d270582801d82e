"""What can be doubtful about a sequence of services."""

from libexchange.balance import live_limits_l
from libexchange.calculations.service_steps import AnyStep, LineBatchStep
from libexchange.circuit import Circuit
from libexchange.circuit_moves import largest_batch_l
from libexchange.findings import COMMON_PRACTICE, Finding, Kind

BATCH_TOO_LARGE = Kind(
    code="line-batch-too-large",
    severity="caution",
    title="The batch leaves too little in the sump",
    remedy="Pump out at most 2 L and half of the sump, for at most 30 s, and only where the maker "
    "describes it: the return line feeds the lubrication, and nothing returns meanwhile.",
    source=COMMON_PRACTICE,
)
SUMP_OFF_LEVEL = Kind(
    code="sump-off-level",
    severity="caution",
    title="The sump stands higher or lower than it may while fluid flows",
    remedy="Stop the feed or the outflow until both agree, and set the level.",
    source=COMMON_PRACTICE,
)
KINDS = (BATCH_TOO_LARGE, SUMP_OFF_LEVEL)
"""Every finding code of the sequence of services."""


def step_findings(
    number: int, step: AnyStep, *, before: Circuit, after: Circuit, set_l: float
) -> list[Finding]:
    """What is doubtful about the step at an index, from the sump before and after it.

    set_l: what the sump holds when its level is right [L]
    """
    pointer = f"#/steps/{number}"
    return [*_batch(pointer, step, before), *_off_level(pointer, after, set_l)]


def _batch(pointer: str, step: AnyStep, before: Circuit) -> list[Finding]:
    if not isinstance(step, LineBatchStep):
        return []
    most_l = largest_batch_l(sump_l=before.sump_l)
    if step.batch.l <= most_l:
        return []
    text = f"{step.batch.l:.2f} L in one batch; at most {most_l:.2f} L."
    values = {"batch_l": step.batch.l, "most_l": most_l}
    return [BATCH_TOO_LARGE.at(f"{pointer}/batch", text, values=values)]


def _off_level(pointer: str, after: Circuit, set_l: float) -> list[Finding]:
    warn_l, stop_l = live_limits_l(total_l=after.total_l - after.sump_l + set_l)
    off_l = round(after.sump_l - set_l, 9)
    if abs(off_l) <= warn_l:
        return []
    text = f"{off_l:+.2f} L off its level; warn above {warn_l:g} L, stop above {stop_l:g} L."
    severity = "stop" if abs(off_l) > stop_l else SUMP_OFF_LEVEL.severity
    values = {"off_l": off_l, "warn_l": warn_l, "stop_l": stop_l}
    return [SUMP_OFF_LEVEL.at(pointer, text, values=values, severity=severity)]
