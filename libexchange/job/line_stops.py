"""What a line gate itself stops: the feed that was not stopped, and the state that still lasts."""

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from libexchange.findings import Finding
from libexchange.gate_findings import FLOW_TOO_LOW
from libexchange.gate_outcome import GateAnswer
from libexchange.job.events import ReadingTaken
from libexchange.job.gates import gate_at
from libexchange.job.history import History
from libexchange.job.line_gate import Fed
from libexchange.job.open_now import LINES, OpenNow
from libexchange.plan.records import Plan


def fed_against_stop(fed: Iterable[Fed]) -> list[Finding]:
    """The stops of a line gate through which fluid was fed all the same, each once.

    A flow that has ceased stops nothing here: the litres before it are told after it.
    Source: common practice.

    >>> fed_against_stop([])
    []
    """
    told: dict[str, Finding] = {}
    for one in fed:
        for found in _stops(one.gate):
            told.setdefault(found.code, replace(found, pointer="#/line_exchange"))
    return list(told.values())


def stop_lasts(plan: Plan, history: History, now: OpenNow) -> bool:
    """Whether a line gate said stop at the last reading, and the lines are still open.

    Source: common practice.
    """
    readings = history.of(ReadingTaken)
    if not readings or not ("lines" in now.open or now.feeding):
        return False
    gates = {
        step.gate.gate_id: step.gate for step in plan.steps if step.kind in LINES and step.gate
    }
    at = readings[-1].occurred_at
    answers = (gate_at(plan, gate, history=history, at=at) for gate in gates.values())
    return any(any(_stops(answer)) for answer in answers)


def _stops(answer: GateAnswer) -> Iterator[Finding]:
    for found in answer.findings:
        if found.severity == "stop" and found.code != FLOW_TOO_LOW.code:
            yield found
