"""Posted events: every item has its own outcome, any arrival gives one state, for ever."""

import json
import random
from typing import Any
from uuid import uuid4

import httpx
import pytest

from libexchange.job.events import LARGEST_BATCH
from tests.exchange_api.bay_desk import (
    DEVICE,
    close,
    event,
    items,
    outcomes,
    problem,
    send,
    started,
    worked,
)
from tests.job.plans import START

NAMES = ("code", "detail", "allowed", "remedy")


def refused_beside_good(client: httpx.Client, raw: str) -> dict[str, Any]:
    """The outcome of a raw item that stands between two good ones, which are both kept."""
    path, _ = started(client)
    good = [json.dumps(event("started", 0)), json.dumps(event("work_finished", 2))]
    text = f"[{good[0]}, {raw}, {good[1]}]"
    head = json.dumps({"device_id": DEVICE, "sent_at": START.isoformat()})[:-1]
    answered = client.post(
        f"{path}/events",
        content=f'{head}, "events": {text}}}'.encode("utf-8", "surrogatepass"),
        headers={"Content-Type": "application/json"},
    )
    assert outcomes(answered) == ["stored", "refused", "stored"]
    assert len(client.get(f"{path}/events").json()["items"]) == 2
    item: dict[str, Any] = answered.json()["items"][1]
    return item


def raw_note(text: str, **more: str) -> str:
    """A note as raw JSON; `more` adds members that are raw JSON themselves."""
    members = {"kind": '"note"', "event_id": f'"{uuid4()}"', "sequence": "1",
               "occurred_at": f'"{START.isoformat()}"', "text": text} | more  # fmt: skip
    return "{" + ", ".join(f'"{name}": {value}' for name, value in members.items()) + "}"


MOVED = {"kind": '"fluid_moved"', "direction": '"in"', "volume": '{"value": 4, "unit": "L"}'}
LOOKED = {"kind": '"level_checked"', "method": '"overflow_plug"',
          "temperature": '{"value": 40, "unit": "Cel"}'}  # fmt: skip


def raw(**members: str) -> str:
    return raw_note('"@"', **members).replace(', "text": "@"', "")


REFUSED: dict[str, tuple[str, str, str]] = {
    "an unknown kind": (raw(kind='"teleported"'), "/kind", "unknown-kind"),
    "no kind": (raw_note('"a"').replace('"kind": "note", ', ""), "/kind", "missing-field"),
    "not an object": ("7", "", "wrong-type"),
    "null": ("null", "", "wrong-type"),
    "an unknown field": (raw_note('"a"', colour='"red"'), "/colour", "unknown-field"),
    "no id": (raw_note('"a"').replace("event_id", "id"), "/event_id", "missing-field"),
    "NUL": (raw_note('"a\\u0000b"'), "/text", "control-character"),
    "half a surrogate pair": (raw_note('"\\ud83d"'), "/text", "control-character"),
    "a member given twice": (raw_note('"a", "text": "b"'), "/text", "repeated-member"),
    "a huge integer": (raw_note('"a"', sequence="1" * 400), "/sequence", "out-of-range"),
    "a number beyond doubles": (raw(**MOVED, meter_class="1e999"), "/meter_class", "not-finite"),
    "NaN": (raw(**MOVED, meter_class="NaN"), "/meter_class", "not-finite"),
    "deep nesting": (raw_note("[" * 200 + "]" * 200), "/text" + "/0" * 64, "too-deep"),
    "a time without offset": (
        raw_note('"a"', occurred_at='"2026-03-04T08:00:00"'), "/occurred_at", "naive-time"),
    "a negative count": (raw_note('"a"', sequence="-1"), "/sequence", "out-of-range"),
    "litres and kilograms": (
        raw(**MOVED, mass='{"value": 4, "unit": "kg"}'), "/volume", "exactly-one-of"),
    "too much at once": (
        raw(**MOVED | {"volume": '{"value": 201, "unit": "L"}'}), "/volume/value", "out-of-range"),
    "fluid that glows": (
        raw(**MOVED, temperature='{"value": 151, "unit": "Cel"}'),
        "/temperature/value", "out-of-range"),
    "a look that saw nothing": (raw(**LOOKED), "/observed", "missing-field"),
    "a reading of nothing": (
        raw(kind='"reading"', source='"scan_tool"'), "/temperature", "missing-field"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_a_bad_item_is_refused_alone_and_says_why(client: httpx.Client, name: str) -> None:
    text, place, code = REFUSED[name]
    item = refused_beside_good(client, text)
    told = {error["pointer"]: error for error in item["errors"]}

    assert told[f"#/events/1{place}"]["code"] == code
    assert all(error[one] for error in item["errors"] for one in NAMES)


def test_a_refused_item_is_named_by_its_id_where_it_has_one(client: httpx.Client) -> None:
    event_id = str(uuid4())
    named = raw(event_id=f'"{event_id}"', kind='"teleported"')

    assert refused_beside_good(client, named)["event_id"] == event_id
    assert refused_beside_good(client, "7")["event_id"] is None


def test_the_same_again_is_already_stored_whatever_its_spelling(client: httpx.Client) -> None:
    path, _ = started(client)
    one = event("note", text="looked at")
    turned = dict(reversed(one.items())) | {"occurred_at": "2026-03-04T08:00:00.000Z"}

    assert outcomes(send(client, path, [one, turned])) == ["stored", "already_stored"]
    assert outcomes(send(client, path, [turned])) == ["already_stored"]


def test_another_content_under_the_same_id_is_a_conflict(client: httpx.Client) -> None:
    path, _ = started(client)
    one = event("note", text="looked at")
    answered = send(client, path, [one, one | {"text": "not looked at"}, event("started", 1)])
    item = answered.json()["items"][1]

    assert outcomes(answered) == ["stored", "conflict", "stored"]
    assert (item["errors"][0]["pointer"], item["errors"][0]["value"]) == (
        "#/events/1/event_id", one["event_id"],
    )  # fmt: skip
    kept = client.get(f"{path}/events").json()["items"]
    assert "looked at" in {posted["event"]["event"].get("text") for posted in kept}
    assert len(kept) == 2


def test_a_conflict_changes_no_version(client: httpx.Client) -> None:
    path, _ = started(client)
    one = event("note", text="looked at")
    send(client, path, [one])
    before = client.get(path).headers["etag"]
    send(client, path, [one | {"text": "other"}, one, {"kind": "teleported"}])

    assert client.get(path).headers["etag"] == before


def test_any_arrival_gives_one_state(client: httpx.Client) -> None:
    path, bay = worked(client)
    shuffled, again = started(client, bay.plan)
    sent = items(again.whole_job().events)
    chance = random.Random(7)  # noqa: S311 -- the same shuffles every time
    for _ in range(6):
        send(client, shuffled, chance.sample(sent, len(sent) // 2))
    send(client, shuffled, sent[::-1])

    assert client.get(shuffled).json()["state"] == client.get(path).json()["state"]


def test_a_device_may_repeat_itself_for_ever(client: httpx.Client) -> None:
    path, bay = worked(client)
    before = client.get(path)
    for _ in range(5):
        again = send(client, path, items(bay.events))
        assert set(outcomes(again)) == {"already_stored"}

    assert client.get(path).json() == before.json()
    assert client.get(path).headers["etag"] == before.headers["etag"]


def test_gaps_in_the_count_of_a_device_are_told_until_they_are_filled(client: httpx.Client) -> None:
    path, _ = started(client)
    holed = send(client, path, [event("note", n, text="a") for n in (0, 1, 4)])
    filled = send(client, path, [event("note", n, text="a") for n in (2, 3)])

    assert holed.json()["gaps"] == [{"device_id": DEVICE, "first_missing": 2, "last_missing": 3}]
    assert filled.json()["gaps"] == []


def test_a_beginning_that_was_not_sent_yet_is_a_gap(client: httpx.Client) -> None:
    path, _ = started(client)
    told = send(client, path, [event("note", n, text="a") for n in (5, 6)]).json()["gaps"]

    assert told == [{"device_id": DEVICE, "first_missing": 0, "last_missing": 4}]
    assert client.get(path).json()["gaps"] == told


def test_events_are_read_in_the_order_of_the_fold_with_their_delay(client: httpx.Client) -> None:
    path, bay = started(client)
    send(client, path, items(bay.whole_job().events)[::-1])
    kept = client.get(f"{path}/events").json()["items"]

    assert [posted["event"]["event"]["sequence"] for posted in kept] == list(range(len(kept)))
    assert all(posted["delay_s"] > 0 and not posted["late"] for posted in kept)


def test_the_clock_of_a_device_is_compared_with_ours(client: httpx.Client) -> None:
    path, _ = started(client)
    send(client, path, [event("started")])

    assert client.get(path).json()["clock_offset_s"][DEVICE] < 0


def test_what_comes_after_the_close_is_kept_as_late(client: httpx.Client) -> None:
    path, bay = worked(client)
    close(client, path)
    late = event("leak_checked", 900, result="leak")
    both = [late, items(bay.events)[0]]

    assert outcomes(send(client, path, both)) == ["stored_late", "already_stored"]
    assert outcomes(send(client, path, both)) == ["already_stored", "already_stored"]


def test_a_thousand_events_are_taken_and_one_more_is_not(client: httpx.Client) -> None:
    path, _ = started(client)
    many = [event("note", n, text="a") for n in range(1001)]
    refused = send(client, path, many)

    assert problem(refused) == (422, "invalid-body", {"#/events"})
    assert client.get(f"{path}/events").json()["items"] == []
    assert outcomes(send(client, path, many[:1000])) == ["stored"] * 1000


ENVELOPES: dict[str, tuple[dict[str, Any], str]] = {
    "no device": ({"sent_at": START.isoformat(), "events": []}, "#/device_id"),
    "a device with a blank": ({"device_id": "a b"}, "#/device_id"),
    "a naive moment": ({"sent_at": "2026-03-04T08:00:00"}, "#/sent_at"),
    "events that are no list": ({"events": {}}, "#/events"),
    "null for events": ({"events": None}, "#/events"),
    "an unknown field": ({"colour": "red"}, "#/colour"),
}


@pytest.mark.parametrize("name", ENVELOPES)
def test_an_envelope_that_does_not_decode_keeps_nothing(client: httpx.Client, name: str) -> None:
    changes, place = ENVELOPES[name]
    whole = {"device_id": DEVICE, "sent_at": START.isoformat(), "events": [event("started")]}
    path, _ = started(client)
    body = changes if name == "no device" else whole | changes
    answered = client.post(f"{path}/events", json=body)

    assert problem(answered) == (422, "invalid-body", {place})
    assert client.get(f"{path}/events").json()["items"] == []


@pytest.mark.parametrize("text", [b"", b"[]", b'{"events": [', b'{"events": [\xff]}', b"null"])
def test_a_post_that_is_no_envelope_is_refused_as_a_whole(
    client: httpx.Client, text: bytes
) -> None:
    path, _ = started(client)
    headers = {"Content-Type": "application/json"}
    answered = client.post(f"{path}/events", content=text, headers=headers)

    assert problem(answered)[0] in (400, 422)


def test_a_post_takes_so_many_events_and_not_one_more(client: httpx.Client) -> None:
    path, _ = started(client)
    notes = [event("note", number, text="x") for number in range(LARGEST_BATCH + 1)]

    beyond = send(client, path, notes)
    kept = client.get(f"{path}/events").json()["items"]
    whole = send(client, path, notes[:-1])

    assert problem(beyond) == (422, "invalid-body", {"#/events"})
    assert kept == []
    assert outcomes(whole) == ["stored"] * LARGEST_BATCH
