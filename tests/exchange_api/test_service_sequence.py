"""Services in any order over HTTP: the answer, and faults that name their step."""

from typing import Any

import httpx

PATH = "/v1/calculations/service-sequence"


def litres(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "L"}


def asked(*steps: dict[str, Any]) -> dict[str, Any]:
    return {"circuit": {"sump": litres(4)}, "steps": list(steps)}


def test_shares_and_substances_come_back_step_by_step(client: httpx.Client) -> None:
    dose = {"kind": "dose", "substance": "cleaner", "dosed": litres(0.2)}
    drain = {"kind": "drain", "drained": litres(4.2)}
    answered = client.post(PATH, json=asked(dose, drain, {"kind": "set_level"}))

    told = answered.json()
    assert answered.status_code == 200
    assert [step["fresh_share"] for step in told["after"]] == [0, 1, 1]
    assert [step["substances"] for step in told["after"]] == [
        [{"substance": "cleaner", "share": 0.047619047619}],
        [{"substance": "cleaner", "share": 0}],
        [{"substance": "cleaner", "share": 0}],
    ]
    assert told["put_in"] == litres(4.4)
    assert told["let_out"] == litres(4.4)


def test_every_fault_names_its_step(client: httpx.Client) -> None:
    odd = {"kind": "wash"}
    line = {"kind": "line_exchange", "exchanged": litres(1), "fed_per_out": 3}
    answered = client.post(PATH, json=asked(odd, line))

    assert answered.status_code == 422
    pointers = {error["pointer"] for error in answered.json()["errors"]}
    assert pointers == {"#/steps/0/kind", "#/steps/1/fed_per_out"}


def test_what_cannot_be_computed_names_the_litres_allowed(client: httpx.Client) -> None:
    answered = client.post(PATH, json=asked({"kind": "line_batch", "batch": litres(3.96)}))

    (error,) = answered.json()["errors"]
    assert answered.status_code == 422
    assert (error["pointer"], error["allowed"]) == ("#/steps/0/batch", "0 to 3.95 L")
