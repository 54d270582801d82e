"""Sends what the queue of webhooks holds, while the service runs.

To one endpoint this process sends one message at a time, so that a receiver that hangs holds up
itself alone; after a failure it rests a little while. Several processes may send beside each other.
"""

import asyncio
from contextlib import suppress
from datetime import timedelta

from exchange_api import audit
from exchange_api.audit import Trace, digest_of
from exchange_api.outside import as_stamp
from exchange_api.serving import Service
from exchange_api.webhook_addresses import target_of
from exchange_api.webhook_claims import Attempt, Claim, Disabled, claim, due, settle
from exchange_api.webhook_client import Client, Told, client
from exchange_api.webhook_schedule import DELAYS_S, wait_s
from exchange_api.webhook_signing import signed_headers
from libexchange.errors import InvalidInput

EVERY_S = 1.0
MOST_AT_ONCE = 16
LEASE_BEYOND = timedelta(seconds=10)
"""So much longer than an attempt may take is it left to one process."""
REST = timedelta(seconds=DELAYS_S[0])
GRACE_S = 5.0
"""How long attempts under way may take after a stop signal; what is cut off is sent again."""
ACTOR = "service"


async def until(stop: asyncio.Event, running: Service) -> None:
    """Send until told to stop; what fails is told and tried again."""
    settings = running.settings
    sender = Sender(
        running, client(in_house=settings.webhook_hosts, seconds=settings.webhook_seconds)
    )
    while not stop.is_set():
        try:
            await sender.begin()
        except Exception as error:  # noqa: BLE001 -- whatever it was, the rest must still be sent
            running.log.error("webhooks-failed", exception=error)  # noqa: TRY400 -- our own log
        with suppress(TimeoutError):
            await asyncio.wait_for(stop.wait(), EVERY_S)
    await sender.end()


class Sender:
    """What is being sent by this process."""

    def __init__(self, running: Service, client: Client) -> None:
        self._running = running
        self._client = client
        self._working: dict[str, asyncio.Task[None]] = {}
        self._rests_until: dict[str, str] = {}
        self._is_ending = False

    async def begin(self) -> None:
        """Begin to send to every endpoint that something is due for, those that failed last."""
        now = self._running.outside.stamp()
        waiting = await self._running.database.read(due(now=now))
        self._running.metrics.webhooks_due = sum(waiting.values())
        self._rests_until = {one: at for one, at in self._rests_until.items() if one in waiting}
        free = [one for one in waiting if one not in self._working]
        ready = [one for one in free if self._rests_until.get(one, "") <= now]
        ready.sort(key=lambda one: self._rests_until.get(one, ""))
        for endpoint_id in ready[: MOST_AT_ONCE - len(self._working)]:
            task = asyncio.create_task(self._work(endpoint_id))
            self._working[endpoint_id] = task

    async def idle(self) -> None:
        """Wait until nothing is being sent."""
        await asyncio.gather(*self._working.values())

    async def end(self) -> None:
        """Let attempts end that soon do, and cut off the others."""
        self._is_ending = True
        tasks = list(self._working.values())
        if tasks:
            _, late = await asyncio.wait(tasks, timeout=GRACE_S)
            for task in late:
                task.cancel()
            await asyncio.gather(*late, return_exceptions=True)

    async def _work(self, endpoint_id: str) -> None:
        """Send to an endpoint until nothing is due for it or it fails."""
        try:
            while not self._is_ending and (taken := await self._claim(endpoint_id)) is not None:
                if not await self._send(taken):
                    rest = self._running.outside.now() + REST
                    self._rests_until[endpoint_id] = as_stamp(rest)
                    break
        except Exception as error:  # noqa: BLE001 -- the lease ends, and it is sent again
            self._running.log.error("webhook-failed", exception=error)  # noqa: TRY400 -- our own
        finally:
            del self._working[endpoint_id]

    async def _claim(self, endpoint_id: str) -> Claim | None:
        outside = self._running.outside
        now = outside.now()
        until = now + timedelta(seconds=self._client.seconds) + LEASE_BEYOND
        unit = claim(endpoint_id, lease=outside.new_id(), now=as_stamp(now), until=as_stamp(until))
        return await self._running.database.write(unit)

    async def _send(self, taken: Claim) -> bool:
        """Whether a claimed delivery arrived."""
        outside = self._running.outside
        at, ticks = outside.now(), outside.ticks()
        told = await self._post(taken, timestamp=int(at.timestamp()))
        ended_at = outside.now()
        attempt = Attempt(
            at=as_stamp(at),
            ended_at=ended_at,
            duration_ms=round((outside.ticks() - ticks) * 1000),
            told=told,
            next_at=self._next_at(taken, told),
        )
        self._running.metrics.count_webhook(told.outcome)
        about = audit.entry(
            outside, actor=ACTOR, operation="deliverWebhook", owner=taken.workshop_id
        )
        unit = audit.recorded(settle(taken, attempt), about, _trace)
        disabled = await self._running.database.write(unit)
        if disabled is not None:
            reason = disabled.after.disabled_reason
            self._running.log.info(
                "webhook-endpoint-disabled", endpoint_id=taken.endpoint_id, reason=reason
            )
        return told.outcome == "delivered"

    async def _post(self, taken: Claim, *, timestamp: int) -> Told:
        try:
            target = target_of(taken.url, in_house=self._client.in_house)
        except InvalidInput:  # what the settings allow has changed since it was registered
            return Told(outcome="address_not_allowed")
        signed = signed_headers(
            taken.secrets, message_id=taken.delivery_id, timestamp=timestamp, body=taken.document
        )
        headers = {"Content-Type": "application/json", "User-Agent": "exchange-api", **signed}
        return await self._client.post(target, headers=headers, body=taken.document)

    def _next_at(self, taken: Claim, told: Told) -> str | None:
        outside = self._running.outside
        chance = int.from_bytes(outside.new_secret()[:4]) / 2**32
        wait = wait_s(tries=taken.tries + 1, chance=chance, asked_s=told.retry_after_s)
        return as_stamp(outside.now() + timedelta(seconds=wait)) if wait is not None else None


def _trace(disabled: Disabled | None) -> Trace | None:
    if disabled is None:
        return None
    return Trace(
        target=f"webhook-endpoints/{disabled.after.endpoint_id}",
        before=digest_of(disabled.before),
        after=digest_of(disabled.after),
    )
