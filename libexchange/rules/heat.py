"""Rules on whether heat gets to where a route needs it."""

from libexchange.findings import Finding, Kind, Rule, Severity, Value
from libexchange.gate_findings import BYPASS_UNUSUAL, USUAL_BYPASS_C
from libexchange.gate_heat import STOP_C
from libexchange.plan.heat import AMBIENT_C, line_gate_c, warm_up_to
from libexchange.plan.routes import OPEN_LINE_ROUTES
from libexchange.rules.facts import RouteFacts, transmission_pointer
from libexchange.warmup_findings import MAY_NOT_GET_THERE, WILL_NOT_GET_THERE

FEW, MOST = 0.05, 0.95
"""Fewer typical units than this do not get there, more than that do [-]."""


def bypass_temperature_unusual(facts: RouteFacts) -> list[Finding]:
    """A line gate above where every gate is shut never opens; one that is only unusual may."""
    gate_c, (least_c, most_c) = line_gate_c(facts.plan.transmission), USUAL_BYPASS_C
    if gate_c is None or facts.route not in OPEN_LINE_ROUTES or least_c <= gate_c <= most_c:
        return []
    text = f"It waits for {gate_c:g} °C; usual is {least_c:g} to {most_c:g} °C."
    severity: Severity = "stop" if gate_c > STOP_C else "caution"
    pointer = transmission_pointer(facts.plan, "cooler/bypass_opens")
    return [BYPASS_UNUSUAL.at(pointer, text, values={"low_c": gate_c}, severity=severity)]


def will_not_open_at_idle(facts: RouteFacts) -> list[Finding]:
    """A bypass that idling does not open keeps the line shut; a hint, since it rests on priors."""
    part = _reached(facts)
    if part is None or part >= FEW:
        return []
    return [_told(WILL_NOT_GET_THERE, facts, part)]


def may_not_open_at_idle(facts: RouteFacts) -> list[Finding]:
    """Where some typical units get there and some do not, a road warm-up is kept ready."""
    part = _reached(facts)
    if part is None or not FEW <= part < MOST:
        return []
    return [_told(MAY_NOT_GET_THERE, facts, part)]


def _reached(facts: RouteFacts) -> float | None:
    """The part of typical units whose line gate opens at idle; None where nothing can be told."""
    gate_c = line_gate_c(facts.plan.transmission)
    if gate_c is None or facts.route not in OPEN_LINE_ROUTES:
        return None
    found = warm_up_to(facts.plan.transmission, gate_c)
    return found.reached if found else None


def _told(kind: Kind, facts: RouteFacts, part: float) -> Finding:
    gate_c = line_gate_c(facts.plan.transmission)
    text = (
        f"Idling from {AMBIENT_C:g} °C, {round(100 * part)} of 100 typical cars without a coolant "
        f"exchanger reach {gate_c:g} °C; in the others the bypass stays shut at idle."
    )
    values: dict[str, Value] = {"from_c": AMBIENT_C, "needed_c": gate_c, "reached": round(part, 3)}
    pointer = transmission_pointer(facts.plan, "cooler/bypass_opens")
    return kind.at(pointer, text, values=values, severity="note")


RULES: tuple[Rule[RouteFacts], ...] = (
    Rule(kind=BYPASS_UNUSUAL, check=bypass_temperature_unusual),
    Rule(kind=WILL_NOT_GET_THERE, check=will_not_open_at_idle),
    Rule(kind=MAY_NOT_GET_THERE, check=may_not_open_at_idle),
)
"""The rules on heat, in the order they are reported."""
