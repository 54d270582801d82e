"""The demonstration, run as its reader runs it."""

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from shutil import rmtree

import pytest

LINES = (
    r"An invented story: no real vehicle, fluid, workshop or person is in it",
    r"400 plans kept, \d+ of them feasible",
    r"Route: pan and filter then line, 8\.4 L",
    r"Fresh share: low 0\.74, expected 0\.80, high 0\.83; calculated, not measured",
    r"Containers: 2 of 5 L\s",
    r"Containers: sizes not known",
    r"Warm up to 81 °C: 22 of 100 typical cars get there at idle",
    r"Cool down to 35 °C: 101 min \(70 to 153\), forecast",
    r"Next service: after 80,000 km or on \d{4}-\d\d-\d\d, by the maker's schedule",
    r"Next service: after [\d,]+ km, by the wear of the fluid",
    r"a dual clutch or cvt is not exchanged through its lines",
    r"gate-line is closed: .* Expected to open at \d\d:\d\d\.",
    r"Posted the earlier late, and everything again: \d+ stored, \d+ already stored",
    r"Level: corrected by 0\.30 L in 1 round, now set",
    r"Balance at 15 °C: 8\.70 L in, 8\.40 L out: ok",
    r"Verdict: accepted\s*\n",
    r"Release \d{4}-\d\d: \d+ rows released, \d+ suppressed, every row shared by at least \d\d",
    r"The record lies in \S+record\.html",
)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """What the demonstration prints; what it leaves behind is removed."""
    program = Path(sys.executable).with_name("exchange-api")
    folder = tmp_path_factory.mktemp("demo")
    done = subprocess.run(  # noqa: S603 -- our own command
        [program, "demo"], capture_output=True, text=True, timeout=120, check=False,
        env={"PATH": "", "TMPDIR": str(folder), "COLUMNS": "200"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    yield done.stdout
    rmtree(folder)


def shown() -> list[str]:
    """The lines that the README shows of it, without what it leaves out."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    block = re.search(r"Shortened:\n\n```\n(.*?)```", readme, re.DOTALL)
    assert block is not None
    return [line.strip() for line in block[1].splitlines() if line != "..."]


def dateless(line: str) -> str:
    """A line without what differs from month to month, and from folder to folder."""
    if line.startswith("Release"):
        return re.sub(r"\d+", "N", line)
    if line.startswith("Next service"):
        return re.sub(r"\d{4}-\d\d-\d\d", "the day", line)
    return re.sub(r"\S*/exchange-demo-[^/]+", "the folder", line)


@pytest.mark.parametrize("line", LINES)
def test_it_tells_the_story(told: str, line: str) -> None:
    assert re.search(line, told), told


def test_the_readme_shows_what_it_prints(told: str) -> None:
    printed = (dateless(line.strip()) for line in told.splitlines())

    for line in shown():  # each further down than the one before
        assert dateless(line) in printed, line


def test_the_parts_come_in_their_order(told: str) -> None:
    parts = ("The dealer management system", "The mobile app", "The job is closed", "The data team")
    places = [told.index(part) for part in parts]

    assert places == sorted(places)


def test_the_last_line_tells_how_to_start_for_oneself(told: str) -> None:
    assert "exchange-api serve --database sqlite:///exchange.db" in told.splitlines()[-1]


def test_the_record_lies_where_it_says(told: str) -> None:
    found = re.search(r"The record lies in (\S+)", told)

    assert found is not None
    page = Path(found[1]).read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>")
    assert page.rstrip().endswith("</html>")
