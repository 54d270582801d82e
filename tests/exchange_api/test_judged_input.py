"""What a person may judge is a finding in a kept plan and never a problem."""

from typing import Any

import httpx
import pytest

from tests.exchange_api.bay_desk import SIX_SPEED, ask

LITRES_4 = {"value": 4.065, "unit": "L"}


def six_speed(**changes: Any) -> dict[str, Any]:
    return {"transmission": SIX_SPEED | changes}


def level(window: dict[str, Any] | None) -> dict[str, Any]:
    told = {name: part for name, part in SIX_SPEED["level"].items() if name != "window"}
    return six_speed(level=told | ({"window": window} if window else {}))


JUDGED: dict[str, tuple[dict[str, Any], str, str, bool]] = {
    "dry fill below service fill": (
        six_speed(total=LITRES_4, drained={"value": 9, "unit": "L"}),
        "dry-fill-below-service-fill", "#/transmission/drained", False,
    ),
    "shares that do not sum": (
        six_speed(shares={"sump": 0.5, "converter": 0.3, "line": 0.1, "pockets": 0.05,
                          "stranded": 0.1}),
        "compartment-shares-do-not-sum", "#/transmission/shares", True,
    ),
    "converter volume against the profile": (
        six_speed(converter={"value": 8.5, "unit": "L"}),
        "converter-volume-contradicts-profile", "#/transmission/converter", True,
    ),
    "target above the ceiling": (
        {"target_fresh_share": 0.999}, "target-above-ceiling",
        "#/target_fresh_share", True,
    ),
    "a window that looks like Fahrenheit": (
        level({"low": {"value": 95, "unit": "Cel"}, "high": {"value": 113, "unit": "Cel"}}),
        "window-looks-like-fahrenheit", "#/transmission/level/window", True,
    ),
    "an unknown window": (
        level(None), "level-window-unknown", "#/transmission/level/window", True,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", JUDGED)
def test_it_is_kept_with_its_finding(client: httpx.Client, name: str) -> None:
    changes, code, pointer, feasible = JUDGED[name]
    kept = ask(client, **changes)
    plan = kept.json()
    found = {finding["code"]: finding for finding in plan["findings"]}

    assert kept.status_code == 201
    assert plan["feasible"] is feasible
    assert found[code]["pointer"] == pointer
    assert found[code]["remedy"]
    assert client.get(kept.headers["location"]).json() == plan
