"""The canonical JSON form of a record (RFC 8785) and its SHA-256, so that two readers agree.

Numbers are written as ECMAScript writes them and names are sorted by their UTF-16 code units.
"""

from collections.abc import Mapping
from decimal import Decimal
from hashlib import sha256
from math import isfinite
from typing import Any

from msgspec import Raw, json, to_builtins

from libexchange.errors import OutOfRange

LARGEST_EXACT = 2**53 - 1


def canonical_json(value: Any) -> bytes:
    """The canonical form of a record or of plain JSON values, as UTF-8 bytes.

    value: a record, or dicts, lists, text, numbers, true, false and null
    Raises: OutOfRange for a number that JSON or a double cannot hold    Source: RFC 8785.

    >>> canonical_json({"b": 1.0, "a": [1e21, 1e-7, -0.0]})
    b'{"a":[1e+21,1e-7,0],"b":1}'
    """
    return json.encode(_ordered(to_builtins(value, str_keys=True)))


def digest(value: Any, *, without: tuple[str, ...] = ()) -> str:
    """The SHA-256 of the canonical form, as 64 lower-case hexadecimal digits.

    without: names left out at the top level, such as the place the digest itself will stand in
    Raises: OutOfRange as `canonical_json`    Source: RFC 8785, FIPS 180-4.

    >>> digest({"a": 1, "digest": ""}, without=("digest",)) == digest({"a": 1})
    True
    """
    if without:
        plain = to_builtins(value, str_keys=True)
        value = {name: one for name, one in plain.items() if name not in without}
    return sha256(canonical_json(value)).hexdigest()


def _ordered(value: Any) -> Any:
    """The same value with names in order and numbers that encode as ECMAScript writes them."""
    kind = type(value)
    if kind is dict:
        return {name: _ordered(value[name]) for name in _sorted_names(value)}
    if kind in (list, tuple):
        return [_ordered(item) for item in value]
    if kind is float:
        return _float(value)
    if kind is int and abs(value) > LARGEST_EXACT:
        raise OutOfRange(name="number", value=value, allowed="-(2^53 - 1) to 2^53 - 1")
    return value


def _sorted_names(plain: Mapping[str, Any]) -> list[str]:
    if all(map(str.isascii, plain)):
        return sorted(plain)
    # code points and UTF-16 code units order differently beyond the basic plane
    return sorted(plain, key=lambda name: name.encode("utf-16-be"))


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
    """The digits with their decimal point after `point` of them."""
    if len(digits) <= point <= 21:
        return digits.ljust(point, "0")
    if 0 < point <= 21:
        return f"{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return "0." + "0" * -point + digits
    fraction = f".{digits[1:]}" if len(digits) > 1 else ""
    return f"{digits[0]}{fraction}e{point - 1:+d}"
