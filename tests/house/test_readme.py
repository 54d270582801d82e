"""What the README shows is run: its Python, its request, its commands."""

import contextlib
import io
import json
import re
from pathlib import Path

import msgspec

from libexchange.calculations.required_exchange import (
    RequiredExchangeRequest,
    calculate_required_exchange,
)

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text()


def block(language: str, holding: str) -> str:
    blocks = re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)
    return str(next(text for text in blocks if holding in text))


def test_the_python_example_prints_what_it_says() -> None:
    printed = io.StringIO()

    with contextlib.redirect_stdout(printed):
        exec(block("python", "make_plan"), {})  # noqa: S102 -- the README's own example

    lines = printed.getvalue().splitlines()
    assert lines[0] == "pan_and_filter_then_line Volume(value=8.4, unit='L')"
    assert lines[1] == "Estimate(low=0.739754, expected=0.8, high=0.828593)"
    assert lines[2].startswith("level_only possible ['The route does not reach the target share']")


def test_the_http_example_is_answered() -> None:
    body = re.search(r"-d '(\{.*?\})'", block("sh", "required-exchange"), re.DOTALL)

    assert body is not None
    request = msgspec.convert(json.loads(body[1]), RequiredExchangeRequest)
    answer = calculate_required_exchange(request)
    assert answer.exchanged is not None
    assert 10 < answer.exchanged.l < 12


def test_ci_runs_the_commands_of_the_readme() -> None:
    commands = re.findall(r"<!-- command: (\w+) -->\n```sh\n(.*)\n```", README)

    script = (ROOT / ".ci" / "run").read_text()
    assert [name for name, _ in commands] == ["demo", "tests"]
    assert all(f"readme_command {name}" in script for name, _ in commands)
