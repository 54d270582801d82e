"""The verdict of one look at the fluid level, by any of the five methods.

Refilling is not correcting: `added` counts only what was added after the refill was complete.
"""

from math import hypot

from libexchange import level
from libexchange import level_findings as kinds
from libexchange.findings import Finding
from libexchange.level_barriers import barriers, ran_out, warming_fast, worth_l
from libexchange.level_findings import window_suspicion
from libexchange.level_looks import Look, look_of
from libexchange.level_records import LevelAnswer, LevelCheck, LevelVerdict
from libexchange.quantities import Volume, VolumeChange
from libexchange.readings import ERROR_K

SLOPE_METER_DEG = 0.1
"""How well a phone or spirit level tells the slope [deg] (memory)."""

STEEPEST_DEG = 45.0
TOLD: tuple[LevelVerdict, ...] = ("in_range", "add", "let_run", "remove")
"""The verdicts that rest on how well the look tells the level."""


def judge_level(check: LevelCheck) -> LevelAnswer:
    """What one look at the level means, what to add or take out, and how sure that is.

    Within the window the level itself decides, where the look is sure enough for the level's
    tolerance; whatever makes the look void comes before that.
    Raises: ValueError without what the method is judged by, OutOfRange for a density outside 800.9
    to 1163.5 kg/m3.
    Source: common practice.

    >>> from libexchange.catalogue import TemperatureWindow
    >>> from libexchange.quantities import Temperature
    >>> window = TemperatureWindow(low=Temperature(35, "Cel"), high=Temperature(45, "Cel"))
    >>> look = LevelCheck(method="overflow_plug", total=Volume(9, "L"), window=window,
    ...                   temperature=Temperature(40, "Cel"), observed="nothing",
    ...                   added=Volume(0, "L"), rounds=0)
    >>> judge_level(look).correction
    VolumeChange(value=0.3, unit='L')
    """
    look = look_of(check)
    found = barriers(check, look)
    barrier = next((verdict for verdict, findings in found if findings), None)
    sure_l, slope = _uncertainty_l(check, look), _slope(check)
    vague = barrier is None and _too_vague(check, look, sure_l)
    verdict = barrier or ("cannot_tell" if vague else look.verdict)
    correction_l = _correction_l(check, look, verdict)
    return LevelAnswer(
        verdict=verdict,
        correction=None if correction_l is None else VolumeChange(correction_l, "L"),
        uncertainty=_told(check, verdict, correction_l, sure_l),
        findings=[
            *(finding for _, findings in found for finding in findings),
            *(window_suspicion(check.window, "#/window") if check.window else ()),
            *(finding for finding in look.findings if finding.severity != "stop"),
            *_remarks(check, found),
            *slope,
            *([_not_sure(check, sure_l)] if vague and not slope else ()),
        ],
    )


def _remarks(check: LevelCheck, told: list[tuple[LevelVerdict, list[Finding]]]) -> list[Finding]:
    """What is worth a caution beside the look and did not make it void."""
    void = {finding.code for _, findings in told for finding in findings}
    remarks = [*ran_out(check), *warming_fast(check)]
    return [finding for finding in remarks if finding.code not in void]


def _uncertainty_l(check: LevelCheck, look: Look) -> float:
    """How well the look tells the level; an amount put back by measure knows no slope."""
    if check.method == "measured_refill":
        return look.reading_l
    slope_deg = level.SLOPE_ERROR_DEG
    if check.slope is not None:
        slope_deg = abs(check.slope.deg) + SLOPE_METER_DEG
    return level.level_uncertainty_l(
        total_l=check.total.l,
        density_15_kg_m3=check.density_15.kg_m3,
        temperature_error_k=ERROR_K[check.temperature_source or "scan_tool"],
        slope_deg=min(slope_deg, STEEPEST_DEG),
        reading_l=look.reading_l,
    )


def _too_vague(check: LevelCheck, look: Look, sure_l: float) -> bool:
    tolerance_l = level.tolerance_l(total_l=check.total.l)
    return look.verdict in TOLD and not look.refilling and sure_l > tolerance_l


def _not_sure(check: LevelCheck, sure_l: float) -> Finding:
    tolerance_l = level.tolerance_l(total_l=check.total.l)
    text = f"It tells the level within {sure_l:.2f} L; {tolerance_l:.2f} L are needed."
    values = {"uncertainty_l": sure_l, "tolerance_l": tolerance_l}
    return kinds.NOT_SURE_ENOUGH.at("#", text, values=values)


def _correction_l(check: LevelCheck, look: Look, verdict: LevelVerdict) -> float | None:
    """Nothing is corrected by a void look, but what came out by measure goes back in any case."""
    if verdict == look.verdict or (verdict == "cannot_tell" and check.method == "measured_refill"):
        return look.correction_l
    return _above_window_l(check, look) if verdict == "redo" else None


def _above_window_l(check: LevelCheck, look: Look) -> float | None:
    """What would make the level right at the upper edge, where the look tells how much is there.

    More than may safely be added is not told: then it has to be looked at again in the window.
    """
    if check.window is None or look.missing_l is None:
        return None
    right_l = look.missing_l + worth_l(check, check.window.high.c, check.temperature.c)
    return None if right_l > max(check.room_l, 0.0) else max(right_l, -check.total.l)


def _told(
    check: LevelCheck, verdict: LevelVerdict, correction_l: float | None, sure_l: float
) -> Volume | None:
    """The uncertainty, where something was told; what the heat is worth adds its own."""
    if verdict not in TOLD and correction_l is None:
        return None
    if verdict != "redo" or check.window is None:
        return Volume(sure_l, "L")
    high_c, now_c = check.window.high.c, check.temperature.c
    hold_up_l = worth_l(check, high_c, now_c, level.HOLD_UP_FACTOR) - worth_l(check, high_c, now_c)
    return Volume(hypot(sure_l, hold_up_l), "L")


def _slope(check: LevelCheck) -> list[Finding]:
    slope = check.slope
    measured = check.method == "measured_refill"
    if slope is None or measured or abs(slope.deg) <= level.SLOPE_ERROR_DEG:
        return []
    slope_l = level.slope_worth_l(
        total_l=check.total.l, slope_deg=min(abs(slope.deg), STEEPEST_DEG)
    )
    text = (
        f"It stood {abs(slope.deg):.1f} degrees off level, which is worth {slope_l:.2f} L; half a "
        "degree is the limit."
    )
    values = {"slope_deg": slope.deg, "worth_l": slope_l}
    return [kinds.LEVEL_SLOPE.at("#/slope", text, values=values)]
