"""Draw fresh share against litres for the invented units, as one SVG page.

    cd examples && python curves/draw.py catalogue/invented.ndjson curves/fresh_share.svg

Every panel is one unit and its line exchange as the model computes it, whether or not a workshop
may take that route there. Lines differ in pattern as well as in colour, so that a page printed in
black and white says the same.
"""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from xml.sax.saxutils import escape

import msgspec

from libexchange.catalogue import TransmissionProfile
from libexchange.circuit import (
    Circuit,
    all_old,
    exchange_curve,
    lower_reference,
    mixed_reference,
    plug_flow,
)
from libexchange.plan.forecast import estimate
from libexchange.plan.records import Estimate
from libexchange.plan.routes import Aim, line_exchange
from libexchange.plan.unit import Unit, unit_of

COLUMNS, PANEL_WIDTH, PANEL_HEIGHT = 3, 400, 290
LEFT, RIGHT, TOP, BOTTOM = 46, 16, 54, 40
HEAD, FOOT = 118, 40
TURNS, POINTS, BAND_POINTS = 2.0, 81, 21
"""The litres shown are this many total fills; the points drawn of each line and of the band."""

FOOTNOTE = "Calculated, not measured. Whether a unit's lines may be opened is for its maker to say."

PLOT_WIDTH, PLOT_HEIGHT = PANEL_WIDTH - LEFT - RIGHT, PANEL_HEIGHT - TOP - BOTTOM

Line = Callable[[float], float]
Point = tuple[float, float]


class Style(msgspec.Struct, frozen=True):
    """How a line is drawn and what it is called."""

    name: str
    colour: str
    width: float
    dashes: str


BAND = "5 to 95 % of such units"
SHADE = 'fill="#0072b2" fill-opacity="0.16"'
MODEL = Style("model of this unit", "#0072b2", 3.0, "none")
PLUG = Style("plug flow, never exceeded", "#000000", 1.4, "1.5 3.5")
MIXED = Style("one mixed tank, a reference", "#d55e00", 1.8, "9 4")
LOWER = Style("lower reference", "#009e73", 1.8, "9 3 2 3")


class Entry(msgspec.Struct):
    """A line of a catalogue file; those of other kinds have no transmission."""

    transmission: TransmissionProfile | None = None


def profiles(catalogue: bytes) -> list[TransmissionProfile]:
    """The transmissions of a catalogue file, in its order."""
    entries = [msgspec.json.decode(line, type=Entry) for line in catalogue.splitlines() if line]
    return [entry.transmission for entry in entries if entry.transmission is not None]


def lines_of(circuit: Circuit) -> list[tuple[Style, Line]]:
    """What a panel shows, from the back to the front."""
    start = all_old(circuit)
    model = exchange_curve(circuit=circuit, state=start)
    return [
        (PLUG, lambda litres: plug_flow(circuit=circuit, state=start, exchanged_l=litres)),
        (LOWER, lambda litres: lower_reference(circuit=circuit, state=start, exchanged_l=litres)),
        (MIXED, lambda litres: mixed_reference(circuit=circuit, state=start, exchanged_l=litres)),
        (MODEL, model.fresh_share),
    ]


def place(litres: float, share: float, most_l: float) -> Point:
    """Where a share after so many litres stands in a panel."""
    x, y = LEFT + PLOT_WIDTH * litres / most_l, TOP + PLOT_HEIGHT * (1 - share)
    return round(x, 1), round(y, 1)


def polyline(points: Sequence[Point], style: Style) -> str:
    """One line through the points."""
    course = " ".join(f"{x:g},{y:g}" for x, y in points)
    return (
        f'<polyline points="{course}" fill="none" stroke="{style.colour}" '
        f'stroke-width="{style.width:g}" stroke-dasharray="{style.dashes}"/>'
    )


def text(x: float, y: float, words: str, *, size: int = 11, further: str = "") -> str:
    """Words at a place; `further` are attributes."""
    return f'<text x="{x:g}" y="{y:g}" font-size="{size}" {further}>{escape(words)}</text>'


def axes(most_l: float) -> list[str]:
    """Frame, grid and numbers of a panel."""
    drawn = []
    for tenths in range(0, 11, 2):
        _, y = place(0, tenths / 10, most_l)
        drawn.append(f'<path d="M{LEFT} {y:g}h{PLOT_WIDTH}" stroke="#d0d0d0"/>')
        drawn.append(text(LEFT - 6, y + 4, f"{tenths / 10:.1f}", further='text-anchor="end"'))
    for step in range(5):
        litres = most_l * step / 4
        x, y = place(litres, 0, most_l)
        drawn.append(f'<path d="M{x:g} {y:g}v4" stroke="#444"/>')
        drawn.append(text(x, y + 17, f"{litres:.3g}", further='text-anchor="middle"'))
    middle = LEFT + PLOT_WIDTH / 2
    drawn.append(text(middle, PANEL_HEIGHT - 7, "litres exchanged", further='text-anchor="middle"'))
    return drawn


def unit_in(profile: TransmissionProfile) -> Unit:
    """What a unit holds and where. Raises: ValueError where its profile contradicts itself."""
    unit = unit_of(profile, None)
    if unit is None:
        raise ValueError(f"{profile.transmission_id}: drains as much as it holds")
    return unit


def band(profile: TransmissionProfile, unit: Unit, most_l: float) -> str:
    """Between the low and the high edge of what the litres come to."""

    def told(litres: float) -> Estimate:
        outcome = line_exchange(unit, Aim(target_share=None, exchanged_l=litres))
        return estimate(profile, unit, outcome)

    litres = spread(most_l, BAND_POINTS)
    low = [place(x, told(x).low, most_l) for x in litres]
    high = [place(x, told(x).high, most_l) for x in litres]
    course = " ".join(f"{x:g},{y:g}" for x, y in (*low, *reversed(high)))
    return f'<polygon points="{course}" {SHADE}/>'


def panel(profile: TransmissionProfile) -> str:
    """One unit: its name, its axes, its band and its lines."""
    unit = unit_in(profile)
    total_l = unit.circuit.total_l
    most_l, lines = TURNS * total_l, lines_of(unit.circuit)
    told = f"{total_l:g} L in all; {lines[-1][1](total_l):.2f} fresh after one fill"
    drawn = [text(LEFT, 24, title_of(profile), size=13, further='font-weight="bold"')]
    drawn += [text(LEFT, 42, told), *axes(most_l), band(profile, unit, most_l)]
    for style, line in lines:
        points = [place(x, line(x), most_l) for x in spread(most_l, POINTS)]
        drawn.append(polyline(points, style))
    return "\n".join(drawn)


def title_of(profile: TransmissionProfile) -> str:
    """The name without the word that the head of the page says for all."""
    name = profile.name.removeprefix("Invented ")
    return name[0].upper() + name[1:]


def spread(most_l: float, points: int) -> list[float]:
    """So many litres from none to the most, evenly."""
    return [most_l * n / (points - 1) for n in range(points)]


def key() -> str:
    """What each line is, once for the page."""
    drawn = []
    for number, style in enumerate((MODEL, PLUG, MIXED, LOWER)):
        x, y = 24 + 232 * number, 92
        drawn.append(polyline([(x, y), (x + 54, y)], style))
        drawn.append(text(x + 64, y + 4, style.name, size=12))
    drawn.append(f'<rect x="952" y="84" width="54" height="16" {SHADE}/>')
    drawn.append(text(1016, 96, BAND, size=12))
    return "\n".join(drawn)


def page(units: Sequence[TransmissionProfile]) -> str:
    """The whole page."""
    rows = -(-len(units) // COLUMNS)
    width, height = COLUMNS * PANEL_WIDTH, HEAD + rows * PANEL_HEIGHT + FOOT
    drawn = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}"',
        f'width="{width}" height="{height}" font-family="sans-serif" fill="#111">',
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
        text(24, 40, "Fresh share of the whole fill over litres exchanged", size=24),
        text(24, 64, "Invented units, line exchange from a fill that is all old.", size=13),
        key(),
    ]
    for number, unit in enumerate(units):
        x, y = number % COLUMNS * PANEL_WIDTH, HEAD + number // COLUMNS * PANEL_HEIGHT
        drawn.append(f'<g transform="translate({x} {y})">\n{panel(unit)}\n</g>')
    drawn += [text(24, height - 16, FOOTNOTE, size=12), "</svg>\n"]
    return "\n".join(drawn)


def main(catalogue: str, drawing: str) -> None:
    """Write the page of a catalogue file."""
    Path(drawing).write_text(page(profiles(Path(catalogue).read_bytes())), encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
