"""What the bay takes along when there is no signal: the offline card of a plan."""

from typing import Literal

from msgspec import Struct

from libexchange.catalogue import AdditiveKind, LevelMethod, TemperatureWindow
from libexchange.dose_rules import Placed
from libexchange.quantities import (
    Density,
    Duration,
    Temperature,
    TemperatureRate,
    Volume,
    VolumeChange,
)


class LevelWorth(Struct, frozen=True, kw_only=True):
    """What to add when the level stood right at a temperature beyond an edge of the window.

    temperature: of that look    correction: to add, negative to take out
    """

    temperature: Temperature
    correction: VolumeChange


class DripSign(Struct, frozen=True, kw_only=True):
    """What is seen at the overflow opening.

    observed: what is seen    meaning: in words
    """

    observed: Literal["nothing", "drip", "thread", "stream"]
    meaning: str


class PlannedDose(Struct, frozen=True, kw_only=True):
    """An additive that was asked for: how much, when, and what stays of it on the planned route.

    additive_id, name: of the additive    kind: cleaner or conditioner    placed: when it goes in
    dose: all of it    packs: of `pack` each make the dose; both are null where it is sold loose
    share_of_total: the dose, of the whole fill
    draw_off: what leaves the unit before a dose that would raise its level
    share_left: of the whole fill, after the exchange
    share_kept: of a conditioner's dose, null for a cleaner
    contact: how long a cleaner acts, counted only while the engine runs and the fluid is above
        `contact_above`; both are null for a conditioner
    """

    additive_id: str
    name: str
    kind: AdditiveKind
    placed: Placed
    dose: Volume
    packs: int | None
    pack: Volume | None
    share_of_total: float
    draw_off: Volume
    share_left: float
    share_kept: float | None
    contact: Duration | None
    contact_above: Temperature | None


class OfflineCard(Struct, frozen=True, kw_only=True):
    """What the bay needs when there is no signal; printable.

    total, density_15: what balance and level are computed with
    fluid_kinds: what the transmission is approved for
    level_method, window: how and between which temperatures the level is set, null when not known
    engine_running: how the maker wants the level looked at, null when not known
    refill: what goes in each time that it was let out    cycles: how many times that is
    exchange: litres through the lines, null without any
    correction_step: the most that is added at once    correction_limit: the most in all
    rounds_limit: how many corrections    drip_signs: what is seen at an overflow
    correction_table: for a look outside the window
    slowest_trend: how fast the temperature may fall while an overflow is looked at
    balance_warning, balance_stop: difference of in and out while fluid flows
    stop_when: what ends the exchange at once    doses: the additives that were asked for
    """

    total: Volume
    density_15: Density
    fluid_kinds: tuple[str, ...]
    level_method: LevelMethod | None
    window: TemperatureWindow | None
    engine_running: bool | None
    refill: Volume | None
    exchange: Volume | None
    correction_step: Volume
    correction_limit: Volume
    rounds_limit: int
    drip_signs: tuple[DripSign, ...]
    correction_table: tuple[LevelWorth, ...]
    slowest_trend: TemperatureRate
    balance_warning: Volume
    balance_stop: Volume
    stop_when: tuple[str, ...]
    doses: tuple[PlannedDose, ...] = ()
    cycles: int = 1
