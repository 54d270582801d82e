"""The tables of attachments: pictures, in pieces that are written a few at a time."""

from sqlalchemy import Index, PrimaryKeyConstraint, Table

from exchange_api.storage.columns import (
    METADATA,
    bytes_column,
    count_column,
    text_column,
    workshop_column,
)

ATTACHMENTS = Table(
    "attachments",
    METADATA,
    workshop_column(),
    text_column("digest"),  # of the bytes as sent
    text_column("upload_id"),
    text_column("received_at"),
    text_column("media_type"),
    count_column("sent_size"),
    text_column("kept_digest"),
    count_column("kept_size"),
    count_column("width"),
    count_column("height"),
    PrimaryKeyConstraint("workshop_id", "digest"),
    Index(None, "upload_id", unique=True),
    Index(None, "workshop_id", "kept_size"),
)

ATTACHMENT_PIECES = Table(
    "attachment_pieces",
    METADATA,
    text_column("upload_id"),  # pieces come before the attachment, so no foreign key
    count_column("number"),
    text_column("received_at"),
    bytes_column("content"),
    PrimaryKeyConstraint("upload_id", "number"),
)
