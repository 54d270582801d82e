"""What a technician does who goes on where he must not; the vehicle takes it as it comes."""

from typing import Any

from examples.simulated_bay.bay import Bay

PERSON = "Invented Person"
SLIP = "A slip."

SIGNED, AGREES_WITH_HIMSELF = 0.7, 0.4
"""How often a withdrawal bears a name, and how often the same person checks it too."""

OUT_AGAIN_L = 2.5
FED_L = 0.2
"""What the feed presses into lines that are the wrong way round."""


def withdrawn(bay: Bay, event: dict[str, Any]) -> None:
    """What was seen and recorded is taken back by the one who saw it."""
    told: dict[str, Any] = {"corrects": event["event_id"], "reason": SLIP}
    if bay.chance.random() < SIGNED:
        told["by"] = PERSON
    bay.phones.write("correction", **told)
    if bay.chance.random() < AGREES_WITH_HIMSELF:
        bay.tick(60)
        bay.phones.write("second_check", by=PERSON, checked="correction", result="agreed")


def starve(bay: Bay) -> None:
    """The engine runs on although nothing returns, until it is understood; then lines are changed.

    Meter and gauge are written down all the while, and the litres fed, by all but who hides it.
    """
    began_s, lasts_s = bay.elapsed_s, bay.chance.uniform(15, 40)
    while bay.elapsed_s - began_s < lasts_s:
        bay.pass_time(4)
        if not bay.hides:
            bay.read()
            bay.read_flow(feeding=True)
            bay.told_of.add("reversed line")
    bay.vehicle.truth.starved_s += bay.elapsed_s - began_s
    fed_l = FED_L if bay.chance.random() < 0.5 else 0.0
    if fed_l and not bay.hides:
        bay.vehicle.fill(fed_l)
        bay.moved("in", fed_l, at_c=bay.scenario.ambient_c)
    bay.cool_below(40)
    bay.opens()
    bay.vehicle.reversed_lines = False
    bay.pass_time(600)


def open_again(bay: Bay) -> None:
    """The pan comes off once more after all checks, and as much goes back as came out."""
    bay.cool_below(55)
    before, truth = bay.step, bay.vehicle.truth
    bay.step = next(s for s in bay.plan["steps"] if s["kind"] in ("drain", "pan_and_filter"))
    bay.opens()
    truth.level_seen = False
    taken = bay.vehicle.circuit.sump.take(OUT_AGAIN_L)
    bay.pass_time(1200)
    bay.vehicle.circuit.sump.pour(taken)
    if bay.hides:
        bay.hid.update(bay.vehicle.unchecked())
    else:
        bay.moved("out", taken.litres)
        bay.pass_time(60)
        bay.moved("in", taken.litres)
    bay.step = before
