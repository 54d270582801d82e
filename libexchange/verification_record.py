"""Whether a concealed record is whole: its parts, its chains and its digest."""

from collections.abc import Mapping
from typing import Any

from libexchange.canonical import digest
from libexchange.errors import OutOfRange
from libexchange.record_faults import RecordFault, Refused, differing, record_fault
from libexchange.sealing import APART, parts_of, record_digest
from libexchange.strict_json import member
from libexchange.verification_chain import Ends, chain_faults

_NEEDED: dict[str, type] = {
    "job_id": str,
    "plan": dict,
    "events": list,
    "late_events": list,
    "parts": dict,
    "digest": str,
    "event_count": int,
    "late_event_count": int,
}
_WORDS = {str: "text", dict: "object", list: "list", int: "number"}


def form_faults(form: Mapping[str, Any]) -> list[RecordFault]:
    """Everything that differs in a concealed record, the whole of it first.

    Raises: Refused for what is no record

    >>> form_faults({"job_id": "1"})
    Traceback (most recent call last):
        ...
    libexchange.record_faults.Refused: /plan: The record has no object here.
    """
    for name, kind in _NEEDED.items():
        if not isinstance(form.get(name), kind):
            text = f"The record has no {_WORDS[kind]} here."
            raise Refused(record_fault("not-a-record", f"/{name}", text))
    try:
        return [*_whole(form), *_parts(form), *_chains(form)]
    except OutOfRange as error:
        text = f"It has a number that canonical JSON does not have: {error.allowed} are allowed."
        raise Refused(record_fault("not-a-record", "", text)) from None


def _whole(form: Mapping[str, Any]) -> list[RecordFault]:
    text = "The digest is not that of the record."
    found = record_digest(form)
    return differing("record-digest-differs", "/digest", text, expected=form["digest"], found=found)


def _parts(form: Mapping[str, Any]) -> list[RecordFault]:
    stated, found = form["parts"], parts_of(form)
    known = found.keys() | APART
    return [
        *(_part("part-added", name) for name in found if name not in stated),
        *(_part("part-removed", name) for name in stated if name not in known),
        *(
            _part("part-changed", name)
            for name in found
            if stated.get(name, found[name]) != found[name]
        ),
    ]


def _part(code: str, name: str) -> RecordFault:
    said = {
        "part-added": "The record has no digest of this part.",
        "part-removed": "The record has a digest of this part, which is missing.",
        "part-changed": "The part is not what its digest was made of.",
    }
    return record_fault(code, member("", name), said[code])


def _chains(form: Mapping[str, Any]) -> list[RecordFault]:
    parts = form["parts"]
    on_time = Ends(
        start=parts.get("plan"), head=parts.get("chain_head"), total=_sure(form, "event_count")
    )
    late = Ends(
        start=_sure(form, "chain_head"),
        head=parts.get("late_chain_head"),
        total=_sure(form, "late_event_count"),
    )
    return [
        *chain_faults("events", form["events"], on_time),
        *chain_faults("late_events", form["late_events"], late),
    ]


def _sure(form: Mapping[str, Any], name: str) -> Any:
    """A part that is what its digest was made of; else None."""
    part = form.get(name)
    return part if digest(part) == form["parts"].get(name) else None
