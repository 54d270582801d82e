"""What a person in the bay can see of a vehicle: sensors, meters, scales and his own eyes."""

from math import exp
from random import Random
from typing import Literal

from examples.simulated_bay.fluid_physics import grown
from examples.simulated_bay.vehicle import Vehicle

LAG_S = 4.0
Seen = Literal["nothing", "drip", "thread", "stream"]

STRIP_SEES, STRIP_CRIES_WOLF = 0.97, 0.003
CRACKLE_SEES, CRACKLE_CRIES_WOLF = 0.95, 0.003
MILKY_SEEN = 0.6
"""How often a strip, a hot plate and the eye find coolant, and find it where there is none."""

WRONG_OIL_SEEN, OIL_LAMP_SEEN = 0.97, 0.98
"""How often the first 100 mL, and after them the lamp, tell that another oil was drained."""

DELIVERS_SEEN = 0.95
"""How often two vessels show at once which line delivers."""

DROP_ML = 2.0
"""A leak of so much on dried ground and paper is seen six times in ten."""


class Instruments:
    """The tools of one job, with their own errors."""

    def __init__(self, vehicle: Vehicle, chance: Random) -> None:
        self.vehicle = vehicle
        self.chance = chance
        self._sensor_c = vehicle.temperature_c
        self._stands_still: float | None = None
        self._mended = False

    def follow(self, seconds: float) -> None:
        """The sensor comes after the fluid."""
        true_c = self.vehicle.temperature_c
        self._sensor_c = true_c + (self._sensor_c - true_c) * exp(-seconds / LAG_S)

    def scan_c(self, elapsed_s: float) -> float:
        """What the scan tool shows, in whole kelvins; a stuck sensor shows what it showed."""
        shown = float(round(self._sensor_c + self.vehicle.scenario.sensor_off_k))
        s = self.vehicle.scenario
        if s.fault == "stuck_sensor" and not self._mended and elapsed_s >= s.stuck_from_s:
            self._stands_still = shown if self._stands_still is None else self._stands_still
            return self._stands_still
        return shown

    @property
    def sensor_broken(self) -> bool:
        """Whether it stands still and nobody has mended it."""
        return self._stands_still is not None and not self._mended

    def mend_sensor(self) -> None:
        """A plug of the harness was loose."""
        self._mended = True

    def infrared_c(self) -> float:
        """The pan from outside: always colder than the fluid."""
        true_c = self.vehicle.temperature_c
        return round(true_c - self.chance.uniform(0.1, 0.3) * max(true_c - 20, 0.0), 1)

    def weighed_kg(self, litres_15: float) -> float:
        """What a scale shows."""
        return round(0.85 * litres_15 * self.vehicle.scenario.scale, 2)

    def metered_l(self, litres_15: float, at_c: float, factor: float) -> float:
        """What a meter shows of fluid at its temperature."""
        return round(grown(litres_15, at_c) * factor, 2)

    def slope(self) -> float:
        """A phone laid on the sill."""
        return round(abs(self.vehicle.slope_deg + self.chance.gauss(0, 0.07)), 1)

    def stick_mm(self) -> float:
        """Height on a stick whose marks at 10 and 20 mm are 0.4 L apart; it begins at 0."""
        height_mm = 15 + self.vehicle.above_lip_l() / 0.04 + self.chance.gauss(0, 0.4)
        return round(max(height_mm, 0.0), 1)

    def stream(self, litres: float, seconds: float) -> Seen:
        """What came out of the plug, in words."""
        rate, limit = 60 * litres / seconds, self.vehicle.drip_limit_l_per_min()
        if rate < 0.05 * limit:
            return "nothing"
        if rate <= limit:
            return "drip"
        return "thread" if rate <= 4 * limit else "stream"

    def strip_positive(self) -> bool:
        """A reagent strip for glycol; a positive one is done again."""
        wet = self.vehicle.scenario.fault == "coolant"
        if wet:
            return self.chance.random() < STRIP_SEES
        return all(self.chance.random() < STRIP_CRIES_WOLF for _ in range(2))

    def crackles(self) -> bool:
        """A drop on a hot plate; done again where it crackles."""
        if self.vehicle.scenario.fault == "coolant":
            return self.chance.random() < CRACKLE_SEES
        return all(self.chance.random() < CRACKLE_CRIES_WOLF for _ in range(2))

    def looks_milky(self) -> bool:
        """The eye."""
        return self.vehicle.scenario.fault == "coolant" and self.chance.random() < MILKY_SEEN

    def leak_seen(self, minutes: float) -> bool:
        """A look at what was dried before."""
        dripped_ml = self.vehicle.truth.leaks_ml_per_min * minutes
        return self.chance.random() < 1 - exp(-dripped_ml / DROP_ML)
