"""Looks at the level of an invented unit of 9 L, changed field by field."""

from typing import Any

import msgspec

from libexchange.level_records import LevelAnswer, LevelCheck
from libexchange.level_verdict import judge_level

LOOK: dict[str, Any] = {
    "method": "overflow_plug",
    "total": {"value": 9, "unit": "L"},
    "window": {"low": {"value": 35, "unit": "Cel"}, "high": {"value": 45, "unit": "Cel"}},
    "temperature": {"value": 40, "unit": "Cel"},
    "observed": "drip",
    "added": {"value": 0, "unit": "L"},
    "rounds": 0,
}
STICK = {
    "low_mark": {"value": 10, "unit": "mm"},
    "high_mark": {"value": 20, "unit": "mm"},
    "between_marks": {"value": 0.4, "unit": "L"},
}


def celsius(value: float) -> dict[str, object]:
    return {"value": value, "unit": "Cel"}


def litres(value: float) -> dict[str, object]:
    return {"value": value, "unit": "L"}


def mm(value: float) -> dict[str, object]:
    return {"value": value, "unit": "mm"}


def look(**changes: object) -> LevelAnswer:
    return judge_level(msgspec.convert(LOOK | changes, LevelCheck))


def stick(
    height_mm: float, reading: dict[str, object] | None = None, **changes: Any
) -> LevelAnswer:
    seen = STICK | {"height": mm(height_mm)} | (reading or {})
    return look(**{"method": "dipstick", "observed": None, "reading": seen} | changes)


def read_out(value_l: float, **changes: Any) -> LevelAnswer:
    return look(**{"method": "sight", "observed": None, "read_out": litres(value_l)} | changes)


def refill(out_l: float, in_l: float, **changes: Any) -> LevelAnswer:
    measured = {"out_15": litres(out_l), "in_15": litres(in_l)} | changes.pop("measured", {})
    return look(**{"method": "measured_refill", "observed": None, "refill": measured} | changes)


def codes(answer: LevelAnswer) -> list[str]:
    return [finding.code for finding in answer.findings]


def correction_l(answer: LevelAnswer) -> float | None:
    return answer.correction.l if answer.correction else None
