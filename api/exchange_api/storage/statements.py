"""SQLAlchemy Core statements, compiled once for each dialect and then run by the driver itself."""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct
from sqlalchemy import ClauseElement
from sqlalchemy.engine import Dialect


class Compiled(Struct, frozen=True):
    """The text of a statement in one dialect, with the parameters it has of its own.

    order: the names of numbered parameters, for dialects that number them
    """

    text: str
    order: tuple[str, ...]
    own_params: dict[str, Any]
    required: frozenset[str]

    def bind(self, given: Mapping[str, Any] | None) -> dict[str, Any]:
        """The parameters to run with. Raises: KeyError when one is missing or unknown."""
        params = {**self.own_params, **(given or {})}
        if len(params) != len(self.own_params) or not self.required <= (given or {}).keys():
            raise KeyError(f"parameters {sorted(given or ())}, needed are {sorted(self.required)}")
        return params


class Statement:
    r"""A Core statement that is compiled when a dialect first asks for it.

    >>> from sqlalchemy import bindparam, column, select
    >>> from sqlalchemy.dialects import sqlite
    >>> statement = Statement(select(column("a")).where(column("b") == bindparam("b")))
    >>> compiled = statement.compiled(sqlite.dialect(paramstyle="named"))
    >>> compiled.text, compiled.bind({"b": 1})
    ('SELECT a \nWHERE b = :b', {'b': 1})
    """

    def __init__(self, core: ClauseElement) -> None:
        self._core = core
        self._compiled: dict[str, Compiled] = {}

    def compiled(self, dialect: Dialect) -> Compiled:
        """The statement in this dialect."""
        if (known := self._compiled.get(dialect.name)) is None:
            known = self._compiled[dialect.name] = _compile(self._core, dialect)
        return known


def _compile(core: ClauseElement, dialect: Dialect) -> Compiled:
    compiled = core.compile(dialect=dialect)
    order = tuple(getattr(compiled, "positiontup", None) or ())
    binds: Mapping[str, Any] = getattr(compiled, "binds", {})
    required = frozenset(name for name, bind in binds.items() if bind.required)
    return Compiled(str(compiled), order, dict(compiled.params or {}), required)
