"""The one way in which a request changes what is kept: with a row in the audit log."""

from collections.abc import Callable
from typing import TypeVar

from exchange_api import audit
from exchange_api.audit import Trace
from exchange_api.security import principal
from exchange_api.serving import Request, operation_of, service
from exchange_api.storage.units import Unit

T = TypeVar("T")


async def change(
    request: Request,
    unit: Unit[T],
    trace: Callable[[T], Trace | None],
    *,
    owner: str | None = None,
) -> T:
    """Run a unit that may change something, and keep who changed what in the same transaction.

    trace: what the unit's result says was changed, None for nothing
    owner: whose log it belongs into, the caller's workshop if left out
    Raises: RuntimeError when the operation does not declare that it changes something.
    """
    declared, holder, running = operation_of(request), principal(request), service(request)
    if not declared.changes:
        raise RuntimeError(f"{declared.operation_id} does not declare `changes`")
    about = audit.entry(
        running.outside,
        actor=f"key {holder.key_id}",
        operation=declared.operation_id,
        owner=holder.workshop_id if owner is None else owner,
        request_id=str(request.scope["state"]["request_id"]),
    )
    return await running.database.write(audit.recorded(unit, about, trace))
