"""What an honest technician does at each step of a plan, going by what he sees and is told."""

from collections.abc import Callable

from examples.simulated_bay.bay import Bay, StoppedError
from examples.simulated_bay.fluid_physics import Pool
from examples.simulated_bay.instruments import DELIVERS_SEEN, OIL_LAMP_SEEN, WRONG_OIL_SEEN
from examples.simulated_bay.level_setting import set_level

AS_PLANNED, WRONG = "invented-red-six", "invented-amber-clutch"
LABEL_COMPARED = 0.9
"""How often a label is compared with the card where nobody can be asked."""

COOLER_K = 5
"""The technician keeps this far below what may be touched, since his sensor may be off [K]."""

WARMER_K = 7
"""So far above its gate a line is warmed first, since cold fluid will cool it [K]."""

MOST_AT_ONCE_L, PORTION_L = 2.5, 0.4


def arrival_check(bay: Bay) -> None:
    """Drive, read, look and test: coolant ends the work before anything is opened."""
    bay.write("started")
    for finding in bay.plan["findings"]:
        if finding["severity"] == "caution":
            bay.phones.write("caution_acknowledged", code=finding["code"],
                             by="Invented Person", reason="As the maker's sheet says.")  # fmt: skip
    bay.write("arrived", leak="dry", drive="ok", warning_lamp=False, fluid_kind=AS_PLANNED)
    bay.write("fault_codes_read", when="before")
    bay.pass_time(600)
    bay.read()
    strip, crackles, milky = (
        bay.tools.strip_positive(), bay.tools.crackles(), bay.tools.looks_milky(),
    )  # fmt: skip
    bench = {
        "colour": "milky" if milky else "brown",
        "smell": "normal",
        "debris": "grey_paste",
        "crackle": "large_bubbles" if crackles else "silent",
        "glycol_strip": "positive" if strip else "negative",
    }
    bay.write("bench_checked", bench=bench)
    bay.stop_if_told(bay.told())
    if strip or crackles or milky:
        raise StoppedError("coolant")
    bay.confirm()


def raise_vehicle(bay: Bay) -> None:
    """Level it; nearly everybody looks at how level it stands."""
    if bay.tools.slope() > 0.5 and bay.chance.random() < 0.95:
        bay.vehicle.slope_deg = abs(bay.chance.gauss(0, 0.15))
    bay.pass_time(300)
    bay.confirm()


def prove_fill_opening(bay: Bay) -> None:
    """It loosens."""
    bay.pass_time(120)
    bay.confirm()


def _opening(bay: Bay, gate_id: str, below_c: float) -> None:
    """Wait until it may be touched, and note what it truly was."""
    while True:
        bay.cool_below(below_c - COOLER_K)
        told = bay.told()
        bay.stop_if_told(told, but=("too-hot-to-open",))
        if bay.gate(told, gate_id) in ("open", "not told"):
            break
        bay.pass_time(600, waiting=True)
    bay.vehicle.truth.opened_at_c.append(bay.vehicle.temperature_c)


def drain(bay: Bay) -> None:
    """The plug or the pan: look at the first 100 mL, catch the rest, weigh it."""
    _opening(bay, "gate-open", 60)
    if bay.scenario.fault == "wrong_plug":
        bay.vehicle.truth.wrong_plug = True
        if bay.chance.random() < WRONG_OIL_SEEN:
            raise StoppedError("wrong plug")
        bay.drained_15 = 4.3
        bay.moved("out", 4.3)
        bay.read()
        bay.confirm()
        return
    bay.vehicle.sealed = False
    if bay.tools.looks_milky():
        bay.write("bench_checked", bench={"colour": "milky"})
        raise StoppedError("coolant")
    out = bay.vehicle.circuit.drain(sump=bay.chance.uniform(0.8, 0.93))
    dripped_l = bay.chance.uniform(0.02, 0.12)
    bay.pass_time(1500)
    bay.drained_15 = out.litres - dripped_l
    bay.moved("out", bay.drained_15)
    bay.write("fluid_moved", direction="lost", volume={"value": 0.07, "unit": "L"})
    if bay.scenario.fault == "leak":
        bay.vehicle.truth.leaks_ml_per_min = bay.scenario.leak_ml_per_min
    bay.vehicle.sealed = True
    bay.read()
    bay.confirm()


def refill(bay: Bay) -> None:
    """Scan the label, compare it, put back what came out."""
    wrong = bay.scenario.fault == "wrong_fluid"
    opened = bay.phones.write("fluid_opened", fluid_kind=WRONG if wrong else AS_PLANNED)
    told = bay.told()
    stopped = [f for f in (told or {}).get("blocking", []) if f["severity"] == "stop"]
    if wrong and (stopped or (told is None and bay.chance.random() < LABEL_COMPARED)):
        bay.phones.write("correction", corrects=opened["event_id"],
                         reason="Wrong drum; it was not filled in.")  # fmt: skip
        bay.phones.write("fluid_opened", fluid_kind=AS_PLANNED)
        wrong = False
    else:
        bay.stop_if_told(told)
    bay.vehicle.fill(bay.drained_15, foreign=wrong)
    bay.pass_time(240)
    bay.moved("in", bay.drained_15)
    bay.confirm()


def mix(bay: Bay) -> None:
    """Start and hold every selector position."""
    _start(bay)
    bay.pass_time(600)
    bay.read()
    bay.confirm()


def _start(bay: Bay) -> None:
    """The lamp tells of an engine without oil."""
    if bay.vehicle.truth.wrong_plug and bay.chance.random() < OIL_LAMP_SEEN:
        raise StoppedError("oil lamp")
    bay.engine = True


def connect_lines(bay: Bay) -> None:
    """Cold, in loop; two vessels tell which line delivers."""
    _opening(bay, "gate-connect", 45)
    if bay.vehicle.reversed_lines and bay.chance.random() < DELIVERS_SEEN:
        bay.vehicle.reversed_lines = False
    bay.pass_time(600)
    bay.read()
    bay.confirm()


def _line_c(bay: Bay) -> float | None:
    """What the line waits for, null where it flows cold."""
    gates = [step["gate"] for step in bay.plan["steps"] if step["gate"]]
    gate = next(gate for gate in gates if gate["gate_id"] == "gate-line")
    waits = gate["low"] and gate["bypass"] in ("in_case", "in_line", "unknown")
    return float(gate["low"]["value"]) if waits else None


def warm_up(bay: Bay) -> None:
    """Idle until the line gate may open."""
    _start(bay)
    low_c = _line_c(bay)
    if low_c is not None:
        bay.warm_to(low_c + WARMER_K)
    else:
        bay.pass_time(60)
    bay.confirm()


def line_exchange(bay: Bay) -> None:
    """Some litres at a time while the gate stays open; the plan's litres, then stop."""
    left_l, low_c = float(bay.step["quantity"]["value"]), _line_c(bay)
    while left_l > 0.05:
        _until_open(bay, low_c)
        left_l -= _feed(bay, min(MOST_AT_ONCE_L, left_l), low_c)
    bay.engine = False
    bay.confirm()


def _until_open(bay: Bay, low_c: float | None) -> None:
    """Heat first, then 20 s of flow in loop; no flow ends the work."""
    bay.engine = True
    if low_c is not None and bay.tools.scan_c(bay.elapsed_s) < low_c + 3:
        bay.warm_to(low_c + WARMER_K)
    for _ in range(7):
        bay.read()
        if bay.read_flow() < 0.8:
            _no_flow(bay)
        bay.pass_time(4)
    bay.read()
    bay.read_flow()
    told = bay.told()
    bay.stop_if_told(told)
    if bay.gate(told, "gate-line") not in ("open", "not told"):
        raise StoppedError("line gate")


def _no_flow(bay: Bay) -> None:
    """Try the feed for a moment, then engine off."""
    bay.pass_time(5)
    bay.read()
    bay.read_flow(feeding=True)
    if bay.vehicle.reversed_lines:
        bay.vehicle.truth.starved_s += 7
    bay.told()
    raise StoppedError("no flow")


def _feed(bay: Bay, litres: float, low_c: float | None) -> float:
    """Feed while it stays hot enough; meters show equal litres, what they pass differs."""
    vehicle, s, done_l, in_l = bay.vehicle, bay.scenario, 0.0, 0.0
    out_c = vehicle.temperature_c
    ratio = s.waste_meter / s.fresh_meter * (1 + bay.chance.gauss(0, 0.01))
    while done_l < litres - 0.01:
        part_l = min(PORTION_L, litres - done_l)
        seconds = 60 * part_l / max(vehicle.line_flow_l_per_min(), 0.8)
        vehicle.circuit.exchange(part_l, Pool(part_l * ratio, fresh=part_l * ratio), steps=20)
        vehicle.feed_cold(part_l * ratio, s.ambient_c)
        bay.tick(seconds)
        done_l, in_l = done_l + part_l, in_l + part_l * ratio
        shown_c = bay.read()
        if bay.read_flow() < 0.8 or (low_c is not None and shown_c < low_c + 1):
            break
    bay.moved("in", in_l, at_c=s.ambient_c)
    bay.moved("out", done_l, at_c=out_c)
    return done_l


def cool_down(bay: Bay) -> None:
    """Below what may be opened, and below the level window."""
    bay.cool_below(bay.scenario.unit.window_c[0])
    bay.confirm()


def disconnect_lines(bay: Bay) -> None:
    """Cool, relieved; a little stays in the hoses."""
    _opening(bay, "gate-disconnect", 60)
    lost = bay.vehicle.circuit.line[0].take(0.08) if bay.vehicle.circuit.line else None
    bay.pass_time(480)
    if lost is not None:
        bay.write("fluid_moved", direction="lost", volume={"value": 0.08, "unit": "L"})
    bay.read()
    bay.confirm()


def leak_check(bay: Bay) -> None:
    """Dried, idled, looked at again; a leak is sealed and the level set once more."""
    bay.engine = True
    bay.pass_time(300)
    _look_for_leaks(bay, 5)


def _look_for_leaks(bay: Bay, minutes: float) -> None:
    while bay.tools.leak_seen(minutes):
        bay.phones.write("leak_checked", result="leak")
        if not bay.scenario.repairs:
            raise StoppedError("leak")
        bay.engine = False
        bay.pass_time(1200)
        bay.vehicle.truth.leaks_ml_per_min = 0.0
        before = bay.step
        bay.step = next(step for step in bay.plan["steps"] if step["kind"] == "set_level")
        set_level(bay)
        bay.step = before
        bay.engine = True
        bay.pass_time(300)
    bay.phones.write("leak_checked", result="dry")


def test_drive(bay: Bay) -> None:
    """Through all gears; a level far off is felt more often than not; then the second look."""
    bay.engine = True
    bay.vehicle.runs(900, settles_c=bay.scenario.settles_c + 4)
    bay.tick(900)
    felt = abs(bay.vehicle.level_error_l()) > 1 and bay.chance.random() < 0.7
    bay.phones.write("test_drive", result="complaint" if felt else "ok",
                     distance={"value": 9, "unit": "km"})  # fmt: skip
    bay.phones.write("fault_codes_read", when="after")
    if felt:
        raise StoppedError("complaint")
    _look_for_leaks(bay, 15)
    bay.engine = False


def hand_over(bay: Bay) -> None:
    """Ask once more, then say that the bay is finished."""
    told = bay.told()
    bay.stop_if_told(told, but=("work-not-finished",))
    bay.phones.write("work_finished")
    bay.confirm()


STEPS: dict[str, Callable[[Bay], None]] = {
    "arrival_check": arrival_check,
    "raise_vehicle": raise_vehicle,
    "prove_fill_opening": prove_fill_opening,
    "drain": drain,
    "pan_and_filter": drain,
    "refill": refill,
    "mix": mix,
    "connect_lines": connect_lines,
    "warm_up": warm_up,
    "line_exchange": line_exchange,
    "cool_down": cool_down,
    "disconnect_lines": disconnect_lines,
    "set_level": set_level,
    "leak_check": leak_check,
    "test_drive": test_drive,
    "hand_over": hand_over,
}
"""Every step that these plans have."""
