"""Rounds of load and SIGKILL over one database, and what is checked after each."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from threading import Event, Lock, Thread
from time import sleep

import httpx

from exchange_api.keys import keep_key, new_key
from exchange_api.outside import real_outside
from exchange_api.scopes import SCOPES
from exchange_api.storage.migrate import migrate
from tests.exchange_api.test_databases import using
from tests.faults.serving import Served, speaking
from tests.faults.visits import Fault, Visit, plan_ids
from tests.faults.wholeness import half_written

CALLERS = 6
LONGEST_LOAD_S = 0.6
FIRST_ANSWER_WITHIN_S = 30
KILLED_IN_START = 0.1  # share of rounds that end before the service has started


def made_key(database: str) -> str:
    """A key of a new workshop with every scope, in a database that gets its tables if need be."""
    migrate(database)
    outside = real_outside()
    key = new_key(outside)
    unit = keep_key(key, workshop="Faults", region="", scopes=frozenset(SCOPES),
                    workshop_id=outside.new_id())  # fmt: skip
    using(database, lambda database: database.write(unit))
    return key.text


class Campaign:
    """Rounds over one database; `visits` is all that was ever sent."""

    def __init__(self, database: str, folder: Path, seed: int) -> None:
        self.database = database
        self.visits: list[Visit] = []
        self.kills = 0
        self._log = folder / "log"
        self._random = Random(seed)  # noqa: S311 -- moments, not secrets
        self._unfinished: list[Visit] = []
        self._touched: list[Visit] = []
        self._lock = Lock()
        self._is_answered = Event()
        self._faults: list[str] = []
        self._key = made_key(database)

    def round(self) -> None:
        """Start, check what the last round was answered, load, kill. Raises: Fault."""
        served = Served(self.database, self._log)
        if self._random.random() < KILLED_IN_START:
            sleep(self._random.uniform(0, 0.5))
        else:
            served.wait_until_ready()
            self._check(served, self._touched)
            self._load(served, self._random.uniform(0, LONGEST_LOAD_S))
        served.kill()
        self.kills += 1
        self._raise_faults()

    def finish(self) -> None:
        """Send what is unanswered, and check everything. Raises: Fault."""
        served = Served(self.database, self._log)
        try:
            served.wait_until_ready()
            with self._client(served) as client:
                for visit in self.visits:
                    visit.go_on(client)
                self._check(served, self.visits)
                kept = plan_ids(client)
        finally:
            served.kill()
        answered = [visit.plan.json()["plan_id"] for visit in self.visits if visit.plan]
        if sorted(kept) != sorted(answered) or len(answered) != len(self.visits):
            raise Fault(f"{len(self.visits)} plans were asked for, {len(kept)} are kept")
        self.check_tables()
        self._faults += served.failures()
        self._raise_faults()

    def check_tables(self) -> None:
        """Look for anything that is half written. Raises: Fault."""
        self._faults += using(self.database, lambda database: database.read(half_written))
        self._raise_faults()

    def _load(self, served: Served, seconds: float) -> None:
        """Callers work; the service is killed under them, which ends them.

        seconds: from the first 2xx of the round, so that a slow machine works as a quick one does
        """
        self._touched = []
        self._is_answered.clear()
        callers = [Thread(target=self._call, args=(served,)) for _ in range(CALLERS)]
        for caller in callers:
            caller.start()
        self._is_answered.wait(FIRST_ANSWER_WITHIN_S)
        sleep(seconds)
        served.kill()
        for caller in callers:
            caller.join()

    def _call(self, served: Served) -> None:
        try:
            with self._client(served) as client:
                while not self._faults:
                    visit = self._next()
                    visit.go_on(client)
                    with self._lock:
                        self._unfinished.remove(visit)
        except httpx.TransportError:
            pass  # killed; the visit stays unfinished
        except Exception as fault:  # noqa: BLE001 -- told by the thread that started this one
            self._faults.append(repr(fault))

    def _next(self) -> Visit:
        with self._lock:
            waiting = [one for one in self._unfinished if one not in self._touched]
            visit = waiting[0] if waiting else Visit(len(self.visits))
            if not waiting:
                self.visits.append(visit)
                self._unfinished.append(visit)
            self._touched.append(visit)
            return visit

    def _check(self, served: Served, visits: list[Visit]) -> None:
        with self._client(served) as client:
            for visit in visits:
                visit.check(client)

    @contextmanager
    def _client(self, served: Served) -> Iterator[httpx.Client]:
        with speaking(served, self._key) as client:
            client.event_hooks = {"response": [self._note]}
            yield client

    def _note(self, answered: httpx.Response) -> None:
        if answered.is_success:
            self._is_answered.set()

    def _raise_faults(self) -> None:
        if self._faults:
            raise Fault("; ".join(self._faults))
