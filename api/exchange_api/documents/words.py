"""Values as people write them."""

import re
from datetime import date, datetime

from libexchange._quantity import TEMPERATURE_SIGNS, Quantity
from libexchange.fields import ERASED_PATTERN

UNIT_SIGNS = TEMPERATURE_SIGNS | {
    "[degR]": "°R", "[degR]/min": "°R/min", "deg": "°",
    "[qt_us]": "US qt", "[pt_us]": "US pt", "[gal_us]": "US gal", "[foz_us]": "US fl oz",
    "[qt_br]": "imperial qt", "[gal_br]": "imperial gal", "[gal_us]/min": "US gal/min",
    "[mi_i]": "mi", "[in_i]": "in", "[lb_av]": "lb", "[psi]": "psi", "N.m": "N·m",
    "[lbf_av].[ft_i]": "lb·ft", "[lbf_av].[in_i]": "lb·in",
    "kg/m3": "kg/m³", "g/cm3": "g/cm³", "mm2/s": "mm²/s", "[ppm]": "ppm",
}  # fmt: skip
"""How units are written for people where the code is not what they would write."""

NO_BREAK = "\N{NO-BREAK SPACE}"


def shown(quantity: Quantity | None, digits: int = 1) -> str:
    r"""A quantity as people write it, or that it is not known.

    >>> from libexchange.quantities import Temperature, Volume
    >>> shown(Temperature(40, "Cel")), shown(Volume(8.44, "L")), shown(None)
    ('40.0\xa0°C', '8.4\xa0L', 'not known')
    """
    if quantity is None:
        return "not known"
    unit = UNIT_SIGNS.get(quantity.unit, quantity.unit)
    return f"{quantity.value:,.{digits}f}{NO_BREAK}{unit}"


def trimmed(quantity: Quantity) -> str:
    r"""A quantity with at most two digits after the point, and none that say nothing.

    >>> from libexchange.quantities import Distance, Volume
    >>> trimmed(Distance(84_210, "km")), trimmed(Volume(0.5, "L"))
    ('84,210\xa0km', '0.5\xa0L')
    """
    number, _, unit = shown(quantity, 2).partition(NO_BREAK)
    return f"{number.rstrip('0').rstrip('.')}{NO_BREAK}{unit}"


def signed(litres: float, digits: int = 2) -> str:
    """Litres with their sign; what rounds to nothing has none.

    >>> signed(0.25), signed(-0.25), signed(-0.001)
    ('+0.25', '-0.25', '0.00')
    """
    rounded = round(litres, digits)
    return f"{rounded:+.{digits}f}" if rounded else f"{0:.{digits}f}"


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


def clock(at: datetime, before: datetime | None) -> str:
    """The time alone where the day and the offset are those of what stands before.

    >>> one = datetime.fromisoformat("2026-03-04T09:30:05+01:00")
    >>> clock(one, one), clock(one, None)
    ('09:30:05', '2026-03-04 09:30:05 +01:00')
    """
    same = before and (before.date(), before.utcoffset()) == (at.date(), at.utcoffset())
    return at.strftime("%H:%M:%S") if same else moment(at)


def day(on: date) -> str:
    """A day so that month and day cannot be taken for one another.

    >>> day(date(2026, 3, 4))
    '4 March 2026'
    """
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}"


MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def spaced(word: str) -> str:
    """A word of the wire as people read it.

    >>> spaced("pan_and_filter"), spaced("level-low")
    ('pan and filter', 'level low')
    """
    return word.replace("_", " ").replace("-", " ")


def in_words(text: str) -> str:
    """A text with the names of the wire in it as people read them; all else as it is.

    >>> in_words("Do what stands under make_safe for invented-red-six and U_1.")
    'Do what stands under make safe for invented-red-six and U_1.'
    """
    return _WIRE_NAME.sub(" ", text)


def sentence(text: str) -> str:
    """A text with a capital letter and a full stop.

    >>> sentence("level low on arrival"), sentence("Done.")
    ('Level low on arrival.', 'Done.')
    """
    text = text.strip()
    if not text:
        return text
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")


def span_of_time(seconds: float) -> str:
    """How long, in the unit that a person would take.

    >>> span_of_time(95), span_of_time(3600), span_of_time(36_000), span_of_time(400_000)
    ('95 s', '60 min', '10.0 h', '4.6 d')
    """
    if abs(seconds) < 120:
        return f"{seconds:.0f} s"
    if abs(seconds) < 7200:
        return f"{seconds / 60:.0f} min"
    return f"{seconds / 3600:.1f} h" if abs(seconds) < 172_800 else f"{seconds / 86_400:.1f} d"


def grouped(digest: str) -> str:
    """A digest in groups of eight, so that it can be read aloud and compared.

    >>> grouped("abcdef0123456789")
    'abcdef01 23456789'
    """
    return " ".join(digest[n : n + 8] for n in range(0, len(digest), 8))


def without_commitments(text: str) -> str:
    """A text in which erased words are said to be erased, without the digits that stand for them.

    >>> without_commitments(f"[erased {'ab' * 32}], because")
    '[erased], because'
    """
    return _ERASED.sub("[erased]", text)


_WIRE_NAME = re.compile(r"(?<=[a-z])_(?=[a-z])")
_ERASED = re.compile(ERASED_PATTERN)
