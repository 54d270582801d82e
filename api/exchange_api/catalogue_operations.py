"""What the catalogue's resources declare alike: how an entry is read, written and linked to."""

from msgspec import Struct

from exchange_api.catalogue_records import EntryKind
from exchange_api.catalogue_serving import PUT_DESCRIPTION
from exchange_api.operations import Answer, Link, Operation


def reading(kind: EntryKind) -> Operation:
    """Reading one entry."""
    return Operation(
        operation_id=_id("get", kind),
        summary=f"Read {_one(kind)}",
        tag="catalogue",
        scope="catalogue:read",
        headers=("If-None-Match",),
        answers={
            200: Answer(
                description="The entry.",
                content=kind.answer,
                headers=("ETag",),
                links={"change": _change(kind)},
            ),
        },
    )


def writing(kind: EntryKind, example: Struct) -> Operation:
    """Writing one entry."""
    read = Link(
        operation_id=_id("get", kind),
        description="Read the entry again.",
        parameters=_of_path(kind),
    )
    return Operation(
        operation_id=_id("put", kind),
        summary=f"Write {_one(kind)}",
        description=PUT_DESCRIPTION,
        tag="catalogue",
        changes=True,
        scope="catalogue:write",
        body=kind.record,
        headers=("If-Match",),
        examples={"invented": example},
        answers={
            200: Answer(description="Changed.", content=kind.answer, headers=("ETag",)),
            201: Answer(
                description="Created.",
                content=kind.answer,
                headers=("ETag", "Location"),
                links={"read": read, "change": _change(kind)},
            ),
        },
    )


def first_of(kind: EntryKind) -> dict[str, Link]:
    """The link from a page to its first entry."""
    first = Link(
        operation_id=_id("get", kind),
        description="Read the first of them.",
        parameters={kind.id_field: f"$response.body#/items/0/entry/{kind.id_field}"},
    )
    return {"first": first}


def _change(kind: EntryKind) -> Link:
    return Link(
        operation_id=_id("put", kind),
        description="Change the entry as it was seen.",
        parameters=_of_path(kind) | {"If-Match": "$response.header.ETag"},
    )


def _id(act: str, kind: EntryKind) -> str:
    return f"{act}{kind.name.capitalize()}"


def _of_path(kind: EntryKind) -> dict[str, str]:
    return {kind.id_field: f"$request.path.{kind.id_field}"}


def _one(kind: EntryKind) -> str:
    return f"{'an' if kind.name[0] in 'aeiou' else 'a'} {kind.name}"
