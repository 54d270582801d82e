"""How attachments are kept: in pieces, so that no write holds up the others.

The pieces come first, under an id of their own, and count for nothing until the row of the
attachment is there. What was left behind by a process that died is dropped at a start.
"""

from datetime import timedelta

from msgspec import Struct
from sqlalchemy import BigInteger, bindparam, cast, delete, exists, func, select
from sqlalchemy.dialects.postgresql import insert

from exchange_api.outside import Outside, as_stamp
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import ATTACHMENT_PIECES, ATTACHMENTS
from exchange_api.storage.units import Connection, Database, Unit

PIECE_BYTES = 64 * 1024
PIECES_AT_A_TIME = 16
ABANDONED = timedelta(hours=1)
"""So long may a picture take to be kept; the pieces of one that took longer are dropped."""


class KeptAttachment(Struct, frozen=True, kw_only=True):
    """An attachment without its content; `digest` is of the bytes as they were sent."""

    workshop_id: str
    digest: str
    upload_id: str
    received_at: str
    media_type: str
    sent_size: int
    kept_digest: str
    kept_size: int
    width: int
    height: int


class AttachmentFile(Struct, frozen=True, kw_only=True):
    """The content of an attachment and what it is."""

    media_type: str
    content: bytes


_COLUMNS = KeptAttachment.__struct_fields__
_OF_WORKSHOP = ATTACHMENTS.c.workshop_id == bindparam("workshop_id")
_FIND = Statement(
    select(*(ATTACHMENTS.c[name] for name in _COLUMNS)).where(
        _OF_WORKSHOP, ATTACHMENTS.c.digest == bindparam("digest")
    )
)
_USED = Statement(select(cast(func.sum(ATTACHMENTS.c.kept_size), BigInteger)).where(_OF_WORKSHOP))
_ADD = Statement(
    insert(ATTACHMENTS)
    .values({name: bindparam(name) for name in _COLUMNS})
    .on_conflict_do_nothing()
    .returning(ATTACHMENTS.c.digest)
)
_ADD_PIECE = Statement(insert(ATTACHMENT_PIECES))
_PIECES = Statement(
    select(ATTACHMENT_PIECES.c.content)
    .where(
        ATTACHMENT_PIECES.c.upload_id == bindparam("upload_id"),
        ATTACHMENT_PIECES.c.number >= bindparam("first"),
    )
    .order_by(ATTACHMENT_PIECES.c.number)
    .limit(bindparam("pieces"))
)
_DROP = Statement(
    delete(ATTACHMENT_PIECES).where(
        ATTACHMENT_PIECES.c.upload_id == bindparam("of"),
        ~exists().where(ATTACHMENTS.c.upload_id == bindparam("of")),
    )
)
_ABANDONED = Statement(
    select(ATTACHMENT_PIECES.c.upload_id)
    .where(
        ATTACHMENT_PIECES.c.number == 0,
        ATTACHMENT_PIECES.c.received_at < bindparam("before"),
        ~exists().where(ATTACHMENTS.c.upload_id == ATTACHMENT_PIECES.c.upload_id),
    )
    .limit(100)
)


def attachment(connection: Connection, workshop_id: str, digest: str) -> AttachmentFile | None:
    """A whole attachment of a workshop; None where nothing was sent under this digest."""
    kept = find(connection, workshop_id, digest)
    if kept is None:
        return None
    everything = -(-kept.kept_size // PIECE_BYTES)
    content = b"".join(_pieces(connection, kept.upload_id, 0, everything))
    return AttachmentFile(media_type=kept.media_type, content=content)


def find(connection: Connection, workshop_id: str, digest: str) -> KeptAttachment | None:
    """What is kept under a digest, without its content."""
    rows = connection.execute(_FIND, {"workshop_id": workshop_id, "digest": digest})
    return KeptAttachment(**dict(zip(_COLUMNS, rows[0], strict=True))) if rows else None


def used(connection: Connection, workshop_id: str) -> int:
    """How many bytes of attachments a workshop has."""
    ((total,),) = connection.execute(_USED, {"workshop_id": workshop_id})
    return int(total or 0)


def part(upload_id: str, first: int) -> Unit[bytes]:
    """A unit: the next pieces of an attachment, nothing when there are no more."""
    return lambda connection: b"".join(_pieces(connection, upload_id, first, PIECES_AT_A_TIME))


async def stage(database: Database, upload_id: str, content: bytes, *, now: str) -> None:
    """Write the pieces of an attachment that is to be, a few at a time."""
    step = PIECE_BYTES * PIECES_AT_A_TIME
    for start in range(0, len(content), step):
        part_of = content[start : start + step]
        await database.write(_stage(upload_id, start // PIECE_BYTES, part_of, now))


async def drop(database: Database, upload_id: str) -> None:
    """Let go of the pieces of an upload, unless it became an attachment."""
    await database.write(_drop(upload_id))


def add(new: KeptAttachment) -> Unit[bool]:
    """A unit: make an attachment of staged pieces; False where a twin was quicker."""

    def unit(connection: Connection) -> bool:
        named = {name: getattr(new, name) for name in _COLUMNS}
        if connection.execute(_ADD, named):
            return True
        _drop(new.upload_id)(connection)
        return False

    return unit


async def drop_abandoned(database: Database, outside: Outside) -> int:
    """Drop the pieces of every upload that never became an attachment; how many those were."""
    before, total = as_stamp(outside.now() - ABANDONED), 0
    while found := await database.read(lambda at: at.execute(_ABANDONED, {"before": before})):
        for (upload_id,) in found:
            await drop(database, upload_id)
        total += len(found)
    return total


def _pieces(connection: Connection, upload_id: str, first: int, pieces: int) -> list[bytes]:
    wanted = {"upload_id": upload_id, "first": first, "pieces": pieces}
    return [bytes(content) for (content,) in connection.execute(_PIECES, wanted)]


def _drop(upload_id: str) -> Unit[None]:
    def unit(connection: Connection) -> None:
        connection.execute(_DROP, {"of": upload_id})

    return unit


def _stage(upload_id: str, first: int, content: bytes, now: str) -> Unit[None]:
    rows = [
        {
            "upload_id": upload_id,
            "number": first + number,
            "received_at": now,
            "content": content[number * PIECE_BYTES : (number + 1) * PIECE_BYTES],
        }
        for number in range(-(-len(content) // PIECE_BYTES))
    ]
    return lambda connection: connection.execute_many(_ADD_PIECE, rows)
