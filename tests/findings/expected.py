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
        values={name: _expected(value) for name, value in told.get("values", {}).items()},
        remedy=kind.remedy,
        source=kind.source,
    )


def _expected(value: Any) -> Any:
    if value == "null":
        return None
    return value if isinstance(value, str | bool) else pytest.approx(value, rel=1e-9, abs=1e-12)
