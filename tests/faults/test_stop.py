"""A stop under load: whatever was begun is finished and answered, and nothing else is kept."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from time import sleep

import httpx

from tests.exchange_api.bay_desk import ask
from tests.faults.campaign import made_key
from tests.faults.serving import Served, serving, speaking
from tests.faults.visits import plan_ids

CALLERS = 8
LOAD_S = 0.5


def made_until_refused(served: Served, key: str, caller: int, everyone_works: Barrier) -> list[str]:
    """The ids of the plans that were answered until no connection was taken any more."""
    made: list[str] = []
    with speaking(served, key) as client:
        client.headers["Connection"] = "close"  # nothing waits on a connection that is let go
        while True:
            try:
                answered = ask(client, key=f"{caller}-{len(made)}")
            except httpx.TransportError:
                return made
            assert answered.status_code == 201, answered.text
            made.append(str(answered.json()["plan_id"]))
            if len(made) == 1:
                everyone_works.wait(60)


def test_a_stop_answers_all_that_it_keeps(url: str, tmp_path: Path) -> None:
    key = made_key(url)
    with serving(url, tmp_path) as served, ThreadPoolExecutor(CALLERS) as pool:
        work = Barrier(CALLERS + 1)
        waiting = [pool.submit(made_until_refused, served, key, n, work) for n in range(CALLERS)]
        work.wait(60)
        sleep(LOAD_S)
        code = served.stop()
        answered = [plan_id for one in waiting for plan_id in one.result()]
        failures = served.failures()
    with serving(url, tmp_path) as again, speaking(again, key) as client:
        kept = plan_ids(client)

    assert (code, failures) == (0, [])
    assert len(answered) > CALLERS
    assert sorted(kept) == sorted(answered)
