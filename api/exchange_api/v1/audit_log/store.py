"""How a page of the audit log is read."""

from typing import Any

from sqlalchemy import bindparam, select

from exchange_api.audit import Sealed
from exchange_api.paging import wrong_cursor
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import AUDIT_EVENTS
from exchange_api.storage.units import Unit

_LONGEST_SEQUENCE = 15
_PAGE = Statement(
    select(*(AUDIT_EVENTS.c[name] for name in Sealed.__struct_fields__))
    .where(
        AUDIT_EVENTS.c.workshop_id == bindparam("owner"),
        AUDIT_EVENTS.c.sequence > bindparam("after"),
    )
    .order_by(AUDIT_EVENTS.c.sequence)
    .limit(bindparam("rows"))
)


def page(*, owner: str, after: int, limit: int) -> Unit[list[dict[str, Any]]]:
    """A unit: the sealed rows after a number, one more than the page holds."""
    params = {"owner": owner, "after": after, "rows": limit + 1}
    names = Sealed.__struct_fields__
    return lambda connection: [
        dict(zip(names, row, strict=True)) for row in connection.execute(_PAGE, params)
    ]


def sequence(text: str) -> int:
    """The number in a cursor. Raises: Problem 400."""
    if text.isascii() and text.isdecimal() and len(text) <= _LONGEST_SEQUENCE:
        return int(text)
    raise wrong_cursor("the cursor is damaged")
