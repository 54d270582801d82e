"""The steps of a route in the order that heat allows: connect cold, exchange hot, open cool."""

from collections.abc import Callable, Iterator

from libexchange.catalogue import BypassPlace, TransmissionProfile
from libexchange.plan.arrival_steps import before
from libexchange.plan.card_records import PlannedDose
from libexchange.plan.cautions import cautions_at
from libexchange.plan.dose_steps import with_doses
from libexchange.plan.draft import OPEN_BELOW, Draft, opening
from libexchange.plan.heat import line_gate_c
from libexchange.plan.idling import is_hybrid, may_not_idle
from libexchange.plan.level_steps import cool_down, cool_for_level, set_level
from libexchange.plan.records import Gate, Step
from libexchange.plan.request import PlanRequest, Route
from libexchange.plan.routes import Outcome, tenths
from libexchange.quantities import Duration, Flow, Temperature

LEAST_FLOW = Flow(0.8, "L/min")
"""Flow that proves the line open (common practice)."""

FLOW_HOLD = Duration(20, "s")
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

START = "Start, add the rest at once"
HOLD = "hold every selector position"
IDLE = (
    "idle ten minutes in all, every selector position held as long as the maker says (5 s where "
    "nothing is said)"
)
"""How the fluid of two drains is mixed; the seconds are common practice."""

DRIVE = (
    "Lower it, drive a short way gently through all gears, since the engine does not idle on "
    "command, and raise it again"
)
NO_DRIVE = (
    "In the maker's service state hold every selector position; no drive, since the level cannot "
    "be verified without its window"
)
WAIT = (
    "Hold: read fault codes, tag wheel and key as not to be driven, wait for the level window; "
    "with it a new plan sets the level"
)


def steps_of(
    request: PlanRequest,
    transmission: TransmissionProfile,
    outcome: Outcome,
    doses: tuple[PlannedDose, ...] = (),
) -> tuple[Step, ...]:
    """The steps of a computed route, numbered, each with its gate and its cautions."""
    work = [*_MIDDLE[outcome.route](transmission, outcome), *_after(transmission)]
    drafts = [*before(request, transmission, outcome.route), *with_doses(work, doses)]
    return tuple(
        Step(
            step_id=f"step-{number:02d}",
            kind=draft.kind,
            title=draft.title,
            gate=draft.gate,
            quantity=draft.quantity,
            cautions=cautions_at(draft.kind, high_voltage=is_hybrid(transmission)),
        )
        for number, draft in enumerate(drafts, start=1)
    )


def _drain(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    yield from _drain_once(outcome.refilled_l)
    yield _mix(f"{START}, {HOLD}")
    yield from cool_for_level(transmission)


def _drain_cycles(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    cycles = outcome.cycles or 1
    for number in range(1, cycles + 1):
        yield from _drain_once(outcome.refilled_l / cycles, f" (cycle {number} of {cycles})")
        yield from _mixed(transmission, number, cycles)
    yield from cool_for_level(transmission)


def _pan(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    yield from _pan_once(outcome.refilled_l)
    yield _mix(f"{START}, {HOLD}")
    yield from cool_for_level(transmission)


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
    yield cool_down(transmission)
    yield Draft(
        kind="disconnect_lines",
        title="Disconnect the lines and refit them with new seals",
        gate=opening("gate-disconnect", OPEN_BELOW),
    )


def _pan_then_line(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    yield from _pan_once(outcome.refilled_l)
    yield from _line(transmission, outcome)


def _level_only(transmission: TransmissionProfile, _outcome: Outcome) -> Iterator[Draft]:
    yield from cool_for_level(transmission)


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
        yield from _mixed(transmission, number, cycles)
    yield from cool_for_level(transmission)


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
    """What ends the work; nobody drives or hands over a vehicle whose level is not verified."""
    yield set_level(transmission)
    yield Draft(kind="leak_check", title="Dry the area, idle at working temperature, look again")
    if transmission.level.window is None:
        yield Draft(kind="hold", title=WAIT)
        return
    yield Draft(
        kind="test_drive", title="Drive gently through all gears and reverse; read fault codes"
    )
    yield Draft(kind="hand_over", title="Finish the record, keep the samples, hand over")


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


def _mixed(transmission: TransmissionProfile, number: int, cycles: int) -> Iterator[Draft]:
    """Mixed at idle, else by a drive once the level is set; after the last the test drive does."""
    cycle = f" (cycle {number} of {cycles})"
    if not may_not_idle(transmission):
        yield _mix(f"{START}, {IDLE}{cycle}")
    elif number == cycles:
        yield _mix(f"{START}, {HOLD}{cycle}")
    elif transmission.level.window is None:
        yield _mix(f"{NO_DRIVE}{cycle}")
    else:
        yield from cool_for_level(transmission)
        yield set_level(transmission, "level_before_drive")
        yield _mix(f"{DRIVE}{cycle}")


def _line_gate(transmission: TransmissionProfile) -> Gate:
    low_c = line_gate_c(transmission)
    low = None if low_c is None else Temperature(low_c, "Cel")
    needs = f"at least {round(low.c, 1):g} °C and " if low else ""
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
