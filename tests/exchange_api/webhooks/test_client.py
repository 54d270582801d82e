"""What leaves the house: within limits, to a checked address, and no further."""

import asyncio
import ssl
from collections.abc import Sequence
from time import monotonic
from urllib.parse import urlsplit

import pytest

from exchange_api.webhook_addresses import Target, target_of
from exchange_api.webhook_client import EXCERPT, Client, Told, client
from tests.exchange_api.webhooks.certificates import certificate
from tests.exchange_api.webhooks.receiver import Receiver, Reply, receiver

HERE = frozenset({"127.0.0.1"})
QUICK_S = 0.4


class Names:
    """A resolver that says each time the next of what it was told, and counts."""

    def __init__(self, *told: Sequence[str]) -> None:
        self.told = list(told)
        self.asked: list[tuple[str, int]] = []

    async def __call__(self, host: str, port: int) -> Sequence[str]:
        self.asked.append((host, port))
        return self.told[min(len(self.asked), len(self.told)) - 1]


def post(
    url: str, *, names: Names | None = None, in_house: frozenset[str] = HERE,
    tls: ssl.SSLContext | None = None, seconds: float = 5,
) -> Told:  # fmt: skip
    async def run() -> Told:
        usual = client(in_house=in_house, seconds=seconds)
        sender = Client(
            in_house=in_house,
            seconds=seconds,
            tls=tls or usual.tls,
            resolve=names or usual.resolve,
        )
        target = target_of(url, in_house=in_house)
        return await sender.post(target, headers={"webhook-id": "m"}, body=b"{}")

    return asyncio.run(run())


def port_of(url: str) -> int:
    return urlsplit(url).port or 0


def test_a_message_arrives_as_it_is(office: Receiver) -> None:
    told = post(f"{office.url}/hooks?bay=3")
    (came,) = office.received

    assert told == Told(outcome="delivered", status=200)
    assert (came.path, came.body, came.headers["webhook-id"]) == ("/hooks?bay=3", b"{}", "m")
    assert came.headers["host"] == urlsplit(office.url).netloc


@pytest.mark.parametrize("status", [200, 201, 204, 299])
def test_every_2xx_is_a_success(office: Receiver, status: int) -> None:
    office.usual = Reply(status=status)

    assert post(office.url) == Told(outcome="delivered", status=status)


@pytest.mark.parametrize("status", [300, 400, 404, 410, 429, 500, 503])
def test_every_other_answer_is_none(office: Receiver, status: int) -> None:
    office.usual = Reply(status=status, body=b"an\tinvented \xff reason\n")

    told = post(office.url)

    assert (told.outcome, told.status) == ("answered", status)
    assert told.excerpt == "an invented \ufffd reason"


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_redirects_are_not_followed(office: Receiver, status: int) -> None:
    office.usual = Reply(status=status, headers={"Location": f"{office.url}/elsewhere"})

    assert post(office.url).status == status
    assert [came.path for came in office.received] == ["/"]


@pytest.mark.parametrize(
    ("given", "read"),
    [("120", 120), ("0", 0), ("-1", None), ("soon", None), ("1" * 10, None), ("1.5", None)],
)
def test_what_a_receiver_asks_for_is_read(office: Receiver, given: str, read: int | None) -> None:
    office.usual = Reply(status=503, headers={"Retry-After": given})

    assert post(office.url).retry_after_s == read


def test_one_that_hangs_is_left_in_time(office: Receiver) -> None:
    office.usual, began = Reply(hangs=True), monotonic()

    assert post(office.url, seconds=QUICK_S) == Told(outcome="timed_out")
    assert monotonic() - began < QUICK_S + 2


@pytest.mark.parametrize("status", [200, 500])
def test_a_huge_answer_is_not_read(office: Receiver, status: int) -> None:
    office.usual = Reply(status=status, is_huge=True)

    told = post(office.url)

    assert told.status == status
    assert len(told.excerpt) <= EXCERPT
    assert office.sent_bytes < 100 * 65_536  # what fits the sockets, of more than 12 MB


def test_nobody_there_is_told(office: Receiver) -> None:
    with receiver() as gone:
        url = gone.url

    assert post(url).outcome == "no_connection"
    assert office.received == []


async def _no_name(host: str, port: int) -> Sequence[str]:
    raise OSError(f"{host}:{port} is unknown")


@pytest.mark.parametrize("resolve", [_no_name, Names([])])
def test_a_name_without_address_is_told(resolve: Names) -> None:
    assert post("https://hooks.example/", names=resolve).outcome == "unknown_host"


@pytest.mark.parametrize(
    "addresses", [["127.0.0.1"], ["8.0.0.1", "127.0.0.1"], ["::ffff:127.0.0.1"], ["10.0.0.1"]]
)
def test_a_name_that_leads_inside_is_not_connected_to(
    office: Receiver, addresses: list[str]
) -> None:
    url = f"https://hooks.example:{port_of(office.url)}/"

    assert post(url, names=Names(addresses)) == Told(outcome="address_not_allowed")
    assert office.received == []


def test_the_connection_goes_to_the_address_that_was_checked(office: Receiver) -> None:
    """A name that means something else a moment later is asked for once alone."""
    names = Names(["127.0.0.1"], ["10.0.0.1"])
    port = port_of(office.url)

    told = post(f"http://desk.example:{port}/", names=names, in_house=frozenset({"desk.example"}))

    assert told.outcome == "delivered"
    assert names.asked == [("desk.example", port)]
    assert office.received[0].headers["host"] == f"desk.example:{port}"


def test_of_several_addresses_one_that_answers_serves(office: Receiver) -> None:
    names = Names(["127.0.0.2", "127.0.0.1"])
    url = f"http://desk.example:{port_of(office.url)}/"

    assert post(url, names=names, in_house=frozenset({"desk.example"})).outcome == "delivered"


@pytest.mark.parametrize(("name", "outcome"), [("desk.example", "delivered"),
                                               ("other.example", "no_connection")])  # fmt: skip
def test_the_certificate_must_be_for_the_name(name: str, outcome: str) -> None:
    served, trusting = certificate("desk.example")
    with receiver(served) as secure:
        told = post(
            f"https://{name}:{port_of(secure.url)}/", names=Names(["127.0.0.1"]),
            in_house=frozenset({name}), tls=trusting,
        )  # fmt: skip

    assert told.outcome == outcome
    assert len(secure.received) == (outcome == "delivered")


def test_a_certificate_that_nobody_vouches_for_is_refused() -> None:
    served, _ = certificate("desk.example")
    with receiver(served) as secure:
        url = f"https://desk.example:{port_of(secure.url)}/"
        told = post(url, names=Names(["127.0.0.1"]), in_house=frozenset({"desk.example"}))

    assert told.outcome == "no_connection"


def test_a_target_names_its_port_only_where_it_is_another() -> None:
    target = Target(scheme="http", host="desk", port=443, path="/")

    assert target.authority == "desk:443"
