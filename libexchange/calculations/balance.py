"""Compare litres in with litres out at 15 degC."""

from collections.abc import Iterable
from math import fsum
from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.balance import (
    CHANGE_LARGE,
    HOSE_L,
    SAME_L,
    TOO_VAGUE,
    BalanceEntry,
    BalanceVerdict,
    balance,
    end_limits_l,
    live_limits_l,
    volume_15_l,
)
from libexchange.calculations._faults import (
    density_faults,
    fault,
    out_of_range,
    raise_if_any,
    temperature_faults,
    total_faults,
)
from libexchange.errors import Fault
from libexchange.findings import Finding
from libexchange.purge import (
    FOREIGN_SHARE_LIMIT,
    LARGEST_HOLD_UP_L,
    LARGEST_PURGE_L,
    KindChange,
    foreign_share_after_purge,
    purge_findings,
    purge_needed_l,
)
from libexchange.quantities import Density, Volume, VolumeChange

LARGEST_SUM_L = 1000.0
LARGEST_HOSE_L = 10.0

EXAMPLE: dict[str, Any] = {
    "density_15": {"value": 850, "unit": "kg/m3"},
    "total": {"value": 9.0, "unit": "L"},
    "entries": [
        {
            "direction": "in",
            "volume": {"value": 12.0, "unit": "L"},
            "temperature": {"value": 20, "unit": "Cel"},
        },
        {
            "direction": "out",
            "volume": {"value": 12.0, "unit": "L"},
            "temperature": {"value": 75, "unit": "Cel"},
        },
    ],
    "kind_change": {"hold_up": {"value": 1.0, "unit": "L"}, "purged": {"value": 3.5, "unit": "L"}},
}


class BalanceRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What went in and came out of one unit, and the change that was wanted.

    density_15: 800.9 to 1163.5 kg/m3.    total: 0.5 to 500 L.    expected_change: null counts as 0.
    hose: what may hang in the hoses, up to 10 L, null is 0.05 L.
    flowing: judge by the limits while fluid flows instead of those at the end.
    kind_change: of the fluid in the equipment, ahead of the work.
    entries: every amount that went in, came out, was lost, sampled or added
    """

    density_15: Density
    total: Volume
    entries: Annotated[list[BalanceEntry], Meta(min_length=1, max_length=1000)]
    expected_change: VolumeChange | None = None
    hose: Volume | None = None
    flowing: bool = False
    kind_change: KindChange | None = None


class PurgeTold(Struct, frozen=True, kw_only=True):
    """The purge that a change of kind takes in all, and what foreign fluid the unit gets of it.

    needed: litres to purge with    foreign_share: of the fill, 0 to 1
    """

    needed: Volume
    foreign_share: float


class BalanceAnswer(Struct, frozen=True, kw_only=True):
    """The balance at 15 degC; `difference` is in - out - lost - sampled + additive.

    A difference is ok up to `ok_limit` off the expected change, to be explained up to `stop_limit`.
    purge: null where no kind was changed.
    in_15, out_15: sums    difference: may be negative    uncertainty: expanded
    ok_limit, stop_limit: up to where a difference is ok, and up to where it is to be explained
    verdict: by these    findings: doubts and what to do
    """

    in_15: Volume
    out_15: Volume
    difference: VolumeChange
    uncertainty: Volume
    ok_limit: Volume
    stop_limit: Volume
    verdict: BalanceVerdict
    purge: PurgeTold | None
    findings: list[Finding]


def calculate_balance(request: BalanceRequest) -> BalanceAnswer:
    """Whether what stayed in the unit is what was expected to stay, within meter uncertainty.

    Raises: InvalidInput    Source: API MPMS 11.1 for volumes; limits are common practice.

    >>> import msgspec
    >>> answer = calculate_balance(msgspec.convert(EXAMPLE, BalanceRequest))
    >>> round(answer.difference.l, 2), answer.verdict
    (0.49, 'explain')
    """
    raise_if_any(_faults(request))
    raise_if_any(_sum_faults(request))
    expected = request.expected_change
    result = balance(
        density_15_kg_m3=request.density_15.kg_m3,
        total_l=request.total.l,
        entries=request.entries,
        expected_change_l=expected.l if expected else 0.0,
        hose_l=HOSE_L if request.hose is None else request.hose.l,
        flowing=request.flowing,
    )
    purge, purge_found = _purge(request)
    return BalanceAnswer(
        in_15=Volume(result.in_15_l, "L"),
        out_15=Volume(result.out_15_l, "L"),
        difference=VolumeChange(result.difference_l, "L"),
        uncertainty=Volume(result.uncertainty_l, "L"),
        ok_limit=Volume(result.ok_l, "L"),
        stop_limit=Volume(result.stop_l, "L"),
        verdict=result.verdict,
        purge=purge,
        findings=[
            *result.findings,
            *_too_vague(request.total.l, result.uncertainty_l, flowing=request.flowing),
            *_change_large(request),
            *purge_found,
        ],
    )


LARGEST_CHANGE = 0.5
"""Part of the fill that a level is not corrected by (common practice) [-]."""


def _change_large(request: BalanceRequest) -> list[Finding]:
    change_l = request.expected_change.l if request.expected_change else 0.0
    total_l = request.total.l
    if abs(change_l) <= LARGEST_CHANGE * total_l + SAME_L:
        return []
    text = f"{change_l:+.2f} L in a unit of {total_l:g} L."
    values = {"expected_l": change_l, "total_l": total_l}
    return [CHANGE_LARGE.at("#/expected_change", text, values=values)]


def _too_vague(total_l: float, uncertainty_l: float, *, flowing: bool) -> list[Finding]:
    """Whether what would stop a surely known balance could hide in the uncertainty."""
    if flowing:  # the limits do not widen with the uncertainty, so it hides but itself
        hidden_l, sure_l = uncertainty_l, live_limits_l(total_l=total_l)[1]
    else:
        hidden_l = 2 * uncertainty_l
        sure_l = end_limits_l(total_l=total_l, uncertainty_l=0.0)[1]
    if hidden_l <= sure_l + SAME_L:
        return []
    text = f"Up to {hidden_l:.2f} L would not show; more than {sure_l:.2f} L has to."
    values = {"uncertainty_l": uncertainty_l, "limit_l": sure_l}
    return [TOO_VAGUE.at("#/entries", text, values=values)]


def _purge(request: BalanceRequest) -> tuple[PurgeTold | None, list[Finding]]:
    change = request.kind_change
    if change is None:
        return None, []
    hold_up_l, purged_l, total_l = change.hold_up.l, _litres(change.purged), request.total.l
    limit = FOREIGN_SHARE_LIMIT if change.limit is None else change.limit
    needed_l = purge_needed_l(hold_up_l=hold_up_l, total_l=total_l, limit_share=limit)
    share = foreign_share_after_purge(purged_l=purged_l, hold_up_l=hold_up_l, total_l=total_l)
    told = PurgeTold(needed=Volume(needed_l, "L"), foreign_share=share)
    return told, purge_findings(foreign_share=share, limit_share=limit, needed_l=needed_l)


def _litres(volume: Volume | None) -> float:
    return 0.0 if volume is None else volume.l


def _faults(request: BalanceRequest) -> Iterable[Fault]:
    yield from density_faults(request.density_15)
    yield from total_faults(request.total)
    if _litres(request.hose) > LARGEST_HOSE_L:
        yield out_of_range("/hose", request.hose, f"at most {LARGEST_HOSE_L:g} L")
    if request.kind_change is not None:
        yield from _change_faults(request.kind_change)
    for index, entry in enumerate(request.entries):
        if entry.temperature and entry.mass is None:
            yield from temperature_faults(entry.temperature, f"/entries/{index}/temperature")


def _change_faults(change: KindChange) -> Iterable[Fault]:
    if change.hold_up.l > LARGEST_HOLD_UP_L:
        allowed = f"at most {LARGEST_HOLD_UP_L:g} L"
        yield out_of_range("/kind_change/hold_up", change.hold_up, allowed)
    if _litres(change.purged) > LARGEST_PURGE_L:
        allowed = f"at most {LARGEST_PURGE_L:g} L"
        yield out_of_range("/kind_change/purged", change.purged, allowed)


def _sum_faults(request: BalanceRequest) -> Iterable[Fault]:
    """A signed difference that no unit can hold means a wrong unit somewhere."""
    density = request.density_15.kg_m3
    moved_l = fsum(volume_15_l(entry, density_15_kg_m3=density) for entry in request.entries)
    if moved_l > LARGEST_SUM_L:
        yield fault(
            "/entries",
            "out-of-range",
            f"the entries add up to {moved_l:.6g} L",
            allowed=f"at most {LARGEST_SUM_L:g} L moved in all",
            remedy="Check the numbers and their units.",
        )
