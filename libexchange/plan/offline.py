"""The card the bay works from when there is no signal."""

from libexchange.balance import live_limits_l
from libexchange.catalogue import TransmissionProfile
from libexchange.level import correction_limit_l, expansion_shift_l
from libexchange.level_barriers import COOLING_LIMIT_K_PER_MIN, MAXIMUM_ROUNDS, OVERFLOWS
from libexchange.plan.card_records import DripSign, LevelWorth, OfflineCard, PlannedDose
from libexchange.plan.level_steps import at_once_l
from libexchange.plan.routes import Outcome
from libexchange.plan.unit import Unit
from libexchange.quantities import Density, Temperature, TemperatureRate, Volume, VolumeChange

DRIP_SIGNS = (
    DripSign(observed="nothing", meaning="low, or the temperature is falling: add one step, wait"),
    DripSign(observed="drip", meaning="right: close with a new seal"),
    DripSign(observed="thread", meaning="too high: let it run to a drip"),
    DripSign(observed="stream", meaning="much too high: let it run to a drip and measure it"),
)
STOP_WHEN = (
    "no flow within 10 s, rising pressure or air in the stream",
    "litres in and out differ by more than the stop limit",
    "the level needs more than the correction limit or more rounds than allowed",
    "coolant, water or foreign fluid shows: do not refill or run, tag and tow",
    "the temperature passes the top of the window: close and cool",
)
TABLE_STEPS_K = (5.0, 10.0, 20.0, 30.0)


def offline_card(
    transmission: TransmissionProfile,
    unit: Unit,
    outcome: Outcome,
    doses: tuple[PlannedDose, ...] = (),
) -> OfflineCard:
    """Window, litres, limits, doses and the worth of a temperature error, on one card."""
    total_l = transmission.total.l
    warn_l, stop_l = live_limits_l(total_l=total_l)
    cycles = outcome.cycles or 1
    return OfflineCard(
        total=transmission.total,
        density_15=Density(unit.density_15_kg_m3, "kg/m3"),
        fluid_kinds=transmission.fluid_kinds,
        level_method=transmission.level.method,
        window=transmission.level.window,
        engine_running=transmission.level.engine_running,
        refill=_tenths(outcome.refilled_l / cycles),
        exchange=_tenths(outcome.exchanged_l),
        correction_step=Volume(at_once_l(transmission), "L"),
        correction_limit=Volume(correction_limit_l(total_l=total_l), "L"),
        rounds_limit=MAXIMUM_ROUNDS,
        drip_signs=DRIP_SIGNS if transmission.level.method in OVERFLOWS else (),
        correction_table=_correction_table(transmission, unit),
        slowest_trend=TemperatureRate(COOLING_LIMIT_K_PER_MIN, "K/min"),
        balance_warning=Volume(warn_l, "L"),
        balance_stop=Volume(stop_l, "L"),
        stop_when=STOP_WHEN,
        doses=doses,
        cycles=cycles,
    )


def _correction_table(transmission: TransmissionProfile, unit: Unit) -> tuple[LevelWorth, ...]:
    """What a level that stood right at a temperature lacks or has too much, beyond the window."""
    window = transmission.level.window
    if window is None:
        return ()
    below = [(window.low.c, -step_k) for step_k in TABLE_STEPS_K[::-1]]
    above = [(window.high.c, step_k) for step_k in TABLE_STEPS_K]
    return tuple(
        LevelWorth(
            temperature=Temperature(round(edge_c + step_k, 1), "Cel"),
            correction=VolumeChange(_worth_l(transmission, unit, step_k), "L"),
        )
        for edge_c, step_k in [*below, *above]
    )


def _worth_l(transmission: TransmissionProfile, unit: Unit, beyond_k: float) -> float:
    """What must be added when the level stood right so far beyond the window [L]."""
    shift_l = expansion_shift_l(
        total_l=transmission.total.l,
        density_15_kg_m3=unit.density_15_kg_m3,
        from_c=0.0,
        to_c=beyond_k,
    )
    return round(shift_l, 2)


def _tenths(litres: float) -> Volume | None:
    return Volume(round(litres, 1), "L") if litres > 0 else None
