"""Kill the service at random moments under load, start it again, and hold it to its word.

    python -m tests.faults.kill --rounds 500 --backend sqlite --seed 1

Every request that was answered with 2xx must be kept, whole and once; every other is sent again.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.exchange_api.postgresql_server import server
from tests.faults.campaign import Campaign

CHECK_TABLES_EVERY = 50


def run(database: str, folder: Path, *, rounds: int, seed: int) -> Campaign:
    """So many rounds and the last check. Raises: Fault."""
    campaign = Campaign(database, folder, seed)
    for number in range(1, rounds + 1):
        campaign.round()
        if number % CHECK_TABLES_EVERY == 0:
            campaign.check_tables()
            print(f"  {number} rounds, {len(campaign.visits)} visits", flush=True)
    campaign.finish()
    return campaign


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=500)
    parser.add_argument("--backend", choices=["sqlite", "postgresql", "both"], default="both")
    parser.add_argument("--seed", type=int, default=1)
    told = parser.parse_args()
    for backend in ["sqlite", "postgresql"] if told.backend == "both" else [told.backend]:
        with tempfile.TemporaryDirectory() as name, database(backend, Path(name)) as url:
            print(f"{backend}: {told.rounds} rounds, seed {told.seed}", flush=True)
            done = run(url, Path(name), rounds=told.rounds, seed=told.seed)
            closed = sum(visit.closing is not None for visit in done.visits)
            events = sum(visit.posted for visit in done.visits)
            print(f"{backend}: {done.kills} kills, {len(done.visits)} plans, {events} events, "
                  f"{closed} closes: none lost, none half written, none doubled")  # fmt: skip
    return 0


@contextmanager
def database(backend: str, folder: Path) -> Iterator[str]:
    if backend == "sqlite":
        yield f"sqlite:///{folder}/exchange.db"
        return
    with server() as postgresql:
        yield postgresql.database()


if __name__ == "__main__":
    sys.exit(main())
