"""Anonymised rows of plans: generalise, release in classes of at least k, suppress the rest.

Quasi-identifiers are what an outsider may know of a vehicle and its visit. They are given in fixed
bands, and what stays rare is told less exactly, step by step down a visible ladder, or not at all.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from operator import attrgetter, itemgetter
from typing import TypeVar

from msgspec import Struct, json
from msgspec.structs import replace

from libexchange.catalogue import Family
from libexchange.errors import OutOfRange
from libexchange.plan.priors import TARGET_SHARE
from libexchange.plan.records import Plan
from libexchange.plan.request import Reason, Route
from libexchange.quantities import Volume

T = TypeVar("T")

RULES_VERSION = 1
"""Counts the versions of the bands, the ladder and the fields below; each release names its own."""

DEFAULT_K = 10
SMALLEST_K = 5
MODEL_YEARS_PER_BAND = 3
FIRST_MODEL_YEAR_OF_A_BAND = 2018
ODOMETER_BAND_KM = 20_000
UNKNOWN = "unknown"

QUASI_IDENTIFIERS = ("month", "family", "model_year_band", "odometer_band", "region")
LADDER: tuple[tuple[str, ...], ...] = (
    (),
    ("odometer_band",),
    ("odometer_band", "model_year_band"),
    ("odometer_band", "model_year_band", "region"),
)
"""What is dropped at each step; rows that are rare even at the last step are suppressed."""


class ExportFacts(Struct, frozen=True, kw_only=True):
    """What of a plan may be exported, kept beside it: no name, number, id, price or free text.

    month: of the service date, YYYY-MM    region: the workshop's, never its address
    findings: codes of what stops the work or needs care, each once, in alphabetical order
    """

    month: str
    family: Family
    model_year: int | None
    odometer_km: float | None
    region: str
    reason: Reason
    route: Route | None
    feasible: bool
    litres_planned_l: float | None
    fresh_share_expected: float | None
    target_fresh_share: float | None
    findings: tuple[str, ...]


class ExportRow(Struct, frozen=True, kw_only=True):
    """One plan as it is released.

    A band or region is `unknown` where it was not said, and null where it was dropped so that the
    row stays one of many. An odometer band includes its lower edge.
    `litres` are given to 0.1 L, shares to 0.01.

    month: of the service    family: of the transmission    reason: of the request
    route: proposed, null where none may be taken    feasible: whether one may be
    target_fresh_share: asked for, null where none was    findings: their codes
    """

    month: str
    family: Family
    model_year_band: str | None
    odometer_band: str | None
    region: str | None
    reason: Reason
    route: Route | None
    feasible: bool
    litres: Volume | None
    fresh_share: float | None
    target_fresh_share: float | None
    findings: tuple[str, ...]


class Release(Struct, frozen=True, kw_only=True):
    """Rows that may be given away, and how many may not.

    k: what was asked for    k_reached: size of the smallest class, null without rows
    classes: how many different sets of quasi-identifiers were released
    """

    rows: tuple[ExportRow, ...]
    suppressed: int
    k: int
    k_reached: int | None
    classes: int


def export_facts(*, plan: Plan, region: str) -> ExportFacts:
    """What of a plan may be exported.

    region: of the workshop

    >>> from libexchange import invented
    >>> from libexchange.plan.planning import make_plan
    >>> from uuid import UUID
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> facts = export_facts(plan=plan, region="north")
    >>> facts.month, facts.model_year, facts.odometer_km, facts.route
    ('2026-03', 2018, None, 'pan_and_filter_then_line')
    """
    request, vehicle = plan.request, plan.request.vehicle
    return ExportFacts(
        month=f"{request.service_date:%Y-%m}",
        family=plan.subject.family,
        model_year=vehicle.model_year,
        odometer_km=vehicle.odometer.km if vehicle.odometer else None,
        region=region,
        reason=request.reason,
        route=plan.route,
        feasible=plan.feasible,
        litres_planned_l=plan.litres.planned.l if plan.litres else None,
        fresh_share_expected=plan.forecast.fresh_share.expected if plan.forecast else None,
        target_fresh_share=request.target_fresh_share or TARGET_SHARE.get(request.reason),
        findings=tuple(sorted({f.code for f in plan.findings if f.severity != "note"})),
    )


def model_year_band(model_year: int | None) -> str:
    """The band of three model years that a model year lies in.

    >>> model_year_band(2018), model_year_band(2020), model_year_band(2017), model_year_band(None)
    ('2018-2020', '2018-2020', '2015-2017', 'unknown')
    """
    if model_year is None:
        return UNKNOWN
    first = model_year - (model_year - FIRST_MODEL_YEAR_OF_A_BAND) % MODEL_YEARS_PER_BAND
    return f"{first}-{first + MODEL_YEARS_PER_BAND - 1}"


def odometer_band(odometer_km: float | None) -> str:
    """The band of 20,000 km that a reading lies in, its lower edge included.

    odometer_km: 0 or more [km]

    >>> odometer_band(80000), odometer_band(79999.9), odometer_band(None)
    ('80000-100000 km', '60000-80000 km', 'unknown')
    """
    if odometer_km is None:
        return UNKNOWN
    low = int(odometer_km // ODOMETER_BAND_KM) * ODOMETER_BAND_KM
    return f"{low}-{low + ODOMETER_BAND_KM} km"


def generalise(facts: ExportFacts) -> ExportRow:
    """Facts in bands and rounded, at the top of the ladder: nothing is dropped yet."""
    litres, share, target = (
        facts.litres_planned_l,
        facts.fresh_share_expected,
        facts.target_fresh_share,
    )
    return ExportRow(
        month=facts.month,
        family=facts.family,
        model_year_band=model_year_band(facts.model_year),
        odometer_band=odometer_band(facts.odometer_km),
        region=facts.region or UNKNOWN,
        reason=facts.reason,
        route=facts.route,
        feasible=facts.feasible,
        litres=None if litres is None else Volume(round(litres, 1), "L"),
        fresh_share=None if share is None else round(share, 2),
        target_fresh_share=None if target is None else round(target, 2),
        findings=facts.findings,
    )


def anonymise(facts: Iterable[ExportFacts], *, k: int = DEFAULT_K) -> Release:
    """Release facts in classes of at least k rows that share every quasi-identifier as released.

    Classes of k or more are released at the first step of the ladder that makes them; the rest
    goes down together. Rows are sorted by what they say, so their order tells nothing more.
    k hides who a row is about, not what a class has in common: see `l_of`.

    k: 5 or more    Raises: OutOfRange
    Source: Samarati 2001; Sweeney 2002 (k-anonymity by generalisation and suppression).

    >>> anonymise([])
    Release(rows=(), suppressed=0, k=10, k_reached=None, classes=0)
    """
    if k < SMALLEST_K:
        raise OutOfRange(name="k", value=k, allowed=f"{SMALLEST_K} or more")
    waiting = [generalise(one) for one in facts]
    released: list[ExportRow] = []
    for dropped in LADDER:
        nothing = dict.fromkeys(dropped)
        large, waiting = _split([replace(row, **nothing) for row in waiting], k)
        released += large
    return _release(sorted(released, key=json.encode), suppressed=len(waiting), k=k)


def _split(rows: list[ExportRow], k: int) -> tuple[list[ExportRow], list[ExportRow]]:
    """Rows of classes of at least k, and the others."""
    classes = _classes(rows, attrgetter(*QUASI_IDENTIFIERS))
    large = [row for members in classes if len(members) >= k for row in members]
    small = [row for members in classes if len(members) < k for row in members]
    return large, small


def _release(rows: list[ExportRow], *, suppressed: int, k: int) -> Release:
    sizes = [len(members) for members in _classes(rows, attrgetter(*QUASI_IDENTIFIERS))]
    return Release(
        rows=tuple(rows),
        suppressed=suppressed,
        k=k,
        k_reached=min(sizes, default=None),
        classes=len(sizes),
    )


def k_of(rows: Sequence[Mapping[str, object]], quasi_identifiers: Sequence[str]) -> int:
    """Size of the smallest class of rows that share all quasi-identifiers; missing is a value.

    Raises: OutOfRange without rows or without quasi-identifiers
    Source: Sweeney 2002, definition of k-anonymity.

    >>> k_of([{"year": 2018}, {"year": 2018}, {"year": None}], ["year"])
    1
    """
    _check_given(rows, quasi_identifiers)
    return min(map(len, _classes(rows, itemgetter(*quasi_identifiers))))


def l_of(
    rows: Sequence[Mapping[str, object]], quasi_identifiers: Sequence[str], sensitive: str
) -> int:
    """Least number of different values of `sensitive` within a class (distinct l-diversity).

    Raises: OutOfRange as `k_of`    Source: Machanavajjhala et al. 2007.

    >>> l_of([{"year": 2018, "ok": True}, {"year": 2018, "ok": False}], ["year"], "ok")
    2
    """
    _check_given(rows, quasi_identifiers)
    classes = _classes(rows, itemgetter(*quasi_identifiers))
    return min(len({row[sensitive] for row in members}) for members in classes)


def _check_given(rows: Sequence[object], quasi_identifiers: Sequence[str]) -> None:
    for name, given in (("rows", rows), ("quasi_identifiers", quasi_identifiers)):
        if not given:
            raise OutOfRange(name=f"number of {name}", value=0, allowed="1 or more")


def _classes(rows: Iterable[T], key: Callable[[T], object]) -> list[list[T]]:
    classes: defaultdict[object, list[T]] = defaultdict(list)
    for row in rows:
        classes[key(row)].append(row)
    return list(classes.values())
