"""Structured log lines: one JSON object a line, without bodies, secrets or personal data."""

import logging
import sys
import traceback
from collections.abc import Callable
from datetime import datetime
from typing import Any, BinaryIO, Literal, get_args

import msgspec

Level = Literal["debug", "info", "warning", "error"]
LEVELS: tuple[Level, ...] = get_args(Level)

_encode = msgspec.json.Encoder().encode


class Log:
    """Writes events at or above a level to a stream."""

    def __init__(
        self,
        *,
        now: Callable[[], datetime],
        level: Level = "info",
        stream: BinaryIO | None = None,
    ) -> None:
        self._lowest = LEVELS.index(level)
        self._stream = stream or sys.stderr.buffer
        self._now = now

    def info(self, event: str, **fields: Any) -> None:
        """Something that happened as it should."""
        self.write("info", event, fields)

    def error(self, event: str, *, exception: BaseException | None = None, **fields: Any) -> None:
        """Something that must be looked at; an exception comes with its frames, not its values."""
        if exception is not None:
            fields |= _told(exception)
        self.write("error", event, fields)

    def write(self, level: Level, event: str, fields: dict[str, Any]) -> None:
        """One line, flushed at once."""
        if LEVELS.index(level) >= self._lowest:
            line = {"at": self._now(), "level": level, "event": event, **fields}
            self._stream.write(_encode(line) + b"\n")
            self._stream.flush()


def _told(exception: BaseException) -> dict[str, Any]:
    frames = traceback.extract_tb(exception.__traceback__)
    return {
        "exception": type(exception).__name__,
        "frames": [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in frames],
    }


class ServerLogHandler(logging.Handler):
    """Takes what the HTTP server logs of itself and writes it as our lines."""

    def __init__(self, log: Log) -> None:
        super().__init__()
        self._log = log

    def emit(self, record: logging.LogRecord) -> None:
        """Write one record."""
        name = record.levelname.lower()
        level: Level = next((known for known in LEVELS if known == name), "error")
        fields: dict[str, Any] = {"message": record.getMessage()}
        if record.exc_info and record.exc_info[1]:
            fields |= _told(record.exc_info[1])
        self._log.write(level, "server", fields)
