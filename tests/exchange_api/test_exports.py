"""Releases over HTTP: closed months only, cut once, told to the end, and nobody alone in them."""

from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pytest

from libexchange.anonymise import QUASI_IDENTIFIERS, k_of
from tests.exchange_api.export_desk import Desk, desk_in


@pytest.fixture
def desk(url: str) -> Iterator[Desk]:
    with desk_in(url) as desk:
        yield desk


def test_a_release_holds_the_rows_and_ends_with_its_trailer(desk: Desk) -> None:
    desk.keep(12)
    desk.keep(3, family="heavy_duty_automatic")

    rows, trailer = desk.pull()

    assert trailer == {
        "release": "2026-03",
        "rows": 12,
        "suppressed": 3,
        "k": 12,
        "rules_version": 1,
        "complete": True,
        "next_cursor": None,
    }
    assert (
        rows
        == [
            {
                "month": "2026-03",
                "family": "converter_automatic",
                "model_year_band": "2018-2020",
                "odometer_band": "80000-100000 km",
                "region": "north",
                "reason": "routine",
                "route": "drain_cycles",
                "feasible": True,
                "litres": {"value": 12.3, "unit": "L"},
                "fresh_share": 0.81,
                "target_fresh_share": 0.8,
                "findings": [],
            }
        ]
        * 12
    )


def test_every_row_looks_like_nine_others(desk: Desk) -> None:
    for number in range(60):
        desk.keep(
            1,
            model_year=2012 + number % 7,
            odometer_km=number * 5_000.0,
            region=("north", "south", "")[number % 3],
        )
    rows, trailer = desk.pull()

    assert len(rows) + trailer["suppressed"] == 60
    assert trailer["k"] == k_of(rows, QUASI_IDENTIFIERS) >= 10


def test_it_is_ndjson_and_nothing_else(desk: Desk) -> None:
    desk.keep(10)
    path = "/v1/exports/plans?release=2026-03"

    assert desk.client.get(path).headers["content-type"] == "application/x-ndjson"
    assert desk.client.get(path, headers={"Accept": "application/json"}).status_code == 406


def test_pulling_again_gives_the_same_bytes_whatever_was_kept_since(desk: Desk) -> None:
    desk.keep(12)
    path = "/v1/exports/plans?release=2026-03"
    first = desk.client.get(path).content
    desk.keep(15)

    assert desk.client.get(path).content == first


def test_what_is_kept_late_goes_into_the_next_release_and_keeps_its_month(desk: Desk) -> None:
    desk.keep(10)
    desk.pull("2026-03")
    desk.keep(11)
    desk.keep(12, month="2026-04")
    desk.clock[0] = datetime(2026, 5, 2, tzinfo=UTC)

    rows, trailer = desk.pull("2026-04")
    assert Counter(row["month"] for row in rows) == {"2026-03": 11, "2026-04": 12}
    assert (trailer["rows"], trailer["k"]) == (23, 11)


def test_cutting_a_month_cuts_what_is_due_before_it(desk: Desk) -> None:
    desk.keep(10, month="2026-01")
    desk.keep(10, month="2026-02")

    assert desk.pull("2026-02")[1]["rows"] == 10
    assert desk.releases() == [("2026-01", "cut", 10, 0, 10), ("2026-02", "cut", 10, 0, 10)]


def test_the_list_tells_closed_months_cut_or_due_and_no_open_one(desk: Desk) -> None:
    desk.keep(10, month="2026-02")
    desk.keep(2, month="2026-03")
    desk.keep(10, month="2026-04")
    desk.pull("2026-02")

    assert desk.releases() == [
        ("2026-02", "cut", 10, 0, 10),
        ("2026-03", "due", None, None, None),
    ]


def test_a_release_where_everything_is_rare_has_no_rows_and_no_k(desk: Desk) -> None:
    desk.keep(9)

    rows, trailer = desk.pull()
    assert (rows, trailer["suppressed"], trailer["k"]) == ([], 9, None)


def test_what_was_corrected_counts_once(desk: Desk) -> None:
    first, *_ = desk.keep(10)
    desk.keep(1, supersedes=first)

    rows, trailer = desk.pull()
    assert (len(rows), trailer["suppressed"]) == (10, 0)


def test_pages_join_to_the_whole(desk: Desk) -> None:
    for litres in range(25):
        desk.keep(1, litres_planned_l=float(litres))
    whole, _ = desk.pull()

    joined, more = [], {"limit": "10"}
    sizes = []
    while True:
        rows, trailer = desk.pull(**more)
        joined += rows
        sizes.append((len(rows), trailer["complete"], trailer["rows"]))
        if trailer["next_cursor"] is None:
            break
        more["cursor"] = trailer["next_cursor"]

    assert joined == whole
    assert sizes == [(10, False, 25), (10, False, 25), (5, True, 25)]


def test_a_large_release_comes_in_pieces_and_in_order(desk: Desk) -> None:
    desk.keep(1, litres_planned_l=0.1)
    desk.keep(998, litres_planned_l=5.0)
    desk.keep(2, litres_planned_l=9.9)

    rows, trailer = desk.pull()
    litres = [row["litres"]["value"] for row in rows]
    assert litres == sorted(litres)
    assert (len(rows), trailer["rows"]) == (1001, 1001)


def test_those_who_pull_first_at_once_get_the_same(desk: Desk) -> None:
    desk.keep(30)
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(desk.client.get, ["/v1/exports/plans?release=2026-03"] * 8))

    assert {answer.status_code for answer in answers} == {200}
    assert len({answer.content for answer in answers}) == 1
    assert desk.releases() == [("2026-03", "cut", 30, 0, 30)]
