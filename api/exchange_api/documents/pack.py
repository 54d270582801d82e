"""The warranty pack: the record for the workshop with its photos, one document."""

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from msgspec import Struct

from exchange_api.documents.pdf import make_pdf
from exchange_api.documents.photos import Photo
from exchange_api.documents.words import grouped
from exchange_api.documents.workshop import WorkshopRecord

ENDINGS = {"image/jpeg": "jpg", "image/png": "png"}
NOT_SENT = "The file of this photo was not sent."
NO_ROOM = "The pack has no room for this photo; its file can be read under its digest."


class PhotoFile(NamedTuple):
    """The bytes of a picture and what they are."""

    media_type: str
    content: bytes


class PackedPhoto(Struct, frozen=True, kw_only=True):
    """A photo in the pack; where `file` is empty, `lack` says why."""

    number: int
    caption: str
    digest: str
    file: str
    lack: str


class WarrantyPack(Struct, frozen=True, kw_only=True):
    """The content of the pack."""

    title: str
    record: WorkshopRecord
    photos: tuple[PackedPhoto, ...]
    missing: int


def warranty_pack(
    made: WorkshopRecord,
    photos: Sequence[Photo],
    *,
    files: Mapping[str, PhotoFile],
    too_many: Collection[str] = (),
) -> bytes:
    """The PDF of the pack.

    photos: those that the record names    files: those that are printed, by digest
    too_many: digests of files that were sent and for which the pack has no room
    """
    packed = tuple(_packed(n, one, files, too_many) for n, one in enumerate(photos, 1))
    pack = WarrantyPack(
        title="Warranty pack of a fluid service",
        record=made,
        photos=packed,
        missing=sum(not one.file for one in packed),
    )
    written = {
        one.file: files[photo.digest].content
        for one, photo in zip(packed, photos, strict=True)
        if one.file
    }
    return make_pdf("pack.typ", pack, written)


def _packed(
    number: int, photo: Photo, files: Mapping[str, PhotoFile], too_many: Collection[str]
) -> PackedPhoto:
    file = files.get(photo.digest)
    lack = NO_ROOM if photo.digest in too_many else NOT_SENT
    return PackedPhoto(
        number=number,
        caption=photo.caption,
        digest=grouped(photo.digest),
        file=f"photo-{number}.{ENDINGS[file.media_type]}" if file else "",
        lack="" if file else lack,
    )
