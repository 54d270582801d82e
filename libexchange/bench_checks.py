"""The checks of used fluid that are made at the bench, before anything else is opened."""

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from libexchange.findings import Kind, Value
from libexchange.used_fluid_findings import (
    BLOTTER,
    BURNT,
    BURNT_AND_SLIPPING,
    CRACKLE,
    DARK,
    FOREIGN_SMELL,
    GLITTER,
    GLYCOL_STRIP,
    INCOMPLETE,
    MILKY,
    SLIPPING,
    SOLIDS,
    VARNISH,
    WITHOUT_DRIVE,
    Decision,
    Ruling,
    ruling,
)

Colour = Literal["clear", "brown", "black", "milky"]
"""On white, beside fresh fluid of the same kind; `milky` is cloudy or pink like milk."""

Smell = Literal["normal", "varnish", "burnt", "foreign"]
"""`foreign` is fuel or gear oil."""

Debris = Literal["none", "grey_paste", "glitter", "flakes", "brass", "lining"]
"""In strong side light and on a magnet; grey paste on the magnet is normal."""

Crackle = Literal["silent", "fine_bubbles", "large_bubbles", "violent"]
"""A drop on a plate at 160 Cel: below some 500 ppm of water, to 1,000, to 2,000, and above."""

Blotter = Literal["even", "dark_core", "sharp_core", "ragged_ring", "not_spreading", "clear_ring"]
"""How a drop has spread on filter paper."""

Shifts = Literal["normal", "slips", "no_drive"]

GATING = ("colour", "smell", "debris", "crackle", "glycol_strip")
"""The checks without which the fluid is not known."""


class BenchChecks(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was seen at the bench; null is what was not looked at. The blotter decides nothing.

    colour: by eye, against fresh fluid    smell: as it is, never deliberately inhaled
    debris: what the magnets and the pan showed    crackle: of a drop on a hot plate
    glycol_strip: for coolant in the fluid    shifts: how the unit shifted before the work
    blotter: the look of a drop on paper
    """

    colour: Colour | None = None
    smell: Smell | None = None
    debris: Debris | None = None
    crackle: Crackle | None = None
    glycol_strip: Literal["negative", "positive"] | None = None
    shifts: Shifts | None = None
    blotter: Blotter | None = None


_SEEN: dict[tuple[str, str], tuple[Kind, Decision]] = {
    ("colour", "black"): (DARK, "proceed_gently"),
    ("colour", "milky"): (MILKY, "stop_coolant"),
    ("smell", "varnish"): (VARNISH, "proceed"),
    ("smell", "burnt"): (BURNT, "proceed_gently"),
    ("smell", "foreign"): (FOREIGN_SMELL, "stop_foreign_fluid"),
    ("debris", "glitter"): (GLITTER, "proceed_gently"),
    ("debris", "flakes"): (SOLIDS, "stop_mechanical"),
    ("debris", "brass"): (SOLIDS, "stop_mechanical"),
    ("debris", "lining"): (SOLIDS, "stop_mechanical"),
    ("glycol_strip", "positive"): (GLYCOL_STRIP, "stop_coolant"),
    ("shifts", "slips"): (SLIPPING, "proceed_gently"),
    ("shifts", "no_drive"): (WITHOUT_DRIVE, "stop_mechanical"),
    ("blotter", "dark_core"): (BLOTTER, "proceed"),
    ("blotter", "sharp_core"): (BLOTTER, "proceed"),
    ("blotter", "ragged_ring"): (BLOTTER, "proceed"),
    ("blotter", "not_spreading"): (BLOTTER, "proceed"),
    ("blotter", "clear_ring"): (BLOTTER, "proceed"),
}
"""What is worth a finding, and what it decides by itself."""

BLOTTER_HINTS = {
    "dark_core": "oxidised, or its dispersancy is used up",
    "sharp_core": "insolubles or clutch dust",
    "ragged_ring": "water or glycol suspected",
    "not_spreading": "glycol suspected",
    "clear_ring": "fuel suspected",
}
"""What a spot may come from; advice only."""

CRACKLE_PPM: dict[str, tuple[int, int | None]] = {
    "fine_bubbles": (500, 1000),
    "large_bubbles": (1000, 2000),
    "violent": (2000, None),
}
"""The water that a crackle class stands for, from and to [ppm]; the limits vary by oil."""


def bench_rulings(bench: BenchChecks, *, heavy: bool) -> list[Ruling]:
    """What the bench checks decide, each by itself, and burnt fluid in a slipping unit together.

    heavy: a unit of more than 15 L, where water up to 0.2 % is common condensation
    Source: common practice; ASTM D2982 for the strip.

    >>> [one.decision for one in bench_rulings(BenchChecks(smell="burnt"), heavy=False)]
    ['proceed_gently', 'proceed']
    """
    return [*_seen(bench), *_burnt_and_slipping(bench), *_crackle(bench, heavy), *_missing(bench)]


def _seen(bench: BenchChecks) -> Iterator[Ruling]:
    for (check, value), (kind, decision) in _SEEN.items():
        if getattr(bench, check) == value:
            hint = f": {BLOTTER_HINTS[value]}" if check == "blotter" else ""
            text = f"Seen at the bench: {check.replace('_', ' ')} {value.replace('_', ' ')}{hint}."
            yield ruling(kind, decision, f"#/bench/{check}", text, seen=value)


def _burnt_and_slipping(bench: BenchChecks) -> Iterator[Ruling]:
    if bench.smell == "burnt" and bench.shifts == "slips":
        text = "It smells burnt and the unit slips."
        yield ruling(BURNT_AND_SLIPPING, "stop_mechanical", "#/bench/shifts", text)


def _crackle(bench: BenchChecks, heavy: bool) -> Iterator[Ruling]:
    if bench.crackle not in CRACKLE_PPM:
        return
    low_ppm, high_ppm = CRACKLE_PPM[bench.crackle]
    common = 2000 if heavy else 1000
    tolerable = high_ppm is not None and high_ppm <= common
    text = f"About {low_ppm} {f'to {high_ppm} ppm' if high_ppm else 'ppm or more'} of water."
    decision: Decision = "exchange_and_repeat" if tolerable else "stop_coolant"
    values: dict[str, Value] = {"low_ppm": low_ppm, "high_ppm": high_ppm}
    yield ruling(CRACKLE, decision, "#/bench/crackle", text, **values)


def _missing(bench: BenchChecks) -> Iterator[Ruling]:
    if missing := [check for check in GATING if getattr(bench, check) is None]:
        names = ", ".join(check.replace("_", " ") for check in missing)
        yield ruling(INCOMPLETE, "proceed", "#/bench", f"Not looked at: {names}.", missing=names)
