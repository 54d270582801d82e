"""Which pictures each kind of event names."""

from libexchange.bench_checks import BenchChecks
from libexchange.job.events import Arrived, BenchChecked, PhotoTaken, ReadingTaken, Started
from libexchange.job.photo_doubts import photos_named
from tests.job.plans import START, Bay, celsius, plan_for

ONE, TWO = "ab" * 32, "cd" * 32


def test_an_event_names_the_pictures_that_it_was_told_with() -> None:
    bay = Bay(plan_for())
    bay.add(Arrived, photos=(ONE, TWO))
    bay.add(PhotoTaken, digest=TWO, size=9, media_type="image/jpeg", taken_at=START, shows="leak")
    for photo in (ONE, None):
        bay.add(ReadingTaken, source="scan_tool_typed", temperature=celsius(40), photo=photo)
        bay.add(BenchChecked, bench=BenchChecks(colour="brown"), photo=photo)
    bay.add(Started)

    assert [photos_named(one.event) for one in bay.events] == [
        (ONE, TWO), (TWO,), (ONE,), (ONE,), (), (), (),
    ]  # fmt: skip
