"""No gate is open above 110 degC: the engine goes off, it cools, and the cause is looked for."""

from libexchange import gate_findings as kinds
from libexchange.gate_outcome import Outcome

STOP_C = 110.0
"""Engine off and look for the cause above this, whoever allows more [degC] (common practice)."""


def unless_overheated(outcome: Outcome) -> Outcome:
    """The same outcome, but shut and told where the fluid that decided is above 110 degC.

    Source: common practice.

    >>> from libexchange.readings import Sample
    >>> hot = Outcome("open", text="It flows.", sample=Sample(0.0, "scan_tool", 115.0))
    >>> unless_overheated(hot).state
    'closed'
    """
    now = outcome.sample
    if now is None or now.value <= STOP_C:
        return outcome
    text, values = f"It was at {now.value:.1f} °C.", {"temperature_c": now.value}
    found = kinds.OVERHEATED.at("#/readings", text, values=values)
    if outcome.state != "open":
        return outcome._replace(remarks=(found, *outcome.remarks))
    beside = (outcome.finding,) if outcome.finding else ()
    return Outcome("closed", found, outcome.opens, sample=now, remarks=(*beside, *outcome.remarks))
