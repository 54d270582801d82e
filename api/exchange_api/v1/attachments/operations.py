"""What the attachment operations take, answer and declare of themselves."""

from msgspec import Struct

from exchange_api.operations import Answer, Link, Operation
from exchange_api.pictures import MEDIA_TYPES
from libexchange.fields import Digest

LARGEST_SENT = 12 * 2**20
LARGEST_KEPT = 16 * 2**20


class Attachment(Struct, frozen=True, kw_only=True):
    """A picture as it is kept: its pixels alone, upright, without place, time and remarks.

    digest: SHA-256 of the bytes as they were sent, by which events name it
    kept_digest: SHA-256 of the bytes as they are kept, which the ETag says too
    sent_size, kept_size: [bytes]
    """

    digest: Digest
    media_type: str
    sent_size: int
    kept_digest: Digest
    kept_size: int
    width: int
    height: int
    received_at: str


_READ = {
    "read": Link(
        operation_id="getAttachment",
        description="Read it as it is kept.",
        parameters={"digest": "$response.body#/digest"},
    )
}

PUT = Operation(
    operation_id="putAttachment",
    summary="Keep a picture",
    description="Under the SHA-256 of its bytes as they are sent, which events name. It may come "
    "before or after the event. What is kept is the picture alone: it is decoded, turned upright "
    "and written anew, so that no location, time, device or other remark is left. Safe to repeat "
    f"for ever. Up to {LARGEST_SENT} bytes, sent whole: an upload that broke off is sent again.",
    tag="attachments",
    scope="jobs:write",
    body=bytes,
    body_media_type=MEDIA_TYPES[0],
    body_alternatives=MEDIA_TYPES[1:],
    body_limit=LARGEST_SENT,
    problems=("quota-reached",),
    changes=True,
    answers={
        200: Answer(
            description="It was kept before.", content=Attachment, headers=("ETag",), links=_READ
        ),
        201: Answer(
            description="It is kept.",
            content=Attachment,
            headers=("ETag", "Location"),
            links=_READ,
        ),
    },
)
GET = Operation(
    operation_id="getAttachment",
    summary="Read a picture as it is kept",
    description="The media type is the one it was sent with.",
    tag="attachments",
    scope="jobs:read",
    headers=("If-None-Match",),
    answers={
        200: Answer(
            description="The picture.",
            content=bytes,
            media_types=MEDIA_TYPES,
            headers=("Content-Disposition", "ETag"),
        )
    },
)
