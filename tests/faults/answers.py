"""What a client sees while the storage is out of reach, and afterwards."""

from time import monotonic, sleep

import httpx

from tests.exchange_api.bay_desk import ask, plans_kept, problem

RECOVERS_WITHIN_S = 15


def check_unavailable(answered: httpx.Response) -> None:
    """503 as a problem that says when to ask again: never a wrong 2xx."""
    assert problem(answered)[:2] == (503, "storage-unavailable"), answered.text
    assert int(answered.headers["retry-after"]) >= 1


def until_unavailable(client: httpx.Client, most: int = 2000) -> tuple[int, str]:
    """Make plans until one is refused; how many were kept, and the key of the refused one."""
    for number in range(most):
        key = f"until-{number}"
        answered = ask(client, key=key)
        if answered.status_code != 201:
            check_unavailable(answered)
            return number, key
    raise AssertionError(f"{most} plans were kept")


def check_recovers(client: httpx.Client, *, kept: int, refused: str) -> None:
    """By itself, soon: the refused request is kept once it is sent again, and only once."""
    end = monotonic() + RECOVERS_WITHIN_S
    while (answered := ask(client, key=refused)).status_code == 503 and monotonic() < end:
        sleep(0.1)
    assert answered.status_code == 201, answered.text
    assert ask(client, key=refused).content == answered.content
    if kept < 200:  # what one page holds
        assert plans_kept(client) == kept + 1
    assert client.get("/health/ready").status_code == 200
