"""The record of a job as one page in plain words: no scripts, nothing from the network."""

from datetime import datetime
from functools import lru_cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, StrictUndefined, Template

from libexchange._quantity import Quantity
from libexchange.job.events import (
    DeviceEvent,
    FluidMoved,
    FluidOpened,
    LevelChecked,
    ReadingTaken,
)
from libexchange.record import JobRecord

UNIT_SIGNS = {"Cel": "°C", "[degF]": "°F", "K/min": "K/min", "kg/m3": "kg/m³", "mm2/s": "mm²/s"}
"""How units are written for people where the code is not what they would write."""

VERDICTS = {
    "accepted": "Accepted",
    "accepted_with_remarks": "Accepted with remarks",
    "not_accepted": "Not accepted",
    "incomplete": "Incomplete",
}


def record_page(record: JobRecord) -> bytes:
    """The page of a record; the same record always gives the same bytes."""
    return _template().render(record=record, verdicts=VERDICTS).encode()


def shown(quantity: Quantity | None, digits: int = 1) -> str:
    """A quantity as people write it, or that it is not known.

    >>> from libexchange.quantities import Temperature, Volume
    >>> shown(Temperature(40, "Cel")), shown(Volume(8.44, "L")), shown(None)
    ('40.0 °C', '8.4 L', 'not known')
    """
    if quantity is None:
        return "not known"
    unit = UNIT_SIGNS.get(quantity.unit, quantity.unit.strip("[]"))
    return f"{quantity.value:.{digits}f} {unit}"


def of_hundred(share: float) -> str:
    """A share as parts of a hundred.

    >>> of_hundred(0.804)
    '80'
    """
    return f"{100 * share:.0f}"


def moment(at: datetime) -> str:
    """A moment to the second, with its offset.

    >>> moment(datetime.fromisoformat("2026-03-04T09:30:05.25+01:00"))
    '2026-03-04 09:30:05 +01:00'
    """
    return at.replace(microsecond=0).isoformat(sep=" ").replace("+", " +")


def told(one: DeviceEvent) -> str:
    """What an event says, in a few words."""
    match one.event:
        case FluidMoved() as moved:
            amount = moved.volume or moved.mass
            return f"{moved.direction} {shown(amount, 2)} at {shown(moved.temperature)}"
        case ReadingTaken() as reading:
            seen = [shown(part) for part in (reading.temperature, reading.flow) if part]
            return f"{', '.join(seen)} by {reading.source.replace('_', ' ')}"
        case LevelChecked() as look:
            stick = f"{shown(look.reading.height)} on the stick" if look.reading else "nothing seen"
            return f"{look.observed or stick} at {shown(look.temperature)}"
        case FluidOpened() as opened:
            return f"{opened.fluid_kind}, lot {opened.lot or 'not noted'}"
    return _only_word(one)


def _only_word(one: DeviceEvent) -> str:
    """The one thing that the plainer events say."""
    words = (getattr(one.event, name, None) for name in ("result", "text", "reason", "step_id"))
    return next((str(word) for word in words if word), "")


def _kind(one: DeviceEvent) -> str:
    tag: Any = one.event.__struct_config__.tag
    return str(tag).replace("_", " ")


@lru_cache(maxsize=1)
def _template() -> Template:
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    environment.filters |= {
        "shown": shown, "of_hundred": of_hundred, "moment": moment, "told": told, "kind": _kind,
    }  # fmt: skip
    source = files("exchange_api").joinpath("record.html.jinja").read_text(encoding="utf-8")
    return environment.from_string(source)
