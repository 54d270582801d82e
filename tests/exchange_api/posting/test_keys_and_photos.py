"""What an answer to a post tells besides: by which key, and which pictures are still to come."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any
from uuid import uuid4

import httpx

from tests.exchange_api.attachments.album import digest, picture, put
from tests.exchange_api.bay_desk import DEVICE, event, outcomes, problem, send, started, worked
from tests.exchange_api.running import Running
from tests.job.plans import START


def reading(raw: bytes, sequence: int = 0) -> dict[str, Any]:
    return event("reading", sequence, source="scan_tool_typed", photo=digest(raw),
                 temperature={"value": 40, "unit": "Cel"})  # fmt: skip


def test_each_event_names_the_key_that_it_came_with(app: Running) -> None:
    workshop = f"Workshop {uuid4()}"
    with app.client_of(workshop) as one, app.client_of(workshop) as other:
        path, _ = started(one)
        first, second = event("note", 0, text="a"), event("note", 1, text="b")
        send(one, path, [first])
        send(other, path, [first, second])
        kept = one.get(f"{path}/events").json()["items"]
        ids = [each.get("/v1/me").json()["key_id"] for each in (one, other)]

    assert ids[0] != ids[1]
    assert [posted["posted_by"] for posted in kept] == ids


def test_pictures_that_are_still_to_come_are_told_until_they_are_there(
    client: httpx.Client,
) -> None:
    path, _ = started(client)
    raws = [picture() for _ in range(3)]
    put(client, raws[0])
    sent = [reading(raw, n) for n, raw in enumerate([*raws, raws[1]])]
    awaited = sorted(digest(raw) for raw in raws[1:])

    assert send(client, path, sent).json()["missing_photos"] == awaited
    assert client.get(f"{path}/events").json()["missing_photos"] == awaited
    for raw in raws[1:]:
        assert put(client, raw).status_code == 201
    assert send(client, path, sent).json()["missing_photos"] == []
    assert client.get(f"{path}/events").json()["missing_photos"] == []


def test_every_kind_of_event_that_names_pictures_is_told_of(client: httpx.Client) -> None:
    path, _ = started(client)
    names = [digest(picture()) for _ in range(4)]
    shown = {"size": 9, "media_type": "image/png", "shows": "plug"}
    sent = [
        event("arrived", 0, photos=names[:2]),
        event("photo_taken", 1, digest=names[2], taken_at=START.isoformat(), **shown),
        event("bench_checked", 2, bench={}, photo=names[3]),
        event("bench_checked", 3, bench={}),
    ]

    assert send(client, path, sent).json()["missing_photos"] == sorted(names)


def test_a_picture_of_another_workshop_is_still_to_come(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    path, _ = started(client)
    raw = picture()
    put(other_client, raw)

    assert send(client, path, [reading(raw)]).json()["missing_photos"] == [digest(raw)]


def test_a_withdrawn_event_needs_no_picture(client: httpx.Client) -> None:
    path, _ = started(client)
    wrong = reading(picture())
    mended = event("correction", 1, corrects=wrong["event_id"], reason="another vehicle")

    assert send(client, path, [wrong, mended]).json()["missing_photos"] == []


def test_case_86_of_two_technicians_who_close_one_job_one_is_told_to_look_again(
    app: Running,
) -> None:
    workshop = f"Workshop {uuid4()}"
    with app.client_of(workshop) as one, app.client_of(workshop) as other:
        path, _ = worked(one)
        tag = {"If-Match": one.get(path).headers["etag"]}
        with ThreadPoolExecutor(2) as callers:
            answers = list(
                callers.map(lambda each: each.post(f"{path}/close", headers=tag), (one, other))
            )
        keys = [each.get("/v1/me").json()["key_id"] for each in (one, other)]
        closing = one.get(path).json()["closing"]

    (won,) = [n for n, answered in enumerate(answers) if answered.status_code == 200]
    assert problem(answers[1 - won]) == (412, "stale", {"If-Match"})
    assert closing["closed_by"] == keys[won]


def test_a_body_of_events_has_its_limit(client: httpx.Client) -> None:
    path, _ = started(client)
    head = f'{{"device_id": "{DEVICE}", "sent_at": "{START.isoformat()}", "events": []'
    headers = {"Content-Type": "application/json"}

    def sent(length: int) -> httpx.Response:
        body = head.ljust(length - 1) + "}"
        return client.post(f"{path}/events", content=body.encode(), headers=headers)

    assert outcomes(sent(4 * 2**20)) == []
    assert problem(sent(4 * 2**20 + 1)) == (413, "body-too-large", {"#"})
