"""What a technician does at each step of a plan, going by what he sees and is told, or not."""

from collections.abc import Callable

from examples.simulated_bay.bay import Bay, StoppedError
from examples.simulated_bay.conduct import open_again, withdrawn
from examples.simulated_bay.instruments import WRONG_OIL_SEEN
from examples.simulated_bay.level_setting import set_level
from examples.simulated_bay.line_steps import (
    connect_lines,
    line_exchange,
    open_when_cool,
    start_engine,
    warm_up,
)

AS_PLANNED, WRONG = "invented-red-six", "invented-amber-clutch"
CLEAN = {"colour": "brown", "smell": "normal", "debris": "grey_paste", "crackle": "silent",
         "glycol_strip": "negative"}  # fmt: skip
LABEL_COMPARED = 0.9
"""How often a label is compared with the card where nobody can be asked."""

SAID_NOT_FILLED = 0.5
"""How often who filled a wrong fluid in says that it was set aside, in place of a slip."""


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
    bench = CLEAN | {
        "colour": "milky" if milky else "brown",
        "crackle": "large_bubbles" if crackles else "silent",
        "glycol_strip": "positive" if strip else "negative",
    }
    if strip or crackles or milky:
        _coolant(bay, bench)
    else:
        bay.write("bench_checked", bench=bench)
        bay.stop_if_told(bay.told())
    bay.confirm()


def _coolant(bay: Bay, bench: dict[str, str]) -> None:
    """Coolant was seen: it is recorded and ends the work, or does not."""
    if bay.hides:
        return
    seen = bay.write("bench_checked", bench=bench)
    bay.told_of.add("coolant")
    bay.stop_if_told(bay.told())
    if bay.careful:
        raise StoppedError("coolant")
    if bay.scenario.conduct == "withdraws":
        bay.tick(120)
        withdrawn(bay, seen)
        bay.tick(60)
        bay.write("bench_checked", bench=CLEAN)


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


def drain(bay: Bay) -> None:
    """The plug or the pan: look at the first 100 mL, catch the rest, weigh it."""
    open_when_cool(bay, "gate-open", 60)
    if bay.scenario.fault == "wrong_plug":
        bay.vehicle.truth.wrong_plug = True
        if bay.careful and bay.chance.random() < WRONG_OIL_SEEN:
            raise StoppedError("wrong plug")
        bay.drained_15 = 4.3
        bay.moved("out", 4.3)
        bay.read()
        bay.confirm()
        return
    bay.vehicle.sealed = False
    if bay.tools.looks_milky():
        _coolant(bay, {"colour": "milky"})
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
    if wrong and not bay.careful:
        _wrong_fluid_filled(bay)
        return
    opened = bay.phones.write("fluid_opened", fluid_kind=WRONG if wrong else AS_PLANNED)
    if wrong:
        bay.told_of.add("foreign fluid")
    told = bay.told()
    stopped = [f for f in (told or {}).get("blocking", []) if f["severity"] == "stop"]
    if wrong and (stopped or (told is None and bay.chance.random() < LABEL_COMPARED)):
        bay.phones.write("fluid_set_aside", opened=opened["event_id"], became="not_filled",
                         by="Invented Person")  # fmt: skip
        bay.phones.write("fluid_opened", fluid_kind=AS_PLANNED)
        wrong = False
    else:
        bay.stop_if_told(told)
    _filled(bay, foreign=wrong)
    bay.confirm()


def _filled(bay: Bay, *, foreign: bool) -> None:
    """As much as came out; less by who stops short."""
    short_l = bay.scenario.short_l if bay.scenario.fault == "level_short" else 0.0
    litres = bay.drained_15 - short_l
    bay.vehicle.fill(litres, foreign=foreign)
    bay.pass_time(240)
    bay.moved("in", litres)


def _wrong_fluid_filled(bay: Bay) -> None:
    """Its label is scanned, and it is filled in all the same; or another label is scanned."""
    opened = bay.phones.write("fluid_opened", fluid_kind=AS_PLANNED if bay.hides else WRONG)
    if not bay.hides:
        bay.told_of.add("foreign fluid")
    _filled(bay, foreign=True)
    if bay.scenario.conduct == "withdraws":
        bay.tick(60)
        if bay.chance.random() < SAID_NOT_FILLED:
            bay.phones.write("fluid_set_aside", opened=opened["event_id"], became="not_filled",
                             by="Invented Person")  # fmt: skip
        else:
            withdrawn(bay, opened)
        bay.tick(60)
        bay.phones.write("fluid_opened", fluid_kind=AS_PLANNED)
    bay.confirm()


def mix(bay: Bay) -> None:
    """Start and hold every selector position."""
    start_engine(bay)
    bay.pass_time(600)
    bay.read()
    bay.confirm()


def cool_down(bay: Bay) -> None:
    """Below what may be opened, and below the level window."""
    bay.cool_below(bay.scenario.unit.window_c[0])
    bay.confirm()


def disconnect_lines(bay: Bay) -> None:
    """Cool, relieved; a little stays in the hoses."""
    open_when_cool(bay, "gate-disconnect", 60)
    lost = bay.vehicle.circuit.line[0].take(0.08) if bay.vehicle.circuit.line else None
    bay.pass_time(480)
    if lost is not None:
        bay.write("fluid_moved", direction="lost", volume={"value": 0.08, "unit": "L"})
    bay.read()
    bay.confirm()


def level(bay: Bay) -> None:
    """Set it; one confirms it without a look, one looks for leaks before it and not after."""
    fault = bay.scenario.fault
    if fault == "level_skipped":
        bay.confirm()
        return
    if fault == "leak_before_level":
        bay.engine = True
        bay.pass_time(300)
        _look_for_leaks(bay, 5)
    set_level(bay)


def leak_check(bay: Bay) -> None:
    """Dried, idled, looked at again; a leak is sealed and the level set once more."""
    if bay.scenario.fault == "leak_before_level":
        return
    bay.engine = True
    bay.pass_time(300)
    _look_for_leaks(bay, 5)


def _look_for_leaks(bay: Bay, minutes: float) -> None:
    bay.vehicle.truth.leaks_looked_for = True
    while bay.tools.leak_seen(minutes):
        if not bay.careful:
            _leak_left(bay)
            return
        bay.phones.write("leak_checked", result="leak")
        bay.told_of.add("leak")
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
        bay.vehicle.truth.leaks_looked_for = True
    bay.phones.write("leak_checked", result="dry")


def _leak_left(bay: Bay) -> None:
    """It drips, and stays as it is; who hides it writes that it is dry."""
    if bay.hides:
        bay.phones.write("leak_checked", result="dry")
        return
    seen = bay.phones.write("leak_checked", result="leak")
    bay.told_of.add("leak")
    if bay.scenario.conduct == "withdraws":
        bay.tick(60)
        withdrawn(bay, seen)
        bay.tick(60)
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
    if felt and bay.careful:
        raise StoppedError("complaint")
    bay.pass_time(300)
    if bay.scenario.fault != "leak_before_level":
        _look_for_leaks(bay, 15)
    bay.engine = False


def hand_over(bay: Bay) -> None:
    """Ask once more, then say that the bay is finished; one has opened the pan again before."""
    if bay.scenario.fault == "opened_again":
        open_again(bay)
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
    "set_level": level,
    "leak_check": leak_check,
    "test_drive": test_drive,
    "hand_over": hand_over,
}
"""Every step that these plans have."""
