"""What makes a look at the level void, before anybody asks what it showed."""

from collections.abc import Callable

from libexchange import level
from libexchange import level_findings as kinds
from libexchange.catalogue import LevelMethod
from libexchange.findings import Finding, Kind, Severity
from libexchange.gate_findings import OVERHEATED
from libexchange.gate_heat import STOP_C
from libexchange.level_looks import MINIMUM_STEP_L, Look
from libexchange.level_records import LevelCheck, LevelVerdict
from libexchange.reading_checks import LARGEST_RISE_K_PER_MIN, TOO_FAST_K_PER_MIN
from libexchange.readings import ERROR_K, OWN_SENSOR

MAXIMUM_ROUNDS = 3
MOST_RAN_OUT_L, ROUNDING_L = 1.0, 1e-9
"""What may run out beyond what was added before it is no correction any more (common practice)."""

COOLING_LIMIT_K_PER_MIN = -0.2
STEADY_K_PER_MIN = 1.0
STICK_DIFFERS_MM = 3.0
WATCHED_S = 30.0
SETTLES_S: dict[LevelMethod, float] = {
    "overflow_plug": 30.0, "overflow_feed": 30.0, "dipstick": 60.0, "sight": 120.0,
    "measured_refill": 0.0,
}  # fmt: skip
"""How long the fluid settles after it was moved [s] (common practice)."""

OVERFLOWS: tuple[LevelMethod, ...] = ("overflow_plug", "overflow_feed")


def barriers(check: LevelCheck, look: Look) -> list[tuple[LevelVerdict, list[Finding]]]:
    """Everything that makes a look void, the gravest first; the first that applies decides."""
    return [
        ("stop", _beyond_limits(check, look)),
        *((verdict, find(check)) for verdict, find in _VOID),
        ("stop", _too_far_off(look)),
        ("redo", _above_window(check)),
        *((verdict, find(check)) for verdict, find in _TOO_EARLY),
        ("stop", _off_again(check, look)),
    ]


def _too_far_off(look: Look) -> list[Finding]:
    """So far off that the engine may not run; told here and no longer beside the look."""
    return [finding for finding in look.findings if finding.severity == "stop"]


def _beyond_limits(check: LevelCheck, look: Look) -> list[Finding]:
    added_l, room_l = check.net_added_l, check.room_l
    limit_l = level.correction_limit_l(total_l=check.total.l)
    more = look.verdict == "add" and not look.refilling
    found = []
    if room_l < 0 or (more and room_l < MINIMUM_STEP_L):
        least = "" if room_l < 0 else f", and a step is {MINIMUM_STEP_L:g} L at least"
        text = f"{added_l:.2f} L were added after the refill; the limit is {limit_l:.2f} L{least}."
        values = {"added_l": added_l, "limit_l": limit_l}
        found.append(kinds.BEYOND_LIMIT.at("#/added", text, values=values))
    if check.rounds > MAXIMUM_ROUNDS:
        text = f"{check.rounds} rounds of correction were made; the limit is {MAXIMUM_ROUNDS}."
        rounds = {"rounds": float(check.rounds)}
        found.append(kinds.TOO_MANY_ROUNDS.at("#/rounds", text, values=rounds))
    return found


def _off_again(check: LevelCheck, look: Look) -> list[Finding]:
    """A level that is off after a drive is corrected once, not twice."""
    times = check.off_after_drives
    if not times or look.verdict not in ("add", "let_run", "remove"):
        return []
    text = f"It was off after a drive {times} time{'s' * (times > 1)} before."
    return [kinds.OFF_AGAIN.at("#/off_after_drives", text, values={"times": float(times)})]


def _smoke(check: LevelCheck) -> list[Finding]:
    text = "Fluid on the exhaust smokes and may burn."
    return [kinds.SMOKE.at("#/smoke_seen", text)] if check.smoke_seen else []


def _overheated(check: LevelCheck) -> list[Finding]:
    now_c = check.temperature.c
    text = f"It was at {now_c:.1f} °C."
    found = OVERHEATED.at("#/temperature", text, values={"temperature_c": now_c})
    return [found] if now_c > STOP_C else []


def ran_out(check: LevelCheck) -> list[Finding]:
    """What ran out and was not added: told above 0, a stop above 1 L."""
    added_l, out_l = check.added.l, check.ran_out.l if check.ran_out else 0.0
    if out_l - added_l <= ROUNDING_L:
        return []
    text = f"{out_l:.2f} L ran out; {added_l:.2f} L were added."
    values = {"ran_out_l": out_l, "added_l": added_l}
    severity: Severity = "stop" if out_l - added_l > MOST_RAN_OUT_L + ROUNDING_L else "caution"
    return [kinds.RAN_OUT.at("#/ran_out", text, values=values, severity=severity)]


def _ran_dry(check: LevelCheck) -> list[Finding]:
    return [finding for finding in ran_out(check) if finding.severity == "stop"]


def _foreign_temperature(check: LevelCheck) -> list[Finding]:
    source = check.temperature_source
    if source is None or source in OWN_SENSOR or check.method == "measured_refill":
        return []
    text = f"It was read by {source}."
    values = {"source": source, "uncertainty_k": ERROR_K[source]}
    return [kinds.TEMPERATURE_FOREIGN.at("#/temperature_source", text, values=values)]


def _window_missing(check: LevelCheck) -> list[Finding]:
    text = "Without the maker's window a level cannot be told, and none is made up."
    return [] if check.window else [kinds.WINDOW_UNKNOWN.at("#/window", text)]


def _engine(check: LevelCheck) -> list[Finding]:
    running, wanted = check.engine_running, check.checked_with_engine_running
    if running is None or running == wanted or check.method == "measured_refill":
        return []
    if check.method in OVERFLOWS and wanted:
        text = "With the engine off the converter runs back and 1 to 2 L leave through the plug."
        return [kinds.ENGINE_OFF.at("#/engine_running", text)]
    text = f"The engine was {'on' if running else 'off'} and has to be {'on' if wanted else 'off'}."
    return [kinds.ENGINE_STATE.at("#/engine_running", text)]


def _overflow_tube(check: LevelCheck) -> list[Finding]:
    if check.overflow_tube_fitted is not False or check.method not in OVERFLOWS:
        return []
    text = "What runs out tells nothing, and it runs until the unit is empty."
    return [kinds.TUBE_MISSING.at("#/overflow_tube_fitted", text)]


def _selector(check: LevelCheck) -> list[Finding]:
    seen = {"gears_cycled": check.gears_cycled, "selector_right": check.selector_right}
    text = "Clutches and channels fill only as the selector goes through its positions."
    return [kinds.SELECTOR.at(f"#/{name}", text) for name, right in seen.items() if right is False]


def _foam(check: LevelCheck) -> list[Finding]:
    text = "Air in the fluid takes its place."
    return [kinds.FOAM.at("#/foam_seen", text)] if check.foam_seen else []


def _not_settled(check: LevelCheck) -> list[Finding]:
    needed_s = SETTLES_S[check.method]
    if check.waited is None or check.waited.s >= needed_s:
        return []
    text = f"{check.waited.s:.0f} s since it was moved; it takes {needed_s:.0f} s."
    values = {"waited_s": check.waited.s, "needed_s": needed_s}
    return [kinds.NOT_SETTLED.at("#/waited", text, values=values)]


def _seen_too_briefly(check: LevelCheck) -> list[Finding]:
    watched = check.observed_for
    runs = check.method in OVERFLOWS and check.observed in ("thread", "stream")
    if not runs or watched is None or watched.s >= WATCHED_S:
        return []
    text = f"It was watched for {watched.s:.0f} s; waves come every 30 s."
    values = {"watched_s": watched.s, "needed_s": WATCHED_S}
    return [kinds.SEEN_TOO_BRIEFLY.at("#/observed_for", text, values=values)]


def _stick_differs(check: LevelCheck) -> list[Finding]:
    reading = check.reading
    if reading is None or reading.other_side is None:
        return []
    apart_mm = abs(reading.height.mm - reading.other_side.mm)
    if apart_mm <= STICK_DIFFERS_MM:
        return []
    text = f"They are {apart_mm:.0f} mm apart."
    return [kinds.STICK_DIFFERS.at("#/reading", text, values={"apart_mm": apart_mm})]


def by_cold_marks(check: LevelCheck) -> bool:
    """Whether the stick was read by its cold marks."""
    return check.reading is not None and check.reading.marks == "cold"


def _cold_marks_hot(check: LevelCheck) -> list[Finding]:
    if not by_cold_marks(check) or check.window is None:
        return []
    limit_c = check.cold_window.high.c if check.cold_window else check.window.low.c
    now_c = check.temperature.c
    if now_c <= limit_c:
        return []
    text = f"It is at {now_c:.1f} °C; the cold marks hold up to {limit_c:g} °C."
    values = {"temperature_c": now_c, "limit_c": limit_c}
    return [kinds.COLD_MARKS_HOT.at("#/reading/marks", text, values=values)]


def _cold_marks(check: LevelCheck) -> list[Finding]:
    """Cold marks end nothing; only what is below them is put right before it is warmed up."""
    reading = check.reading
    if reading is None or reading.marks != "cold" or reading.height.mm < reading.low_mark.mm:
        return []
    text = "By the cold marks there is enough to warm up with; they tell no more."
    return [kinds.COLD_MARKS.at("#/reading/marks", text)]


def worth_l(check: LevelCheck, from_c: float, to_c: float, hold_up_factor: float = 1.0) -> float:
    """What the fluid outgrows its case by between two temperatures [L]."""
    return level.expansion_shift_l(
        total_l=check.total.l,
        density_15_kg_m3=check.density_15.kg_m3,
        from_c=from_c,
        to_c=to_c,
        hold_up_factor=hold_up_factor,
    )


def _outside(check: LevelCheck, kind: Kind, edge_c: float, side: str) -> Finding:
    now_c = check.temperature.c
    plain_l = abs(worth_l(check, edge_c, now_c))
    with_hold_up_l = abs(worth_l(check, edge_c, now_c, level.HOLD_UP_FACTOR))
    return kind.at(
        "#/temperature",
        f"It is at {now_c:.1f} °C, {abs(now_c - edge_c):.1f} K {side} the window; that is worth "
        f"{plain_l:.2f} to {with_hold_up_l:.2f} L.",
        values={
            "temperature_c": now_c,
            "edge_c": edge_c,
            "worth_l": plain_l,
            "worth_with_hold_up_l": with_hold_up_l,
        },
    )


def _below_window(check: LevelCheck) -> list[Finding]:
    window = check.cold_window if by_cold_marks(check) else check.window
    if window is None or check.method == "measured_refill" or check.temperature.c >= window.low.c:
        return []
    return [_outside(check, kinds.BELOW_WINDOW, window.low.c, "below")]


def _above_window(check: LevelCheck) -> list[Finding]:
    window = check.window
    if window is None or check.method == "measured_refill" or check.temperature.c <= window.high.c:
        return []
    return [_outside(check, kinds.ABOVE_WINDOW, window.high.c, "above")]


def _trend(check: LevelCheck) -> list[Finding]:
    """Overflows want no falling temperature; sticks, tubes and read-outs a steady one."""
    rate = check.rate.k_per_min if check.rate else 0.0
    values = {"rate_k_per_min": rate}
    if check.method in OVERFLOWS and rate < COOLING_LIMIT_K_PER_MIN:
        text = (
            f"The temperature changes by {rate:.2f} K/min; below -0.2 K/min the plug tells nothing."
        )
        return [kinds.COOLING.at("#/rate", text, values=values)]
    if rate > TOO_FAST_K_PER_MIN:
        return warming_fast(check)
    if check.method in ("dipstick", "sight") and abs(rate) > STEADY_K_PER_MIN:
        text = f"The temperature changes by {rate:.2f} K/min; it has to be steady within 1 K/min."
        return [kinds.NOT_STEADY.at("#/rate", text, values=values)]
    return []


def warming_fast(check: LevelCheck) -> list[Finding]:
    """A plug that is read while the fluid warms by more than 4 K/min; above 8 it tells nothing."""
    rate = check.rate.k_per_min if check.rate else 0.0
    if check.method not in OVERFLOWS or rate <= LARGEST_RISE_K_PER_MIN:
        return []
    text = f"The temperature changes by {rate:.2f} K/min; up to 4 K/min is usual at idle."
    if rate > TOO_FAST_K_PER_MIN:
        text = f"The temperature changes by {rate:.2f} K/min; above 8 K/min the plug tells nothing."
    return [kinds.WARMING_FAST.at("#/rate", text, values={"rate_k_per_min": rate})]


_Barrier = tuple[LevelVerdict, Callable[[LevelCheck], list[Finding]]]

_VOID: tuple[_Barrier, ...] = (
    ("stop", _smoke),
    ("stop", _overheated),
    ("stop", _ran_dry),
    ("cannot_tell", _window_missing),
    ("cannot_tell", _engine),
    ("cannot_tell", _overflow_tube),
    ("cannot_tell", _selector),
    ("cannot_tell", _foreign_temperature),
    ("cannot_tell", _cold_marks_hot),
    ("cannot_tell", _stick_differs),
    ("wait", _foam),
    ("wait", _not_settled),
    ("wait", _seen_too_briefly),
)
"""What makes a look void whatever it showed, the gravest first."""

_TOO_EARLY: tuple[_Barrier, ...] = (
    ("wait", _below_window),
    ("wait", _cold_marks),
    ("cannot_tell", _trend),
)
"""What makes it void unless it showed that the engine may not even run."""
