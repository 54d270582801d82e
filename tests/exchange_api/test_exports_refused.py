"""What the exports refuse, and how they say why."""

from collections.abc import Iterator

import pytest

from exchange_api.paging import cursor
from tests.exchange_api.export_desk import Desk, desk_in


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Ten plans of a closed month and ten of the open one, for all tests."""
    with desk_in(tmp_path_factory.mktemp("desk")) as desk:
        desk.keep(10)
        desk.keep(10, month="2026-04")
        yield desk


@pytest.mark.parametrize(
    ("release", "why"),
    [
        ("2026-04", "has not ended"),
        ("2031-01", "has not ended"),
        ("2026-02", "no release"),
        ("0000-01", "no release"),
    ],
)
def test_a_month_that_is_open_or_has_no_plans_is_not_found(
    desk: Desk, release: str, why: str
) -> None:
    answer = desk.client.get("/v1/exports/plans", params={"release": release})

    assert answer.status_code == 404
    assert why in answer.json()["detail"]


def test_a_month_before_the_last_cut_is_not_cut_any_more(desk: Desk) -> None:
    desk.pull()
    desk.keep(10, month="2026-01")

    assert desk.client.get("/v1/exports/plans?release=2026-01").status_code == 404
    assert [name for name, *_ in desk.releases()] == ["2026-03"]


def crafted(key: str) -> str:
    return cursor([key], operation_id="exportPlans", filters={"release": "2026-03"})


@pytest.mark.parametrize(
    "params",
    [
        {},
        {"release": ""},
        {"release": "2026-13"},
        {"release": "2026-3"},
        {"release": "2026-03\n"},
        {"release": "2026-03", "limit": "0"},
        {"release": "2026-03", "limit": "many"},
        {"release": "2026-03", "cursor": "AAAA"},
        {"release": "2026-03", "cursor": crafted("x")},
        {"release": "2026-03", "cursor": crafted("-1")},
        {"release": "2026-03", "cursor": crafted("\u00b2")},
        {"release": "2026-03", "cursor": crafted("9" * 40)},
        {"release": "2026-03", "k": "2"},
    ],
    ids=str,
)
def test_a_wrong_question_is_refused(desk: Desk, params: dict[str, str]) -> None:
    assert desk.client.get("/v1/exports/plans", params=params).status_code == 400


def test_a_cursor_past_the_end_finds_the_end(desk: Desk) -> None:
    assert desk.pull(cursor=crafted("999999999999"))[0] == []


@pytest.mark.parametrize("path", ["/v1/exports/releases", "/v1/exports/plans?release=2026-03"])
def test_it_takes_the_scope_for_exports(desk: Desk, path: str) -> None:
    with desk.app.client_of("Bay", scopes="plans:read,jobs:read") as bay:
        assert bay.get(path).status_code == 403
