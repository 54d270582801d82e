"""Request bodies for the contract, invented."""

from typing import Any

READING_POST: dict[str, Any] = {
    "device_id": "invented-phone-3",
    "sent_at": "2026-03-04T09:41:07+01:00",
    "events": [
        {
            "kind": "started",
            "event_id": "01920000-0000-7000-8000-000000000011",
            "occurred_at": "2026-03-04T09:12:00+01:00",
            "sequence": 0,
        },
        {
            "kind": "reading",
            "event_id": "01920000-0000-7000-8000-000000000012",
            "occurred_at": "2026-03-04T09:41:00+01:00",
            "sequence": 1,
            "source": "scan_tool",
            "temperature": {"value": 38.5, "unit": "Cel"},
        },
    ],
}
"""The start of the work and a temperature read off a scan tool."""
