"""Room for bodies: how many bytes of them are in memory at one time, however many callers send."""

import asyncio
from collections import deque


class Room:
    """A number of bytes that requests share; who finds none left waits in line.

    size: bytes    wait_s: how long anyone waits
    """

    def __init__(self, size: int, *, wait_s: float = 10) -> None:
        self._size = size
        self._wait_s = wait_s
        self._free = size
        self._line: deque[tuple[int, asyncio.Future[None]]] = deque()

    async def take(self, wanted: int) -> int:
        """Take this many bytes, or all there are if that is less; what to give back afterwards.

        Raises: TimeoutError when others held the room for too long.
        """
        wanted = min(wanted, self._size)
        if not self._line and wanted <= self._free:
            self._free -= wanted
            return wanted
        turn: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._line.append((wanted, turn))
        try:
            await asyncio.wait_for(asyncio.shield(turn), self._wait_s)
        except BaseException:
            self._leave(wanted, turn)
            raise
        return wanted

    def give_back(self, taken: int) -> None:
        """Return what was taken, and let in who waits."""
        self._free += taken
        while self._line and self._line[0][0] <= self._free:
            wanted, turn = self._line.popleft()
            self._free -= wanted
            turn.set_result(None)

    def _leave(self, wanted: int, turn: "asyncio.Future[None]") -> None:
        if turn.done():
            self.give_back(wanted)
            return
        self._line.remove((wanted, turn))
        self.give_back(0)  # who stood behind may fit
