"""The steps of a route in the order that heat allows: connect cold, exchange hot, open cool."""

from collections.abc import Callable, Iterator

from msgspec import Struct

from libexchange.catalogue import LevelData, TransmissionProfile
from libexchange.plan.cautions import cautions_at
from libexchange.plan.records import Gate, Step, StepKind
from libexchange.plan.request import Route
from libexchange.plan.routes import Outcome, tenths
from libexchange.quantities import Duration, Flow, Temperature, Volume

BYPASS_MARGIN_K = 3.0
"""How far above its opening temperature a bypass is taken as open [K] (common practice)."""

LEAST_FLOW = Flow(0.8, "L/min")
"""Flow that proves the line open (common practice)."""

FLOW_HOLD = Duration(20, "s")
WINDOW_HOLD = Duration(10, "s")
CONNECT_BELOW = Temperature(45, "Cel")
OPEN_BELOW = Temperature(60, "Cel")
"""Above this, plug, pan and lines stay shut unless the maker demands hot work (common practice)."""


class Draft(Struct, frozen=True, kw_only=True):
    """A step before it is numbered and gets its cautions."""

    kind: StepKind
    title: str
    gate: Gate | None = None
    quantity: Volume | None = None


def steps_of(transmission: TransmissionProfile, outcome: Outcome) -> tuple[Step, ...]:
    """The steps of a computed route, numbered, each with its gate and its cautions."""
    high_voltage = transmission.high_voltage == "yes" or transmission.family == "power_split_hybrid"
    drafts = [*_before(), *_MIDDLE[outcome.route](transmission, outcome), *_after(transmission)]
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
    yield Draft(
        kind="connect_lines",
        title="Connect the lines cold, in loop, and prove which one is the feed",
        gate=_opening("gate-connect", CONNECT_BELOW),
    )
    yield Draft(
        kind="warm_up",
        title="Start, add what is missing at once, warm up until the line gate is open",
    )
    yield Draft(
        kind="line_exchange",
        title="Exchange through the lines while the gate stays open; watch litres in and out",
        gate=_line_gate(transmission),
        quantity=tenths(outcome.exchanged_l),
    )
    yield _cool_down(transmission)
    yield Draft(
        kind="disconnect_lines",
        title="Disconnect the lines and refit them with new seals",
        gate=_opening("gate-disconnect", OPEN_BELOW),
    )


def _pan_then_line(transmission: TransmissionProfile, outcome: Outcome) -> Iterator[Draft]:
    yield from _pan_once(outcome.refilled_l)
    yield from _line(transmission, outcome)


_MIDDLE: dict[Route, Callable[[TransmissionProfile, Outcome], Iterator[Draft]]] = {
    "drain": _drain,
    "drain_cycles": _drain_cycles,
    "pan_and_filter": _pan,
    "pan_and_filter_then_line": _pan_then_line,
    "line_exchange": _line,
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
    window = transmission.level.window
    below_c = min(OPEN_BELOW.c, window.low.c) if window else OPEN_BELOW.c
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
        gate=_opening("gate-open", OPEN_BELOW),
    )
    yield Draft(
        kind="refill", title=f"Refill with fresh fluid, engine off{cycle}", quantity=tenths(litres)
    )


def _pan_once(litres: float) -> Iterator[Draft]:
    yield Draft(
        kind="pan_and_filter",
        title="Pan off, look at magnets and debris, measure; new filter and seals, pan on",
        gate=_opening("gate-open", OPEN_BELOW),
    )
    yield Draft(kind="refill", title="Refill with fresh fluid, engine off", quantity=tenths(litres))


def _mix(title: str) -> Draft:
    return Draft(kind="mix", title=title)


def _opening(gate_id: str, below: Temperature) -> Gate:
    return Gate(
        gate_id=gate_id,
        kind="opening",
        low=None,
        high=below,
        minimum_flow=None,
        hold=None,
        continuing=False,
        text=f"Fluid below {below.c:g} Cel, unless the maker demands hot work and protection "
        "is confirmed.",
    )


def _line_gate(transmission: TransmissionProfile) -> Gate:
    cooler = transmission.cooler
    waits = cooler.bypass in ("in_case", "in_line") and cooler.bypass_opens is not None
    low = Temperature(cooler.bypass_opens.c + BYPASS_MARGIN_K, "Cel") if waits else None  # type: ignore[union-attr]  # `waits` says it is known
    needs = f"at least {round(low.c, 1):g} Cel and " if low else ""
    lost = "either is lost" if low else "the flow is lost"
    return Gate(
        gate_id="gate-line",
        kind="line_exchange",
        low=low,
        high=None,
        minimum_flow=LEAST_FLOW,
        hold=FLOW_HOLD,
        continuing=True,
        text=f"Fluid {needs}flow of {LEAST_FLOW.value:g} L/min held for {FLOW_HOLD.s:g} s; "
        f"stop the feed whenever {lost}.",
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
