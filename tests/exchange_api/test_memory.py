"""Memory is bounded under a flood of the largest requests that are legal."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from subprocess import Popen
from uuid import uuid4

import httpx
import msgspec

from libexchange.job.events import LARGEST_BATCH
from tests.exchange_api.bay_desk import event, started
from tests.exchange_api.test_command_line import process
from tests.job.plans import START

CALLERS = 48
MEBI = 2**20
LARGEST = 4 * MEBI
BODY_MEMORY = 32 * MEBI
GROWTH = 200 * MEBI
"""What is set aside for bodies, about four times that for what is decoded from those at work, and
some for the database's pages; without the room for bodies these callers take 320 MiB."""


def largest_post() -> bytes:
    """As many notes as one post takes, as long as its bytes allow."""
    frame = len(msgspec.json.encode(event("note", LARGEST_BATCH, text="")))
    text = "x" * min(2000, LARGEST // LARGEST_BATCH - frame - 2)
    notes = [event("note", number, text=text) for number in range(LARGEST_BATCH)]
    post = {"device_id": f"phone-{uuid4()}", "sent_at": START.isoformat(), "events": notes}
    return msgspec.json.encode(post)


def peak(served: "Popen[str]") -> int:
    """The most memory that a process has had [bytes]."""
    status = Path(f"/proc/{served.pid}/status").read_text(encoding="ascii")
    (kibi,) = re.findall(r"VmHWM:\s+([0-9]+) kB", status)
    return int(kibi) * 1024


def test_a_flood_of_the_largest_posts_stays_within_bounds(tmp_path: Path) -> None:
    told = ["--database", f"sqlite:///{tmp_path}/a.db", "--body-memory", str(BODY_MEMORY)]
    told += ["--port", "0", "--log-level", "error"]
    with process("exchange_api.cli", "serve", *told) as (served, url):
        assert served.stdout is not None
        key = served.stdout.readlines(100)[-1].strip()
        with httpx.Client(
            base_url=url, headers={"Authorization": f"Bearer {key}"}, timeout=120
        ) as client:
            paths = [started(client)[0] for _ in range(CALLERS)]
            before, post = peak(served), largest_post()

            def flood(path: str) -> int:
                headers = {"Content-Type": "application/json"}
                return client.post(f"{path}/events", content=post, headers=headers).status_code

            with ThreadPoolExecutor(CALLERS) as pool:
                statuses = list(pool.map(flood, paths))
            alive = client.get("/health/live").status_code
        growth = peak(served) - before

    assert statuses == [200] * CALLERS
    assert alive == 200
    assert growth < GROWTH
