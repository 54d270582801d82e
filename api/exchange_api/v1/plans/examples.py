"""Request bodies for the contract, made from the invented records."""

from typing import Any

import msgspec

from libexchange import invented


def _without_nulls(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _without_nulls(part) for name, part in value.items() if part is not None}
    return value


ROUTINE_REQUEST: dict[str, Any] = _without_nulls(msgspec.to_builtins(invented.routine_request()))
"""A routine service of the invented six-speed."""
