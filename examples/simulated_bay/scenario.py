"""One invented job: the unit, what is wrong with it, and what is merely imperfect, from a seed."""

from dataclasses import dataclass, replace
from random import Random
from typing import Any, Literal

FAULTS = {
    "": 56.0,
    "stuck_sensor": 3.0,
    "reversed_lines": 4.0,
    "leak": 4.0,
    "cooler_blocked": 2.0,
    "wrong_plug": 3.0,
    "wrong_fluid": 4.0,
    "coolant": 4.0,
    "phone_dead": 2.0,
    "shift_change": 2.0,
    "two_technicians": 3.0,
    "hot_opening": 2.0,
    "level_short": 2.0,
    "level_skipped": 1.0,
    "leak_before_level": 1.0,
    "opened_again": 2.0,
    "step_not_confirmed": 1.0,
    "event_left_out": 2.0,
    "posted_late": 2.0,
}
"""Kinds of fault and how often they come [% of jobs]; none is the first."""

NEEDS_LINES = ("reversed_lines", "cooler_blocked")

Conduct = Literal["careful", "goes_on", "withdraws", "hides"]
"""Of the technician: he stops where he must; sees and records it and goes on; withdraws it as a
slip and goes on; or neither measures nor records it."""

CONDUCTS: dict[str, dict[Conduct, float]] = {
    "coolant": {"careful": 35, "goes_on": 35, "withdraws": 20, "hides": 10},
    "leak": {"careful": 35, "goes_on": 35, "withdraws": 20, "hides": 10},
    "wrong_fluid": {"careful": 35, "goes_on": 35, "withdraws": 20, "hides": 10},
    "reversed_lines": {"careful": 50, "goes_on": 40, "hides": 10},
    "wrong_plug": {"careful": 50, "goes_on": 50},
    "hot_opening": {"goes_on": 85, "hides": 15},
    "level_short": {"goes_on": 100},
    "level_skipped": {"goes_on": 100},
    "leak_before_level": {"goes_on": 100},
    "opened_again": {"goes_on": 85, "hides": 15},
}
"""What a technician does about a fault [%]; about every other one he is careful."""

SLIPPED_KINDS = ("arrived", "bench_checked", "fluid_moved", "fluid_opened", "level_checked",
                 "leak_checked", "test_drive", "fault_codes_read", "step_confirmed")  # fmt: skip
"""What an honest technician may forget to post, or posts late."""


@dataclass(frozen=True)
class Unit:
    """An invented unit: what the dealer asks a plan with, and its usual parts [L]."""

    name: str
    profile: dict[str, Any]
    parts: dict[str, float]
    route: str
    window_c: tuple[float, float]
    stick: bool = False


def _litres(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "L"}


def _celsius(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "Cel"}


def _profile(
    unit_id: str,
    family: str,
    total: float,
    drained: float,
    cooler: dict[str, Any],
    level: dict[str, Any],
) -> dict[str, Any]:
    return {
        "transmission_id": unit_id,
        "name": f"Simulated {family.replace('_', ' ')}",
        "family": family,
        "source": {"kind": "maker", "invented": True, "document": "Invented bay sheet 1"},
        "total": _litres(total),
        "drained": _litres(drained),
        "drain_plug": "yes",
        "pan_removable": "yes",
        "cooler": cooler,
        "level": level,
        "fluid_kinds": ["invented-red-six"],
    }


def _cooler(bypass: str) -> dict[str, Any]:
    opens = _celsius(78) if bypass in ("in_case", "in_line") else None
    return {"external_lines": "yes", "bypass": bypass, "bypass_opens": opens}


def _level(method: str, low_c: float, high_c: float, **more: Any) -> dict[str, Any]:
    window = {"low": _celsius(low_c), "high": _celsius(high_c)}
    return {"method": method, "window": window, "engine_running": True, **more}


SIX = {"sump": 4.3, "converter": 2.9, "line": 0.8, "pockets": 0.8, "stranded": 0.2}
CLUTCH = {"sump": 5.1, "converter": 0.0, "line": 0.4, "pockets": 1.0, "stranded": 0.3}
CVT = {"sump": 4.6, "converter": 1.7, "line": 0.6, "pockets": 0.8, "stranded": 0.3}
MARKS = {
    "low_mark": {"value": 10, "unit": "mm"},
    "high_mark": {"value": 20, "unit": "mm"},
    "between_marks": _litres(0.4),
}


def _six(bypass: str, route: str) -> Unit:
    profile = _profile(
        "invented-bay-six",
        "converter_automatic",
        9.0,
        4.065,
        _cooler(bypass),
        _level("overflow_plug", 35, 45),
    )
    return Unit(f"six speeds, bypass {bypass}", profile, SIX, route, (35, 45))


LINES = [_six(bypass, "pan_and_filter_then_line") for bypass in
         ("none", "in_case", "in_line", "in_cooler")]  # fmt: skip
OTHERS = [
    _six("in_case", "pan_and_filter"),
    Unit(
        "wet dual clutch",
        _profile("invented-bay-clutch", "wet_dual_clutch", 6.8, 5.15,
                 {"external_lines": "no", "bypass": "none", "bypass_opens": None},
                 _level("overflow_plug", 35, 45)),
        CLUTCH, "pan_and_filter", (35, 45),
    ),
    Unit(
        "CVT with a stick",
        _profile("invented-bay-cvt", "cvt_with_converter", 8.0, 4.365, _cooler("in_cooler"),
                 _level("dipstick", 60, 70, **MARKS)),
        CVT, "drain", (60, 70), stick=True,
    ),
]  # fmt: skip


@dataclass(frozen=True)
class Scenario:
    """All that is drawn for one job; the technician sees none of it directly."""

    number: int
    unit: Unit
    fault: str
    parts: dict[str, float]
    kappa: float
    returned: float
    hold_up: float
    level_on_arrival_l: float
    arrival_c: float
    ambient_c: float
    settles_c: float
    warms_s: float
    cools_s: float
    opens_c: float
    flow_l_per_min: float
    slope_deg: float
    slope_towards: float
    fresh_meter: float
    waste_meter: float
    scale: float
    sensor_off_k: float
    stuck_from_s: float
    leak_ml_per_min: float
    fault_after_step: int
    offline: float
    repairs: bool
    conduct: Conduct
    short_l: float
    slipped_kind: str

    @property
    def bypass(self) -> str:
        """Where the bypass sits."""
        return str(self.unit.profile["cooler"]["bypass"])

    @property
    def reference_c(self) -> float:
        """Where the maker's level is right: the middle of the window."""
        return sum(self.unit.window_c) / 2


def draw(seed: int, number: int) -> Scenario:
    """The job of a number; the same seed and number always give the same."""
    chance = Random(f"{seed}/{number}")  # noqa: S311 -- a simulation has to be repeatable
    fault = chance.choices(list(FAULTS), weights=list(FAULTS.values()))[0]
    lines = fault in NEEDS_LINES or chance.random() < 0.5
    unit = chance.choice(LINES if lines else OTHERS)
    slope_deg = abs(chance.gauss(0, 0.25)) if chance.random() < 0.9 else chance.uniform(0.5, 2)
    usual = Scenario(
        number=number,
        unit=unit,
        fault=fault,
        parts={name: litres * chance.uniform(0.93, 1.07) for name, litres in unit.parts.items()},
        kappa=chance.uniform(0.03, 0.3),
        returned=1.0 if chance.random() < 0.8 else chance.uniform(1.0, 1.6),
        hold_up=chance.uniform(1.0, 1.5),
        level_on_arrival_l=chance.gauss(0, 0.15),
        arrival_c=chance.uniform(30, 85),
        ambient_c=chance.uniform(12, 28),
        settles_c=chance.gauss(74, 1.5) if unit.stick else chance.gauss(98, 3),
        warms_s=chance.uniform(1500, 3000),
        cools_s=chance.uniform(3600, 7200),
        opens_c=chance.gauss(76, 1.5),
        flow_l_per_min=chance.uniform(1.8, 4),
        slope_deg=slope_deg,
        slope_towards=chance.uniform(-1, 1),
        fresh_meter=1 + _meter_error(chance),
        waste_meter=1 + chance.gauss(0, 0.005),
        scale=1 + chance.gauss(0, 0.001),
        sensor_off_k=chance.gauss(0, 1.0),
        stuck_from_s=chance.uniform(0, 9000),
        leak_ml_per_min=chance.uniform(2, 12),
        fault_after_step=chance.randrange(2, 10),
        offline=chance.choice([0.0, 0.0, 0.3, 0.7]),
        repairs=chance.random() < 0.6,
        conduct=_conduct(chance, fault),
        short_l=chance.uniform(0.6, 1.4),
        slipped_kind=chance.choice(SLIPPED_KINDS),
    )
    if fault == "hot_opening":
        return replace(usual, arrival_c=chance.uniform(82, 95))
    return usual


def _conduct(chance: Random, fault: str) -> Conduct:
    shares = CONDUCTS.get(fault, {"careful": 100.0})
    return chance.choices(list(shares), weights=list(shares.values()))[0]


def _meter_error(chance: Random) -> float:
    """Most meters are as good as their class; one in twenty runs fast or slow by up to 3 %."""
    return chance.uniform(-0.03, 0.03) if chance.random() < 0.05 else chance.gauss(0, 0.005)
