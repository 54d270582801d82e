"""The steps of a route in the order that heat allows: connect cold, exchange hot, open cool."""

from collections.abc import Callable, Iterator

from libexchange.catalogue import BypassPlace, LevelData, TransmissionProfile
from libexchange.plan.cautions import cautions_at
from libexchange.plan.dose_steps import with_doses
from libexchange.plan.draft import OPEN_BELOW, Draft, opening
from libexchange.plan.heat import cool_below_c, line_gate_c
from libexchange.plan.records import Gate, PlannedDose, Step
from libexchange.plan.request import Route
from libexchange.plan.routes import Outcome, tenths
from libexchange.quantities import Duration, Flow, Temperature

LEAST_FLOW = Flow(0.8, "L/min")
"""Flow that proves the line open (common practice)."""

FLOW_HOLD = Duration(20, "s")
WINDOW_HOLD = Duration(10, "s")
CONNECT_BELOW = Temperature(45, "Cel")

COLD_LINE: dict[BypassPlace, str] = {
    "none": "",
    "in_case": " Cold, the bypass in the case lets next to nothing through.",
    "in_line": " Cold, the bypass in the line loops the fluid back; open the line between "
    "transmission and bypass.",
    "in_cooler": " The bypass sits in the cooler, so the line flows cold.",
    "unknown": " Ask the maker's data where the bypass sits; cold, little may flow.",
}
"""What a line does while its bypass is shut (common practice)."""


def steps_of(
    transmission: TransmissionProfile, outcome: Outcome, doses: tuple[PlannedDose, ...] = ()
) -> tuple[Step, ...]:
    """The steps of a computed route, numbered, each with its gate and its cautions."""
    high_voltage = transmission.high_voltage == "yes" or transmission.family == "power_split_hybrid"
    drafts = with_doses(
        [*_before(), *_MIDDLE[outcome.route](transmission, outcome), *_after(transmission)], doses
    )
    return tuple(
        Step(
            step_id=f"step-{number:02d}",
            kind=draft.kind,
            title=draft.title,
            gate=draft.gate,
            quantity=draft.quantity,
            cautions=cautions_at(draft.kind, high_voltage=high_voltage),
        )
        for number, draft in enumerate(drafts, start=1)
    )


def _before() -> Iterator[Draft]:
    yield Draft(
        kind="arrival_check",
        title="Note odometer, fault codes, level, colour, smell and leaks; drive; keep a sample",
    )
    yield Draft(kind="raise_vehicle", title="Raise the vehicle level and secure it")
    yield Draft(
        kind="prove_fill_opening",
        title="Prove that the fill opening loosens; tag wheel and key",
    )


def _drain(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    yield from _drain_once(outcome.refilled_l)
    yield _mix("Start, add the rest at once, hold every selector position")
    yield from _cool_for_level(transmission)


def _drain_cycles(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    cycles = outcome.cycles or 1
    for number in range(1, cycles + 1):
        yield from _drain_once(outcome.refilled_l / cycles, f" (cycle {number} of {cycles})")
        yield _mix(
            "Start, add the rest at once, idle ten minutes in every position, or drive a short "
            f"way where the engine does not idle (cycle {number})"
        )
    yield from _cool_for_level(transmission)


def _pan(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    yield from _pan_once(outcome.refilled_l)
    yield _mix("Start, add the rest at once, hold every selector position")
    yield from _cool_for_level(transmission)


def _line(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    yield from _lines_open()
    yield Draft(
        kind="line_exchange",
        title="Exchange through the lines while the gate stays open; watch litres in and out",
        gate=_line_gate(transmission),
        quantity=tenths(outcome.exchanged_l),
    )
    yield from _lines_shut(transmission)


def _lines_open() -> Iterator[Draft]:
    yield Draft(
        kind="connect_lines",
        title="Connect the lines cold, in loop, and prove which one is the feed",
        gate=opening("gate-connect", CONNECT_BELOW),
    )
    yield Draft(
        kind="warm_up",
        title="Start, add what is missing at once, warm up until the line gate is open",
    )


def _lines_shut(transmission: TransmissionProfile) -> Iterator[Draft]:
    yield _cool_down(transmission)
    yield Draft(
        kind="disconnect_lines",
        title="Disconnect the lines and refit them with new seals",
        gate=opening("gate-disconnect", OPEN_BELOW),
    )


def _pan_then_line(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    yield from _pan_once(outcome.refilled_l)
    yield from _line(transmission, outcome)


def _level_only(transmission: TransmissionProfile, _outcome: Outcome) -> Iterator[Draft]:
    yield from _cool_for_level(transmission)


def _suction(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    cycles = outcome.cycles or 1
    for number in range(1, cycles + 1):
        yield Draft(
            kind="suction",
            title="Suck out through the fill tube, feel the probe on the pan floor, measure what "
            f"comes (cycle {number} of {cycles})",
            gate=opening("gate-open", OPEN_BELOW),
        )
        yield _refill(outcome.refilled_l / cycles, f" (cycle {number} of {cycles})")
        yield _mix(f"Start, idle ten minutes in every selector position (cycle {number})")
    yield from _cool_for_level(transmission)


def _line_batches(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    batches = outcome.cycles or 1
    batch_l = outcome.refilled_l / batches
    yield from _lines_open()
    for number in range(1, batches + 1):
        yield Draft(
            kind="line_batch",
            title=f"Engine on, person at the key: pump out {batch_l:.1f} L by the line in at most "
            f"30 s, engine off; stop at the first air (batch {number} of {batches})",
            gate=_line_gate(transmission),
        )
        yield _refill(batch_l, f" (batch {number} of {batches})")
    yield from _lines_shut(transmission)


_MIDDLE: dict[Route, Callable[[TransmissionProfile, Outcome], Iterator[Draft]]] = {
    "level_only": _level_only,
    "drain": _drain,
    "drain_cycles": _drain_cycles,
    "suction": _suction,
    "pan_and_filter": _pan,
    "pan_and_filter_then_line": _pan_then_line,
    "line_exchange": _line,
    "line_batches": _line_batches,
}


def _after(transmission: TransmissionProfile) -> Iterator[Draft]:
    yield Draft(
        kind="set_level",
        title=_level_title(transmission.level),
        gate=_level_gate(transmission),
    )
    yield Draft(kind="leak_check", title="Dry the area, idle at working temperature, look again")
    yield Draft(
        kind="test_drive", title="Drive gently through all gears and reverse; read fault codes"
    )
    yield Draft(kind="hand_over", title="Finish the record, keep the samples, hand over")


def _cool_down(transmission: TransmissionProfile) -> Draft:
    """Below what may be opened, and below the level window where that is cooler still."""
    below_c = cool_below_c(transmission)
    title = f"Engine off; let the fluid cool below {round(below_c, 1):g} Cel (this takes time)"
    return Draft(kind="cool_down", title=title)


def _cool_for_level(transmission: TransmissionProfile) -> Iterator[Draft]:
    """A wait before a level window that a warm engine would have passed."""
    window = transmission.level.window
    if window is not None and window.low.c < OPEN_BELOW.c:
        yield _cool_down(transmission)


def _level_title(level: LevelData) -> str:
    if level.window is None:
        return (
            "Put back exactly what came out, by weight; mark the level as not verified and hold "
            "the release until the window is known"
        )
    how = "by the stick" if level.method == "dipstick" else "at the plug; new plug seal"
    engine = {True: "engine running, ", False: "engine off, ", None: ""}[level.engine_running]
    return f"Set the level inside its temperature window, {engine}{how}"


def _drain_once(litres: float, cycle: str = "") -> Iterator[Draft]:
    yield Draft(
        kind="drain",
        title=f"Drain by the plug and measure what comes{cycle}",
        gate=opening("gate-open", OPEN_BELOW),
    )
    yield _refill(litres, cycle)


def _refill(litres: float, cycle: str = "") -> Draft:
    title = f"Refill with fresh fluid, engine off{cycle}"
    return Draft(kind="refill", title=title, quantity=tenths(litres))


def _pan_once(litres: float) -> Iterator[Draft]:
    yield Draft(
        kind="pan_and_filter",
        title="Pan off, look at magnets and debris, measure; new filter and seals, pan on",
        gate=opening("gate-open", OPEN_BELOW),
    )
    yield _refill(litres)


def _mix(title: str) -> Draft:
    return Draft(kind="mix", title=title)


def _line_gate(transmission: TransmissionProfile) -> Gate:
    low_c = line_gate_c(transmission)
    low = None if low_c is None else Temperature(low_c, "Cel")
    needs = f"at least {round(low.c, 1):g} Cel and " if low else ""
    lost = "either is lost" if low else "the flow is lost"
    bypass = transmission.cooler.bypass
    return Gate(
        gate_id="gate-line",
        kind="line_exchange",
        low=low,
        high=None,
        minimum_flow=LEAST_FLOW,
        hold=FLOW_HOLD,
        continuing=True,
        text=f"Fluid {needs}flow of {LEAST_FLOW.value:g} L/min held for {FLOW_HOLD.s:g} s; "
        f"stop the feed whenever {lost}.{COLD_LINE[bypass]}",
        bypass=bypass,
    )


def _level_gate(transmission: TransmissionProfile) -> Gate:
    window = transmission.level.window
    text = "The window is not known: ask the maker's data. The level cannot be verified without it."
    if window is not None:
        text = f"Fluid between {window.low.c:g} and {window.high.c:g} Cel, read while it holds."
    return Gate(
        gate_id="gate-level",
        kind="level_window",
        low=window.low if window else None,
        high=window.high if window else None,
        minimum_flow=None,
        hold=WINDOW_HOLD,
        continuing=False,
        text=text,
    )
