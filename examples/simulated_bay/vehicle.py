"""An invented vehicle in the bay: what is true of it, whether anybody sees it or not."""

from dataclasses import dataclass, field
from math import exp

from examples.simulated_bay.fluid_physics import (
    ALPHA_PER_K,
    CASE_PER_K,
    Circuit,
    Pool,
    at_15,
    circuit_of,
    grown,
)
from examples.simulated_bay.scenario import Scenario

PUMP_L_PER_MIN = 4.0
"""What goes round inside at idle."""

WEIR_S = 20.0
"""What stands above an open plug runs out with this time constant."""

SLOPE_L_PER_L_DEG = 0.24 / 9
"""Litres that a degree of slope is worth, by the litre of fill."""

SHUT_L_PER_MIN = 0.12
"""What a shut bypass or a blocked cooler lets through."""


@dataclass
class Truth:
    """What counts against the vehicle at the end, beside its litres.

    level_seen: the last look showed it right, and nothing was moved since
    leaks_looked_for: since something was opened last
    """

    opened_at_c: list[float] = field(default_factory=list)
    starved_s: float = 0.0
    wrong_plug: bool = False
    leaks_ml_per_min: float = 0.0
    level_seen: bool = False
    leaks_looked_for: bool = False


class Vehicle:
    """Fluid, heat and level of one unit; time runs only by `runs` and `stands`."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self.circuit: Circuit = circuit_of(
            scenario.parts, kappa=scenario.kappa, returned=scenario.returned
        )
        self.circuit.sump.litres += scenario.level_on_arrival_l
        self.right_l = sum(scenario.parts.values())
        self.temperature_c = scenario.arrival_c
        self.reversed_lines = scenario.fault == "reversed_lines"
        self.sealed = True
        self.truth = Truth()
        self.slope_deg = scenario.slope_deg

    # heat: one lump; warming towards where it settles at idle, cooling towards the air

    def runs(self, seconds: float, *, settles_c: float | None = None) -> None:
        """The engine idles, or drives where it settles hotter."""
        target_c = self.scenario.settles_c if settles_c is None else settles_c
        self._approach(target_c, seconds, self.scenario.warms_s)
        self.circuit.settle(self.scenario.parts)
        self.circuit.idle(PUMP_L_PER_MIN * seconds / 60, steps=max(int(seconds / 20), 1))
        self._leak(seconds)

    def stands(self, seconds: float) -> None:
        """The engine is off."""
        self._approach(self.scenario.ambient_c, seconds, self.scenario.cools_s)
        self._leak(0.1 * seconds)

    def _approach(self, target_c: float, seconds: float, constant_s: float) -> None:
        self.temperature_c = target_c + (self.temperature_c - target_c) * exp(-seconds / constant_s)

    def _leak(self, seconds: float) -> None:
        if self.truth.leaks_ml_per_min and self.sealed:
            self.circuit.sump.take(self.truth.leaks_ml_per_min * seconds / 60_000)

    def feed_cold(self, litres: float, at_c: float) -> None:
        """Fresh fluid takes heat: 1.7 kJ/K a litre against metal and fluid of some 50 kJ/K."""
        self.temperature_c -= 1.7 * litres / 50 * (self.temperature_c - at_c)

    # level: litres above the lip of the plug, engine running

    def level_error_l(self) -> float:
        """Litres at 15 degC more (positive) or less than belong in."""
        return self.circuit.litres - self.right_l

    def above_lip_l(self) -> float:
        """What stands above the lip at this temperature and on this ground [L]."""
        s = self.scenario
        reference = grown(self.right_l, s.reference_c)
        case = 1 + CASE_PER_K * (self.temperature_c - s.reference_c)
        shift = grown(self.right_l, self.temperature_c) - reference * case
        lean = SLOPE_L_PER_L_DEG * self.right_l * self.slope_deg * s.slope_towards
        return grown(self.level_error_l(), self.temperature_c) + s.hold_up * shift + lean

    def open_plug(self, seconds: float) -> float:
        """The plug stands open with the engine running; the litres that run out, as they are."""
        out_l = 0.0
        for _ in range(max(int(seconds / 5), 1)):
            self._approach(self.scenario.settles_c, 5, self.scenario.warms_s)
            over_l = max(self.above_lip_l(), 0.0) * (1 - exp(-5 / WEIR_S))
            self.circuit.sump.take(at_15(over_l, self.temperature_c))
            out_l += over_l
        return out_l

    def drip_limit_l_per_min(self) -> float:
        """Above this it is a thread: three times what growing fluid pushes out at 2 K/min."""
        return 3 * self.right_l * (ALPHA_PER_K - CASE_PER_K) * 2

    # flow through the lines

    def line_flow_l_per_min(self) -> float:
        """What the open line delivers at idle."""
        s = self.scenario
        if self.reversed_lines or s.fault == "cooler_blocked":
            return SHUT_L_PER_MIN if not self.reversed_lines else 0.0
        shut = s.bypass in ("in_case", "in_line") and self.temperature_c < s.opens_c
        if shut:
            return SHUT_L_PER_MIN
        return s.flow_l_per_min * min(0.6 + 0.4 * self.temperature_c / 80, 1.1)

    def feed_pressure_bar(self, *, feeding: bool) -> float:
        """What the feed pump sees."""
        if feeding and (self.reversed_lines or self.line_flow_l_per_min() < 0.8):
            return 3.4
        return 0.6 if feeding else 0.2

    def fill(self, litres_15: float, *, foreign: bool = False) -> None:
        """Fluid from a container goes into the sump."""
        self.circuit.sump.pour(
            Pool(litres_15, 0.0 if foreign else litres_15, litres_15 if foreign else 0.0)
        )

    def unsafe(self) -> list[str]:
        """Why this vehicle must not be handed over as accepted; empty when nothing is wrong."""
        truth, found = self.truth, []
        if abs(self.level_error_l()) > 0.5:
            found.append("level")
        if self.scenario.fault == "coolant":
            found.append("coolant")
        if self.circuit.foreign > 0.02 * self.right_l:
            found.append("foreign fluid")
        if truth.leaks_ml_per_min > 0 and self.sealed:
            found.append("leak")
        if truth.starved_s > 10:
            found.append("reversed line")
        if truth.wrong_plug:
            found.append("wrong plug")
        if any(opened_c > 60 for opened_c in truth.opened_at_c):
            found.append("opened hot")
        return found

    def unchecked(self) -> list[str]:
        """What nobody has truly looked at since it was changed; a finished job must not lack it."""
        truth = self.truth
        looks = {"level not seen": truth.level_seen, "leaks not seen to": truth.leaks_looked_for}
        return [name for name, looked in looks.items() if not looked]
