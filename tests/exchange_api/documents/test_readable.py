"""Documents that do not contradict themselves and name things as people do."""

import re
from datetime import date

from msgspec.structs import replace

from exchange_api.documents.blocks import Fact
from exchange_api.documents.customer_facts import done_of, found_of
from exchange_api.documents.event_texts import words_of
from exchange_api.documents.filed import Filed
from exchange_api.documents.forms import HTML, document
from exchange_api.documents.temperature_chart import temperature_chart
from exchange_api.documents.workshop import WorkshopRecord, workshop_record
from exchange_api.documents.workshop_fluid import results_of
from libexchange.fields import Money
from libexchange.finding_catalogue import ALL_KINDS
from libexchange.job.events import (
    Arrived,
    ConsentGiven,
    LateFinding,
    LeakChecked,
    SampleSealed,
)
from libexchange.record import JobRecord
from tests.exchange_api.documents.paper import DIGEST, record_of, whole
from tests.job.plans import Bay, plan_for

KEY = "01a2169b-ceee-73db-9b26-05ff5ea48610"
CODES = {kind.code: kind for kind in ALL_KINDS}


def fact(facts: tuple[Fact, ...], name: str) -> Fact:
    return next(one for one in facts if one.name == name)


def made(record: JobRecord) -> WorkshopRecord:
    return workshop_record(record, Filed(digest=DIGEST))


def section(record: JobRecord, title: str) -> tuple[str, tuple[tuple[str, ...], ...]]:
    """Its lead and its rows."""
    found = next(one for one in made(record).sections if one.title == title)
    return found.lead, found.table.rows if found.table else ()


def leaks_later() -> JobRecord:
    bay = Bay(plan_for()).whole_job()
    late = Bay(bay.plan, "late-phone", first_id=5000)
    late.add(LateFinding, source="leak", severity="stop", text="fluid drips from the pan")
    return record_of(bay, late.events)


def leaked() -> JobRecord:
    """The level was corrected and set, then a leak was seen."""
    bay = Bay(plan_for())
    bay.arrive()
    bay.work_to_level()
    bay.look("nothing", 38)
    bay.move("in", 0.3, "set_level")
    bay.look("drip", 39)
    bay.add(LeakChecked, result="leak")
    return record_of(bay)


def test_checks_of_the_close_are_told_as_such_where_it_leaks_since() -> None:
    told = results_of(leaks_later())

    for name in ("Leak check", "Test drive"):
        assert fact(told, name).note == "at the close; read what came since"
        assert fact(results_of(whole()), name).note == ""


def test_a_verdict_that_nothing_spoke_against_says_when() -> None:
    lead, _ = section(leaks_later(), "Why this verdict")

    assert lead == "Nothing spoke against it at the close. Read what came since."
    assert section(whole(), "Why this verdict")[0] == "Nothing speaks against it."


def test_a_level_that_was_set_before_a_leak_is_not_told_as_right() -> None:
    record, doubt = leaked(), "set, but no longer known to be right"

    assert fact(results_of(record), "Level").value == doubt
    assert fact(done_of(record), "Level of the fluid").note == doubt
    assert fact(results_of(whole()), "Level").value == "set"


def test_corrections_from_before_a_leak_are_not_told_as_none() -> None:
    told = fact(results_of(leaked()), "Level").note

    assert told.endswith("0.00\N{NO-BREAK SPACE}L beyond the refill, without those before the leak")
    assert "leak" not in fact(results_of(whole()), "Level").note


def test_the_window_of_the_level_is_named_beside_the_looks_at_it() -> None:
    drawn = temperature_chart(leaked())
    assert drawn is not None
    looks = [float(x) for x in re.findall(r'<circle[^>]* cx="([0-9.]+)"[^>]* r="4.2"', drawn.svg)]
    (label,) = re.findall(r'<text[^>]* x="([0-9.]+)"[^>]*>window for<', drawn.svg)

    assert max(looks) + 4.2 + 1 < float(label)


def test_a_key_that_closed_a_job_is_named_as_a_key() -> None:
    record = whole()
    record = replace(record, closing=replace(record.closing, closed_by=KEY))
    _, rows = section(record, "Who did, checked and decided what")

    assert made(record).closed.endswith(f" with the access key {KEY}")
    assert made(whole()).closed.endswith(" by invented key")
    assert rows[-1][1:3] == ("", f"closed the job with the access key {KEY}")


def test_without_a_late_event_there_is_no_digest_of_one() -> None:
    def last(record: JobRecord) -> str:
        _, rows = section(record, "Identity")
        return next(row[1] for row in rows if row[0] == "Digest of the last late event")

    assert last(whole()) == "no late event"
    assert last(leaks_later()).replace(" ", "") == leaks_later().late_chain_head


def test_a_finding_is_told_once_and_without_names_of_the_wire() -> None:
    pan, post = CODES["pan-not-removable"], CODES["work-not-finished"]
    findings = (pan.at("#", f"{pan.title}."), post.at("#", "Do what stands under make_safe."))
    record = whole()
    record = replace(record, closing=replace(record.closing, findings=findings))
    _, (once, words) = section(record, "Why this verdict")

    assert once[1] == f"{pan.title}."
    assert words[1] == f"{post.title}. Do what stands under make safe."
    assert words[2] == "Finish the steps and post work finished."


def test_the_gravest_reason_of_a_verdict_stands_first() -> None:
    codes = ("bench-checks-incomplete", "calibration-overdue", "leak-found")
    findings = tuple(CODES[code].at("#", code) for code in codes)
    record = whole()
    record = replace(record, closing=replace(record.closing, findings=findings))
    _, rows = section(record, "Why this verdict")

    assert [row[0] for row in rows] == ["stop", "caution", "note"]


def test_words_in_tables_of_a_page_are_not_cut_to_fit_a_column() -> None:
    page = document(whole(), Filed(digest=DIGEST), reader="workshop", media_type=HTML).decode()
    (style,) = re.findall(r"\btable \{([^}]*border-collapse[^}]*)\}", page)

    assert "overflow-wrap: break-word" in style


def test_the_words_of_people_end_with_a_full_stop_and_stay_as_they_are() -> None:
    bay = Bay(plan_for())
    bay.add(Arrived, complaint="late shift when cold")
    found = found_of(record_of(bay))

    assert "On arrival, in your words: late shift when cold." in found
    assert "Found afterwards: fluid drips from the pan." in found_of(leaks_later())


def test_amounts_of_money_and_days_are_told_as_people_write_them() -> None:
    bay = Bay(plan_for())
    sealed = bay.add(SampleSealed, sample_id="bottle-1", seal="s 1", kept_for="customer",
                     keep_until=date(2027, 6, 1))  # fmt: skip
    agreed = bay.add(ConsentGiven, estimate="E-1", given_by="invented customer", how="phone",
                     not_to_exceed=Money("450.00", "EUR"))  # fmt: skip

    assert "keep until 1 June 2027" in words_of(sealed)
    assert "not to exceed 450.00 EUR" in words_of(agreed)
