"""Pictures that events named before the table of them was there are in it afterwards."""

import json
from typing import Any
from uuid import uuid4

from sqlalchemy import create_engine, insert, select

from exchange_api.storage.migrate import migrate
from tests.exchange_api.bay_desk import event
from tests.exchange_api.test_migrations import fill, invented, tables

A, B, C, D, E = (letter * 64 for letter in "abcde")


def test_the_pictures_of_events_in_force_are_found(url: str) -> None:
    migrate(url, to="0007")
    fill(url)
    events = [
        event("arrived", 0, photos=[A, B]),
        event("photo_taken", 1, digest=C),
        event("bench_checked", 2, photo=D),
        event("reading", 3),
        event("note", 4, text="a digest, a photo, photos"),
        withdrawn := event("photo_taken", 5, digest=E),
        event("correction", 6, corrects=withdrawn["event_id"]),
    ]
    add(url, events)
    migrate(url)

    ids = [one["event_id"] for one in events]
    assert named(url) == sorted([(ids[0], A), (ids[0], B), (ids[1], C), (ids[2], D)])


def add(url: str, events: list[dict[str, Any]]) -> None:
    engine = create_engine(url)
    (kept,) = (table for table in tables(engine) if table.name == "job_events")
    rows = [
        invented(kept)
        | {
            "event_id": str(uuid4()),
            "document": json.dumps({"device_id": "phone", "event": one}).encode(),
        }
        for one in events
    ]
    with engine.begin() as connection:
        connection.execute(insert(kept), rows)
    engine.dispose()


def named(url: str) -> list[tuple[str, str]]:
    engine = create_engine(url)
    (photos,) = (table for table in tables(engine) if table.name == "job_photos")
    with engine.connect() as connection:
        found = connection.execute(select(photos.c.event_id, photos.c.digest)).all()
    engine.dispose()
    return sorted((event_id, digest) for event_id, digest in found)
