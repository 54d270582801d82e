"""Releases of plans: what is told, what is dropped, and that nobody stands alone."""

from collections import Counter
from collections.abc import Iterable
from datetime import date
from random import Random
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import json
from msgspec.structs import replace

from libexchange import invented
from libexchange.anonymise import (
    LADDER,
    QUASI_IDENTIFIERS,
    ExportFacts,
    ExportRow,
    anonymise,
    export_facts,
    generalise,
    odometer_band,
)
from libexchange.errors import OutOfRange
from libexchange.fields import Money
from libexchange.plan.planning import make_plan
from libexchange.plan.request import LastService, Prices, Vehicle
from libexchange.quantities import Distance, Volume

ONE = ExportFacts(
    month="2026-03",
    family="converter_automatic",
    model_year=2019,
    odometer_km=87_654.3,
    region="north",
    reason="routine",
    route="drain_cycles",
    feasible=True,
    litres_planned_l=12.345,
    fresh_share_expected=0.81234,
    target_fresh_share=0.8,
    findings=("debris-in-pan",),
)
FACTS = st.lists(
    st.builds(
        replace,
        st.just(ONE),
        month=st.sampled_from(["2026-02", "2026-03"]),
        family=st.sampled_from(["converter_automatic", "wet_dual_clutch"]),
        model_year=st.sampled_from([None, 2016, 2019, 2020]),
        odometer_km=st.sampled_from([None, 10_000.0, 30_000.0]),
        region=st.sampled_from(["north", "south"]),
        litres_planned_l=st.floats(0, 40),
    ),
    max_size=120,
)


def copies(count: int, **changed: object) -> list[ExportFacts]:
    return [replace(ONE, **changed)] * count


def classes(rows: Iterable[ExportRow]) -> Counter[tuple[object, ...]]:
    return Counter(tuple(getattr(row, name) for name in QUASI_IDENTIFIERS) for row in rows)


def test_a_row_tells_bands_and_rounded_numbers_only() -> None:
    row = generalise(ONE)

    assert (row.model_year_band, row.odometer_band) == ("2018-2020", "80000-100000 km")
    assert (row.litres, row.fresh_share) == (Volume(12.3, "L"), 0.81)


@given(st.floats(0, 1e7))
def test_an_odometer_lies_in_its_band(odometer_km: float) -> None:
    low, high = (int(edge) for edge in odometer_band(odometer_km).removesuffix(" km").split("-"))

    assert low <= odometer_km < high == low + 20_000


def test_ten_alike_are_released_as_they_are_and_nine_are_not() -> None:
    assert [anonymise(copies(n)).suppressed for n in (9, 10)] == [9, 0]
    assert classes(anonymise(copies(10)).rows) == {
        ("2026-03", "converter_automatic", "2018-2020", "80000-100000 km", "north"): 10
    }


def test_the_odometer_is_dropped_first_then_model_year_then_region() -> None:
    by_odometer = copies(6) + copies(6, odometer_km=1.0)
    by_year = by_odometer[:6] + copies(6, odometer_km=1.0, model_year=2001)
    by_region = by_year[:6] + copies(6, odometer_km=1.0, model_year=2001, region="south")

    unit = ("2026-03", "converter_automatic")
    assert classes(anonymise(by_odometer).rows) == {(*unit, "2018-2020", None, "north"): 12}
    assert classes(anonymise(by_year).rows) == {(*unit, None, None, "north"): 12}
    assert classes(anonymise(by_region).rows) == {(*unit, None, None, None): 12}


def test_what_is_rare_even_then_is_suppressed_and_counted() -> None:
    release = anonymise(copies(30) + copies(1, family="heavy_duty_automatic"))

    assert (len(release.rows), release.suppressed, release.k_reached) == (30, 1, 30)
    assert {row.family for row in release.rows} == {"converter_automatic"}


def test_an_unknown_odometer_matches_no_known_one_and_no_dropped_one() -> None:
    unknown = copies(10, odometer_km=None)
    dropped = copies(5, odometer_km=1.0) + copies(5, odometer_km=50_000.0)

    bands = Counter(row.odometer_band for row in anonymise(unknown + dropped).rows)
    assert bands == {"unknown": 10, None: 10}
    mixed = anonymise(copies(5, odometer_km=None) + copies(5, odometer_km=1.0))
    assert Counter(row.odometer_band for row in mixed.rows) == {None: 10}


@given(FACTS, st.integers(5, 15))
def test_every_released_row_has_at_least_k_that_look_the_same(
    facts: list[ExportFacts], k: int
) -> None:
    release = anonymise(facts, k=k)
    sizes = classes(release.rows)

    assert all(size >= k for size in sizes.values())
    assert release.k_reached == min(sizes.values(), default=None)
    assert release.classes == len(sizes)


@given(FACTS)
def test_released_and_suppressed_are_what_was_given(facts: list[ExportFacts]) -> None:
    release = anonymise(facts)

    assert len(release.rows) + release.suppressed == len(facts)


@given(FACTS)
def test_no_row_is_invented(facts: list[ExportFacts]) -> None:
    def rest(row: ExportRow) -> bytes:
        return json.encode(replace(row, odometer_band=None, model_year_band=None, region=None))

    given_rows = Counter(rest(generalise(one)) for one in facts)
    released = Counter(rest(row) for row in anonymise(facts).rows)

    assert released <= given_rows


@given(FACTS)
def test_a_released_row_drops_what_a_step_of_the_ladder_drops(facts: list[ExportFacts]) -> None:
    steps = {frozenset(step) for step in LADDER}
    droppable = QUASI_IDENTIFIERS[2:]

    for row in anonymise(facts).rows:
        assert frozenset(name for name in droppable if getattr(row, name) is None) in steps


@given(FACTS, st.randoms(use_true_random=False))
def test_the_order_of_the_plans_cannot_be_seen(facts: list[ExportFacts], random: Random) -> None:
    shuffled = list(facts)
    random.shuffle(shuffled)

    assert anonymise(shuffled) == anonymise(facts)


@pytest.mark.parametrize("k", [4, 1, 0, -1])
def test_a_k_below_five_is_refused(k: int) -> None:
    with pytest.raises(OutOfRange, match="allowed is 5 or more"):
        anonymise(copies(20), k=k)


def test_no_person_no_number_and_no_exact_day_is_in_the_facts() -> None:
    request = replace(
        invented.routine_request(),
        vehicle=Vehicle(
            reference="invented owner 7",
            vin="1M8GDM9AXKP042788",
            model_year=2018,
            odometer=Distance(50_000, "[mi_i]"),
        ),
        last_service=LastService(service_date=date(2021, 5, 17)),
        prices=Prices(fluid_per_litre=Money("13.37", "EUR")),
    )
    plan = make_plan(
        request=request,
        transmission=invented.six_speed(),
        fluid=invented.red_fluid(),
        plan_id=UUID(int=77),
        created_at=request.requested_at,
    )

    facts = export_facts(plan=plan, region="north")
    text = json.encode(facts).decode()
    secrets = ("invented", "1M8GDM9AXKP042788", "2021", "13.37", str(plan.plan_id), "2026-03-0")
    assert [secret for secret in secrets if secret in text] == []
    assert facts.month == "2026-03"
    assert facts.odometer_km == pytest.approx(80_467.2)


def test_notes_stay_at_home_and_what_needs_care_goes_along() -> None:
    request = replace(invented.routine_request(), conditions=("debris_in_pan", "debris_in_pan"))
    plan = make_plan(
        request=request,
        transmission=invented.six_speed(),
        fluid=invented.red_fluid(),
        plan_id=UUID(int=1),
        created_at=request.requested_at,
    )

    facts = export_facts(plan=plan, region="north")
    graver = {finding.code for finding in plan.findings if finding.severity != "note"}
    assert facts.findings == tuple(sorted(graver))
