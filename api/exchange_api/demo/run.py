"""`exchange-api demo`: the whole story, told as it goes."""

import argparse
import asyncio
import tempfile
from pathlib import Path
from typing import Any

import httpx
from rich.console import Console

from exchange_api.demo import data_team, dealer, mobile
from exchange_api.demo.account import Account
from exchange_api.demo.scenario import MONTHS, PLANS, WORKSHOPS, requests
from exchange_api.demo.service import Prepared, prepare, running
from exchange_api.outside import Outside, real_outside
from exchange_api.settings import Settings
from libexchange.errors import Fault, InvalidInput

CATALOGUE = Path(__file__).parents[3] / "examples" / "catalogue" / "invented.ndjson"
DATA_TEAM = "Invented data team"
AT_ONCE = 8


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the subcommand takes."""
    parser.add_argument("--catalogue", metavar="FILE", default=str(CATALOGUE),
                        help="entries to import, one JSON a line")  # fmt: skip


def run(_settings: Settings, arguments: argparse.Namespace) -> int:
    """Play the invented story on a service of its own; 0 when all of it went well."""
    catalogue = Path(arguments.catalogue)
    if not catalogue.is_file():
        raise InvalidInput(_no_catalogue(catalogue))
    account, outside = Account(Console()), real_outside()
    folder = Path(tempfile.mkdtemp(prefix="exchange-demo-"))
    account.title("An invented story: no real vehicle, fluid, workshop or person is in it")
    prepared = prepare(folder, catalogue, WORKSHOPS | {DATA_TEAM: ""}, outside)
    account.line(f"Catalogue: {prepared.report.created} invented entries; "
                 f"{len(WORKSHOPS)} invented workshops")  # fmt: skip
    with running(prepared.database) as address:
        account.line(f"The service runs on {address}")
        record = _story(address, prepared, folder, account, outside)
    account.title("Done")
    account.line(f"The record lies in {record}")
    account.line(f"Everything else of this story lies beside it; remove {folder} when you like.")
    account.line("Start the service for yourself: "
                 ".venv/bin/exchange-api serve --database sqlite:///exchange.db")  # fmt: skip
    return 0


def _story(
    address: str, prepared: Prepared, folder: Path, account: Account, outside: Outside
) -> Path:
    asyncio.run(_play_plans(address, prepared, account, outside))
    first = prepared.keys[next(iter(WORKSHOPS))]
    with httpx.Client(base_url=address, headers=_bearer(first), timeout=30) as client:
        plan, *_ = dealer.ask_plans(client, account, outside)
        job_id, tag = mobile.work(client, plan, account, outside)
        record = _close(client, job_id, tag, folder, account)
    team = _bearer(prepared.keys[DATA_TEAM])
    with httpx.Client(base_url=address, headers=team, timeout=30) as client:
        data_team.pull(client, account, outside.now().date())
    return record


async def _play_plans(address: str, prepared: Prepared, account: Account, outside: Outside) -> None:
    """The plans of the last closed months, a few at a time."""
    account.title(f"Five workshops plan {PLANS} services of the last {MONTHS} closed months")
    wanted = list(requests(outside.now()))
    groups = [wanted[n : n + AT_ONCE] for n in range(0, len(wanted), AT_ONCE)]
    feasible = 0
    async with httpx.AsyncClient(base_url=address, timeout=30) as client:
        for group in account.following(groups, "plans kept"):
            made = await asyncio.gather(
                *(_keep(client, prepared.keys[name], body, outside) for name, body in group)
            )
            feasible += sum(plan["feasible"] for plan in made)
    account.line(f"{PLANS} plans kept, {feasible} of them feasible")


async def _keep(
    client: httpx.AsyncClient, key: str, body: dict[str, Any], outside: Outside
) -> dict[str, Any]:
    headers = {**_bearer(key), "Idempotency-Key": outside.new_id()}
    answered = await client.post("/v1/plans", json=body, headers=headers)
    plan: dict[str, Any] = answered.raise_for_status().json()
    return plan


def _close(client: httpx.Client, job_id: str, tag: str, folder: Path, account: Account) -> Path:
    account.title("The job is closed and recorded")
    closed = client.post(f"/v1/jobs/{job_id}/close", headers={"If-Match": tag})
    closing = closed.raise_for_status().json()
    account.line(f"Verdict: {closing['verdict'].replace('_', ' ')}")
    for finding in closing["findings"]:
        account.line(f"    {finding['severity']}: {finding['title']}. {finding['message']}")
    page = client.get(f"/v1/jobs/{job_id}/record", headers={"Accept": "text/html"})
    path = folder / "record.html"
    path.write_bytes(page.raise_for_status().content)
    return path


def _bearer(key: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {key}"}


def _no_catalogue(path: Path) -> Fault:
    return Fault(
        pointer="--catalogue",
        code="unreadable",
        detail=f"{path} is not there",
        allowed="a file of catalogue entries, one JSON a line",
        remedy="Run it in a checkout, or name such a file.",
    )
