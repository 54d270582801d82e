"""Rules on which routes the unit itself leaves open: plugs, pan, lines, bypass, family."""

from collections.abc import Callable

from libexchange.catalogue import Known
from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, Finding, Kind, Rule, Severity
from libexchange.plan.idling import may_not_idle
from libexchange.plan.request import Route
from libexchange.plan.routes import LINE_ROUTES, OPEN_LINE_ROUTES, PAN_ROUTES, PLUG_ROUTES
from libexchange.rules.facts import RouteFacts, line_work_described, transmission_pointer

NO_DRAIN_PLUG = Kind(
    code="drain-plug-missing",
    severity="stop",
    title="There is no drain plug to drain by",
    remedy="Drain with the pan off.",
    source=MAKER_DATA,
)
DRAIN_PLUG_UNKNOWN = Kind(
    code="drain-plug-unknown",
    severity="caution",
    title="It is not known whether there is a drain plug",
    remedy="Look in the maker's data or on the unit, and complete the catalogue entry.",
    source=MAKER_DATA,
)
PAN_NOT_REMOVABLE = Kind(
    code="pan-not-removable",
    severity="stop",
    title="The pan does not come off",
    remedy="Choose a route without the pan.",
    source=MAKER_DATA,
)
PAN_UNKNOWN = Kind(
    code="pan-removability-unknown",
    severity="caution",
    title="It is not known whether the pan comes off",
    remedy="Look in the maker's data or on the unit, and complete the catalogue entry.",
    source=MAKER_DATA,
)
NO_EXTERNAL_LINES = Kind(
    code="no-external-cooler-lines",
    severity="stop",
    title="There are no cooler lines with fluid in them to work through",
    remedy="Choose a drain route; hoses at an exchanger on the case carry coolant and stay shut.",
    source=COMMON_PRACTICE,
)
LINES_UNKNOWN = Kind(
    code="cooler-lines-unknown",
    severity="caution",
    title="It is not known whether there are cooler lines to work through",
    remedy="Look in the maker's data or on the unit, and complete the catalogue entry.",
    source=MAKER_DATA,
)
LINES_NOT_DESCRIBED = Kind(
    code="line-exchange-not-described",
    severity="stop",
    title="A dual clutch or CVT is not exchanged through its lines unless its maker describes it",
    remedy="Choose drain or pan and filter, or enter the maker's own procedure in the catalogue.",
    source=COMMON_PRACTICE,
)
BATCHES_NOT_DESCRIBED = Kind(
    code="line-batches-not-described",
    severity="stop",
    title="Pumping out by the lines in batches starves the lubrication",
    remedy="Only where the maker describes it, at most 2 L and 30 s a batch, and never on a dual "
    "clutch, CVT or power-split unit; else choose drain or pan and filter.",
    source=COMMON_PRACTICE,
)
FILL_TUBE_TOO_SHORT = Kind(
    code="fill-tube-not-reaching-sump",
    severity="stop",
    title="No probe gets to the pan floor through a fill tube",
    remedy="Choose drain or pan and filter; a probe that is forced may break off.",
    source=MAKER_DATA,
)
FILL_TUBE_UNKNOWN = Kind(
    code="fill-tube-unknown",
    severity="caution",
    title="It is not known whether a probe gets to the pan floor through the fill tube",
    remedy="Look for a bend, sieve or lock in the maker's data or on the unit; complete the entry.",
    source=MAKER_DATA,
)
SUCTION_IN_SENSITIVE = Kind(
    code="suction-in-dual-clutch-or-cvt",
    severity="caution",
    title="Suction leaves the most and the dirtiest fluid where belt and clutches suffer from it",
    remedy="Prefer drain or pan and filter.",
    source=COMMON_PRACTICE,
)
ENGINE_DOES_NOT_IDLE = Kind(
    code="engine-does-not-idle",
    severity="stop",
    title="The engine cannot be kept idling for a line exchange",
    remedy="Choose a drain route unless the maker describes a service state that keeps it on.",
    source=COMMON_PRACTICE,
)
UNKNOWN_FLUID = Kind(
    code="unknown-fluid-in-unit",
    severity="stop",
    title="It is not known which fluid is in the unit",
    remedy="Pan and filter, keep a sample, check again; nothing through the lines, no additive.",
    source=COMMON_PRACTICE,
)
BYPASS_OPENING_UNKNOWN = Kind(
    code="bypass-opening-unknown",
    severity="caution",
    title="It is not known at which temperature the thermostatic bypass opens",
    remedy="Take it from the maker's data; until then only measured flow opens the gate.",
    source=MAKER_DATA,
)
BYPASS_IN_LINE = Kind(
    code="bypass-in-the-line",
    severity="caution",
    title="A bypass in the line loops the fluid before the cooler",
    remedy="Open the line between transmission and bypass.",
    source=COMMON_PRACTICE,
)
TARGET_NOT_REACHED = Kind(
    code="target-not-reached",
    severity="note",
    title="The route does not reach the target share",
    remedy="Choose another route or a second visit, or accept the share that it reaches.",
    source="computed from the profile",
)


def _needs(
    kind: Kind, routes: frozenset[Route], field: str, bad: Known
) -> Callable[[RouteFacts], list[Finding]]:
    """A check of what the unit has: found on these routes when the field says `bad`."""

    def check(facts: RouteFacts) -> list[Finding]:
        has: object = facts.plan.transmission
        for name in field.split("/"):
            has = getattr(has, name)
        if facts.route not in routes or has != bad:
            return []
        return [kind.at(transmission_pointer(facts.plan, field), f"{kind.title}.")]

    return check


def line_exchange_not_described(facts: RouteFacts) -> list[Finding]:
    """Dual clutches and CVTs only by the maker's own description, and then with care."""
    if facts.route not in LINE_ROUTES or not _sensitive(facts):
        return []
    described = line_work_described(facts)
    severity: Severity = "caution" if described == "yes" else "stop"
    message = f"{_DESCRIBED[described]} a line exchange."
    pointer = transmission_pointer(facts.plan, "line_exchange_in_maker_procedure")
    return [LINES_NOT_DESCRIBED.at(pointer, message, severity=severity)]


def line_batches_not_described(facts: RouteFacts) -> list[Finding]:
    """Batches only by the maker's own description, and then with care; some families never."""
    if facts.route != "line_batches":
        return []
    described = line_work_described(facts)
    allowed = described == "yes" and not _sensitive(facts)
    pointer = transmission_pointer(facts.plan, "line_batches_in_maker_procedure")
    family = facts.plan.transmission.family.replace("_", " ")
    message = (
        f"Batches are never for the family {family}."
        if _sensitive(facts)
        else f"{_DESCRIBED[described]} line batches."
    )
    severity: Severity = "caution" if allowed else "stop"
    return [BATCHES_NOT_DESCRIBED.at(pointer, message, severity=severity)]


def suction_in_sensitive_unit(facts: RouteFacts) -> list[Finding]:
    """Dual clutches and CVTs are better drained than sucked out."""
    if facts.route != "suction" or not _sensitive(facts):
        return []
    pointer = transmission_pointer(facts.plan, "family")
    family = facts.plan.transmission.family.replace("_", " ")
    return [SUCTION_IN_SENSITIVE.at(pointer, f"Family: {family}.")]


def _sensitive(facts: RouteFacts) -> bool:
    """Whether belt, pulsing clutch cooling or power split make work through the lines delicate."""
    return facts.plan.transmission.family.startswith(("wet_dual_clutch", "cvt_", "power_split"))


def engine_does_not_idle(facts: RouteFacts) -> list[Finding]:
    """A line exchange runs on the engine's idle."""
    transmission = facts.plan.transmission
    idles = transmission.engine_idles_on_command
    if facts.route not in OPEN_LINE_ROUTES or not may_not_idle(transmission):
        return []
    pointer = transmission_pointer(facts.plan, "engine_idles_on_command")
    return [ENGINE_DOES_NOT_IDLE.at(pointer, f"The engine idles on command: {idles}.")]


def unknown_fluid_in_unit(facts: RouteFacts) -> list[Finding]:
    """Unknown fluid is not pushed around."""
    unknown = facts.plan.request.reason == "unknown_fluid"
    if facts.route not in OPEN_LINE_ROUTES or not unknown:
        return []
    return [UNKNOWN_FLUID.at("#/reason", "The fluid in the unit is not known.")]


def bypass_opening_unknown(facts: RouteFacts) -> list[Finding]:
    """A bypass whose opening is unknown cannot be waited for by temperature."""
    cooler = facts.plan.transmission.cooler
    waits = cooler.bypass in ("in_case", "in_line", "unknown")
    if facts.route not in OPEN_LINE_ROUTES or not waits or cooler.bypass_opens is not None:
        return []
    pointer = transmission_pointer(facts.plan, "cooler/bypass_opens")
    return [BYPASS_OPENING_UNKNOWN.at(pointer, f"Bypass: {cooler.bypass}, opening not known.")]


def bypass_in_the_line(facts: RouteFacts) -> list[Finding]:
    """Opened on the wrong side of an in-line bypass, old fluid loops past the open end."""
    if facts.route not in OPEN_LINE_ROUTES or facts.plan.transmission.cooler.bypass != "in_line":
        return []
    pointer = transmission_pointer(facts.plan, "cooler/bypass")
    return [BYPASS_IN_LINE.at(pointer, "The bypass sits in the line.")]


def target_not_reached(facts: RouteFacts) -> list[Finding]:
    """A route that stays below the target says by how much."""
    target, outcome = facts.plan.target_share, facts.outcome
    if target is None or outcome is None or outcome.fresh_share >= target - 1e-9:
        return []
    message = f"Reaches {outcome.fresh_share:.2f} with {outcome.litres:.1f} L; wanted {target:.2f}."
    values = {"fresh_share": outcome.fresh_share, "target_fresh_share": target}
    severity: Severity = "caution" if facts.plan.request.reason == "wrong_fluid" else "note"
    pointer = "#/target_fresh_share"
    return [TARGET_NOT_REACHED.at(pointer, message, values=values, severity=severity)]


_DESCRIBED: dict[Known, str] = {
    "yes": "The maker describes",
    "no": "The maker does not describe",
    "unknown": "It is not known whether the maker describes",
}
_SUCTION: frozenset[Route] = frozenset({"suction"})

RULES: tuple[Rule[RouteFacts], ...] = (
    Rule(kind=NO_DRAIN_PLUG, check=_needs(NO_DRAIN_PLUG, PLUG_ROUTES, "drain_plug", "no")),
    Rule(
        kind=DRAIN_PLUG_UNKNOWN,
        check=_needs(DRAIN_PLUG_UNKNOWN, PLUG_ROUTES, "drain_plug", "unknown"),
    ),
    Rule(
        kind=PAN_NOT_REMOVABLE, check=_needs(PAN_NOT_REMOVABLE, PAN_ROUTES, "pan_removable", "no")
    ),
    Rule(kind=PAN_UNKNOWN, check=_needs(PAN_UNKNOWN, PAN_ROUTES, "pan_removable", "unknown")),
    Rule(
        kind=FILL_TUBE_TOO_SHORT,
        check=_needs(FILL_TUBE_TOO_SHORT, _SUCTION, "fill_tube_reaches_sump", "no"),
    ),
    Rule(
        kind=FILL_TUBE_UNKNOWN,
        check=_needs(FILL_TUBE_UNKNOWN, _SUCTION, "fill_tube_reaches_sump", "unknown"),
    ),
    Rule(kind=SUCTION_IN_SENSITIVE, check=suction_in_sensitive_unit),
    Rule(
        kind=NO_EXTERNAL_LINES,
        check=_needs(NO_EXTERNAL_LINES, OPEN_LINE_ROUTES, "cooler/external_lines", "no"),
    ),
    Rule(
        kind=LINES_UNKNOWN,
        check=_needs(LINES_UNKNOWN, OPEN_LINE_ROUTES, "cooler/external_lines", "unknown"),
    ),
    Rule(kind=LINES_NOT_DESCRIBED, check=line_exchange_not_described),
    Rule(kind=BATCHES_NOT_DESCRIBED, check=line_batches_not_described),
    Rule(kind=ENGINE_DOES_NOT_IDLE, check=engine_does_not_idle),
    Rule(kind=UNKNOWN_FLUID, check=unknown_fluid_in_unit),
    Rule(kind=BYPASS_OPENING_UNKNOWN, check=bypass_opening_unknown),
    Rule(kind=BYPASS_IN_LINE, check=bypass_in_the_line),
    Rule(kind=TARGET_NOT_REACHED, check=target_not_reached),
)
"""The rules on access, in the order they are reported."""
