"""The whole finding that a case file states: what it says there, the rest as its kind has it."""

from typing import Any

import pytest

from libexchange.findings import Finding, Kind


def expected(kind: Kind, told: dict[str, Any]) -> Finding:
    """Severity, pointer, message and values are told; numbers to nine digits, "null" for null."""
    return Finding(
        code=kind.code,
        severity=told["severity"],
        pointer=told["pointer"],
        title=kind.title,
        message=told["message"],
        values=close(told.get("values", {})),
        remedy=kind.remedy,
        source=kind.source,
    )


def close(value: Any) -> Any:
    """What a case file states, to be compared with: numbers to nine digits, "null" for null."""
    if value == "null":
        return None
    if isinstance(value, dict):
        return {name: close(one) for name, one in value.items()}
    return value if isinstance(value, str | bool) else pytest.approx(value, rel=1e-9, abs=1e-12)
