"""The bay of one job: vehicle, tools and phones on one clock, and the plan that is worked."""

from datetime import timedelta
from random import Random
from typing import Any

from examples.simulated_bay.instruments import Instruments
from examples.simulated_bay.phone import Phones
from examples.simulated_bay.scenario import Scenario
from examples.simulated_bay.vehicle import Vehicle

HOT_C = 60.0
"""Above this nothing is opened."""

SHOWN_OTHERWISE = ("set_level", "leak_check", "test_drive", "hand_over")
"""Steps whose confirmation nobody misses."""

SEEN_ALONE = frozenset({"coolant", "leak", "foreign fluid", "opened hot", "reversed line"})
"""What only the one who sees and records it can tell; the rest shows in litres and in what is
missing."""


class StoppedError(Exception):
    """The technician does not go on; the vehicle is made safe and nobody calls it finished."""


class Bay:
    """What happens is done to the vehicle first, then seen by a tool, then written down."""

    def __init__(
        self, scenario: Scenario, plan: dict[str, Any], phones: Phones, chance: Random
    ) -> None:
        self.scenario = scenario
        self.plan = plan
        self.phones = phones
        self.chance = chance
        self.vehicle = Vehicle(scenario)
        self.tools = Instruments(self.vehicle, chance)
        self.began = phones.now
        self.step: dict[str, Any] = plan["steps"][0]
        self.waited_s = 0.0
        self.drained_15 = 0.0
        self.engine = False
        self.told_of: set[str] = set()
        self.hid: set[str] = set()
        self.opened_hot = False
        self._shown_c = 0.0

    @property
    def careful(self) -> bool:
        """Whether the technician stops where he must."""
        return self.scenario.conduct == "careful"

    @property
    def hides(self) -> bool:
        """Whether he neither measures nor records what is wrong."""
        return self.scenario.conduct == "hides"

    @property
    def elapsed_s(self) -> float:
        """Since the job began."""
        return (self.phones.now - self.began).total_seconds()

    def pass_time(self, seconds: float, *, waiting: bool = False) -> None:
        """The clock goes on, with the engine as it is."""
        if self.engine:
            self.vehicle.runs(seconds)
        else:
            self.vehicle.stands(seconds)
        self.tick(seconds)
        self.waited_s += seconds if waiting else 0.0

    def tick(self, seconds: float) -> None:
        """The clock goes on; the vehicle was moved on already."""
        self.tools.follow(seconds)
        self.phones.now += timedelta(seconds=seconds)

    # what is written down

    def write(self, kind: str, **members: Any) -> dict[str, Any]:
        """An event of this step."""
        return self.phones.write(kind, step_id=self.step["step_id"], **members)

    def read(self) -> float:
        """The scan tool, written down by itself; what it shows."""
        self._shown_c = shown_c = self.tools.scan_c(self.elapsed_s)
        self.phones.write(
            "reading",
            phone=0 if self.scenario.fault == "two_technicians" else None,
            source="scan_tool",
            temperature={"value": shown_c, "unit": "Cel"},
            engine_running=self.engine,
        )
        return shown_c

    def read_flow(self, *, feeding: bool = False) -> float:
        """Meter and gauge of the line; the flow."""
        flow = round(self.vehicle.line_flow_l_per_min(), 2) if self.engine else 0.0
        self.phones.write(
            "reading",
            source="in_line",
            flow={"value": flow, "unit": "L/min"},
            pressure={"value": self.vehicle.feed_pressure_bar(feeding=feeding), "unit": "bar"},
        )
        return flow

    def moved(self, direction: str, litres_15: float, *, at_c: float | None = None) -> None:
        """Fluid weighed on a scale, or metered at a temperature."""
        if at_c is None:
            mass = {"value": self.tools.weighed_kg(litres_15), "unit": "kg"}
            self.write("fluid_moved", direction=direction, mass=mass)
            return
        s = self.scenario
        factor = s.fresh_meter if direction == "in" else s.waste_meter
        volume = {"value": self.tools.metered_l(litres_15, at_c, factor), "unit": "L"}
        shown = {"value": round(at_c), "unit": "Cel"}
        self.write("fluid_moved", direction=direction, volume=volume, temperature=shown)

    def confirm(self) -> None:
        """The step is done; one in a job may be forgotten."""
        if self.scenario.fault == "step_not_confirmed":
            steps = [one for one in self.plan["steps"] if one["kind"] not in SHOWN_OTHERWISE]
            if self.step is steps[self.scenario.fault_after_step % len(steps)]:
                return
        self.write("step_confirmed")

    def opens(self) -> None:
        """Plug, pan or lines are opened at what the fluid truly has; told where it was read hot."""
        truth, true_c = self.vehicle.truth, self.vehicle.temperature_c
        truth.opened_at_c.append(true_c)
        truth.leaks_looked_for = False
        if true_c > HOT_C and self._shown_c >= HOT_C and not self.hides:
            self.told_of.add("opened hot")

    def untold(self, unsafe: list[str]) -> list[str]:
        """What of it nobody has measured and recorded, so that no service can know of it."""
        told = [name for name in unsafe if name not in SEEN_ALONE or name in self.told_of]
        if "leak" in unsafe and "leak" not in self.told_of:
            told = [name for name in told if name != "level"]  # it ran out after the last look
        return [name for name in unsafe if name not in told or name in self.hid]

    # what the service says

    def online(self) -> bool:
        """Whether there is a signal just now."""
        return self.chance.random() >= self.scenario.offline

    def told(self) -> dict[str, Any] | None:
        """Send and ask; nothing without a signal or while a dead phone keeps the service behind."""
        if not self.online():
            return None
        self.phones.send()
        told = self.phones.guidance()
        behind = self.phones.held and told["next_step"] != self.step
        return None if behind else told

    def stop_if_told(self, told: dict[str, Any] | None, *, but: tuple[str, ...] = ()) -> None:
        """A stop that guidance names is obeyed, or not; one for what was forgotten is made good."""
        if not self.careful:
            return
        if self.phones.late and (told or {}).get("blocking"):
            self.phones.catch_up()
            told = self.told()
        for finding in (told or {}).get("blocking", []):
            if finding["severity"] == "stop" and finding["code"] not in but:
                raise StoppedError(finding["code"])

    def gate(self, told: dict[str, Any] | None, gate_id: str) -> str:
        """The state of a gate, as told."""
        gates = (told or {}).get("gates", [])
        return next((g["state"] for g in gates if g["gate_id"] == gate_id), "not told")

    # heat

    def sensor_doubted(self, shown_c: float) -> bool:
        """The pan is hotter than the sensor says, which no pan is; a loose plug can be mended."""
        if self.tools.infrared_c() <= shown_c + 3:
            return False
        if not self.scenario.repairs:
            raise StoppedError("sensor")
        self.tools.mend_sensor()
        return True

    def cool_below(self, limit_c: float, *, longest_s: float = 8 * 3600) -> None:
        """Engine off and wait; an infrared look guards against a sensor that stands still."""
        self.engine = False
        until_s = self.elapsed_s + longest_s
        while self.read() >= limit_c or self.sensor_doubted(self.tools.scan_c(self.elapsed_s)):
            if self.elapsed_s > until_s:
                raise StoppedError("does not cool")
            self.pass_time(900, waiting=True)

    def warm_to(self, wanted_c: float, *, every_s: float = 60, longest_s: float = 7200) -> float:
        """Engine on until the scan tool shows so much; what it shows."""
        self.engine = True
        until_s, shown_c = self.elapsed_s + longest_s, self.read()
        while shown_c < wanted_c:
            if self.elapsed_s > until_s:
                raise StoppedError("does not warm up")
            self.pass_time(every_s, waiting=True)
            shown_c = self.read()
            if self.sensor_doubted(shown_c):
                shown_c = self.read()
        return shown_c
