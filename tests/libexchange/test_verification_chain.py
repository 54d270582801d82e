"""What was done to the events of a record: changed, removed, added and reordered, told apart."""

from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.sealing import content_digest, tie_digest
from libexchange.verification_chain import _longest_rise
from tests.libexchange.proof_desk import (
    Form,
    events_told,
    payload,
    tampered,
)

COUNT = len(payload()["events"])
PLACES = st.integers(0, COUNT - 1)


def test_there_are_events_to_tamper_with() -> None:
    assert COUNT > 30
    assert len(payload()["late_events"]) == 2


@given(PLACES)
def test_a_changed_event_is_named(place: int) -> None:
    def change(form: Form) -> None:
        form["events"][place]["event"]["sequence"] += 1000

    assert events_told(change) == [("event-changed", f"/events/{place}")]


@given(PLACES, st.sampled_from(["device_id", "previous", "content_digest", "digest"]))
def test_an_event_whose_tie_was_changed_is_named(place: int, member: str) -> None:
    def change(form: Form) -> None:
        form["events"][place][member] = "0" * 64

    assert events_told(change) == [("event-changed", f"/events/{place}")]


@given(PLACES)
def test_something_beside_an_event_is_a_change_of_it(place: int) -> None:
    def change(form: Form) -> None:
        form["events"][place]["note"] = "more"

    assert events_told(change) == [("event-changed", f"/events/{place}")]


@given(PLACES)
def test_a_changed_event_with_its_own_digests_made_anew_is_named(place: int) -> None:
    def change(form: Form) -> None:
        entry = form["events"][place]
        entry["event"]["sequence"] += 1000
        reseal(entry)

    assert events_told(change) == [("event-changed", f"/events/{place}")]


def reseal(entry: dict[str, Any]) -> None:
    entry["content_digest"] = content_digest(entry)
    entry["digest"] = tie_digest(
        number=entry["number"], previous=entry["previous"], content_digest=entry["content_digest"]
    )


@given(PLACES)
def test_a_removed_event_is_named_by_where_it_is_missing(place: int) -> None:
    def change(form: Form) -> None:
        del form["events"][place]

    at = f"/events/{place}" if place < COUNT - 1 else "/events"
    assert events_told(change) == [("event-removed", at)]


@given(PLACES)
def test_a_removed_event_that_is_not_counted_any_more_is_named(place: int) -> None:
    def change(form: Form) -> None:
        del form["events"][place]
        form["event_count"] -= 1

    told = events_told(change)
    assert told[0] == ("part-changed", "/event_count")
    last = place == COUNT - 1
    # the last one may have been replaced as well as removed: both leave another end
    at = (
        ("event-changed", f"/events/{place - 1}") if last else ("event-removed", f"/events/{place}")
    )
    assert told[1:] == [at]


def test_a_cut_end_is_told_with_how_much_is_missing() -> None:
    found = tampered(lambda form: form["events"].__delitem__(slice(COUNT - 3, None)))

    (removed,) = (one for one in found.faults if one.code == "event-removed")
    assert removed.pointer == "/events"
    assert removed.detail == f"Number {COUNT - 2} to {COUNT} of {COUNT} is missing before here."


def test_one_missing_event_is_told_by_its_number() -> None:
    found = tampered(lambda form: form["events"].__delitem__(4))

    (removed,) = (one for one in found.faults if one.code == "event-removed")
    assert removed.detail == f"Number 5 of {COUNT} is missing before here."


def test_all_events_removed_is_one_gap() -> None:
    assert events_told(lambda form: form["events"].clear()) == [("event-removed", "/events")]


@given(st.integers(0, COUNT), PLACES)
def test_a_copied_event_is_one_too_many(place: int, copied: int) -> None:
    def change(form: Form) -> None:
        form["events"].insert(place, deepcopy(form["events"][copied]))

    told = events_told(change)
    twins = {f"/events/{place}", f"/events/{copied + (copied >= place)}"}
    assert [code for code, _ in told if code == "event-added"] == ["event-added"]
    assert {at for code, at in told if code == "event-added"} <= twins


@given(st.integers(0, COUNT), PLACES)
def test_an_invented_event_is_named(place: int, like: int) -> None:
    def change(form: Form) -> None:
        entry = deepcopy(form["events"][like])
        entry["event"]["event_id"] = "00000000-0000-0000-0000-0000000000ff"
        form["events"].insert(place, entry)

    assert events_told(change) == [("event-added", f"/events/{place}")]


@given(st.integers(0, COUNT))
def test_an_invented_event_that_follows_the_one_before_it_is_named(place: int) -> None:
    def change(form: Form) -> None:
        before = form["events"][place - 1] if place else None
        entry = deepcopy(form["events"][0])
        entry["event"]["event_id"] = "00000000-0000-0000-0000-0000000000ff"
        entry["number"] = place + 1
        entry["previous"] = before["digest"] if before else form["parts"]["plan"]
        reseal(entry)
        form["events"].insert(place, entry)

    assert events_told(change) == [("event-added", f"/events/{place}")]


@pytest.mark.parametrize(
    "entry", [{}, {"event": {"kind": "started"}}, {"number": "1"}, "text", None]
)
@given(place=st.integers(0, COUNT))
def test_something_without_a_tie_was_added(place: int, entry: Any) -> None:
    told = events_told(lambda form: form["events"].insert(place, entry))

    assert told == [("event-added", f"/events/{place}")]


@given(PLACES, PLACES)
def test_a_moved_event_is_named(place: int, to: int) -> None:
    def change(form: Form) -> None:
        form["events"].insert(to, form["events"].pop(place))

    if place == to:
        return
    told = events_told(change)
    neighbours = abs(place - to) == 1  # either of two may have been moved past the other
    at = {f"/events/{to}", f"/events/{place}"} if neighbours else {f"/events/{to}"}
    assert [code for code, _ in told] == ["event-reordered"]
    assert {at for _, at in told} <= at


@given(PLACES, PLACES)
def test_two_swapped_events_are_named(one: int, other: int) -> None:
    def change(form: Form) -> None:
        events = form["events"]
        events[one], events[other] = events[other], events[one]

    if one == other:
        return
    told = events_told(change)
    assert {code for code, _ in told} == {"event-reordered"}
    between = range(min(one, other), max(one, other) + 1)
    moved = between if len(between) <= 3 else {one, other}  # of three any two may have been moved
    assert {at for _, at in told} <= {f"/events/{place}" for place in moved}
    assert len(told) == (1 if abs(one - other) == 1 else 2)


def test_the_fewest_events_are_said_to_be_moved() -> None:
    order = [0, 4, 5, 1, 6, 7, 2, 3, *range(8, COUNT)]
    told = events_told(lambda form: form.update(events=[form["events"][at] for at in order]))

    assert told == [("event-reordered", f"/events/{at}") for at in (3, 6, 7)]


@given(st.permutations(range(9)))
def test_what_stays_is_a_longest_rise(numbers: list[int]) -> None:
    longest: list[int] = []
    for number in numbers:
        before = (n for at, n in enumerate(longest) if numbers[at] < number)
        longest.append(1 + max(before, default=0))
    staying = _longest_rise(numbers)

    assert len(staying) == max(longest)
    assert sorted(staying) == [number for number in numbers if number in staying]


def test_events_that_changed_places_under_their_ties_are_reordered() -> None:
    def change(form: Form) -> None:
        events = form["events"]
        events[2]["event"], events[9]["event"] = events[9]["event"], events[2]["event"]

    assert events_told(change) == [
        ("event-reordered", "/events/2"),
        ("event-reordered", "/events/9"),
    ]


@given(st.data())
def test_several_things_at_once_are_each_named(data: st.DataObject) -> None:
    first, second, third = data.draw(st.tuples(*(st.integers(low, low + 5) for low in (1, 10, 20))))

    def change(form: Form) -> None:
        events = form["events"]
        events[third]["event"]["sequence"] += 1000
        events.insert(second, {"event": {}})
        del events[first]

    assert sorted(events_told(change)) == sorted([
        ("event-removed", f"/events/{first}"),
        ("event-added", f"/events/{second - 1}"),
        ("event-changed", f"/events/{third}"),
    ])  # fmt: skip


def test_the_chain_of_late_events_is_held_as_well() -> None:
    def change(form: Form) -> None:
        del form["late_events"][0]

    assert events_told(change) == [("event-removed", "/late_events/0")]
    assert events_told(lambda form: form["late_events"].reverse()) == [
        ("event-reordered", "/late_events/0")
    ]


def test_a_late_event_cannot_stand_among_the_others() -> None:
    def change(form: Form) -> None:
        form["events"].append(form["late_events"].pop())

    assert events_told(change) == [
        ("event-added", f"/events/{COUNT}"),
        ("event-removed", "/late_events"),
    ]
