"""Invented plans, and the events of a bay that works through them."""

from datetime import UTC, datetime, timedelta
from itertools import takewhile
from typing import Any
from uuid import UUID

from msgspec.structs import replace

from libexchange import invented
from libexchange.catalogue import Additive
from libexchange.job.events import (
    Arrived,
    CautionAcknowledged,
    DeviceEvent,
    Event,
    FaultCodesRead,
    FluidMoved,
    FluidOpened,
    JobEvent,
    LeakChecked,
    LevelChecked,
    ReadingTaken,
    Started,
    StepConfirmed,
    TestDriven,
    WorkFinished,
)
from libexchange.plan.cautions import carries_high_voltage
from libexchange.plan.planning import make_plan
from libexchange.plan.records import Plan, StepKind
from libexchange.quantities import Flow, Mass, Temperature

START = datetime(2026, 3, 4, 8, 0, tzinfo=UTC)
BEFORE: tuple[StepKind, ...] = (
    "arrival_check", "raise_vehicle", "prove_fill_opening", "cool_down", "level_before_drive",
)  # fmt: skip
KG_PER_L = 0.85


def plan_for(
    *,
    profile: dict[str, Any] | None = None,
    cleaner: Additive | None = None,
    conditioner: Additive | None = None,
    **request: Any,
) -> Plan:
    """A plan of the invented six-speed.

    `profile` changes fields of the transmission, `request` fields of the routine request.
    """
    if cleaner is not None:
        request["cleaner_id"] = cleaner.additive_id
    if conditioner is not None:
        request["conditioner_id"] = conditioner.additive_id
    transmission = replace(invented.six_speed(), **(profile or {}))
    asked = replace(invented.routine_request(), transmission=transmission, **request)
    return make_plan(
        request=asked,
        transmission=transmission,
        fluid=invented.red_fluid(),
        plan_id=UUID(int=1),
        created_at=asked.requested_at,
        cleaner=cleaner,
        conditioner=conditioner,
    )


def celsius(value: float) -> Temperature:
    return Temperature(value, "Cel")


def litres(value: float) -> Mass:
    """So many litres at 15 degC, weighed."""
    return Mass(value * KG_PER_L, "kg")


class Bay:
    """One device that records what happens, a minute after each other unless told otherwise."""

    def __init__(
        self, plan: Plan, device_id: str = "invented-phone", *, first_id: int = 1000
    ) -> None:
        self.plan = plan
        self.first_id = first_id
        self.device_id = device_id
        self.now = START
        self.events: list[DeviceEvent] = []

    def step(self, kind: StepKind) -> str:
        return next(step.step_id for step in self.plan.steps if step.kind == kind)

    def add(self, kind: type[Event], *, after_s: float = 60, **fields: Any) -> JobEvent:
        self.now += timedelta(seconds=after_s)
        number = len(self.events)
        event: Any = kind(
            event_id=UUID(int=self.first_id + number),
            occurred_at=self.now,
            sequence=number,
            **fields,
        )
        self.events.append(DeviceEvent(device_id=self.device_id, event=event))
        return event  # type: ignore[no-any-return]  # built as the kind that was asked for

    def confirm(self, *kinds: StepKind) -> None:
        for step in self.plan.steps:
            if step.kind in kinds:
                self.add(StepConfirmed, step_id=step.step_id)

    def confirm_open(self, *kinds: StepKind) -> None:
        """Confirm steps, each with a reading before it that opens its gate."""
        for step in self.plan.steps:
            if step.kind in kinds:
                self.open_gate(step.kind)
                self.add(StepConfirmed, after_s=3, step_id=step.step_id)

    def open_gate(self, kind: StepKind) -> None:
        """Readings that open the gate of a step; sources that say nothing about the level's."""
        if kind in ("drain", "pan_and_filter", "connect_lines", "disconnect_lines"):
            self.add(ReadingTaken, source="clamp_on", temperature=celsius(25))
        elif kind == "line_exchange":
            for _ in range(6):
                self.add(ReadingTaken, after_s=5, source="in_line", temperature=celsius(84),
                         flow=Flow(1.5, "L/min"))  # fmt: skip
        elif kind == "set_level":
            self.read(38.0, 38.2, 38.4, 38.6)

    def move(
        self, direction: str, amount_l: float, kind: StepKind | None = None, after_s: float = 60
    ) -> None:
        step_id = self.step(kind) if kind else None
        self.add(FluidMoved, after_s=after_s, direction=direction, mass=litres(amount_l),
                 step_id=step_id)  # fmt: skip

    def read(self, *temperatures_c: float, every_s: float = 5, flow: float | None = None) -> None:
        for value in temperatures_c:
            seen = Flow(flow, "L/min") if flow is not None else None
            self.add(ReadingTaken, after_s=every_s, source="scan_tool",
                     temperature=celsius(value), flow=seen)  # fmt: skip

    def look(self, observed: str, temperature_c: float = 39, **fields: Any) -> None:
        """A look; the scan tool is read before it where nobody has just read anything."""
        after_s = fields.pop("after_s", 60)
        read = [e.event.occurred_at for e in self.events if isinstance(e.event, ReadingTaken)]
        if not read or (self.now - read[-1]).total_seconds() + after_s > 60:
            self.add(ReadingTaken, after_s=after_s - 1, source="scan_tool",
                     temperature=celsius(temperature_c))  # fmt: skip
            after_s = 1
        self.add(LevelChecked, after_s=after_s, method="overflow_plug", observed=observed,
                 temperature=celsius(temperature_c),
                 **{"engine_running": True, **fields})  # fmt: skip

    def acknowledge_all(self) -> None:
        for finding in self.plan.findings:
            if finding.severity == "caution":
                self.add(CautionAcknowledged, code=finding.code, by="invented foreman",
                         reason="looked at on the lift")  # fmt: skip
        if carries_high_voltage(self.plan):
            self.add(CautionAcknowledged, code="high-voltage", by="invented electrician",
                     reason="works on it", qualification="invented course 2")  # fmt: skip

    def arrive(self) -> None:
        """Everything before the first draining; a level that was off is right at once."""
        self.add(Arrived, drive="ok")
        for step in takewhile(lambda step: step.kind in BEFORE, self.plan.steps):
            if step.kind == "level_before_drive":
                self.open_gate("set_level")
                self.look("drip", step_id=step.step_id)
            self.add(StepConfirmed, step_id=step.step_id)

    def work_to_level(self, *, lacking_l: float = 0.0) -> None:
        """Everything up to the level plug; `lacking_l` of the refill is left for it."""
        card = self.plan.offline_card
        assert card is not None
        assert card.refill is not None
        self.add(Started)
        self.acknowledge_all()
        self.arrive()
        self.add(FaultCodesRead, when="before")
        self.add(FluidOpened, fluid_id="invented-red-fluid", fluid_kind="invented-red-six")
        opened: StepKind = "drain" if self.plan.route == "drain" else "pan_and_filter"
        self.open_gate(opened)
        self.move("out", card.refill.l, opened)
        self.confirm_open(opened)
        self.move("in", card.refill.l - lacking_l, "refill")
        self.confirm_open("refill", "mix", "connect_lines", "warm_up")
        if card.exchange:
            self.open_gate("line_exchange")
            self.move("in", card.exchange.l, "line_exchange", after_s=3)
            self.move("out", card.exchange.l, "line_exchange")
        self.confirm("line_exchange")
        late = [s for s in self.plan.steps if s.kind == "cool_down"][-1:]
        for step in late:
            self.add(StepConfirmed, step_id=step.step_id)
        self.confirm_open("disconnect_lines")

    def work_after_level(self) -> None:
        self.confirm_open("set_level")
        self.add(LeakChecked, result="dry")
        self.confirm("leak_check")
        self.add(TestDriven, result="ok")
        self.add(FaultCodesRead, when="after")
        self.confirm("test_drive", "hand_over")
        self.add(WorkFinished)

    def whole_job(self) -> "Bay":
        self.work_to_level()
        self.look("drip")
        self.work_after_level()
        return self
