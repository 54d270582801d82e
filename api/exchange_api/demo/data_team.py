"""The data team: it pulls one anonymised release."""

import json
from collections.abc import Iterable
from datetime import date
from typing import Any

import httpx

from exchange_api.demo.account import Account
from exchange_api.demo.scenario import closed_months


def pull(client: httpx.Client, account: Account, today: date) -> None:
    """The newest closed month, row by row, with its trailer."""
    account.title("The data team pulls one anonymised release")
    release = f"{closed_months(today)[-1]:%Y-%m}"
    with client.stream("GET", "/v1/exports/plans", params={"release": release}) as answered:
        answered.raise_for_status()
        rows, trailer = _read(answered.iter_lines())
    account.line(f"Release {release}: {len(rows)} rows released, {trailer['suppressed']} "
                 f"suppressed, every row shared by at least {trailer['k']}")  # fmt: skip
    account.line(f"One of them: {json.dumps(rows[0])}" if rows else "No row could be released")


def _read(lines: Iterable[str]) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    documents = [json.loads(line) for line in lines if line]
    *rows, last = documents
    return rows, last["trailer"]
