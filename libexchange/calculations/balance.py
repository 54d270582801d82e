"""Compare litres in with litres out at 15 degC."""

from collections.abc import Iterable
from math import fsum
from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.balance import BalanceEntry, BalanceVerdict, balance, volume_15_l
from libexchange.calculations._faults import (
    density_faults,
    fault,
    raise_if_any,
    temperature_faults,
    total_faults,
)
from libexchange.errors import Fault
from libexchange.findings import Finding
from libexchange.quantities import Density, Volume, VolumeChange

LARGEST_SUM_L = 1000.0

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
}


class BalanceRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What went in and came out of one unit, and the change that was wanted.

    density_15: 800.9 to 1163.5 kg/m3    total: 0.5 to 500 L    expected_change: null counts as 0
    """

    density_15: Density
    total: Volume
    entries: Annotated[list[BalanceEntry], Meta(min_length=1, max_length=1000)]
    expected_change: VolumeChange | None = None


class BalanceAnswer(Struct, frozen=True, kw_only=True):
    """The balance at 15 degC; `difference` is in - out - lost - sampled + additive."""

    in_15: Volume
    out_15: Volume
    difference: VolumeChange
    uncertainty: Volume
    verdict: BalanceVerdict
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
    )
    return BalanceAnswer(
        in_15=Volume(result.in_15_l, "L"),
        out_15=Volume(result.out_15_l, "L"),
        difference=VolumeChange(result.difference_l, "L"),
        uncertainty=Volume(result.uncertainty_l, "L"),
        verdict=result.verdict,
        findings=result.findings,
    )


def _faults(request: BalanceRequest) -> Iterable[Fault]:
    yield from density_faults(request.density_15)
    yield from total_faults(request.total)
    for index, entry in enumerate(request.entries):
        if entry.temperature and entry.mass is None:
            yield from temperature_faults(entry.temperature, f"/entries/{index}/temperature")


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
