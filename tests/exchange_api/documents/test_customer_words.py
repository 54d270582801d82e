"""What a customer reads of findings, declines, other ways and the next service."""

from datetime import timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from exchange_api.documents.beside import further_beside
from exchange_api.documents.customer import REASONS, customer_sheet
from exchange_api.documents.customer_findings import (
    OF_PLAN,
    SEEN,
    SENTENCES,
    seen_at_bench,
    told_to_customer,
)
from exchange_api.documents.next_told import MORE_SINCE, NOT_ACCEPTED, UNKNOWN, next_of
from libexchange.bench_checks import BenchChecks
from libexchange.finding_catalogue import ALL_KINDS
from libexchange.findings import Finding
from libexchange.job.events import Aborted, Arrived, ConsentGiven, FluidOpened, LateFinding
from libexchange.plan.request import PlanRequest
from libexchange.quantities import Distance
from libexchange.record import JobRecord
from tests.exchange_api.documents.paper import DIGEST, made, nothing_done, record_of, text_of, whole
from tests.job.plans import Bay, plan_for
from tests.job.test_share_findings import short_through_lines

CODES = {kind.code: kind for kind in ALL_KINDS}


def lines(record: JobRecord, name: str) -> tuple[str, ...]:
    return next(one.lines for one in further_beside(record) if one.name == name)


def finding(kind: str, **values: Any) -> Finding:
    return CODES[kind].at("#", "step-04: gate-open was unknown", values=values)


@pytest.mark.parametrize("code", sorted(SENTENCES.keys() | OF_PLAN.keys()))
def test_every_sentence_is_of_a_kind_that_there_is(code: str) -> None:
    assert code in CODES


def test_a_finding_without_a_sentence_is_told_by_its_title_alone() -> None:
    told = told_to_customer(whole(), finding("used-fluid-milky"))

    assert told == "The used fluid is milky."
    assert "unknown" not in told_to_customer(whole(), finding("gate-not-open-when-confirmed"))


def test_a_caution_of_the_plan_is_named_by_its_title() -> None:
    record = record_of(Bay(plan_for(conditions=("level_low_on_arrival",))))
    (caution,) = [one for one in record.plan.findings if one.severity == "caution"]

    for code, words in OF_PLAN.items():
        told = told_to_customer(record, finding(code, code=caution.code))
        assert told == f"{words}: {caution.title}."


def test_every_answer_of_the_bench_has_plain_words() -> None:
    assert set(SEEN) == set(BenchChecks.__struct_fields__)
    seen = BenchChecks(colour="brown", smell="varnish", debris="grey_paste", crackle="silent",
                       glycol_strip="negative", shifts="normal", blotter="even")  # fmt: skip
    assert seen_at_bench(seen) == (
        "brown; smells of varnish; fine grey wear as is usual; no water found; no coolant found; "
        "shifts normally; a drop spreads evenly on paper"
    )


def test_declined_is_only_what_a_customer_said_no_to() -> None:
    bay = Bay(plan_for()).whole_job()
    assert lines(record_of(bay), "Declined") == ("Nothing was recorded as declined.",)
    bay.add(ConsentGiven, estimate="E-1", declined=("hoses", "alignment"), given_by="invented",
            how="phone")  # fmt: skip

    assert lines(record_of(bay), "Declined") == (
        "By the customer: hoses.", "By the customer: alignment.",
    )  # fmt: skip
    assert "Drain (4.1\N{NO-BREAK SPACE}L, 45 of 100 parts)." in lines(
        record_of(bay), "Other ways that the plan knew"
    )


def test_a_caution_that_nobody_answered_is_not_said_to_be_gone_on_with() -> None:
    assert lines(nothing_done(), "Overridden") == ("No override or acknowledgement was recorded.",)


def test_the_sheet_tells_why_odometer_and_photos() -> None:
    bay = Bay(plan_for(reason="heavy_use"))
    bay.add(Arrived, odometer=Distance(88_123.0, "km"), photos=("ab" * 32, "cd" * 32))
    text = text_of(made(record_of(bay), "customer"))

    assert "Odometer 88,123 km" in text
    assert "Why it was done heavy use of the vehicle" in text
    assert "Photos 2, named in the record" in text
    assert set(REASONS) == set(PlanRequest.__annotations__["reason"].__args__)


def test_the_planned_fluid_has_its_name_and_another_one_its_kind() -> None:
    bay = Bay(plan_for()).whole_job()
    bay.add(FluidOpened, fluid_id="invented-other", fluid_kind="invented-red-six", lot="7")
    done = {one.name: one for one in customer_sheet(record_of(bay), digest=DIGEST).done}

    assert done["Kind of fluid"].value == (
        "Invented red fluid (kind invented-red-six); kind invented-red-six, lot 7"
    )


def test_the_next_service_follows_from_what_was_renewed() -> None:
    planned, short = next_of(whole())[0], next_of(record_of(short_through_lines(0.4)))[0]

    assert planned.startswith("123,000\N{NO-BREAK SPACE}km after this service")
    assert short.startswith("73,000\N{NO-BREAK SPACE}km after this service")


def test_an_odometer_read_on_arrival_gives_the_distance_a_start() -> None:
    bay = Bay(plan_for())
    bay.add(Arrived, odometer=Distance(88_123.0, "km"))
    told = next_of(record_of(bay.whole_job()))[0].replace("\N{NO-BREAK SPACE}", " ")

    assert told.startswith("At 211,123 km, that is 123,000 km after this service, because")


def test_the_next_service_is_not_told_where_it_cannot_be_relied_on() -> None:
    bay = Bay(plan_for()).whole_job()
    late = Bay(bay.plan, "office", first_id=9000)
    late.now = bay.now + timedelta(days=2)
    late.add(LateFinding, source="leak", severity="stop", text="a puddle")

    assert next_of(nothing_done()) == (NOT_ACCEPTED,)
    assert next_of(record_of(bay, late.events)) == (MORE_SINCE,)
    assert next_of(replace(whole(), fresh_share=None)) == (UNKNOWN,)


def test_an_end_before_the_plan_was_through_is_told_with_its_reason() -> None:
    bay = Bay(plan_for())
    bay.add(Aborted, by="invented technician", reason="a part is missing")
    found = customer_sheet(record_of(bay), digest=DIGEST).found

    assert "The work was ended before it was through. The reason: A part is missing." in found
