"""How answers show their numbers: to 12 significant digits, so that none shows rounding noise."""

from typing import Any

from msgspec import Struct
from msgspec.structs import replace

DIGITS = 12


def shown(value: Any) -> Any:
    """An answer, or a part of one, with every float in it to 12 significant digits.

    >>> shown([0.44999999999999996, 7, "as it is"])
    [0.45, 7, 'as it is']
    """
    if isinstance(value, float):
        return float(f"{value:.{DIGITS}g}")
    if isinstance(value, Struct):
        fields = {name: getattr(value, name) for name in value.__struct_fields__}
        return replace(value, **{name: shown(field) for name, field in fields.items()})
    if isinstance(value, list | tuple):
        return type(value)(shown(item) for item in value)
    if isinstance(value, dict):
        return {key: shown(item) for key, item in value.items()}
    return value
