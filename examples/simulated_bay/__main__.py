"""The simulated bay: invented jobs against the real service, verdicts held against the truth.

    python -m examples.simulated_bay --jobs 3000 --seed 1

Technicians stop where they must, go on and tell it, withdraw it, or hide it. Only unsafe vehicles
that were told of and that nobody stopped try the verdict, and the bound is over those; it holds for
this simulation. It starts a service of its own on a database in a temporary folder, or takes
`--url` and `--key`.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import httpx

from examples.simulated_bay.job import Outcome, run_job
from examples.simulated_bay.tally import conclusions, met, routine, table
from exchange_api.demo.service import prepare, running
from exchange_api.outside import real_outside

WORKSHOP = "Invented workshop Alder"
CATALOGUE = Path(__file__).parents[1] / "catalogue" / "invented.ndjson"


@contextmanager
def own_service() -> Iterator[tuple[str, str]]:
    """A service that lasts as long as the run; its address and a key."""
    with tempfile.TemporaryDirectory(prefix="simulated-bay-") as folder:
        prepared = prepare(Path(folder), CATALOGUE, {WORKSHOP: "north"}, real_outside())
        with running(prepared.database) as url:
            yield url, prepared.keys[WORKSHOP]


def play(url: str, key: str, *, seed: int, jobs: int, at_once: int = 2) -> list[Outcome]:
    """So many jobs, some at once; the outcomes in the order of their numbers."""
    headers = {"Authorization": f"Bearer {key}"}
    with (
        httpx.Client(base_url=url, headers=headers, timeout=60) as client,
        ThreadPoolExecutor(at_once) as workers,
    ):
        return list(workers.map(lambda number: run_job(client, seed, number), range(jobs)))


def main(arguments: list[str]) -> int:
    """Play the jobs and tell; 0 when what was unsafe and told was refused, and little good was."""
    parser = argparse.ArgumentParser(prog="simulated_bay", description=__doc__)
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--url", help="of a running service; its own otherwise")
    parser.add_argument("--key", help="for --url")
    asked = parser.parse_args(arguments)
    if asked.url:
        outcomes = play(asked.url, asked.key or "", seed=asked.seed, jobs=asked.jobs)
    else:
        with own_service() as (url, key):
            outcomes = play(url, key, seed=asked.seed, jobs=asked.jobs)
    print(f"{asked.jobs} invented jobs, seed {asked.seed}")
    for part in (table, conclusions, routine):
        print("\n".join(part(outcomes)), end="\n\n")
    return 0 if met(outcomes) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
