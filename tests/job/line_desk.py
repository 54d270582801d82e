"""A bay at its line exchange, and what guidance says stands in the way."""

from datetime import timedelta

from libexchange.bench_checks import BenchChecks
from libexchange.job.events import Arrived, BenchChecked, ReadingTaken, Started
from libexchange.job.gates_now import GateNow
from libexchange.job.guidance import Guidance, guidance
from libexchange.plan.records import StepKind
from libexchange.quantities import Flow, Pressure
from tests.job.plans import Bay, celsius, plan_for

PLAN = plan_for()
BEFORE: tuple[StepKind, ...] = (
    "arrival_check", "raise_vehicle", "prove_fill_opening", "pan_and_filter", "refill",
    "connect_lines", "warm_up",
)  # fmt: skip
EXCHANGE_L = PLAN.offline_card.exchange.l if PLAN.offline_card and PLAN.offline_card.exchange else 0


def now(bay: Bay, *, after_s: float = 0, **asked: bool) -> Guidance:
    return guidance(bay.plan, bay.events, bay.now + timedelta(seconds=after_s), **asked)


def told(found: Guidance) -> list[tuple[str, str]]:
    return [(finding.code, finding.severity) for finding in found.blocking]


def stops(found: Guidance) -> list[str]:
    return [code for code, severity in told(found) if severity == "stop"]


def gate(found: Guidance, gate_id: str) -> GateNow:
    return next(one for one in found.gates if one.gate_id == gate_id)


def at_the_lines(*, without: StepKind | None = None) -> Bay:
    bay = Bay(PLAN)
    bay.add(Started)
    bay.add(Arrived, drive="ok")
    bay.confirm_open(*(kind for kind in BEFORE if kind != without))
    return bay


def feed(bay: Bay, litres: float = 0.5) -> Bay:
    bay.open_gate("line_exchange")
    bay.move("in", litres, "line_exchange", after_s=2)
    bay.move("out", litres, "line_exchange", after_s=1)
    return bay


def in_line(bay: Bay, *temperatures_c: float, flow: float = 0.9, bar: float | None = None) -> Bay:
    for value in temperatures_c:
        bay.add(ReadingTaken, after_s=4, source="in_line" if flow >= 0.8 else "scan_tool",
                temperature=celsius(value), flow=Flow(flow, "L/min"),
                pressure=None if bar is None else Pressure(bar, "bar"))  # fmt: skip
    return bay


def milky(bay: Bay, *, after_s: float = 60) -> None:
    bay.add(BenchChecked, after_s=after_s, bench=BenchChecks(colour="milky"))
