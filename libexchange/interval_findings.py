"""What can be wrong with the next due service: the finding codes of `next_due`."""

from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, Kind
from libexchange.rules.history import ODOMETER_BELOW_LAST_SERVICE

DUE_ALREADY = Kind(
    code="service-due-already",
    severity="caution",
    title="The service was due before today",
    remedy="Do it now. Nothing due lies before today, so today is given.",
    source=COMMON_PRACTICE,
)
CAPPED_BY_MAKER = Kind(
    code="interval-capped-by-maker",
    severity="note",
    title="The fluid would last longer than the maker's schedule allows",
    remedy="Keep to the maker's schedule; only the maker or a programme of oil analysis extends "
    "it.",
    source=MAKER_DATA,
)
SCHEDULE_UNKNOWN = Kind(
    code="maker-schedule-unknown",
    severity="caution",
    title="The maker's service schedule is not known",
    remedy="Look the schedule up; the shorter of it and of the wear counts.",
    source=COMMON_PRACTICE,
)
SCHEDULE_NOT_APPLIED = Kind(
    code="maker-schedule-not-applied",
    severity="caution",
    title="The maker's schedule is given but cannot be applied in full",
    remedy="Give today's odometer or engine hours, and the last service that renewed the fluid; "
    "until then what the maker allows may have passed already.",
    source=MAKER_DATA,
)
HISTORY_UNKNOWN = Kind(
    code="fluid-history-unknown",
    severity="note",
    title="Nothing is known of the fluid before its first known service",
    remedy="It counts as worn out. Renew the filter as well, and check the fluid again after "
    "10,000 to 20,000 km.",
    source=COMMON_PRACTICE,
)
TEMPERATURES_UNKNOWN = Kind(
    code="fluid-temperatures-unknown",
    severity="note",
    title="It is not known how hot the fluid runs",
    remedy="Give the hours or kilometres by fluid temperature where the vehicle stores them; "
    "until then the kind of driving stands for them.",
    source=COMMON_PRACTICE,
)
USE_UNKNOWN = Kind(
    code="use-since-service-unknown",
    severity="caution",
    title="The use since the last service is not known",
    remedy="Give the odometer or the engine hours of today and of the services.",
    source=COMMON_PRACTICE,
)
HOURS_BELOW_LAST_SERVICE = Kind(
    code="engine-hours-below-last-service",
    severity="caution",
    title="The hour meter is below the one of the last service",
    remedy="Check both readings; note a replaced meter.",
    source=COMMON_PRACTICE,
)
RUNS_TOO_HOT = Kind(
    code="fluid-runs-too-hot",
    severity="caution",
    title="The fluid is said to run hotter than it lasts",
    remedy="Check the unit: 176 °F are 80 °C. Fluid that was above 130 °C counts as damaged: "
    "have it checked at the bench.",
    source=COMMON_PRACTICE,
)
KINDS = (
    DUE_ALREADY, CAPPED_BY_MAKER, SCHEDULE_UNKNOWN, SCHEDULE_NOT_APPLIED, HISTORY_UNKNOWN,
    TEMPERATURES_UNKNOWN, USE_UNKNOWN, ODOMETER_BELOW_LAST_SERVICE, HOURS_BELOW_LAST_SERVICE,
    RUNS_TOO_HOT,
)  # fmt: skip
"""Every finding code of an interval."""
