"""Values as people write them."""

from datetime import datetime

from libexchange._quantity import Quantity

UNIT_SIGNS = {"Cel": "°C", "[degF]": "°F", "kg/m3": "kg/m³", "mm2/s": "mm²/s"}
"""How units are written for people where the code is not what they would write."""


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
    >>> moment(datetime.fromisoformat("2026-03-04T09:30:05-03:00"))
    '2026-03-04 09:30:05 -03:00'
    """
    text = at.replace(microsecond=0).isoformat(sep=" ")
    return f"{text[:19]} {text[19:]}"


def plain(text: str) -> str:
    """A message of the library with its unit codes as people write them.

    >>> plain("Fluid below 60 Cel.")
    'Fluid below 60 °C.'
    """
    return text.replace(" Cel", " °C").replace(" degC", " °C")
