"""Cursors: opaque, bound to their request, and harmless when made up."""

from base64 import urlsafe_b64encode

import pytest

from exchange_api.paging import cursor, page_of, position
from exchange_api.problems import Problem

ROWS = [("2026-01-01", "a"), ("2026-01-01", "b"), ("2026-01-02", "a")]


def read(text: str, *, operation_id: str = "list", filters: object = None) -> tuple[str, ...]:
    return position(text, operation_id=operation_id, filters=filters, width=2)


def test_a_cursor_gives_back_its_row() -> None:
    assert read(cursor(ROWS[1], operation_id="list", filters=None)) == ROWS[1]


def test_pages_cover_every_row_once() -> None:
    seen: list[tuple[str, str]] = []
    text: str | None = None
    while True:
        after = read(text) if text else ("", "")
        rows = [row for row in ROWS if row > after][:2]
        page, text = page_of(rows, limit=1, keys=lambda row: row, operation_id="list", filters=None)
        seen += page
        if text is None:
            break

    assert seen == ROWS


def test_the_last_page_has_no_cursor() -> None:
    page, following = page_of(
        ROWS, limit=3, keys=lambda row: row, operation_id="list", filters=None
    )

    assert (page, following) == (ROWS, None)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "!",
        "A",
        "AAAA",
        "\u00e9",
        urlsafe_b64encode(b"[" * 5000).decode(),
        urlsafe_b64encode(b'["x",["a","b"]]').decode(),
        urlsafe_b64encode(b'["\xff"]').decode(),
        cursor(["a"], operation_id="list", filters=None),
        cursor(["a", "b\x00"], operation_id="list", filters=None),
        cursor(["a", "b"], operation_id="other", filters=None),
        cursor(["a", "b"], operation_id="list", filters={"state": "open"}),
    ],
    ids=lambda text: text[:20],
)
def test_a_cursor_that_does_not_fit_is_a_problem(text: str) -> None:
    with pytest.raises(Problem) as refused:
        read(text)

    assert refused.value.kind.status == 400
