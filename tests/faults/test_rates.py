"""Rate limits over separate processes: one key, one database, one limit at its stated bound.

So many are asked that each process refuses some even when the minute turns over among them.
"""

import re
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from email.utils import parsedate_to_datetime
from pathlib import Path

import httpx
import pytest

from exchange_api.rates import SHARES, WINDOW_S
from tests.exchange_api.bay_desk import problem
from tests.faults.campaign import made_key
from tests.faults.serving import serving

LIMIT = 200
SHARE = LIMIT // SHARES
CALLERS = 8  # of each process


def asked(urls: list[str], key: str, each: int) -> list[list[httpx.Response]]:
    """What each process answered to so many requests; all of them are asked at the same time."""
    headers = {"Authorization": f"Bearer {key}"}
    with ExitStack() as stack:
        clients = [
            stack.enter_context(httpx.Client(base_url=url, headers=headers, timeout=60))
            for url in urls
        ]
        pool = stack.enter_context(ThreadPoolExecutor(CALLERS * len(urls)))
        waiting = [
            [pool.submit(client.get, "/v1/me") for client in clients] for _ in range(each)
        ]  # turn by turn, so that no process is ahead
        return [[one.result() for one in answers] for answers in zip(*waiting, strict=True)]


def window_of(answered: httpx.Response) -> int:
    """The minute whose count an answer tells."""
    (left,) = re.findall(r"t=([0-9]+)$", answered.headers["ratelimit"])
    ends = parsedate_to_datetime(answered.headers["date"]).timestamp() + int(left)
    return round(ends / WINDOW_S)  # the date may be a second off


@pytest.mark.parametrize("processes", [2, 3])
def test_processes_together_admit_the_limit_and_no_more_than_their_shares(
    url: str, tmp_path: Path, processes: int
) -> None:
    key = made_key(url)
    with ExitStack() as stack:
        served = [
            stack.enter_context(serving(url, tmp_path, EXCHANGE_API_KEY_RATE=str(LIMIT)))
            for _ in range(processes)
        ]
        answers = asked([one.url for one in served], key, each=2 * LIMIT)
        assert [one.failures() for one in served] == [[]] * processes

    slack = (processes - 1) * SHARE
    windows = defaultdict[int, list[int]](list)
    for answered in (one for told in answers for one in told):
        windows[window_of(answered)].append(answered.status_code)
    for statuses in windows.values():
        assert set(statuses) <= {200, 429}
        assert statuses.count(200) <= LIMIT + slack
        assert 429 not in statuses or statuses.count(200) >= LIMIT - slack
    for told in answers:
        check_told(told)


def check_told(answers: list[httpx.Response]) -> None:
    """A process tells its callers where they stand, and whom it refuses when to come back."""
    refused = [one for one in answers if one.status_code == 429]
    assert {one.headers["ratelimit-policy"] for one in answers} == {f'"key";q={LIMIT};w={WINDOW_S}'}
    assert refused
    for one in refused:
        assert problem(one)[:2] == (429, "too-many-requests")
        assert 1 <= int(one.headers["retry-after"]) <= WINDOW_S
        assert one.headers["ratelimit"] == f'"key";r=0;t={one.headers["retry-after"]}'
    left = [int(re.findall(r"r=([0-9]+);", one.headers["ratelimit"])[0]) for one in answers]
    assert max(left) < LIMIT
    assert min(left) == 0
