"""Parts of a record that were changed, added and removed; a chain that starts elsewhere."""

import pytest

from libexchange.canonical import canonical_json, digest
from libexchange.verification import verify_record
from libexchange.verification_chain import Ends, chain_faults
from tests.libexchange.proof_desk import (
    KEYS,
    SEED,
    Form,
    events_told,
    named,
    payload,
    retied,
    with_payload,
)

COUNT = len(payload()["events"])


def test_a_changed_plan_is_a_changed_part_and_leaves_the_chain() -> None:
    def change(form: Form) -> None:
        form["plan"]["feasible"] = False

    assert events_told(change) == [("part-changed", "/plan")]


@pytest.mark.parametrize("part", ["closing", "balance", "chain_head", "late_chain_head",
                                  "event_count", "late_event_count", "findings"])  # fmt: skip
def test_a_changed_part_is_named_alone(part: str) -> None:
    def change(form: Form) -> None:
        form[part] = 3 if isinstance(form[part], int) else "3"

    assert events_told(change)[0] == ("part-changed", f"/{part}")
    others = {"header"} if part == "closing" else set()  # which discloses who closed
    assert {at.split("/")[1] for _, at in events_told(change)} == {part} | others


def test_parts_that_were_added_and_removed_are_named() -> None:
    def change(form: Form) -> None:
        form["a/b"] = 1
        del form["level"]

    assert events_told(change) == [("part-added", "/a~1b"), ("part-removed", "/level")]


def test_a_chain_made_anew_from_another_start_is_told() -> None:
    form = payload()
    form["plan"]["feasible"] = False
    form = retied(form)
    form["parts"]["plan"] = payload()["parts"]["plan"]
    found = verify_record(canonical_json(form))

    assert named(found) == [
        ("record-digest-differs", "/digest"),
        ("part-changed", "/plan"),
        ("chain-differs", "/events/0/previous"),
    ]


def test_a_head_that_nothing_ends_at_is_told_where_the_chain_ends() -> None:
    form = payload()
    form["chain_head"] = "0" * 64
    form["parts"] |= {"chain_head": digest("0" * 64)}
    found = verify_record(with_payload(form, seed=SEED), keys=KEYS)

    assert named(found)[1:] == [
        ("event-changed", f"/events/{COUNT - 1}"),
        ("chain-differs", "/late_events/0/previous"),
    ]


def test_what_nothing_is_known_of_is_not_held_against_a_chain() -> None:
    entries = payload()["events"]
    unknown = Ends(start=None, head=None, total=None)

    assert chain_faults("events", entries, unknown) == []
    assert chain_faults("events", [], unknown) == []
    assert [one.code for one in chain_faults("events", entries[1:], unknown)] == ["event-removed"]


def test_a_count_below_nothing_leaves_no_gap() -> None:
    form = payload()
    form["event_count"] = -7
    form["chain_head"] = "0" * 64
    form["events"].clear()
    form["parts"] |= {"chain_head": digest("0" * 64), "event_count": digest(-7)}

    assert [at for _, at in named(verify_record(canonical_json(form)), "/events")] == []


@pytest.mark.parametrize(
    ("name", "kind"),
    [("job_id", "text"), ("digest", "text"), ("plan", "object"), ("parts", "object"),
     ("events", "list"), ("late_events", "list"), ("event_count", "number"),
     ("late_event_count", "number")],
)  # fmt: skip
def test_what_makes_a_record_is_missed_by_name(name: str, kind: str) -> None:
    form = payload()
    del form[name]
    (fault,) = verify_record(canonical_json(form)).faults

    assert (fault.code, fault.pointer) == ("not-a-record", f"/{name}")
    assert fault.detail == f"The record has no {kind} here."
