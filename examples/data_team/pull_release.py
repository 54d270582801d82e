"""A data team pulls one anonymised release, page by page, and counts k for itself.

python examples/data_team/pull_release.py http://127.0.0.1:8000 KEY 2026-02
"""

import json
import sys
from collections import Counter
from typing import Any

import httpx

TELLING = ("month", "family", "model_year_band", "odometer_band", "region")
"""What could tell one vehicle from another."""


def pull(
    client: httpx.Client, release: str, *, page: int = 1000
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """The rows of a release and the trailer of its last page; a page that was cut is an error."""
    rows: list[dict[str, Any]] = []
    params = {"release": release, "limit": str(page)}
    while True:
        with client.stream("GET", "/v1/exports/plans", params=params) as answered:
            answered.raise_for_status()
            *more, last = [json.loads(line) for line in answered.iter_lines() if line]
        trailer: dict[str, Any] = last["trailer"]  # a KeyError here: the stream was cut
        rows += more
        if trailer["next_cursor"] is None:
            return rows, trailer
        params["cursor"] = trailer["next_cursor"]


def smallest_group(rows: list[dict[str, Any]]) -> int | None:
    """How many rows the rarest vehicle shares its description with; None without rows."""
    groups = Counter(tuple(row[name] for name in TELLING) for row in rows)
    return min(groups.values(), default=None)


def main(url: str, key: str, release: str) -> None:
    """Pull a release and tell what is in it."""
    with httpx.Client(base_url=url, headers={"Authorization": f"Bearer {key}"}) as client:
        rows, trailer = pull(client, release)
    print(f"{len(rows)} rows, {trailer['suppressed']} suppressed")
    print(f"k as told {trailer['k']}, as counted {smallest_group(rows)}")
    for (route, reason), count in Counter((r["route"], r["reason"]) for r in rows).most_common():
        print(f"  {count:4} {reason.replace('_', ' ')}: {(route or 'none').replace('_', ' ')}")


if __name__ == "__main__":
    main(*sys.argv[1:])
