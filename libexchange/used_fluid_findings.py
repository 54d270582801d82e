"""What used fluid can show: the rulings a check can make, and the finding codes of `used_fluid`."""

from typing import Literal, NamedTuple

from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind, Severity, Value

Decision = Literal[
    "proceed",
    "proceed_gently",
    "exchange_and_repeat",
    "stop_mechanical",
    "stop_foreign_fluid",
    "stop_coolant",
]
"""What the fluid allows, from the best to the worst.

proceed_gently: drain, or pan and filter only, then check again
exchange_and_repeat: renew the fluid, then repeat checks and exchange
stop_...: no exchange; diagnose the unit, identify the fluid, or repair the leak first
"""

DECISIONS: tuple[Decision, ...] = (
    "proceed", "proceed_gently", "exchange_and_repeat",
    "stop_mechanical", "stop_foreign_fluid", "stop_coolant",
)  # fmt: skip
"""Every decision, from the best to the worst: the last two stops are never overridden."""

OPERATOR_MANUAL = "fluid analysis table of a heavy-duty automatic transmission operator manual"


class Ruling(NamedTuple):
    """What one check decides and why."""

    decision: Decision
    finding: Finding


def ruling(kind: Kind, decision: Decision, pointer: str, message: str, **values: Value) -> Ruling:
    """A ruling whose finding is as grave as its decision.

    >>> ruling(BURNT, "proceed_gently", "#/bench/smell", "It smells burnt.").finding.severity
    'caution'
    """
    severity = severity_of(decision)
    return Ruling(decision, kind.at(pointer, message, values=values, severity=severity))


def severity_of(decision: Decision) -> Severity:
    """How grave a decision is.

    >>> severity_of("stop_coolant"), severity_of("proceed")
    ('stop', 'note')
    """
    if decision == "proceed":
        return "note"
    return "stop" if decision.startswith("stop") else "caution"


def worst_decision(rulings: list[Ruling]) -> Decision:
    """The worst decision of several rulings; proceed when there are none.

    >>> worst_decision([])
    'proceed'
    """
    return max((one.decision for one in rulings), key=DECISIONS.index, default="proceed")


def _kind(
    code: str, decision: Decision, title: str, remedy: str, source: str = COMMON_PRACTICE
) -> Kind:
    """A kind as grave as the worst decision it usually leads to."""
    severity = severity_of(decision)
    return Kind(code=code, severity=severity, title=title, remedy=remedy, source=source)


DARK = _kind(
    "used-fluid-black",
    "proceed_gently",
    "The used fluid is black",
    "Go in small steps: drain, or pan and filter, and check again after 500 to 1,500 km.",
)
MILKY = _kind(
    "used-fluid-milky",
    "stop_coolant",
    "The used fluid is milky",
    "Let it stand until any air has left it. If it stays milky there is water in it: do not "
    "exchange, refill or run; tag, tow and find the leak.",
)
VARNISH = _kind(
    "used-fluid-smells-of-varnish",
    "proceed",
    "The used fluid smells of varnish",
    "Note it; the fluid has begun to oxidise and is due.",
)
BURNT = _kind(
    "used-fluid-smells-burnt",
    "proceed_gently",
    "The used fluid smells burnt",
    "Drain, or pan and filter only, and check again after 500 to 1,500 km.",
)
BURNT_AND_SLIPPING = _kind(
    "burnt-fluid-in-slipping-unit",
    "stop_mechanical",
    "The used fluid is burnt and the unit slips",
    "Offer a diagnosis, not an exchange: the exchange would be blamed for the failure.",
)
SLIPPING = _kind(
    "unit-slips",
    "proceed_gently",
    "The unit slips or flares",
    "Read fault codes first; no more than a drain, or pan and filter, until the cause is known.",
)
WITHOUT_DRIVE = _kind(
    "unit-without-drive",
    "stop_mechanical",
    "The unit does not drive",
    "Diagnose first; fresh fluid does not repair a unit that does not drive.",
)
FOREIGN_SMELL = _kind(
    "used-fluid-smells-foreign",
    "stop_foreign_fluid",
    "The used fluid smells of fuel or gear oil",
    "Find out what was filled in, and whether the unit ran on it, before anything else.",
)
GLITTER = _kind(
    "metal-glitter",
    "proceed_gently",
    "Thin metal glitter in the used fluid",
    "Send a sample to a laboratory and check again after 500 to 1,500 km.",
)
SOLIDS = _kind(
    "solid-debris",
    "stop_mechanical",
    "Flakes, brass-coloured metal or lining material in the used fluid",
    "Offer a diagnosis, not an exchange.",
)
CRACKLE = _kind(
    "crackle-test-shows-water",
    "stop_coolant",
    "The used fluid crackles on the hot plate",
    "Confirm by Karl Fischer titration (ASTM D6304) and look for the leak; solvents crackle too.",
)
GLYCOL_STRIP = _kind(
    "glycol-strip-positive",
    "stop_coolant",
    "The strip shows glycol",
    "Compare with unused fluid and have it confirmed (ASTM D4291). Until then do not exchange, "
    "refill or run; check the coolant side too.",
    "ASTM D2982; coolant contamination in a heavy-duty automatic transmission operator manual",
)
BLOTTER = _kind(
    "blotter-looks-suspect",
    "proceed",
    "The blotter spot is not even",
    "Keep the photo and send a sample to a laboratory; a spot decides nothing by itself.",
    "ASTM D7899 in scope only, it is made for engine oil; common practice",
)
INCOMPLETE = _kind(
    "bench-checks-incomplete",
    "proceed",
    "Not every bench check was made",
    "Look, smell, hold a magnet to it and do the crackle and glycol tests before the work begins.",
)
THINNER = _kind(
    "fluid-thinner-than-new",
    "exchange_and_repeat",
    "The used fluid is thinner than new",
    "Sheared or thinned: rule out fuel and a wrong fluid, then renew it.",
    f"{OPERATOR_MANUAL}; the smaller limits from memory",
)
THICKER = _kind(
    "fluid-thicker-than-new",
    "exchange_and_repeat",
    "The used fluid is thicker than new",
    "Oxidised: renew it and repeat after 500 to 2,000 km.",
    f"{OPERATOR_MANUAL}; the smaller limits from memory",
)
ACID = _kind(
    "acid-number-risen",
    "exchange_and_repeat",
    "The acid number has risen",
    "Oxidised: renew it and repeat after 500 to 2,000 km.",
    f"{OPERATOR_MANUAL}; the smaller limits from memory",
)
WATER = _kind(
    "water-content-high",
    "stop_coolant",
    "There is water in the sample",
    "Test for glycol and find out where the water comes from before the fluid is renewed.",
    f"{OPERATOR_MANUAL} for heavy units; the others from memory",
)
GLYCOL = _kind(
    "glycol-in-sample",
    "stop_coolant",
    "There is glycol in the sample",
    "Do not exchange, refill or run: tag and tow. Repair the leak and follow the maker's advice "
    "on stripping, inspecting and cleaning the unit.",
    "coolant contamination in a heavy-duty automatic transmission operator manual",
)
WEAR_METAL = _kind(
    "wear-metal-high",
    "stop_mechanical",
    "Much wear metal in the sample",
    "Diagnose the unit; compare with the trend, for makers give no universal limit.",
    MEMORY,
)
SILICON = _kind(
    "silicon-high",
    "exchange_and_repeat",
    "Much silicon in the sample",
    "Look where dust enters; early in life it can be sealant.",
    MEMORY,
)
COOLANT_METAL = _kind(
    "coolant-metal-high",
    "stop_coolant",
    "Much sodium or potassium in the sample",
    "Test for glycol: both come with coolant.",
    MEMORY,
)
UNCLEAN = _kind(
    "fluid-not-clean",
    "exchange_and_repeat",
    "Many particles in the sample",
    "Renew fluid and filter and count again after 500 to 2,000 km.",
    MEMORY,
)
COUNTS_UPSIDE_DOWN = _kind(
    "particle-counts-not-cumulative",
    "proceed",
    "More large particles than small and large ones together",
    "Check the order of the three counts: each counts its size and everything larger.",
    "ISO 4406",
)
LATE = _kind(
    "laboratory-result-after-work",
    "exchange_and_repeat",
    "The laboratory would have decided otherwise than the bench",
    "Tell the customer and have the vehicle back for what the laboratory's findings ask for.",
)
KINDS = (
    DARK, MILKY, VARNISH, BURNT, BURNT_AND_SLIPPING, SLIPPING, WITHOUT_DRIVE, FOREIGN_SMELL,
    GLITTER, SOLIDS, CRACKLE, GLYCOL_STRIP, BLOTTER, INCOMPLETE, THINNER, THICKER, ACID, WATER,
    GLYCOL, WEAR_METAL, SILICON, COOLANT_METAL, UNCLEAN, COUNTS_UPSIDE_DOWN, LATE,
)  # fmt: skip
"""Every finding code of used fluid."""
