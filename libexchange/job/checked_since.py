"""Leak check, drive and finish of a job, as far as they came after all that they are to judge."""

from datetime import datetime
from typing import Literal

from libexchange.catalogue import LevelMethod
from libexchange.job.events import JobEvent, LateFinding, LeakChecked, LevelChecked, TestDriven

THROUGH_OPENINGS: tuple[LevelMethod, ...] = ("overflow_plug", "overflow_feed")
"""Ways of looking at the level that open a plug, which is looked at for leaks afterwards."""


class CheckedSince:
    """What was checked since the last opening and the last move of fluid, of events in order.

    A leak and a complaint stay until they are disproved; what was dry, driven or finished counts no
    more once something was opened or moved after it. A level that is corrected asks for no second
    drive.

    finished_early: the bay said that it had finished, and opened or moved something afterwards
    moments: of the last change, the last look, the last leak check and the last drive
    """

    def __init__(self) -> None:
        self.leak_check: Literal["dry", "leak"] | None = None
        self.test_drive: Literal["ok", "complaint"] | None = None
        self.finished_early = False
        self.moments: dict[str, datetime] = {}
        self._finished = False

    def changed(self, event: JobEvent, *, setting: bool = False) -> None:
        """Something was opened, or fluid moved; `setting`: while the level was set."""
        self.moments["change"] = event.occurred_at
        self.finished_early = self.finished_early or self._finished
        self._unsealed()
        if self.test_drive == "ok" and not setting:
            self.test_drive = None

    def looked(self, event: LevelChecked) -> None:
        """Somebody looked at the level, and may have opened a plug for it."""
        self.moments["look"] = event.occurred_at
        if event.method in THROUGH_OPENINGS:
            self._unsealed()

    def leak(self, event: LeakChecked) -> None:
        """Somebody looked for leaks."""
        self.leak_check, self.moments["leak check"] = event.result, event.occurred_at

    def leak_told(self, event: LateFinding) -> None:
        """A leak came to light: no dry look before it counts, and a grave one is a leak."""
        self.moments["leak told"] = event.occurred_at
        self._unsealed()
        if event.severity == "stop":
            self.leak_check = "leak"

    def drive(self, event: TestDriven) -> None:
        """Somebody drove; before the work it tells nothing of the work."""
        if event.when == "after":
            self.test_drive, self.moments["drive"] = event.result, event.occurred_at

    def finish(self) -> None:
        """The bay said that it has nothing more to do."""
        self._finished, self.finished_early = True, False

    def _unsealed(self) -> None:
        if self.leak_check == "dry":
            self.leak_check = None
