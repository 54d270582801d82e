"""The fresh share after repeated drains and refills."""

from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.calculations._faults import fault, out_of_range, raise_if_any, total_faults
from libexchange.calculations.target_findings import drained_share_unusual, unreached_target
from libexchange.dilution import (
    SAME_SHARE,
    cycles_ceiling,
    cycles_for_share,
    fresh_share_after_cycles,
)
from libexchange.errors import Fault
from libexchange.findings import Finding
from libexchange.quantities import Share, Volume

MOST_CYCLES = 50

EXAMPLE: dict[str, Any] = {
    "total": {"value": 8.0, "unit": "L"},
    "drained_per_cycle": {"value": 4.4, "unit": "L"},
    "stranded": {"value": 0.3, "unit": "L"},
    "target_fresh_share": 0.9,
}


class DrainCyclesRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Equal drains and refills, mixed by driving in between, up to a share or a number of them.

    Exactly one of `cycles` and `target_fresh_share` is given.

    total: 0.5 to 500 L    stranded: what never moves, less than the total; null counts as 0
    drained_per_cycle: at most total - stranded
    target_fresh_share: to tell how many cycles reach it    cycles: to tell what so many reach
    """

    total: Volume
    drained_per_cycle: Volume
    stranded: Volume | None = None
    target_fresh_share: Share | None = None
    cycles: Annotated[int, Meta(ge=1, le=50)] | None = None


class DrainCyclesAnswer(Struct, frozen=True, kw_only=True):
    """The share after each cycle: as many as asked for or needed, 50 where a target is not met.

    `cycles_needed` is null when only `cycles` was given or the target is out of reach.

    fresh_share_after: each cycle, 0 to 1    ceiling: that no number of cycles passes
    cycles_needed: null without a target, or where none reach it    findings: doubts
    """

    fresh_share_after: list[float]
    cycles_needed: int | None
    ceiling: float
    findings: list[Finding]


def calculate_drain_cycles(request: DrainCyclesRequest) -> DrainCyclesAnswer:
    """The share after each drain and refill, and how many a target takes.

    Raises: InvalidInput    Source: Branan, Rules of Thumb for Chemical Engineers, cycle purging.

    >>> import msgspec
    >>> answer = calculate_drain_cycles(msgspec.convert(EXAMPLE, DrainCyclesRequest))
    >>> answer.cycles_needed, [round(share, 3) for share in answer.fresh_share_after]
    (4, [0.55, 0.786, 0.887, 0.93])
    """
    raise_if_any([*total_faults(request.total), *_fill_faults(request), *_choice_faults(request)])
    needed = _needed(request)
    shown = request.cycles or (MOST_CYCLES if needed is None else needed)
    total_l, stranded_l = request.total.l, _stranded_l(request)
    return DrainCyclesAnswer(
        fresh_share_after=[
            fresh_share_after_cycles(
                cycles=cycles,
                drained_l=request.drained_per_cycle.l,
                total_l=total_l,
                stranded_l=stranded_l,
            )
            for cycles in range(1, shown + 1)
        ],
        cycles_needed=needed,
        ceiling=cycles_ceiling(total_l=total_l, stranded_l=stranded_l),
        findings=[
            *drained_share_unusual(drained_l=request.drained_per_cycle.l, total_l=total_l),
            *_findings(request, needed),
        ],
    )


def _stranded_l(request: DrainCyclesRequest) -> float:
    return 0.0 if request.stranded is None else request.stranded.l


def _needed(request: DrainCyclesRequest) -> int | None:
    if request.target_fresh_share is None:
        return None
    cycles = cycles_for_share(
        target_share=request.target_fresh_share,
        drained_l=request.drained_per_cycle.l,
        total_l=request.total.l,
        stranded_l=_stranded_l(request),
    )
    return None if cycles is None or cycles > MOST_CYCLES else cycles


def _findings(request: DrainCyclesRequest, needed: int | None) -> list[Finding]:
    target = request.target_fresh_share
    if target is None or needed is not None:
        return []
    ceiling = cycles_ceiling(total_l=request.total.l, stranded_l=_stranded_l(request))
    above = target >= ceiling - SAME_SHARE
    return [unreached_target(target, ceiling, above=above, limit=f"{MOST_CYCLES} cycles")]


def _fill_faults(request: DrainCyclesRequest) -> list[Fault]:
    reachable_l = request.total.l - _stranded_l(request)
    if reachable_l <= 0:
        allowed = f"0 to less than {request.total.l:g} L"
        return [out_of_range("/stranded", request.stranded, allowed)]
    if request.drained_per_cycle.l > reachable_l:
        drained, allowed = request.drained_per_cycle, f"0 to {reachable_l:g} L"
        return [out_of_range("/drained_per_cycle", drained, allowed)]
    return []


def _choice_faults(request: DrainCyclesRequest) -> list[Fault]:
    if (request.target_fresh_share is None) != (request.cycles is None):
        return []
    return [
        fault(
            "/target_fresh_share",
            "exactly-one-of",
            "neither is given" if request.cycles is None else "both are given",
            value=request.target_fresh_share,
            allowed="exactly one of target_fresh_share and cycles",
            remedy="Give one of the two.",
        )
    ]
