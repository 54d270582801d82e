"""When a webhook that failed is tried again."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exchange_api.webhook_schedule import DELAYS_S, FAILING_FOR, wait_s

LEAST = [5, 300, 1800, 7200, 18_000, 36_000, 50_400, 72_000, 86_400]


def test_the_waits_are_those_of_the_specification() -> None:
    waits = [wait_s(tries=tries, chance=0) for tries in range(1, 11)]

    assert waits == [*LEAST, None]


def test_it_goes_on_for_longer_than_an_endpoint_may_fail() -> None:
    assert timedelta(seconds=sum(DELAYS_S)) == timedelta(days=3, hours=3, minutes=35, seconds=5)
    assert timedelta(days=3) == FAILING_FOR


@given(st.integers(1, 9), st.floats(0, 1))
def test_chance_makes_a_wait_up_to_a_fifth_longer(tries: int, chance: float) -> None:
    wait = wait_s(tries=tries, chance=chance)

    assert wait is not None
    assert LEAST[tries - 1] <= wait <= LEAST[tries - 1] * 1.2


@pytest.mark.parametrize(
    ("asked_s", "wait"), [(0, 300), (299, 300), (301, 301), (86_400, 86_400), (10**9, 86_400)]
)
def test_a_receiver_may_ask_for_a_longer_wait_of_up_to_a_day(asked_s: int, wait: int) -> None:
    assert wait_s(tries=2, chance=0, asked_s=asked_s) == wait
