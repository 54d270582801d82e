"""Equipment that held another kind of fluid before it was used on the job."""

from collections.abc import Iterator, Sequence
from math import ceil

from msgspec.structs import replace

from libexchange.findings import Finding, Severity, Value
from libexchange.job.evidence import UsedTool
from libexchange.job.evidence_findings import EQUIPMENT_NOT_PURGED
from libexchange.job.opened import kinds_taken
from libexchange.plan.records import Plan
from libexchange.purge import (
    FOREIGN_SHARE_LIMIT,
    LARGEST_PURGE_L,
    foreign_share_after_purge,
    purge_needed_l,
)

HOLD_UP_L = 2.5
"""What may hang in hoses, pump and filter of equipment: the upper end of 0.5 to 2.5 L."""

USUAL_HOLD_UP_L = 1.0
"""What usually hangs there (common practice)."""


def purge_findings(plan: Plan, tools: Sequence[UsedTool]) -> list[Finding]:
    """The last word on the kind that each tool held; what was run through it since counts.

    Source: common practice, another kind may make up 0.5 % of the fill.
    """
    taken = kinds_taken(plan)
    last: dict[str, tuple[int, UsedTool]] = {}
    for number, one in enumerate(tools):
        before = last.get(one.tool)
        if one.last_fluid_kind is not None:
            last[one.tool] = number, one
        elif before is not None and one.purged is not None:
            kind = before[1].last_fluid_kind
            last[one.tool] = number, replace(one, last_fluid_kind=kind)
    foreign = [told for told in last.values() if taken and told[1].last_fluid_kind not in taken]
    return [found for number, one in foreign for found in _left_in(plan, one, number)]


def _left_in(plan: Plan, tool: UsedTool, number: int) -> Iterator[Finding]:
    """What of another kind may be left in equipment; a stop where even a usual one holds more."""
    pointer, held = f"#/tools/{number}/purged", f"{tool.tool} held {tool.last_fluid_kind}"
    values: dict[str, Value] = {"tool": tool.tool, "last_fluid_kind": tool.last_fluid_kind}
    severity: Severity = "stop"
    if tool.purged is None or plan.offline_card is None:
        text = f"{held}; what was run through it since is not known."
    else:
        purged_l, total_l = min(tool.purged.l, LARGEST_PURGE_L), plan.offline_card.total.l
        most, usual = (
            foreign_share_after_purge(purged_l=purged_l, hold_up_l=hold_up_l, total_l=total_l)
            for hold_up_l in (HOLD_UP_L, USUAL_HOLD_UP_L)
        )
        if most <= FOREIGN_SHARE_LIMIT:
            return
        severity = "stop" if usual > FOREIGN_SHARE_LIMIT else "caution"
        needed_l = ceil(10 * purge_needed_l(hold_up_l=HOLD_UP_L, total_l=total_l)) / 10
        text = f"{held}; {purged_l:.1f} L were run through it, "
        text += f"{needed_l:.1f} L are enough in any case."
    yield EQUIPMENT_NOT_PURGED.at(pointer, text, values=values, severity=severity)
