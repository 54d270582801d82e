"""What events of evidence, custody and course may hold, for tests that try whatever decodes.

Each kind has the fields it needs and the optional ones worth trying.
"""

from typing import Any
from uuid import UUID

from hypothesis import strategies as st

Fields = tuple[dict[str, Any], dict[str, Any]]

TEXT = st.just("invented")
PERSON = st.sampled_from(["invented foreman", "invented hand"])
DIGEST = st.sampled_from(["ab" * 32, "cd" * 32])
BOTTLE = st.sampled_from(["bottle-1", "bottle-2", "bottle-3"])
MOMENT = st.sampled_from(["0001-01-01T00:00:00+14:00", "2026-03-04T08:00:00Z",
                          "9999-12-31T23:59:59-12:00"])  # fmt: skip
DAY = st.sampled_from(["0001-01-01", "2026-03-04", "9999-12-31"])
KIND = st.sampled_from(["invented-red-six", "invented-green-cvt"])
ROUTE = st.sampled_from(["drain", "line_exchange", "pan_and_filter_then_line"])
CODES = st.lists(st.sampled_from(["P0001", "U1002"]), max_size=3)
LITRES = st.fixed_dictionaries({"value": st.sampled_from([0.0, 8.9, 1e5]), "unit": st.just("L")})
TORQUE = st.just({"value": 12.0, "unit": "N.m"})
BENCH = st.fixed_dictionaries(
    {},
    optional={
        "colour": st.sampled_from(["clear", "black", "milky"]),
        "smell": st.sampled_from(["normal", "burnt", "foreign"]),
        "glycol_strip": st.sampled_from(["negative", "positive"]),
        "shifts": st.sampled_from(["normal", "slips", "no_drive"]),
    },
)

EVIDENCE: dict[str, Fields] = {
    "arrived": (
        {},
        {"complaint": TEXT, "drive": st.sampled_from(["ok", "complaint", "no_drive"]),
         "fluid_kind": KIND, "modifications": TEXT, "photos": st.lists(DIGEST, max_size=2),
         "acknowledged_by": PERSON},
    ),
    "fault_codes_read": ({"when": st.sampled_from(["before", "after"])}, {"codes": CODES}),
    "bench_checked": ({"bench": BENCH}, {"sample_id": BOTTLE, "photo": DIGEST}),
    "photo_taken": (
        {"digest": DIGEST, "size": st.just(1), "media_type": st.just("image/png"),
         "taken_at": MOMENT, "shows": st.just("plug")},
        {"caption": TEXT},
    ),
    "part_fitted": (
        {"part": st.sampled_from(["plug seal", "drain plug", "magnet"])},
        {"new": st.booleans(), "torque": TORQUE, "tool": TEXT, "by": PERSON},
    ),
    "tool_used": (
        {"tool": TEXT, "sort": st.sampled_from(["vessel", "torque_wrench"])},
        {"calibrated_until": DAY, "last_fluid_kind": KIND, "purged": LITRES},
    ),
    "second_check": (
        {"by": PERSON, "checked": st.sampled_from(["fluid", "route", "level", "release"]),
         "result": st.sampled_from(["agreed", "not_agreed"])},
        {"remark": TEXT},
    ),
    "consent_given": (
        {"estimate": TEXT, "given_by": PERSON, "how": st.just("phone")},
        {"route": ROUTE, "declined": st.lists(TEXT, max_size=2),
         "not_to_exceed": st.just({"amount": "400", "currency": "EUR"})},
    ),
}  # fmt: skip

CUSTODY: dict[str, Fields] = {
    "sample_drawn": (
        {"sample_id": BOTTLE, "fluid": st.sampled_from(["used", "new"]),
         "drawn_from": st.sampled_from(["sump", "sump_unmixed", "container"])},
        {"volume": LITRES, "lot": TEXT, "by": PERSON},
    ),
    "sample_split": (
        {"sample_id": BOTTLE, "parts": st.sampled_from([["part-a", "part-b"],
                                                       ["part-a", "part-c"]])},
        {},
    ),
    "sample_sealed": (
        {"sample_id": BOTTLE | st.just("part-a"), "seal": st.sampled_from(["s 1", "s 2"]),
         "kept_for": st.sampled_from(["workshop", "customer", "laboratory"])},
        {"keep_until": DAY, "place": TEXT},
    ),
    "sample_handed_over": (
        {"sample_id": BOTTLE | st.just("part-a"), "to": PERSON, "seal_whole": st.booleans()},
        {"seal": st.sampled_from(["s 1", "s 2"])},
    ),
    "sample_destroyed": (
        {"sample_id": BOTTLE | st.just("part-b"), "by": PERSON, "reason": TEXT}, {},
    ),
    "legal_hold": (
        {"by": PERSON, "reason": TEXT, "state": st.sampled_from(["set", "lifted"])}, {},
    ),
}  # fmt: skip

WORK: dict[str, Fields] = {
    "fluid_set_aside": (
        {"by": PERSON, "opened": st.integers(0, 20).map(lambda n: str(UUID(int=n))),
         "became": st.sampled_from(["not_filled", "drained"])},
        {"remark": TEXT},
    ),
}  # fmt: skip

FLUID_IN = st.sampled_from(["all", "part", "none", "not_known"])
COURSE: dict[str, Fields] = {
    "finding_overridden": (
        {"code": st.sampled_from(["leak-found", "level-not-known", "unit-without-drive"]),
         "by": PERSON, "reason": TEXT, "acknowledged_by": PERSON},
        {},
    ),
    "paused": ({"next_action": TEXT, "fluid_in": FLUID_IN, "held_by": PERSON}, {"reason": TEXT}),
    "resumed": ({"by": PERSON}, {}),
    "aborted": ({"by": PERSON, "reason": TEXT}, {}),
    "made_safe": (
        {"by": PERSON, "fluid_in": FLUID_IN,
         "vehicle": st.sampled_from(["drive", "tow", "stays_here"])},
        {},
    ),
    "voided": ({"by": PERSON, "reason": TEXT}, {}),
    "late_finding": (
        {"source": st.just("laboratory"), "text": TEXT},
        {"severity": st.sampled_from(["stop", "caution", "note"]),
         "about": st.lists(st.just("00000000-0000-0000-0000-000000000003"), max_size=1),
         "laboratory": st.just({"glycol": {"value": 200, "unit": "[ppm]"}})},
    ),
}  # fmt: skip
