"""What the handlers of the service declare of themselves."""

from litestar.handlers import BaseRouteHandler

from exchange_api.app import HANDLERS
from exchange_api.operations import Operation


def _declared() -> dict[str, Operation]:
    handlers = [one for one in HANDLERS if isinstance(one, BaseRouteHandler)]
    found: list[Operation] = [handler.opt["operation"] for handler in handlers]
    return {one.operation_id: one for one in found}


DECLARED = _declared()
"""Every operation by its id."""
