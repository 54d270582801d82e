"""What becomes of retained samples, before and after the close, and of a legal hold."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.errors import InvalidInput
from libexchange.job.custody_records import HandOver, LegalHoldState, RetainedSample
from libexchange.job.events import (
    Correction,
    DeviceEvent,
    LegalHold,
    SampleDestroyed,
    SampleDrawn,
    SampleHandedOver,
    SampleSealed,
    SampleSplit,
)
from libexchange.job.fold import fold
from libexchange.job.state import JobState
from libexchange.job.verdict import verdict
from libexchange.quantities import Distance, Volume
from tests.job.plans import START, Bay, celsius, plan_for

PLAN = plan_for()


def state(bay: Bay, *, on_time: int | None = None) -> JobState:
    """The state, where events from number `on_time` on came after the close."""
    cut = len(bay.events) if on_time is None else on_time
    return fold(PLAN, bay.events[:cut], bay.events[cut:])


def codes(found: JobState) -> list[str]:
    return [finding.code for finding in found.findings]


def drawn(bay: Bay, sample_id: str = "bottle-1", **fields: Any) -> Bay:
    bay.add(SampleDrawn, sample_id=sample_id, fluid="used", drawn_from="drain", **fields)
    return bay


def story() -> Bay:
    """A sample that is drawn, split, sealed, handed over and destroyed."""
    bay = drawn(Bay(PLAN), by="invented hand", volume=Volume(100, "mL"), lot="invented-lot-1",
                taken="before", temperature=celsius(45),
                odometer=Distance(84_210, "km"))  # fmt: skip
    bay.add(SampleSplit, sample_id="bottle-1", parts=("bottle-2", "bottle-3"))
    bay.add(SampleSealed, sample_id="bottle-2", seal="s 1", kept_for="customer", by="invented two",
            keep_until=date(2026, 3, 4), place="cold store")  # fmt: skip
    bay.add(SampleHandedOver, sample_id="bottle-2", to="invented owner", seal="s 1",
            seal_whole=True, by="invented two", reason="a claim")  # fmt: skip
    bay.add(SampleDestroyed, sample_id="bottle-2", by="invented owner", reason="claim settled")
    return bay


def at(minute: int) -> Any:
    return START + timedelta(minutes=minute)


def test_a_sample_is_told_from_drawing_to_destruction() -> None:
    whole, part, other = state(story()).samples

    assert part == RetainedSample(
        sample_id="bottle-2", fluid="used", drawn_from="drain", drawn_at=at(1),
        drawn_by="invented hand", lot="invented-lot-1", taken="before",
        temperature=celsius(45), odometer=Distance(84_210, "km"), volume=None,
        part_of="bottle-1", parts=(),
        seal="s 1", sealed_at=at(3), sealed_by="invented two", kept_for="customer",
        keep_until=date(2026, 3, 4), place=None, holder="invented owner",
        hand_overs=(HandOver(at=at(4), given_by="invented two", to="invented owner",
                             reason="a claim", seal="s 1", seal_whole=True),),
        destroyed_at=at(5), destroyed_by="invented owner", destroyed_reason="claim settled",
        standing="destroyed",
    )  # fmt: skip
    assert (whole.standing, whole.parts) == ("split", ("bottle-2", "bottle-3"))
    assert (whole.volume, whole.holder) == (Volume(100, "mL"), "invented hand")
    assert (other.standing, other.seal, other.hand_overs) == ("drawn", None, ())


def test_after_each_event_a_sample_stands_as_it_was_left() -> None:
    events = story().events
    seen = [fold(PLAN, events[: n + 1]).samples for n in range(5)]

    assert [samples[:2][-1].standing for samples in seen] == [
        "drawn", "drawn", "sealed", "handed_over", "destroyed",
    ]  # fmt: skip
    assert [samples[:2][-1].place for samples in seen[2:4]] == ["cold store", None]


def test_sealing_again_keeps_what_it_does_not_say() -> None:
    bay = drawn(Bay(PLAN))
    bay.add(SampleSealed, sample_id="bottle-1", seal="s 1", kept_for="workshop",
            keep_until=date(2027, 3, 4), place="cold store")  # fmt: skip
    bay.add(SampleSealed, sample_id="bottle-1", seal="s 2", kept_for="laboratory")
    (sample,) = state(bay).samples

    assert (sample.seal, sample.kept_for) == ("s 2", "laboratory")
    assert (sample.keep_until, sample.place) == (date(2027, 3, 4), "cold store")


@pytest.mark.parametrize("second", [date(2027, 3, 3), date(2027, 3, 4), None])
def test_the_last_day_that_was_told_counts(second: date | None) -> None:
    bay = drawn(Bay(PLAN))
    for day in (date(2027, 3, 4), second):
        bay.add(SampleSealed, sample_id="bottle-1", seal="s 1", kept_for="workshop", keep_until=day)

    assert state(bay).samples[0].keep_until == date(2027, 3, 4)


@pytest.mark.parametrize(("hold", "left"), [("set", 1), ("lifted", 0)])
@pytest.mark.parametrize("close", ["before the hold", "after it", "never"])
def test_while_a_hold_stands_no_sample_is_withdrawn(hold: str, left: int, close: str) -> None:
    bay = Bay(PLAN)
    for change in dict.fromkeys(("set", hold)):
        bay.add(LegalHold, state=change, by="invented office", reason="a claim")
    after_it = len(bay.events)
    drawn(bay)
    bay.add(Correction, corrects=bay.events[-1].event.event_id, reason="no such bottle")
    found = state(bay, on_time={"before the hold": 0, "after it": after_it}.get(close))

    assert len(found.samples) == left
    assert codes(found).count("correction-without-effect") == left


@given(st.permutations(story().events), st.integers(0, 5))
def test_any_order_and_a_close_at_any_moment_tell_one_custody(
    order: list[DeviceEvent], cut: int
) -> None:
    found = fold(PLAN, order[:cut], order[cut:])

    assert (found.samples, found.legal_hold) == (state(story()).samples, None)


def test_a_late_correction_withdraws_only_what_came_late() -> None:
    bay = drawn(Bay(PLAN).whole_job())
    first, close = bay.events[-1].event, len(bay.events)
    wrong = bay.add(SampleDestroyed, sample_id="bottle-1", by="invented", reason="another bottle")
    bay.add(Correction, corrects=wrong.event_id, reason="another bottle")
    bay.add(Correction, corrects=first.event_id, reason="too late")

    assert [one.standing for one in state(bay, on_time=close).samples] == ["drawn"]
    assert state(bay).samples == ()


def test_an_event_that_is_sent_again_after_the_close_stays_withdrawn() -> None:
    bay = drawn(Bay(PLAN))
    again = bay.events[0]
    bay.add(Correction, corrects=again.event.event_id, reason="no bottle")

    assert fold(PLAN, bay.events, [again]).samples == ()


def test_case_97_a_name_used_again_leaves_the_first_sample_as_it_was() -> None:
    bay = drawn(Bay(PLAN), lot="invented-lot-1")
    drawn(bay, lot="invented-lot-2")
    found = state(bay)

    assert [one.lot for one in found.samples] == ["invented-lot-1"]
    assert codes(found) == ["sample-id-used-twice"]


def test_case_97_a_part_of_a_name_in_use_is_no_part() -> None:
    bay = drawn(drawn(Bay(PLAN)), "bottle-2")
    bay.add(SampleSplit, sample_id="bottle-1", parts=("bottle-2", "bottle-3"))
    found = state(bay)

    assert [one.part_of for one in found.samples] == [None, None, "bottle-1"]
    assert (found.samples[0].parts, codes(found)) == (("bottle-3",), ["sample-id-used-twice"])


def test_case_97_a_broken_seal_and_another_number_are_told_and_bar_nothing() -> None:
    bay = drawn(Bay(PLAN).whole_job())
    bay.add(SampleSealed, sample_id="bottle-1", seal="s 1", kept_for="customer")
    bay.add(SampleHandedOver, sample_id="bottle-1", to="invented", seal="s 2", seal_whole=False)
    found = state(bay)

    assert codes(found) == ["sample-seal-broken", "sample-seal-differs"]
    assert verdict(PLAN, found).verdict == "accepted"


def test_nothing_happens_to_a_sample_that_nobody_knows_or_that_is_gone() -> None:
    bay = Bay(PLAN)
    bay.add(SampleSplit, sample_id="bottle-1", parts=("bottle-2", "bottle-3"))
    bay.add(SampleSealed, sample_id="bottle-1", seal="s 1", kept_for="workshop")
    bay.add(SampleHandedOver, sample_id="bottle-1", to="invented", seal_whole=True)
    bay.add(SampleDestroyed, sample_id="bottle-1", by="invented", reason="invented")
    found = state(bay)

    assert (found.samples, codes(found)) == ((), ["sample-not-known"] * 4)


def hold(bay: Bay, state: str, by: str) -> None:
    bay.add(LegalHold, by=by, state=state, reason="a claim")


def test_the_last_word_on_a_legal_hold_stands() -> None:
    bay = Bay(PLAN)
    hold(bay, "lifted", "invented one")
    assert state(bay).legal_hold is None

    hold(bay, "set", "invented two")
    hold(bay, "set", "invented three")
    assert state(bay, on_time=1).legal_hold == LegalHoldState(
        state="set", by="invented two", reason="a claim", since=at(2)
    )

    hold(bay, "lifted", "invented four")
    hold(bay, "lifted", "invented five")
    assert state(bay).legal_hold == LegalHoldState(
        state="lifted", by="invented four", reason="a claim", since=at(4)
    )


def test_custody_after_the_close_is_normal_and_stays_not_open() -> None:
    bay = drawn(Bay(PLAN).whole_job())
    close = len(bay.events)
    hold(bay, "set", "invented office")
    bay.add(SampleHandedOver, sample_id="bottle-1", to="invented", seal_whole=True)
    bay.add(SampleDestroyed, sample_id="bottle-1", by="invented", reason="invented")
    drawn(bay, "bottle-2")
    found = state(bay, on_time=close)

    assert found.open_late_events == (bay.events[-1].event.event_id,)
    assert [one.standing for one in found.samples] == ["destroyed", "drawn"]


def test_what_is_told_of_custody_repeats_no_words_of_people() -> None:
    bay = drawn(Bay(PLAN), by="secret name")
    hold(bay, "set", "secret name")
    bay.add(SampleHandedOver, sample_id="bottle-1", to="secret name", seal="s 2", seal_whole=False)
    bay.add(SampleDestroyed, sample_id="bottle-1", by="secret name", reason="secret reason")
    found = state(bay)

    assert codes(found) == [
        "sample-seal-broken", "sample-seal-differs", "sample-destroyed-under-hold",
    ]  # fmt: skip
    assert "secret" not in str(found.findings)


@pytest.mark.parametrize("parts", [("bottle-1", "bottle-2"), ("bottle-2", "bottle-2")])
def test_each_part_of_a_sample_has_a_new_name(parts: tuple[str, str]) -> None:
    with pytest.raises(InvalidInput) as refused:
        Bay(PLAN).add(SampleSplit, sample_id="bottle-1", parts=parts)

    assert [(one.pointer, one.code) for one in refused.value.faults] == [("/parts", "not-distinct")]
