"""A picture that is told differently from its file, or that another job has too, is told."""

from typing import Any

import httpx
import pytest

from tests.exchange_api.attachments.album import digest, picture, put
from tests.exchange_api.bay_desk import event, items, send, started, worked
from tests.job.plans import START
from tests.job.pointer_desk import leads_nowhere


def taken(raw: bytes, sequence: int = 0, **changes: Any) -> dict[str, Any]:
    told = {"digest": digest(raw), "size": len(raw), "media_type": "image/png", "shows": "level"}
    return event("photo_taken", sequence, taken_at=START.isoformat(), **(told | changes))


def doubts(told: httpx.Response) -> list[tuple[str, str]]:
    """Codes and places, which must lead somewhere."""
    document = told.json()
    assert leads_nowhere(document) == []
    return [(one["code"], one["pointer"]) for one in document["findings"]]


@pytest.mark.parametrize(
    ("changes", "place"),
    [({}, None), ({"size": 5}, "size"), ({"media_type": "image/jpeg"}, "media_type")],
)
def test_case_88_a_picture_is_held_against_its_file(
    client: httpx.Client, changes: dict[str, Any], place: str | None
) -> None:
    path, _ = started(client)
    raw, other = picture(), picture()
    events = [taken(other, 0), taken(raw, 1, **changes)]
    before = send(client, path, events)
    for one in (raw, other):
        assert put(client, one).status_code == 201
    told = [("photo-differs-from-file", "#/items/1/event/event")] if place else []

    assert doubts(before) == []
    assert doubts(client.get(f"{path}/events")) == [(c, f"{at}/{place}") for c, at in told]
    assert doubts(send(client, path, events)) == [(code, "#/items/1") for code, _ in told]


def test_case_88_a_picture_of_another_job_is_told_in_both(client: httpx.Client) -> None:
    path, bay = started(client)
    other, _ = started(client, bay.plan)
    raw = picture()
    seen = event("reading", 1, source="scan_tool_typed", photo=digest(raw),
                 temperature={"value": 40, "unit": "Cel"})  # fmt: skip
    first = send(client, other, [taken(raw)])
    second = send(client, path, [event("note", 0, text="invented"), seen, taken(raw, 2)])

    assert doubts(first) == []
    assert doubts(second) == [("photo-of-another-job", f"#/items/{n}") for n in (1, 2)]
    assert doubts(client.get(f"{other}/events")) == [
        ("photo-of-another-job", "#/items/0/event/event")
    ]
    assert client.get(path).json()["state"]["findings"] == []


@pytest.mark.parametrize("is_late", [False, True])
def test_a_picture_that_was_withdrawn_there_belongs_here(
    client: httpx.Client, is_late: bool
) -> None:
    path, bay = started(client)
    other, _ = started(client, bay.plan)
    raw = picture()
    wrong = taken(raw)
    mended = event("correction", 1, corrects=wrong["event_id"], reason="another vehicle")
    for one in [mended, wrong] if is_late else [wrong, mended]:
        send(client, other, [one])

    assert doubts(send(client, path, [taken(raw)])) == []
    assert doubts(client.get(f"{other}/events")) == []


def test_one_job_may_name_a_picture_twice_and_another_workshop_too(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    raw = picture()
    for each in (client, other_client):
        path, _ = started(each)
        assert doubts(send(each, path, [taken(raw, 0), taken(raw, 1)])) == []


def test_a_job_without_pictures_has_no_such_findings(client: httpx.Client) -> None:
    path, bay = worked(client)

    assert doubts(send(client, path, items(bay.events))) == []
    assert doubts(client.get(f"{path}/events")) == []
