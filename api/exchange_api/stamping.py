"""Asks the configured authority for time stamps over signed records, while the service runs.

What is still to be stamped stands with the record itself, kept in the transaction that signed it,
so a stop or a crash loses nothing. A record is left to one process while it asks; what fails is
asked for again, later each time and for ever.
"""

import asyncio
from datetime import timedelta
from pathlib import Path

import httpx
from cryptography import x509

from exchange_api.outside import as_stamp
from exchange_api.records_store import DueRecord, claim_due, keep_token, postpone
from exchange_api.serving import Service
from exchange_api.timestamp_tokens import TokenRefused, certificates, request_for, token_of
from libexchange.strict_json import read_json

EVERY_S = 1.0
LARGEST_ANSWER = 256 * 1024
LEASE_BEYOND_S = 10
LONGEST_WAIT_S = 6 * 3600
_TYPE = "application/timestamp-query"


async def until(stop: asyncio.Event, running: Service) -> None:
    """Stamp until told to stop; nothing to do where no authority is configured."""
    if not running.settings.timestamp_url:
        return
    try:
        trusted = certificates(await asyncio.to_thread(_read, running))
    except (OSError, ValueError) as error:
        running.log.error("no-timestamp-certificates", exception=error)  # noqa: TRY400 -- our own log
        return  # records wait until a start that finds them
    async with httpx.AsyncClient(trust_env=False, follow_redirects=False) as client:
        stamper = Stamper(running, client, trusted)
        while not stop.is_set():
            working = asyncio.create_task(stamper.work())
            stopping = asyncio.create_task(stop.wait())
            await asyncio.wait({working, stopping}, return_when=asyncio.FIRST_COMPLETED)
            for task in (working, stopping):
                task.cancel()  # what is cut off is asked for again once its lease has ended
            await asyncio.gather(working, stopping, return_exceptions=True)


def _read(running: Service) -> bytes:
    return Path(running.settings.timestamp_certificates).read_bytes()


class Stamper:
    """What asks the authority of a service."""

    def __init__(
        self, running: Service, client: httpx.AsyncClient, trusted: tuple[x509.Certificate, ...]
    ) -> None:
        self._running = running
        self._client = client
        self._trusted = trusted

    async def work(self) -> None:
        """Ask for whatever is due, then rest a moment."""
        try:
            while (due := await self._claim()) is not None:
                await self._stamp(due)
        except Exception as error:  # noqa: BLE001 -- whatever it was, the rest must still be stamped
            self._running.log.error("stamping-failed", exception=error)  # noqa: TRY400 -- our own log
        await asyncio.sleep(EVERY_S)

    async def _claim(self) -> DueRecord | None:
        now = self._running.outside.now()
        lease = timedelta(seconds=self._running.settings.timestamp_seconds + LEASE_BEYOND_S)
        return await self._running.database.write(
            lambda connection: claim_due(connection, now=as_stamp(now), until=as_stamp(now + lease))
        )

    async def _stamp(self, due: DueRecord) -> None:
        try:
            token = await self._ask(str(read_json(due.document)["signature"]))
        except (TokenRefused, httpx.HTTPError, TimeoutError) as error:
            why = str(error) if isinstance(error, TokenRefused) else type(error).__name__
            await self._postpone(due, why)
            return
        await self._running.database.write(lambda connection: keep_token(connection, due, token))

    async def _postpone(self, due: DueRecord, why: str) -> None:
        later = self._running.outside.now() + timedelta(seconds=wait_s(due.stamp_attempts))
        self._running.log.error("no-time-stamp", why=why, attempts=due.stamp_attempts)
        await self._running.database.write(
            lambda connection: postpone(connection, due, until=as_stamp(later))
        )

    async def _ask(self, signature: str) -> bytes:
        """A token for a signature. Raises: TokenRefused, httpx.HTTPError, TimeoutError."""
        request, settings = request_for(signature), self._running.settings
        async with asyncio.timeout(settings.timestamp_seconds):
            answer = await self._post(settings.timestamp_url, request.as_bytes())
        return token_of(answer, request=request, signature=signature, trusted=self._trusted)

    async def _post(self, url: str, content: bytes) -> bytes:
        headers = {"Content-Type": _TYPE}
        asking = self._client.stream("POST", url, content=content, headers=headers, timeout=None)
        async with asking as answered:
            if answered.status_code != httpx.codes.OK:
                raise TokenRefused(f"the authority answered {answered.status_code}")
            parts, size = [], 0
            async for part in answered.aiter_raw():
                size += len(part)
                if size > LARGEST_ANSWER:
                    raise TokenRefused("the answer is too large")
                parts.append(part)
        return b"".join(parts)


def wait_s(attempts: int) -> float:
    """How long to wait after so many attempts [s]: twice as long each time, at most six hours.

    >>> wait_s(1), wait_s(5), wait_s(100)
    (2.0, 32.0, 21600.0)
    """
    return float(min(2 ** min(attempts, 30), LONGEST_WAIT_S))
