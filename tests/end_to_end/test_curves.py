"""The page of curves shows what the model says today, for every invented unit."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree as ET

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
CATALOGUE = EXAMPLES / "catalogue" / "invented.ndjson"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def drawing() -> ModuleType:
    found = importlib.util.spec_from_file_location("draw", EXAMPLES / "curves" / "draw.py")
    assert found is not None
    assert found.loader is not None
    module = importlib.util.module_from_spec(found)
    sys.modules["draw"] = module
    found.loader.exec_module(module)
    return module


def test_the_committed_page_is_the_one_that_is_drawn(drawing: ModuleType, tmp_path: Path) -> None:
    drawing.main(str(CATALOGUE), str(tmp_path / "drawn.svg"))

    committed = EXAMPLES / "curves" / "fresh_share.svg"
    assert (tmp_path / "drawn.svg").read_text() == committed.read_text()


def test_every_unit_has_its_band_and_four_lines_that_differ_without_colour(
    drawing: ModuleType,
) -> None:
    units = drawing.profiles(CATALOGUE.read_bytes())
    page = ET.fromstring(drawing.page(units))  # noqa: S314 -- our own page

    panels = page.findall(f"{SVG}g")
    assert len(panels) == len(units) >= 12
    for panel in panels:
        lines = panel.findall(f"{SVG}polyline")
        assert len({line.attrib["stroke-dasharray"] for line in lines}) == len(lines) == 4
        assert len(panel.findall(f"{SVG}polygon")) == 1


def test_the_model_stays_below_plug_flow(drawing: ModuleType) -> None:
    for profile in drawing.profiles(CATALOGUE.read_bytes()):
        circuit = drawing.unit_in(profile).circuit
        lines = {style.name: line for style, line in drawing.lines_of(circuit)}
        for litres in drawing.spread(2 * circuit.total_l, 21):
            assert lines[drawing.MODEL.name](litres) <= lines[drawing.PLUG.name](litres) + 1e-12


def test_a_profile_that_contradicts_itself_is_named(drawing: ModuleType) -> None:
    (first, *_) = drawing.profiles(CATALOGUE.read_bytes())
    emptied = type(first)(
        **{name: getattr(first, name) for name in first.__struct_fields__ if name != "drained"},
        drained=first.total,
    )

    with pytest.raises(ValueError, match=first.transmission_id):
        drawing.unit_in(emptied)
