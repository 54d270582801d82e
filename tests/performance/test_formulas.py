"""The command measures what it says: every way to an answer comes to the same one."""

import pytest

from tests.performance import formulas


def test_the_solvers_and_the_curve_agree() -> None:
    assert formulas.disagreement() < 1000 * formulas.ACCURACY


@pytest.mark.parametrize("title", formulas.blocks())
def test_every_line_of_a_block_can_be_run(title: str) -> None:
    for _name, work in formulas.blocks()[title]:
        assert work() is not None


def test_a_unit_never_seen_is_another_each_time() -> None:
    assert formulas.other_unit() != formulas.other_unit()


def test_times_stand_beside_what_they_are_of_the_first() -> None:
    told = formulas.table("title", [("one", 2e-6), ("other", 5e-6)])

    assert "2.0 us     1.00 x" in told
    assert "5.0 us     2.50 x" in told
