"""The steps at the cooler lines: connect cold, warm up, exchange hot; and what they share."""

from examples.simulated_bay.bay import Bay, StoppedError
from examples.simulated_bay.conduct import starve
from examples.simulated_bay.fluid_physics import Pool
from examples.simulated_bay.instruments import DELIVERS_SEEN, OIL_LAMP_SEEN

COOLER_K = 5
"""The technician keeps this far below what may be touched, since his sensor may be off [K]."""

WARMER_K = 7
"""So far above its gate a line is warmed first, since cold fluid will cool it [K]."""

MOST_AT_ONCE_L, PORTION_L = 2.5, 0.4


def open_when_cool(bay: Bay, gate_id: str, below_c: float) -> None:
    """Wait until it may be touched, and note what it truly was; one in a hurry does not wait."""
    if bay.scenario.fault == "hot_opening" and not bay.opened_hot:
        bay.opened_hot, bay.engine = True, False
        if not bay.hides:
            bay.read()
        bay.opens()
        return
    while True:
        bay.cool_below(below_c - COOLER_K)
        told = bay.told()
        bay.stop_if_told(told, but=("too-hot-to-open",))
        if bay.gate(told, gate_id) in ("open", "not told"):
            break
        bay.pass_time(600, waiting=True)
    bay.opens()


def start_engine(bay: Bay) -> None:
    """The lamp tells of an engine without oil."""
    if bay.careful and bay.vehicle.truth.wrong_plug and bay.chance.random() < OIL_LAMP_SEEN:
        raise StoppedError("oil lamp")
    bay.engine = True


def connect_lines(bay: Bay) -> None:
    """Cold, in loop; two vessels tell which line delivers."""
    open_when_cool(bay, "gate-connect", 45)
    looks = bay.vehicle.reversed_lines and bay.careful
    if looks and bay.chance.random() < DELIVERS_SEEN:
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
    start_engine(bay)
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
    """Heat first, then 20 s of flow in loop; without flow it is begun anew, or ends the work."""
    bay.engine = True
    if low_c is not None and bay.tools.scan_c(bay.elapsed_s) < low_c + 3:
        bay.warm_to(low_c + WARMER_K)
    for _ in range(7):
        bay.read()
        if bay.read_flow() < 0.8:
            _no_flow(bay)
            _until_open(bay, low_c)
            return
        bay.pass_time(4)
    bay.read()
    bay.read_flow()
    told = bay.told()
    bay.stop_if_told(told)
    if bay.gate(told, "gate-line") not in ("open", "not told"):
        raise StoppedError("line gate")


def _no_flow(bay: Bay) -> None:
    """Try the feed for a moment, then engine off."""
    if bay.vehicle.reversed_lines and not bay.careful:
        starve(bay)
        return
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
