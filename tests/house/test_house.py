"""Conventions that matter are checks: size of modules, top level, what may be written where."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "libexchange", "api", "openapi"}
TOP_LEVEL |= {"tests", "examples"}
LONGEST_MODULE = 300


def tracked() -> list[Path]:
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)  # noqa: S603 -- fixed words
    return [ROOT / line for line in listed.stdout.splitlines() if (ROOT / line).is_file()]


TEXT_FILES = [path for path in tracked() if b"\0" not in path.read_bytes()[:8000]]


def test_the_top_level_holds_what_it_should_and_no_more() -> None:
    names = {path.relative_to(ROOT).parts[0] for path in tracked()}

    assert {name for name in names if not name.startswith(".")} == TOP_LEVEL


def test_no_module_is_longer_than_it_may_be() -> None:
    python = [path for path in tracked() if path.suffix == ".py"]
    lengths = {str(path.relative_to(ROOT)): path.read_text().count("\n") for path in python}

    assert {name: n for name, n in lengths.items() if n > LONGEST_MODULE} == {}


@pytest.mark.parametrize(
    ("what", "pattern"),
    [
        ("a package registry host", r"python[h]osted|py[p]i\.org|npm[j]s\.(org|com)"),
        ("a path of one machine", r"(^|[^A-Za-z.])/(w[o]rk|f[a]rm|r[o]ot)/"),
    ],
)
def test_no_file_names(what: str, pattern: str) -> None:
    found = [
        f"{path.relative_to(ROOT)}: {line.strip()[:80]}"
        for path in TEXT_FILES
        for line in path.read_text().splitlines()
        if re.search(pattern, line)
    ]

    assert found == [], what


def test_every_ignore_carries_its_reason() -> None:
    mark = re.compile(r"#\s*(?:noqa|type:\s*ignore)(?P<rest>.*)$")
    bare = [
        f"{path.relative_to(ROOT)}: {line.strip()[:100]}"
        for path in TEXT_FILES
        if path.suffix == ".py" and path != Path(__file__)
        for line in path.read_text().splitlines()
        if (hit := mark.search(line)) and not re.search(r"(--|  #|\] #) ?\S", hit["rest"])
    ]

    assert bare == []
