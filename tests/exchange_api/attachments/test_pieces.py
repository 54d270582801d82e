"""Pieces come before their attachment: what a process left behind is dropped, nothing else."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4

from msgspec.structs import replace
from sqlalchemy import func, select

from exchange_api.attachment_store import (
    ABANDONED,
    KeptAttachment,
    add,
    attachment,
    drop,
    stage,
)
from exchange_api.outside import as_stamp, real_outside
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import ATTACHMENT_PIECES
from exchange_api.storage.units import Connection
from tests.exchange_api.attachments.album import address, picture, put
from tests.exchange_api.running import Running, running

NOW = datetime(2026, 3, 4, 12, tzinfo=UTC)
OUTSIDE = replace(real_outside(), now=lambda: NOW)
_COUNT = Statement(select(func.count()).select_from(ATTACHMENT_PIECES))


def pieces(connection: Connection) -> int:
    ((number,),) = connection.execute(_COUNT)
    return int(number)


def left_behind(app: Running, received_at: datetime, content: bytes = b"half a picture") -> str:
    upload_id = str(uuid4())
    app.wait(stage(app.service.database, upload_id, content, now=as_stamp(received_at)))
    return upload_id


def test_a_start_drops_what_was_left_behind_long_ago(tmp_path: Path) -> None:
    raw = picture()
    with running(tmp_path, outside=OUTSIDE) as app, app.client_of("A") as client:
        put(client, raw)
        left_behind(app, NOW - ABANDONED)
        left_behind(app, NOW - ABANDONED - timedelta(microseconds=1), b"a" * 200_000)
        before = app.write(pieces)
    with running(tmp_path, outside=OUTSIDE) as app, app.client_of("A") as client:
        after = app.write(pieces)
        read = client.get(address(raw))

    assert (before, after) == (6, 2)
    assert read.status_code == 200


def row(workshop_id: str, upload_id: str, content: bytes) -> KeptAttachment:
    return KeptAttachment(
        workshop_id=workshop_id, digest="0" * 64, upload_id=upload_id, received_at=as_stamp(NOW),
        media_type="image/png", sent_size=1, kept_digest="0" * 64, kept_size=len(content),
        width=1, height=1,
    )  # fmt: skip


def test_a_twin_that_is_slower_leaves_no_pieces(tmp_path: Path) -> None:
    with running(tmp_path) as app, app.client_of("A") as client:
        workshop_id = client.get("/v1/me").json()["workshop_id"]
        ids = [left_behind(app, NOW, content) for content in (b"first", b"second")]
        added = [app.write(add(row(workshop_id, one, b"first"))) for one in ids]
        for one in ids:
            app.wait(drop(app.service.database, one))
        kept = app.write(lambda connection: attachment(connection, workshop_id, "0" * 64))
        left = app.write(pieces)

    assert added == [True, False]
    assert left == 1
    assert kept is not None
    assert kept.content == b"first"
