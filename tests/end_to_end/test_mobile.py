"""The mobile app: a job with a bad connection, from the first step to the printed record."""

import re
from uuid import uuid4

import httpx
import msgspec
import pytest

from libexchange.job.events import FluidOpened
from libexchange.plan.records import Plan
from libexchange.record import JobRecord
from tests.end_to_end.conftest import Served
from tests.end_to_end.orders import ask
from tests.exchange_api.bay_desk import close, items, outcomes, send
from tests.job.plans import Bay


@pytest.fixture
def bay(dealer: httpx.Client) -> Bay:
    plan = msgspec.json.decode(ask(dealer).content, type=Plan)
    return Bay(plan, first_id=plan.plan_id.int)


@pytest.fixture
def job(dealer: httpx.Client, bay: Bay) -> str:
    path = f"/v1/jobs/{uuid4()}"
    dealer.put(path, json={"plan_id": str(bay.plan.plan_id)}).raise_for_status()
    return path


def test_late_doubled_and_backwards_comes_to_the_same_as_in_order(
    dealer: httpx.Client, job: str, bay: Bay
) -> None:
    sent = items(bay.whole_job().events)
    orderly = f"/v1/jobs/{uuid4()}"
    dealer.put(orderly, json={"plan_id": str(bay.plan.plan_id)}).raise_for_status()
    same = Bay(bay.plan, first_id=uuid4().int >> 1).whole_job().events
    send(dealer, orderly, items(same))
    send(dealer, job, sent[-9:][::-1])
    holed = send(dealer, job, sent[:5]).json()["gaps"]
    whole = send(dealer, job, [*sent[3:], *sent])

    assert [(gap["first_missing"], gap["last_missing"]) for gap in holed] == [(5, len(sent) - 10)]
    assert set(outcomes(whole)) == {"stored", "already_stored"}
    assert whole.json()["gaps"] == []
    assert dealer.get(job).json()["state"] == dealer.get(orderly).json()["state"]


def test_the_app_is_led_from_step_to_step(dealer: httpx.Client, job: str, bay: Bay) -> None:
    """Whoever does what guidance says comes to the end of the plan."""
    done: list[str] = []
    card = bay.plan.offline_card
    assert card is not None
    assert card.refill is not None
    assert card.exchange is not None
    for _ in range(len(bay.plan.steps) + 1):
        at = {"at": bay.now.isoformat()}
        told = dealer.get(f"{job}/guidance", params=at).raise_for_status().json()
        if told["next_step"] is None:
            break
        kind = told["next_step"]["kind"]
        done.append(told["next_step"]["step_id"])
        before = len(bay.events)
        if kind == "set_level":
            bay.read(38.0, 38.2, 38.4, 38.6, every_s=10)
            bay.look("drip", 38.7)
        elif kind in ("leak_check", "test_drive"):
            whole = Bay(bay.plan).whole_job().events
            wanted = {"leak_check": "LeakChecked", "test_drive": "TestDriven"}[kind]
            seen = next(one.event for one in whole if type(one.event).__name__ == wanted)
            bay.add(type(seen), result=seen.result)  # type: ignore[union-attr]  # both have one
        else:
            if kind == "pan_and_filter":
                bay.move("out", card.refill.l, kind)
            elif kind == "refill":
                bay.add(FluidOpened, fluid_kind=card.fluid_kinds[0])
                bay.move("in", card.refill.l, kind)
            elif kind == "line_exchange":
                bay.move("in", card.exchange.l, kind)
                bay.move("out", card.exchange.l, kind)
            bay.confirm(kind)
        send(dealer, job, items(bay.events[before:])).raise_for_status()

    assert told["next_step"] is None
    assert done == [step.step_id for step in bay.plan.steps]


def test_the_office_closes_what_it_has_seen_and_the_record_can_be_checked(
    dealer: httpx.Client, job: str, bay: Bay
) -> None:
    send(dealer, job, items(bay.whole_job().events))
    assert close(dealer, job).json()["verdict"] == "accepted"
    record = msgspec.json.decode(dealer.get(f"{job}/record").content, type=JobRecord)
    page = dealer.get(f"{job}/record", headers={"Accept": "text/html"}).text.replace(" ", "")

    assert record.plan == bay.plan
    assert record.not_done == ()
    assert (record.digest in page, record.chain_head in page) == (True, True)


def test_the_example_sends_what_it_wrote_down(served: Served, dealer: httpx.Client) -> None:
    plan_id = ask(dealer).json()["plan_id"]
    told = served.run("mobile_app/work_offline.py", "Invented workshop Alder", plan_id)
    job_id = re.search(r"^job (\S+)$", told, re.MULTILINE)

    assert job_id is not None
    assert told.startswith("12 sent: stored\n")
    assert "gate-line is unknown" in told
    state = dealer.get(f"/v1/jobs/{job_id[1]}").json()["state"]
    assert state["balance"]["verdict"] == "open"
    assert state["balance"]["in_15"] == state["balance"]["out_15"]
    assert len(state["confirmed_steps"]) == 5
    assert {finding["severity"] for finding in state["findings"]} <= {"note"}
