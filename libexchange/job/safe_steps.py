"""What makes a vehicle safe: each thing to do, in words, with the usual cautions."""

from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from libexchange.plan.cautions import with_texts
from libexchange.plan.records import Caution
from libexchange.quantities import Volume

Action = Literal[
    "leave_off_and_tow", "close_for_tow", "stop_the_feed", "find_out_what_is_in",
    "close_and_refill", "draw_off", "disconnect_lines", "close_fill_opening", "repair_leak",
    "set_level", "look_for_leaks", "drive_and_read_codes", "release_look", "nothing_open",
]  # fmt: skip

WORDS: dict[Action, str] = {
    "leave_off_and_tow": "Do not start and do not refill: coolant or another fluid may be in the "
    "unit, or its own has run out. Tag wheel and key, keep a sample, tow.",
    "close_for_tow": "Close what is open with new seals, tightened as the maker says, before it is "
    "towed, and put nothing in: ",
    "draw_off": "Do not start: too much fluid is in and foams. Draw it off down to what belongs "
    "in, then set the level.",
    "stop_the_feed": "Engine off, feed off; look at hoses and vessels. Wait until the lines are "
    "without pressure; hot fluid: protection. Then close the loop, and look at the level before "
    "the exchange goes on.",
    "find_out_what_is_in": "Do not start: tag wheel and key. Find out by weight what came out and "
    "went in.",
    "close_and_refill": "Do not start: tag wheel and key. Close what is open with new seals, as "
    "the maker says, and put back what came out with the right fluid, below the temperature at "
    "which it burns. Nobody is inside a raised vehicle.",
    "disconnect_lines": "Engine off. Disconnect the lines below 60 °C or by couplings that "
    "close, and connect them as they were.",
    "close_fill_opening": "Close the fill opening with a new seal, tightened as the maker says.",
    "repair_leak": "Engine off: fluid on hot exhaust burns. Repair the leak, put back what ran "
    "out, then set the level again.",
    "set_level": "Set the level in the maker's temperature window before the vehicle is driven.",
    "look_for_leaks": "Dry the area, idle at working temperature and look for leaks.",
    "drive_and_read_codes": "Drive gently through all gears and reverse, then read fault codes.",
    "release_look": "Made safe. Look at it once more with whoever takes it over; a tag stays where "
    "it may not run.",
    "nothing_open": "Nothing is open. Go on with the next step, or hand over as the plan says.",
}


CAUTIONS: dict[Action, tuple[str, ...]] = {
    "leave_off_and_tow": ("do-not-start", "used-oil-skin"),
    "close_for_tow": ("do-not-start", "hot-fluid", "lifting"),
    "draw_off": ("do-not-start", "hot-fluid", "used-oil-skin"),
    "stop_the_feed": ("hot-fluid", "lines-under-pressure", "slippery-floor"),
    "find_out_what_is_in": ("do-not-start",),
    "close_and_refill": ("do-not-start", "hot-fluid", "lifting"),
    "disconnect_lines": ("hot-fluid", "lines-under-pressure"),
    "close_fill_opening": ("hot-fluid",),
    "repair_leak": ("fire", "hot-fluid", "lifting"),
    "set_level": ("hot-fluid", "wheels-turn", "exhaust-gas"),
    "look_for_leaks": ("fire", "rotating-parts", "exhaust-gas"),
    "drive_and_read_codes": (),
    "release_look": (),
    "nothing_open": (),
}
"""The usual cautions at each of these, by code; at most three."""

NO_HIGH_VOLTAGE: frozenset[Action] = frozenset(
    {"find_out_what_is_in", "close_fill_opening", "release_look", "nothing_open"}
)
"""What neither starts, opens, lifts nor moves the vehicle."""


class SafeStep(Struct, frozen=True, kw_only=True):
    """One thing to do to make the vehicle safe from here; the maker's own procedure comes first.

    action: what to do    text: in words    quantity: to put in or draw off, else null
    cautions: at most three
    """

    action: Action
    text: str
    quantity: Volume | None
    cautions: tuple[Caution, ...]


def safe_step(action: Action, quantity: Volume | None = None) -> SafeStep:
    """One of them; `quantity` is what is put in or drawn off.

    >>> [caution.code for caution in safe_step("close_fill_opening").cautions]
    ['hot-fluid']
    """
    cautions = with_texts(CAUTIONS[action], high_voltage=False)
    return SafeStep(action=action, text=WORDS[action], quantity=quantity, cautions=cautions)


def at_high_voltage(step: SafeStep) -> SafeStep:
    """The same at a vehicle that carries high voltage, with the caution of that where it applies.

    >>> [caution.code for caution in at_high_voltage(safe_step("repair_leak")).cautions]
    ['fire', 'hot-and-raised', 'high-voltage']
    """
    warns = step.action not in NO_HIGH_VOLTAGE
    return replace(step, cautions=with_texts(CAUTIONS[step.action], high_voltage=warns))
