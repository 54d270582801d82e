"""How long a refusal takes tells nothing of why a key is refused, nor how much of it was right."""

from random import Random
from statistics import quantiles
from time import perf_counter

from exchange_api import keys
from exchange_api.outside import Outside
from exchange_api.scopes import SCOPES
from tests.exchange_api.running import Running

ROUNDS = 400
DIFFERENCE = 0.25
"""Of the time that the quickest tenth takes, to which a busy machine adds the least; all kinds are
asked in turn. A look-up that is left out for some would show as more."""


def wrong_keys(app: Running) -> dict[str, str]:
    """A key of each kind that is refused."""
    outside = app.service.outside
    known, expired = keys.new_key(outside), keys.new_key(outside, expires_at="2000-01-01T00")
    for key in (known, expired):
        workshop_id, scopes = outside.new_id(), frozenset(SCOPES)
        app.write(
            keys.keep_key(
                key, workshop=workshop_id, region="", scopes=scopes, workshop_id=workshop_id
            )
        )
    revoked = app.key(workshop="Revoked")
    with app.client(key=revoked) as client:
        key_id = client.get("/v1/me").json()["key_id"]
        client.post(f"/v1/api-keys/{key_id}/revoke", headers={"If-Match": "*"})
    secret = bytes.fromhex(known.text.split("_")[2])
    return {
        "unknown": keys.new_key(outside).text,
        "another secret": other_secret(app, known, b"\0" * 32),
        "nearly the secret": other_secret(app, known, secret[:-1] + bytes([secret[-1] ^ 1])),
        "expired": expired.text,
        "revoked": revoked,
    }


def other_secret(app: Running, key: keys.NewKey, secret: bytes) -> str:
    """A well-formed key with the same id."""
    real = app.service.outside
    outside = Outside(now=real.now, new_id=lambda: key.key_id, new_secret=lambda: secret)
    return keys.new_key(outside).text


def test_refusals_of_every_kind_take_the_same_time(app: Running) -> None:
    given = wrong_keys(app)
    took: dict[str, list[float]] = {kind: [] for kind in given}
    turns = [kind for kind in given for _ in range(ROUNDS)]
    Random(1).shuffle(turns)  # noqa: S311 -- an order, not a secret
    with app.client() as client:
        for kind in turns:
            began = perf_counter()
            answered = client.get("/v1/me", headers={"Authorization": f"Bearer {given[kind]}"})
            took[kind].append(perf_counter() - began)
            assert answered.status_code == 401

    quick = {kind: quantiles(times, n=10)[0] for kind, times in took.items()}
    assert max(quick.values()) < min(quick.values()) * (1 + DIFFERENCE), quick
