"""What the evidence of a job can say against it."""

from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, Kind

ARRIVED_WITH_OTHER_KIND = Kind(
    code="arrived-with-other-fluid",
    severity="stop",
    title="Another kind of fluid is said to be in the unit than it takes",
    remedy="Do not start it. Find out what is in it and whether the unit ran on it, and make a "
    "plan for a wrong fluid; withdraw by a correction what was told in error.",
    source=MAKER_DATA,
)
NO_SOUND_BASELINE = Kind(
    code="no-sound-baseline",
    severity="caution",
    title="No sound drive before the work is told",
    remedy="Diagnose first. No more than a drain, or pan and filter, until it drives without "
    "complaint; nothing on a unit that does not drive.",
    source=COMMON_PRACTICE,
)
MODIFIED = Kind(
    code="vehicle-modified",
    severity="note",
    title="The vehicle was modified",
    remedy="Ask what a deep pan or a further cooler holds; total fill and litres change by it.",
    source=COMMON_PRACTICE,
)
NEW_CODES = Kind(
    code="fault-codes-new",
    severity="caution",
    title="Fault codes stand after the work that did not stand before it",
    remedy="Diagnose them before the vehicle is handed over, and tell the customer.",
    source=COMMON_PRACTICE,
)
CODES_NOT_READ = Kind(
    code="fault-codes-not-read",
    severity="note",
    title="Fault codes were not read before and after the work",
    remedy="Read them on arrival and after the drive.",
    source=COMMON_PRACTICE,
)
BENCH_DISAGREES = Kind(
    code="bench-checks-disagree",
    severity="stop",
    title="An earlier bench check barred the work and a later one does not",
    remedy="Do not go by the better one: have a laboratory decide, and withdraw the wrong check by "
    "a correction that says why.",
    source=COMMON_PRACTICE,
)
PHOTO_TIME = Kind(
    code="photo-time-implausible",
    severity="note",
    title="A picture was taken at another time than the work",
    remedy="Check that it shows this vehicle, and set the clock of the camera.",
    source=COMMON_PRACTICE,
)
SEAL_REUSED = Kind(
    code="seal-used-again",
    severity="caution",
    title="A seal, gasket, ring or filter was used again",
    remedy="Fit a new one and repeat the leak check, unless the maker's data say that it may be "
    "used again.",
    source=MAKER_DATA,
)
TORQUE_MISSING = Kind(
    code="torque-not-recorded",
    severity="note",
    title="The torque of a plug or bolt was not written down",
    remedy="Record what it was tightened to and by which tool; the value is the maker's.",
    source=COMMON_PRACTICE,
)
CALIBRATION_OVERDUE = Kind(
    code="calibration-overdue",
    severity="caution",
    title="The calibration of a tool had run out",
    remedy="Have it calibrated, or repeat with one whose calibration is valid what was measured.",
    source=COMMON_PRACTICE,
)
EQUIPMENT_NOT_PURGED = Kind(
    code="equipment-not-purged",
    severity="caution",
    title="Equipment held another kind of fluid and was perhaps not purged enough",
    remedy="Run fluid of the right kind through it before it is connected and record how much, or "
    "take a set that is kept for this kind.",
    source=COMMON_PRACTICE,
)
ROUTE_NOT_CONSENTED = Kind(
    code="route-not-consented",
    severity="caution",
    title="Another route than the planned one was agreed to",
    remedy="Ask the customer again before the work goes on, and record the answer.",
    source=COMMON_PRACTICE,
)
CHECKED_ALONE = Kind(
    code="checked-by-who-did-it",
    severity="caution",
    title="A second check was made by who did the work",
    remedy="Have somebody else look.",
    source=COMMON_PRACTICE,
)
NOT_AGREED = Kind(
    code="second-check-not-agreed",
    severity="stop",
    title="The second check did not agree",
    remedy="Settle what differs, put it right and have it checked again.",
    source=COMMON_PRACTICE,
)
KINDS = (
    ARRIVED_WITH_OTHER_KIND, NO_SOUND_BASELINE, MODIFIED, NEW_CODES, CODES_NOT_READ,
    BENCH_DISAGREES, PHOTO_TIME, SEAL_REUSED, TORQUE_MISSING, CALIBRATION_OVERDUE,
    EQUIPMENT_NOT_PURGED, ROUTE_NOT_CONSENTED, CHECKED_ALONE, NOT_AGREED,
)  # fmt: skip
"""Every finding code of evidence, beside those of used fluid."""
