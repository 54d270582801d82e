"""Setting the level as a technician does: in the window, rising, look, correct, look again."""

from typing import Any

from examples.simulated_bay.bay import Bay, StoppedError

LOOKS, ATTEMPTS = 7, 4
NOTHING_ADDED = 0.5
"""How often who stops short leaves it as it was seen."""


def set_level(bay: Bay) -> None:
    """Until a look says that it is right; out of the window it is closed, cooled, begun again.

    Who stops short leaves it at the first look, or does not look at what he has added.
    """
    bay.vehicle.truth.level_seen = False
    for _ in range(ATTEMPTS):
        _into_window(bay)
        for _ in range(LOOKS):
            shown_c = bay.read()
            if bay.sensor_doubted(shown_c) or shown_c > bay.scenario.unit.window_c[1] - 0.5:
                break
            if _looked(bay, shown_c):
                bay.vehicle.truth.level_seen = True
                return
            if bay.scenario.fault == "level_short":
                return
    raise StoppedError("level")


def _into_window(bay: Bay) -> None:
    """Below the window or into it from below, engine running; then half a minute of readings."""
    low_c, high_c = bay.scenario.unit.window_c
    if bay.read() > low_c + 4:
        if bay.scenario.unit.stick and bay.read() < high_c - 3:
            bay.engine = True
        else:
            bay.cool_below(low_c)
    bay.warm_to(low_c + 1, every_s=20)
    _readings(bay)


def _readings(bay: Bay) -> None:
    for _ in range(8):
        bay.pass_time(5)
        bay.read()


def _looked(bay: Bay, shown_c: float) -> bool:
    """One look, and what follows from it; whether the level is set."""
    look: dict[str, Any] = {
        "temperature": {"value": shown_c, "unit": "Cel"},
        "engine_running": bay.engine,
        "slope": {"value": bay.tools.slope(), "unit": "deg"},
    }
    if bay.scenario.unit.stick:
        return _by_stick(bay, look)
    bay.opens()
    ran_l = bay.vehicle.open_plug(10)
    bay.tick(10)
    seen = bay.tools.stream(ran_l, 10)
    shown_c = bay.read()
    look["temperature"] = {"value": shown_c, "unit": "Cel"}
    bay.write("level_checked", method="overflow_plug", observed=seen, **look)
    if look["slope"]["value"] > 0.5:
        return _stand_level(bay)
    if seen == "drip":
        return True
    if _stops_short(bay):
        return False
    if seen == "nothing":
        _add(bay, _correction_l(bay, 0.3))
        return False
    return _let_run(bay, ran_l, look)


def _stops_short(bay: Bay) -> bool:
    return bay.scenario.fault == "level_short" and bay.chance.random() < NOTHING_ADDED


def _stand_level(bay: Bay) -> bool:
    """The phone says that it leans: close, put it level, look again."""
    bay.vehicle.slope_deg = abs(bay.chance.gauss(0, 0.1))
    bay.pass_time(20)
    _readings(bay)
    return False


def _correction_l(bay: Bay, usual_l: float) -> float:
    """What guidance says, else the step of the card."""
    told = bay.told()
    bay.stop_if_told(told, but=("level-not-set", "test-drive-missing", "leak-not-checked"))
    said = (told or {}).get("level_correction")
    if not said or said["litres"] is None:
        return usual_l
    litres = float(said["litres"]["value"])
    return -litres if said["what"] == "remove" else litres


def _add(bay: Bay, litres: float) -> None:
    """Add at 15 degC; two who do not speak with one another may both do it."""
    if litres < 0.01:
        raise StoppedError("no room for more")
    twice = bay.scenario.fault == "two_technicians" and bay.chance.random() < 0.3
    for _ in range(2 if twice else 1):
        bay.vehicle.fill(litres)
        bay.moved("in", litres)
    bay.pass_time(20)
    _readings(bay)


def _let_run(bay: Bay, already_l: float, look: dict[str, Any]) -> bool:
    """The plug stays open until it drips: what came is weighed, and the drip is the last look."""
    out_l, seen = already_l, "stream"
    for _ in range(30):
        ran_l = bay.vehicle.open_plug(10)
        bay.tick(10)
        out_l += ran_l
        shown_c = bay.read()
        seen = bay.tools.stream(ran_l, 10)
        if seen in ("drip", "nothing"):
            break
    bay.moved("out", 0.97 * out_l)
    ran_l = bay.vehicle.open_plug(10)
    bay.tick(10)
    seen, shown_c = bay.tools.stream(ran_l, 10), bay.read()
    if seen != "drip" or shown_c > bay.scenario.unit.window_c[1]:
        return False
    look["temperature"] = {"value": shown_c, "unit": "Cel"}
    bay.write("level_checked", method="overflow_plug", observed=seen, **look)
    return True


def _by_stick(bay: Bay, look: dict[str, Any]) -> bool:
    """A stick of which 10 mm are 0.4 L."""
    level = bay.scenario.unit.profile["level"]
    height = bay.tools.stick_mm()
    reading = {
        "height": {"value": height, "unit": "mm"},
        "low_mark": level["low_mark"],
        "high_mark": level["high_mark"],
        "between_marks": level["between_marks"],
    }
    bay.write("level_checked", method="dipstick", reading=reading, **look)
    if look["slope"]["value"] > 0.5:
        return _stand_level(bay)
    if 10 <= height <= 20:
        return True
    if _stops_short(bay):
        return False
    litres = _correction_l(bay, (15 - height) * 0.04)
    if litres > 0:
        _add(bay, litres)
    else:
        bay.vehicle.circuit.sump.take(-litres)
        bay.moved("out", -litres)
        bay.pass_time(20)
        _readings(bay)
    return False
