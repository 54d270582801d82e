"""What plug, stick, read-out or measure says about the level, at whatever temperature it was."""

from collections.abc import Callable
from math import hypot
from typing import NamedTuple

from libexchange import level
from libexchange import level_findings as kinds
from libexchange.catalogue import LevelMethod
from libexchange.findings import Finding
from libexchange.level_records import DipstickReading, LevelCheck, LevelVerdict, looks_given

MINIMUM_STEP_L = 0.05
READING_ERROR_MM = 1.0
MEASURED_SHARE = 0.01
"""How well an amount is measured or weighed, as a share of it (common practice)."""


class Look(NamedTuple):
    """What a method says.

    missing_l: to the right level, null where the method tells no number, and where a stick tells
        only that it is outside its marks
    reading_l: how far off the reading itself may be [L]
    refilling: whether the correction is the rest of the refill
    """

    verdict: LevelVerdict
    correction_l: float | None = None
    missing_l: float | None = None
    reading_l: float = 0.0
    findings: tuple[Finding, ...] = ()
    refilling: bool = False


def look_of(check: LevelCheck) -> Look:
    """What the method of a check says.

    Raises: ValueError without what the method is judged by.
    """
    if len(looks_given(check, check.method)) != 1:
        raise ValueError(_NEEDED[check.method])
    return _LOOKS[check.method](check)


_NEEDED: dict[LevelMethod, str] = {
    "overflow_plug": "an overflow plug needs what was observed",
    "overflow_feed": "a feed through the overflow needs what was observed",
    "dipstick": "a dipstick needs its reading",
    "sight": "a sight tube or read-out needs either its reading or what it reads out",
    "measured_refill": "a measured refill needs what came out and what was put back",
}


def _plug(check: LevelCheck) -> Look:
    return _overflow(check, level.step_l(total_l=check.total.l))


def _feed(check: LevelCheck) -> Look:
    return _overflow(check, max(level.FEED_STEP_L, level.step_l(total_l=check.total.l)))


def _overflow(check: LevelCheck, step_l: float) -> Look:
    rest_l = check.outstanding.l if check.outstanding else 0.0
    if check.observed != "nothing":
        return _running_out(check, rest_l)
    if rest_l < MINIMUM_STEP_L:
        return Look("add", min(step_l, max(check.room_l, 0.0)))
    text = f"{rest_l:.2f} L of the refill are outstanding."
    found = kinds.REFILL_INCOMPLETE.at("#/outstanding", text, values={"outstanding_l": rest_l})
    return Look("add", rest_l, None, findings=(found,), refilling=True)


def _running_out(check: LevelCheck, rest_l: float) -> Look:
    """What runs out ends a refill, but what is outstanding of it on paper is told."""
    drips = check.observed == "drip"
    look = Look("in_range", None, 0.0) if drips else Look("let_run")
    if rest_l < MINIMUM_STEP_L:
        return look
    text = f"{rest_l:.2f} L of the refill are outstanding on paper, and yet fluid runs out."
    found = kinds.REFILL_INCOMPLETE.at("#/outstanding", text, values={"outstanding_l": rest_l})
    return look._replace(findings=(found,))


def _stick(check: LevelCheck) -> Look:
    reading = check.reading
    assert reading is not None  # noqa: S101 -- `look_of` has seen it
    height_mm = _height_mm(reading)
    verdict: LevelVerdict = "in_range"
    if height_mm < reading.low_mark.mm:
        verdict = "add"
    elif height_mm > reading.high_mark.mm:
        verdict = "remove"
    scale = reading.ml_per_mm
    if scale is None:
        text = "Without the volume between the marks the correction cannot be told in litres."
        unknown = () if verdict == "in_range" else (kinds.SCALE_UNKNOWN.at("#/reading", text),)
        return Look(verdict, findings=unknown)
    return _with_volumes(check, verdict, reading, scale)


def _height_mm(reading: DipstickReading) -> float:
    """Of two readings the lower one counts."""
    return min(reading.height.mm, (reading.other_side or reading.height).mm)


def _with_volumes(
    check: LevelCheck, verdict: LevelVerdict, reading: DipstickReading, scale: float
) -> Look:
    half_band_l = min(scale * reading.band_mm / 2000, check.total.l)
    middle_mm, height_mm = (reading.low_mark.mm + reading.high_mark.mm) / 2, _height_mm(reading)
    off_l = level.dipstick_addition_l(
        reading_mm=min(height_mm, 2 * middle_mm - height_mm),
        target_mm=middle_mm,
        ml_per_mm=scale,
        half_band_l=half_band_l,
    )
    missing_l = off_l if height_mm <= middle_mm else -off_l
    far = _far_off(check, (middle_mm - height_mm) * scale / 1000)
    error_l = READING_ERROR_MM * scale / 1000
    if verdict == "in_range":
        return Look(verdict, None, missing_l, error_l, far)
    # outside the marks half the band is a first step, not all that is off
    return Look(verdict, _allowed_l(check, missing_l), None, error_l, far)


def _allowed_l(check: LevelCheck, missing_l: float) -> float:
    """No more than the room for corrections; what is over may all come out."""
    return min(missing_l, max(check.room_l, 0.0))


def _far_off(check: LevelCheck, missing_l: float) -> tuple[Finding, ...]:
    limit_l = level.correction_limit_l(total_l=check.total.l)
    if abs(missing_l) <= limit_l:
        return ()
    side = "low" if missing_l > 0 else "high"
    text = f"It is {abs(missing_l):.1f} L too {side}; up to {limit_l:.1f} L is a correction."
    values = {"missing_l": missing_l, "limit_l": limit_l}
    return (
        kinds.FAR_OFF.at(
            "#/reading" if check.reading else "#/read_out",
            text,
            values=values,
            severity="stop" if abs(missing_l) > 2 * limit_l else "caution",
        ),
    )


def _sight(check: LevelCheck) -> Look:
    if check.read_out is None:
        return _stick(check)
    missing_l = -check.read_out.l
    far = _far_off(check, missing_l)
    if abs(missing_l) <= level.tolerance_l(total_l=check.total.l):
        return Look("in_range", None, missing_l, findings=far)
    verdict: LevelVerdict = "add" if missing_l > 0 else "remove"
    return Look(verdict, _allowed_l(check, missing_l), missing_l, findings=far)


def _measured(check: LevelCheck) -> Look:
    refill = check.refill
    assert refill is not None  # noqa: S101 -- `look_of` has seen it
    missing_l = refill.out_15.l - refill.in_15.l
    error_l = MEASURED_SHARE * hypot(refill.out_15.l, refill.in_15.l)
    if refill.uncertainty is not None:
        error_l = refill.uncertainty.l
    text = f"{refill.out_15.l:.2f} L came out and {refill.in_15.l:.2f} L went in at 15 °C."
    seen = kinds.MEASURED_NOT_SEEN.at("#/refill", text, values={"missing_l": missing_l})
    if abs(missing_l) > check.total.l:
        return Look("cannot_tell", findings=(_beyond_total(check, missing_l), seen))
    if abs(missing_l) <= max(error_l, MINIMUM_STEP_L):
        return Look("in_range", None, missing_l, error_l, (seen,))
    verdict: LevelVerdict = "add" if missing_l > 0 else "remove"
    return Look(verdict, missing_l, missing_l, error_l, (seen,), refilling=True)


def _beyond_total(check: LevelCheck, missing_l: float) -> Finding:
    text = f"They differ by {abs(missing_l):.2f} L; it holds {check.total.l:.2f} L."
    values = {"missing_l": missing_l, "total_l": check.total.l}
    return kinds.REFILL_BEYOND_TOTAL.at("#/refill", text, values=values)


_LOOKS: dict[LevelMethod, Callable[[LevelCheck], Look]] = {
    "overflow_plug": _plug,
    "overflow_feed": _feed,
    "dipstick": _stick,
    "sight": _sight,
    "measured_refill": _measured,
}
