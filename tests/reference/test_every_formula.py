"""Which formulas a seen or computed value stands behind, and why the others have none.

The tests of this folder are run once more, those alone whose id or docstring says that their value
was seen or computed, and what they call of the library is written down. `without_value.toml` names
every formula that none of them reaches, with the reason; a new formula without either fails here.
"""

import importlib
import sys
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from tests.house.formulas import formulas

HERE = Path(__file__).parent
REASONS: dict[str, str] = tomllib.loads((HERE / "without_value.toml").read_text("utf-8"))["reason"]
PROVEN = ("[seen]", "[computed]")

Test = Callable[..., None]


def proven_cases(test: Test) -> Iterator[dict[str, Any]]:
    """The arguments of each run of a test that tells of a seen or computed value."""
    marks = [mark for mark in getattr(test, "pytestmark", ()) if mark.name == "parametrize"]
    if not marks and (test.__doc__ or "").startswith(PROVEN):
        yield {}
    if len(marks) != 1:
        return
    names, values = marks[0].args
    several = [names] if isinstance(names, str) else list(names)
    for number, value in enumerate(values):
        arguments = [value] if isinstance(names, str) else list(value)
        if any(status in _id(marks[0].kwargs.get("ids"), number, arguments) for status in PROVEN):
            yield dict(zip(several, arguments, strict=True))


def _id(ids: Any, number: int, arguments: list[Any]) -> str:
    if callable(ids):
        return " ".join(str(ids(argument)) for argument in arguments)
    return str(ids[number]) if ids else ""


def reference_tests() -> Iterator[Test]:
    """The tests of this folder but for this one."""
    for path in sorted(HERE.glob("test_*.py")):
        if path.name != Path(__file__).name:
            module = importlib.import_module(f"tests.reference.{path.stem}")
            yield from (test for name, test in vars(module).items() if name.startswith("test_"))


def forget() -> None:
    """Empty every cache of the library, so that a call behind one is seen."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "libexchange":
            for found in list(vars(module).values()):
                getattr(found, "cache_clear", lambda: None)()


@pytest.fixture(scope="module")
def reached() -> frozenset[str]:
    """The formulas that a seen or computed value stands behind."""
    known = {function.__code__: name for name, function in formulas().items()}
    called = set()

    def note(frame: FrameType, event: str, _argument: object) -> None:
        if event == "call" and frame.f_code in known:
            called.add(known[frame.f_code])

    before = sys.getprofile()
    for test in reference_tests():
        for case in proven_cases(test):
            forget()
            sys.setprofile(note)
            try:
                test(**case)
            finally:
                sys.setprofile(before)
    return frozenset(called)


def test_a_formula_without_a_seen_or_computed_value_says_why(reached: frozenset[str]) -> None:
    assert formulas().keys() - reached == set(REASONS)


def test_every_reason_says_something() -> None:
    assert [name for name, reason in REASONS.items() if len(reason.split()) < 6] == []


def test_a_call_behind_a_value_is_noticed(reached: frozenset[str]) -> None:
    assert "fluid.volume_correction_factor" in reached
    assert "vin.check_digit" in reached
