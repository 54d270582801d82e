"""The canonical JSON form of a record (RFC 8785) and its SHA-256, so that two readers agree.

Numbers are written as ECMAScript writes them and names are sorted by their UTF-16 code units.
"""

from decimal import Decimal
from hashlib import sha256
from math import isfinite
from typing import Any

from msgspec import Raw, json, to_builtins

from libexchange.errors import OutOfRange

LARGEST_EXACT = 2**53 - 1
_AS_THEY_ARE = frozenset({str, bool, type(None)})
# with which UTF-8 begins the characters that order differently by code point and by code unit
_LEADS_BEYOND_BASIC = tuple(bytes([lead]) for lead in range(0xF0, 0xF5))


def canonical_json(value: Any) -> bytes:
    """The canonical form of a record or of plain JSON values, as UTF-8 bytes.

    value: a record, or dicts, lists, text, numbers, true, false and null
    Raises: OutOfRange for a number that JSON or a double cannot hold    Source: RFC 8785.

    >>> canonical_json({"b": 1.0, "a": [1e21, 1e-7, -0.0]})
    b'{"a":[1e+21,1e-7,0],"b":1}'
    """
    return _canonical(to_builtins(value, str_keys=True))


def digest(value: Any, *, without: tuple[str, ...] = ()) -> str:
    """The SHA-256 of the canonical form, as 64 lower-case hexadecimal digits.

    without: names left out at the top level, such as the place the digest itself will stand in
    Raises: OutOfRange as `canonical_json`    Source: RFC 8785, FIPS 180-4.

    >>> digest({"a": 1, "digest": ""}, without=("digest",)) == digest({"a": 1})
    True
    """
    plain = to_builtins(value, str_keys=True)
    if without:
        plain = {name: one for name, one in plain.items() if name not in without}
    return sha256(_canonical(plain)).hexdigest()


def _canonical(plain: Any) -> bytes:
    """The canonical form of plain values, whose numbers are replaced on the way."""
    plain = _with_ecmascript_numbers(plain)
    text = json.encode(plain, order="sorted")  # by code points, and as fast as no order at all
    if any(lead in text for lead in _LEADS_BEYOND_BASIC):
        return json.encode(_by_code_units(plain))
    return text


def _with_ecmascript_numbers(value: Any) -> Any:
    """The same value with numbers that encode as ECMAScript writes them."""
    kind = type(value)
    if kind is dict:
        for name, item in value.items():
            if type(item) not in _AS_THEY_ARE:  # a call for each would take half the time
                value[name] = _with_ecmascript_numbers(item)
        return value
    if kind in (list, tuple):
        return [_with_ecmascript_numbers(item) for item in value]
    if kind is float:
        return _float(value)
    if kind is int and abs(value) > LARGEST_EXACT:
        raise OutOfRange(name="number", value=value, allowed="-(2^53 - 1) to 2^53 - 1")
    return value


def _by_code_units(value: Any) -> Any:
    """The same value with names in the order of their UTF-16 code units."""
    if isinstance(value, dict):
        names = sorted(value, key=lambda name: name.encode("utf-16-be"))
        return {name: _by_code_units(value[name]) for name in names}
    if isinstance(value, list):
        return [_by_code_units(item) for item in value]
    return value


def _float(value: float) -> int | float | Raw:
    if not isfinite(value):
        raise OutOfRange(name="number", value=value, allowed="finite numbers")
    if value.is_integer() and abs(value) <= LARGEST_EXACT:
        return int(value)
    if 1e-4 <= abs(value) < LARGEST_EXACT:
        return value
    return Raw(_ecmascript_text(value).encode())


def _ecmascript_text(value: float) -> str:
    """Number::toString of ECMAScript: the shortest digits, with a point or an exponent."""
    sign, digits, exponent = Decimal(repr(value)).normalize().as_tuple()
    text = "".join(map(str, digits))
    point = len(text) + int(exponent)
    return "-" * sign + _placed(text, point)


def _placed(digits: str, point: int) -> str:
    """The digits of a very large or small number with their decimal point after `point` of them."""
    if len(digits) <= point <= 21:
        return digits.ljust(point, "0")
    if -6 < point <= 0:
        return "0." + "0" * -point + digits
    fraction = f".{digits[1:]}" if len(digits) > 1 else ""
    return f"{digits[0]}{fraction}e{point - 1:+d}"
