"""What was acknowledged is told, though the process is killed before it could."""

from pathlib import Path

import pytest

from exchange_api.cli import main
from tests.exchange_api.bay_desk import plan_of
from tests.exchange_api.webhooks.receiver import Receiver, Reply
from tests.faults.serving import serving, speaking

PLANS = 5


def test_what_waits_when_the_process_dies_is_sent_by_the_next(
    url: str, tmp_path: Path, office: Receiver, capsys: pytest.CaptureFixture[str]
) -> None:
    told = ["keys", "create", "--workshop", "W", "--scopes", "*", "--database", url]
    assert main(told, environ={}) == 0
    key = capsys.readouterr().out.splitlines()[-1]
    here = {"EXCHANGE_API_WEBHOOK_HOSTS": "127.0.0.1", "EXCHANGE_API_WEBHOOK_SECONDS": "1"}
    office.usual = Reply(status=503)
    with serving(url, tmp_path, **here) as first, speaking(first, key) as client:
        endpoint = {"url": office.url, "events": ["plan.created"]}
        assert client.post("/v1/webhook-endpoints", json=endpoint).status_code == 201
        made = [str(plan_of(client).plan_id) for _ in range(PLANS)]
        first.kill()
    office.usual = Reply()
    office.received.clear()
    with serving(url, tmp_path, **here):
        # one that was tried comes again after 5 s, one that was being sent after its lease of 11 s
        office.wait_for_all("plan_id", made, within_s=20)

    sequences = {one.json["data"]["plan_id"]: one.json["sequence"] for one in office.received}
    assert [sequences[plan_id] for plan_id in made] == list(range(1, PLANS + 1))
