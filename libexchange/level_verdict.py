"""The verdict of one look at the fluid level, by overflow plug or dipstick.

Refilling is not correcting: `added` counts only what was added after the refill was complete.
"""

from collections.abc import Callable
from typing import Annotated, Literal, NamedTuple

from msgspec import Meta, Struct

from libexchange import level
from libexchange.catalogue import LevelMethod, TemperatureWindow
from libexchange.errors import Fault, InvalidInput
from libexchange.findings import Finding, Kind
from libexchange.level_findings import (
    ABOVE_WINDOW,
    BELOW_WINDOW,
    BEYOND_LIMIT,
    COOLING,
    ENGINE_OFF,
    SCALE_UNKNOWN,
    TOO_MANY_ROUNDS,
    WINDOW_UNKNOWN,
    window_suspicion,
)
from libexchange.quantities import Length, Temperature, TemperatureRate, Volume, VolumeChange

MAXIMUM_ROUNDS = 3
COOLING_LIMIT_K_PER_MIN = -0.2
LEAST_BAND_MM = 1.0
STEP_L, HEAVY_STEP_L, MINIMUM_STEP_L = 0.3, 1.0, 0.05

Observed = Literal["nothing", "drip", "thread", "stream"]
"""What comes out of the open overflow plug."""

LevelVerdict = Literal[
    "in_range", "add", "let_run", "remove", "wait", "redo", "cannot_tell", "stop"
]
"""What to do after one look at the level."""


class DipstickReading(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the fluid stands on the stick and where its marks are, all from the same zero.

    `between_marks` is what the unit takes from the low to the high mark; null when not known.
    Raises: InvalidInput unless the high mark is at least 1 mm above the low mark.
    """

    height: Length
    low_mark: Length
    high_mark: Length
    between_marks: Volume | None = None

    def __post_init__(self) -> None:
        if self.high_mark.mm - self.low_mark.mm < LEAST_BAND_MM:
            raise InvalidInput(_marks_fault(self.high_mark))


def _marks_fault(high_mark: Length) -> Fault:
    return Fault(
        pointer="/high_mark",
        code="marks-reversed",
        detail="the high mark is not above the low mark",
        value=high_mark,
        allowed=f"at least {LEAST_BAND_MM:g} mm above the low mark",
        remedy="Measure both marks and the reading from the same zero, upwards.",
    )


class LevelCheck(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One look at the level: what was known and what was seen.

    `observed` belongs to an overflow plug, `reading` to a dipstick; `added` and `rounds` count the
    corrections since the refill. `rate` and `engine_running` are null when nobody measured them.
    """

    method: LevelMethod
    total: Volume
    window: TemperatureWindow | None
    temperature: Temperature
    observed: Observed | None = None
    reading: DipstickReading | None = None
    added: Volume
    rounds: Annotated[int, Meta(ge=0, le=100)]
    rate: TemperatureRate | None = None
    engine_running: bool | None = None
    checked_with_engine_running: bool = True
    density_15_kg_m3: float = level.TYPICAL_DENSITY_15_KG_M3


class LevelAnswer(Struct, frozen=True, kw_only=True):
    """What one look at the level means; `correction` is null where nothing is to be measured."""

    verdict: LevelVerdict
    correction: VolumeChange | None
    uncertainty: Volume | None
    findings: list[Finding]


def judge_level(check: LevelCheck) -> LevelAnswer:
    """What one look at the level means, what to add or take out, and how sure that is.

    Within the window the level itself decides; whatever makes the look void comes before that.
    Raises: ValueError without `observed` at an overflow plug or without `reading` on a dipstick,
    OutOfRange for a density outside 800.9 to 1163.5 kg/m3.
    Source: common practice.

    >>> window = TemperatureWindow(low=Temperature(35, "Cel"), high=Temperature(45, "Cel"))
    >>> look = LevelCheck(method="overflow_plug", total=Volume(9, "L"), window=window,
    ...                   temperature=Temperature(40, "Cel"), observed="nothing",
    ...                   added=Volume(0, "L"), rounds=0)
    >>> judge_level(look).correction
    VolumeChange(value=0.3, unit='L')
    """
    found = [(verdict, find(check)) for verdict, find in _BARRIERS]
    barrier = next((verdict for verdict, findings in found if findings), None)
    look = _look(check)
    correction_l = look.correction_l if barrier is None else None
    if barrier == "redo":
        correction_l = _above_window_l(check, look)
    verdict = barrier or look.verdict
    return LevelAnswer(
        verdict=verdict,
        correction=None if correction_l is None else VolumeChange(correction_l, "L"),
        uncertainty=_uncertainty(check, verdict, correction_l),
        findings=[
            *(finding for _, findings in found for finding in findings),
            *_suspect_window(check),
            *look.findings,
        ],
    )


def _uncertainty(
    check: LevelCheck, verdict: LevelVerdict, correction_l: float | None
) -> Volume | None:
    told = verdict in ("in_range", "add", "let_run", "remove") or correction_l is not None
    known_l = level.level_uncertainty_l(
        total_l=check.total.l, density_15_kg_m3=check.density_15_kg_m3
    )
    return Volume(known_l, "L") if told else None


def _shift_l(check: LevelCheck, from_c: float, to_c: float, hold_up_factor: float = 1.0) -> float:
    return level.expansion_shift_l(
        total_l=check.total.l,
        density_15_kg_m3=check.density_15_kg_m3,
        from_c=from_c,
        to_c=to_c,
        hold_up_factor=hold_up_factor,
    )


def _beyond_limits(check: LevelCheck) -> list[Finding]:
    limit_l = level.correction_limit_l(total_l=check.total.l)
    room_l = limit_l - check.added.l
    values = {"added_l": check.added.l, "limit_l": limit_l}
    found = []
    if room_l < 0 or (check.observed == "nothing" and room_l < MINIMUM_STEP_L):
        text = f"{check.added.l:.2f} L were added after the refill; the limit is {limit_l:.2f} L."
        found.append(BEYOND_LIMIT.at("#/added", text, values=values))
    if check.rounds > MAXIMUM_ROUNDS:
        text = f"{check.rounds} rounds of correction were made; the limit is {MAXIMUM_ROUNDS}."
        found.append(TOO_MANY_ROUNDS.at("#/rounds", text, values={"rounds": check.rounds}))
    return found


def _window_missing(check: LevelCheck) -> list[Finding]:
    text = "Without the maker's window a level cannot be told, and none is made up."
    return [] if check.window else [WINDOW_UNKNOWN.at("#/window", text)]


def _engine_off(check: LevelCheck) -> list[Finding]:
    wrong = check.method == "overflow_plug" and check.checked_with_engine_running
    text = "With the engine off the converter runs back and 1 to 2 L leave through the plug."
    return (
        [ENGINE_OFF.at("#/engine_running", text)] if wrong and check.engine_running is False else []
    )


def _outside(check: LevelCheck, kind: Kind, edge_c: float, side: str) -> Finding:
    now_c = check.temperature.c
    worth_l = abs(_shift_l(check, edge_c, now_c))
    with_hold_up_l = abs(_shift_l(check, edge_c, now_c, level.HOLD_UP_FACTOR))
    return kind.at(
        "#/temperature",
        f"It is at {now_c:.1f} Cel, {abs(now_c - edge_c):.1f} K {side} the window; that is worth "
        f"{worth_l:.2f} to {with_hold_up_l:.2f} L.",
        values={
            "temperature_c": now_c,
            "edge_c": edge_c,
            "worth_l": worth_l,
            "worth_with_hold_up_l": with_hold_up_l,
        },
    )


def _below_window(check: LevelCheck) -> list[Finding]:
    if check.window is None or check.temperature.c >= check.window.low.c:
        return []
    return [_outside(check, BELOW_WINDOW, check.window.low.c, "below")]


def _above_window(check: LevelCheck) -> list[Finding]:
    if check.window is None or check.temperature.c <= check.window.high.c:
        return []
    return [_outside(check, ABOVE_WINDOW, check.window.high.c, "above")]


def _cooling(check: LevelCheck) -> list[Finding]:
    rate = check.rate.k_per_min if check.rate else 0.0
    if check.method != "overflow_plug" or rate >= COOLING_LIMIT_K_PER_MIN:
        return []
    text = f"The temperature changes by {rate:.1f} K/min; below -0.2 K/min the plug tells nothing."
    return [COOLING.at("#/rate", text, values={"rate_k_per_min": rate})]


_BARRIERS: tuple[tuple[LevelVerdict, Callable[[LevelCheck], list[Finding]]], ...] = (
    ("stop", _beyond_limits),
    ("cannot_tell", _window_missing),
    ("cannot_tell", _engine_off),
    ("wait", _below_window),
    ("redo", _above_window),
    ("cannot_tell", _cooling),
)
"""What makes a look void, the gravest first; the first that applies is the verdict."""


def _suspect_window(check: LevelCheck) -> list[Finding]:
    return window_suspicion(check.window, "#/window") if check.window else []


class _Look(NamedTuple):
    """What the plug or the stick says at the temperature of the look, wherever that lies."""

    verdict: LevelVerdict
    correction_l: float | None
    missing_l: float | None
    findings: tuple[Finding, ...] = ()


def _look(check: LevelCheck) -> _Look:
    return _plug(check) if check.method == "overflow_plug" else _stick(check)


def _plug(check: LevelCheck) -> _Look:
    if check.observed is None:
        raise ValueError("an overflow plug needs what was observed")
    if check.observed == "nothing":
        step_l = HEAVY_STEP_L if level.is_heavy(total_l=check.total.l) else STEP_L
        room_l = level.correction_limit_l(total_l=check.total.l) - check.added.l
        return _Look("add", min(step_l, max(room_l, 0.0)), None)
    if check.observed == "drip":
        return _Look("in_range", None, 0.0)
    return _Look("let_run", None, None)


def _stick(check: LevelCheck) -> _Look:
    if check.reading is None:
        raise ValueError("a dipstick needs its reading")
    reading = check.reading
    verdict: LevelVerdict = "in_range"
    if reading.height.mm < reading.low_mark.mm:
        verdict = "add"
    elif reading.height.mm > reading.high_mark.mm:
        verdict = "remove"
    return _with_volumes(verdict, reading)


def _with_volumes(verdict: LevelVerdict, reading: DipstickReading) -> _Look:
    if reading.between_marks is None:
        text = "Without the volume between the marks the correction cannot be told in litres."
        unknown = () if verdict == "in_range" else (SCALE_UNKNOWN.at("#/reading", text),)
        return _Look(verdict, None, None, unknown)
    missing_l = _missing_by_stick_l(reading, reading.between_marks)
    return _Look(verdict, None if verdict == "in_range" else missing_l, missing_l)


def _missing_by_stick_l(reading: DipstickReading, between_marks: Volume) -> float:
    """Litres from the reading to the middle of the marks, at most half a band either way."""
    low_mm, high_mm = reading.low_mark.mm, reading.high_mark.mm
    middle_mm, height_mm = (low_mm + high_mm) / 2, reading.height.mm
    addition_l = level.dipstick_addition_l(
        reading_mm=min(height_mm, 2 * middle_mm - height_mm),
        target_mm=middle_mm,
        ml_per_mm=1000 * between_marks.l / (high_mm - low_mm),
        half_band_l=between_marks.l / 2,
    )
    return addition_l if height_mm <= middle_mm else -addition_l


def _above_window_l(check: LevelCheck, look: _Look) -> float | None:
    """What would make the level right at the upper edge, where the look tells how much is there."""
    if check.window is None or look.missing_l is None:
        return None
    worth_l = _shift_l(check, check.window.high.c, check.temperature.c)
    return look.missing_l + worth_l
