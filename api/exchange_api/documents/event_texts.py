"""What an event says, in a few words."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import Any

from msgspec import Struct

from exchange_api.documents.words import day, moment, shown, spaced, trimmed
from libexchange._quantity import Quantity
from libexchange.fields import Money
from libexchange.job.events import (
    Event,
    FaultCodesRead,
    FluidMoved,
    FluidOpened,
    LevelChecked,
)

APART = frozenset({*Event.__struct_fields__, "photo", "photos", "digest", "size", "media_type"})
"""What events have in common and what is said of pictures, told in columns of their own."""


def told(event: Event, titles: Mapping[str, str]) -> str:
    """What an event says; `titles` of the plan's steps by id."""
    match event:
        case FluidMoved():
            return _moved(event)
        case LevelChecked():
            return _look(event)
        case FluidOpened():
            return f"{event.fluid_kind}, lot {event.lot or 'not noted'}"
        case FaultCodesRead():
            cleared = ", cleared" if event.cleared else ""
            return f"{event.when} the work: {', '.join(event.codes) or 'none stood'}{cleared}"
    return words_of(event) or _step(event, titles)


def kind_of(event: Event) -> str:
    """The kind of an event in words."""
    tag: Any = event.__struct_config__.tag
    return spaced(str(tag))


def words_of(record: Struct) -> str:
    """Every field of an event, or of a part of one, that says something."""
    return ", ".join(_fields(record, APART))


def _step(event: Event, titles: Mapping[str, str]) -> str:
    step_id = event.step_id
    return f"{step_id} {titles.get(step_id, 'which the plan does not have')}" if step_id else ""


def _moved(event: FluidMoved) -> str:
    amount = shown(event.volume or event.mass, 2)
    at = f" at {shown(event.temperature)}" if event.temperature else ""
    step = f", {event.step_id}" if event.step_id else ""
    return f"{event.direction} {amount}{at}{step}"


def _look(event: LevelChecked) -> str:
    return f"{seen_of(event)} at {shown(event.temperature)}"


def seen_of(event: LevelChecked) -> str:
    """What was seen of the level, by whichever way it is looked at."""
    if event.observed:
        return spaced(event.observed)
    if event.reading:
        return f"{shown(event.reading.height)} on the stick"
    return f"{shown(event.read_out, 2)} read out" if event.read_out else "by measure"


def _fields(record: Struct, apart: frozenset[str] = frozenset()) -> Iterator[str]:
    """Every field that says something, by its name unless its value says all."""
    for name in record.__struct_fields__:
        value = getattr(record, name)
        if name in apart or value is None or value in ((), [], ""):
            continue
        text = _value(value)
        yield text if name in SPEAKING else f"{spaced(name)} {text}"


SPEAKING = frozenset({"result", "text", "reason", "observed"})
"""Fields whose values need no name beside them."""


def _value(value: object) -> str:
    match value:
        case Quantity() | Money() | date():
            return _amount_or_time(value)
        case tuple() | list():
            return "; ".join(_value(one) for one in value)
        case Struct():
            return ", ".join(_fields(value))
        case bool():
            return "yes" if value else "no"
    words = str(value)
    return spaced(words) if words.isidentifier() else words  # the words of the wire are such


def _amount_or_time(value: Quantity | Money | date) -> str:
    match value:
        case Quantity():
            return trimmed(value)
        case Money():
            return f"{value.amount} {value.currency}"
        case datetime():
            return moment(value)
    return day(value)
