"""What makes one look at the level doubtful by what else was told of its moment."""

from collections.abc import Iterator

from msgspec.structs import replace

from libexchange.catalogue import LevelMethod
from libexchange.findings import COMMON_PRACTICE, MEMORY, Finding, Kind
from libexchange.job.events import LevelChecked, ReadingTaken
from libexchange.job.history import History
from libexchange.level_barriers import OVERFLOWS
from libexchange.level_records import LevelAnswer
from libexchange.plan.card_records import OfflineCard
from libexchange.readings import ERROR_K, Sample, Source, temperature_samples

NEAR_S = 60.0
"""How near a reading tells of a look, before it or after it [s] (common practice)."""

TELLING: tuple[Source, ...] = ("scan_tool", "scan_tool_typed", "in_line")
"""The sources that tell what the typed temperature of a look should have been."""

ROUNDING_K = 1e-9

TYPED_DIFFERS = Kind(
    code="level-temperature-differs",
    severity="caution",
    title="The temperature of the look is not what was read at that moment",
    remedy="Close. Find out which is right, then look again in the window and write down what the "
    "scan tool shows.",
    source=MEMORY,
)
ENGINE_UNTOLD = Kind(
    code="level-engine-state-not-told",
    severity="caution",
    title="Nobody told whether the engine ran when the level was looked at",
    remedy="Look again and tell whether the engine ran; with it off 1 to 2 L more stand in the "
    "pan.",
    source=MEMORY,
)
TREND_UNKNOWN = Kind(
    code="level-trend-not-known",
    severity="caution",
    title="No reading near the look tells whether the fluid was warming or cooling",
    remedy="Read the transmission's own sensor for half a minute before the look and go on reading "
    "while it lasts.",
    source=COMMON_PRACTICE,
)
OTHER_METHOD = Kind(
    code="level-by-other-method",
    severity="caution",
    title="The level was not looked at as the plan says",
    remedy="Look at it as the maker of the transmission says; an amount put back by measure leaves "
    "short what was short.",
    source=COMMON_PRACTICE,
)
KINDS = (TYPED_DIFFERS, ENGINE_UNTOLD, TREND_UNKNOWN, OTHER_METHOD)
"""Every finding code of a doubtful look."""


def doubted(
    answer: LevelAnswer, look: LevelChecked, card: OfflineCard, history: History
) -> LevelAnswer:
    """The answer of a look, told as one that cannot be told where its moment speaks against it.

    What came out by measure goes back in any case, so that its correction stays.
    Source: as each finding says.
    """
    by_measure = look.method == "measured_refill"
    void = [] if by_measure else [*_differs(look, history), *_engine(look)]
    other = _other_method(look.method, card)
    remarks = [*other, *([] if by_measure else _trend(look, history))]
    told = replace(answer, findings=[*answer.findings, *void, *remarks])
    if answer.verdict == "stop" or not (void or (by_measure and other)):
        return told
    if by_measure:
        return replace(told, verdict="cannot_tell")
    return replace(told, verdict="cannot_tell", correction=None, uncertainty=None)


def _near(look: LevelChecked, history: History) -> list[Sample]:
    """Readings of the moment, the nearest to the look first."""
    readings = [event.reading for event in history.of(ReadingTaken)]
    near = [r for r in readings if abs((r.at - look.occurred_at).total_seconds()) <= NEAR_S]
    last = max((reading.at for reading in near), default=look.occurred_at)
    lead_s = (last - look.occurred_at).total_seconds()
    samples = temperature_samples(near, at=last, sources=TELLING)
    return sorted(samples, key=lambda sample: abs(sample.seconds + lead_s))


def _differs(look: LevelChecked, history: History) -> Iterator[Finding]:
    """Of each source the nearest reading counts."""
    nearest: dict[Source, Sample] = {}
    for sample in _near(look, history):
        nearest.setdefault(sample.source, sample)
    for source, sample in nearest.items():
        apart_k = abs(sample.value - look.temperature.c)
        allowed_k = ERROR_K[source] + ERROR_K[look.temperature_source]
        if apart_k > allowed_k + ROUNDING_K:
            text = f"It says {look.temperature.c:.1f} °C; {source} read {sample.value:.1f} °C."
            values = {"apart_k": apart_k, "allowed_k": allowed_k, "source": source}
            yield TYPED_DIFFERS.at("#/temperature", text, values=values)


def _engine(look: LevelChecked) -> Iterator[Finding]:
    if look.engine_running is None:
        text = "The converter runs back into the pan while the engine stands."
        yield ENGINE_UNTOLD.at("#", text)


def _trend(look: LevelChecked, history: History) -> Iterator[Finding]:
    if not _near(look, history):
        text = f"No sensor of the transmission was read within {NEAR_S:g} s of the look."
        yield TREND_UNKNOWN.at("#", text)


def _other_method(method: LevelMethod, card: OfflineCard) -> list[Finding]:
    """Both overflows are one opening; without a window nothing but a measure is left."""
    if card.window is None or method == card.level_method:
        return []
    if method in OVERFLOWS and card.level_method in OVERFLOWS:
        return []
    text = f"It was looked at by {method}; the plan says {card.level_method or 'nothing'}."
    return [OTHER_METHOD.at("#", text, values={"method": method})]
