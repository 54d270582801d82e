"""Where documents are made: off the event loop, few at a time."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Made = TypeVar("Made")

AT_ONCE = 2
"""So many documents are made at one time; others wait their turn."""

_PRINTERS = ThreadPoolExecutor(max_workers=AT_ONCE, thread_name_prefix="documents")


async def printed(make: Callable[[], Made]) -> Made:
    """What `make` returns, made in a thread."""
    return await asyncio.get_running_loop().run_in_executor(_PRINTERS, make)
