"""The pictures: what they show lies inside them, and differs without colour."""

import re
from datetime import timedelta
from xml.etree import ElementTree as ET

import pytest

from exchange_api.documents.litres_chart import litres_chart
from exchange_api.documents.moved import Part, Side, moved_of, sides_of
from exchange_api.documents.share_chart import share_chart
from exchange_api.documents.svg import Picture
from exchange_api.documents.temperature_chart import temperature_chart
from exchange_api.documents.temperature_scale import HEIGHT, LEFT, RIGHT, WIDTH, minutes_apart
from exchange_api.documents.thinning import COLUMN, thinned
from exchange_api.documents.workshop_fluid import results_of
from libexchange.job.events import FluidMoved, Paused, ReadingTaken, Resumed
from libexchange.quantities import Volume
from tests.exchange_api.documents.paper import nothing_done, record_of, whole
from tests.job.plans import Bay, celsius, plan_for

GREYS = re.compile(r"#([0-9a-f]{2})\1\1|#000|#fff")


@pytest.fixture
def bay() -> Bay:
    return Bay(plan_for())


def drawing(picture: Picture | None) -> ET.Element:
    assert picture is not None
    return ET.fromstring(picture.svg)  # noqa: S314  # our own


def all_of(picture: Picture | None, tag: str) -> list[ET.Element]:
    return list(drawing(picture).iter("{http://www.w3.org/2000/svg}" + tag))


def points_of(picture: Picture | None) -> list[list[tuple[float, float]]]:
    lines = [line.attrib["points"].split() for line in all_of(picture, "polyline")]
    return [[(float(x), float(y)) for x, y in (one.split(",") for one in own)] for own in lines]


def test_one_look_and_no_reading_make_no_curve(bay: Bay) -> None:
    bay.look("drip")

    assert temperature_chart(record_of(bay)) is None


def test_the_curve_lies_inside_with_the_window_behind_and_the_looks_on_it(bay: Bay) -> None:
    bay.read(20.0, 90.0, 40.0, every_s=600)
    bay.look("drip", 40)
    picture = temperature_chart(record_of(bay))
    (line,) = points_of(picture)
    (band, *_) = all_of(picture, "rect")
    (look,) = all_of(picture, "circle")
    top, height = float(band.attrib["y"]), float(band.attrib["height"])

    assert all(LEFT <= x <= WIDTH - RIGHT and 0 <= y <= HEIGHT for x, y in line)
    assert top < line[-1][1] < top + height
    assert float(look.attrib["cy"]) == pytest.approx(line[-1][1], abs=0.1)
    assert float(look.attrib["cx"]) == pytest.approx(WIDTH - RIGHT)


def test_each_source_has_its_own_kind_of_line(bay: Bay) -> None:
    for source in ("scan_tool", "in_line", "clamp_on", "infrared", "dashboard"):
        for value in (20, 30):
            bay.add(ReadingTaken, source=source, temperature=celsius(value))
    lines = all_of(temperature_chart(record_of(bay)), "polyline")
    dashes = [line.attrib["stroke-dasharray"] for line in lines]

    assert len(set(dashes)) == len(dashes) == 5


@pytest.mark.parametrize(("every_s", "runs"), [(600, 1), (601, 0)])
def test_where_nobody_measured_for_long_the_line_is_thin(
    bay: Bay, every_s: float, runs: int
) -> None:
    bay.read(20.0, 30.0, every_s=every_s)
    picture = temperature_chart(record_of(bay))
    thin = [one for one in all_of(picture, "line") if one.attrib.get("stroke-width") == "0.6"]
    slant = [one for one in thin if one.attrib["y1"] != one.attrib["y2"]]

    assert len(all_of(picture, "polyline")) == runs
    assert len(slant) == 1 - runs


def test_a_pause_is_a_grey_field(bay: Bay) -> None:
    bay.read(20.0, 30.0, every_s=60)
    bay.add(Paused, next_action="wait", fluid_in="all", held_by="invented foreman")
    bay.add(Resumed, after_s=3600, by="invented foreman")
    bay.read(25.0, every_s=60)
    picture = temperature_chart(record_of(bay))
    fields = [one for one in all_of(picture, "rect") if one.attrib["fill"] == "#ececec"]

    assert [one.text for one in all_of(picture, "text")].count("paused") == 1
    assert 0.9 < float(fields[0].attrib["width"]) / (WIDTH - LEFT - RIGHT) < 1


def test_steps_that_are_left_out_are_said_to_be(bay: Bay) -> None:
    bay.read(20.0, every_s=60)
    for _ in range(10):
        bay.confirm("raise_vehicle")
    bay.read(20.0, every_s=60)
    picture = temperature_chart(record_of(bay))
    assert picture is not None
    assert "Steps confirmed, not all of them shown: 1 " in picture.caption
    assert "; 5 " in picture.caption

    few = Bay(bay.plan)
    few.read(20.0, every_s=60)
    few.confirm("raise_vehicle")
    few.read(20.0, every_s=60)
    told = temperature_chart(record_of(few))
    assert told is not None
    assert "Steps confirmed: 1 raise vehicle" in told.caption


def test_steps_are_numbered_in_the_picture_and_named_below_it(bay: Bay) -> None:
    bay.read(20.0, 21.0)
    bay.confirm("drain", "pan_and_filter", "refill")
    bay.read(30.0)
    picture = temperature_chart(record_of(bay))

    assert picture is not None
    assert "Steps confirmed: 1 pan and filter 08:01; 2 refill 08:02." in picture.caption
    assert [one.text for one in all_of(picture, "text") if one.text in ("1", "2", "3")] == [
        "1",
        "2",
    ]


def test_a_thousand_readings_are_drawn_with_few_points_that_keep_the_peak(bay: Bay) -> None:
    bay.read(*[20 + n % 7 for n in range(500)], 99.0, *[20 + n % 5 for n in range(500)], every_s=1)
    (line,) = points_of(temperature_chart(record_of(bay)))

    assert len(line) <= 4 * (WIDTH / COLUMN + 1)
    assert len(line) < 1001
    assert min(y for _, y in line) < 60  # the 99 °C near the top


def test_points_a_column_apart_are_all_kept() -> None:
    points = [(n * COLUMN, float(n % 3)) for n in range(20)]

    assert thinned(points) == points


def test_an_empty_line_stays_empty() -> None:
    assert thinned([]) == []


@pytest.mark.parametrize(("minutes", "apart"), [(8, 1), (8.01, 2), (3840, 480), (3841, 1440)])
def test_the_clock_has_at_most_eight_spans(minutes: float, apart: int) -> None:
    assert minutes_apart(minutes) == apart


def test_a_job_over_two_days_is_still_a_picture(bay: Bay) -> None:
    bay.read(20.0)
    bay.now += timedelta(days=2)
    bay.read(30.0)

    assert len(all_of(temperature_chart(record_of(bay)), "circle")) == 2


def test_the_columns_add_up_to_the_balance() -> None:
    record = whole()
    went_in, came_out = sides_of(record, moved_of(record))

    assert record.balance is not None
    assert went_in.litres == pytest.approx(record.balance.in_15.l)
    assert came_out.litres == pytest.approx(record.balance.out_15.l)
    assert [part.name for part in went_in.parts] == ["refill", "line exchange"]
    assert 0 < went_in.uncertainty_l < record.balance.uncertainty.l


def test_one_purpose_is_filled_alike_in_both_columns() -> None:
    into = Side("In", (Part("refill", 4.0), Part("line exchange", 8.0)), 0.1)
    out = Side("Out", (Part("drain", 4.0), Part("line exchange", 8.0)), 0.1)
    (*refill, line_in, drain, line_out) = [
        one.attrib["fill"] for one in all_of(litres_chart([into, out]), "rect") if "x" in one.attrib
    ]

    assert line_in == line_out
    assert len({*refill, line_in, drain}) == 3


def test_the_figures_are_those_of_the_columns(bay: Bay) -> None:
    bay.whole_job()
    bay.add(FluidMoved, direction="sampled", volume=Volume(0.1, "L"), temperature=celsius(15))
    record = record_of(bay)
    inside, outside = sides_of(record, moved_of(record))
    (told,) = [one for one in results_of(record) if one.name == "Litres at 15 °C"]

    assert told.value == f"{inside.litres:.2f} L in, {outside.litres:.2f} L out"
    assert told.note.startswith("0.10 L sampled among them; difference ")


def test_a_column_has_a_whisker_as_long_as_its_uncertainty() -> None:
    picture = litres_chart([Side("In", (Part("refill", 4.0),), 0.5), Side("Out", (), 0.0)])
    (column,) = (one for one in all_of(picture, "rect") if one.attrib["width"] == "74")
    upright = [one for one in all_of(picture, "line") if one.attrib["x1"] == one.attrib["x2"]]
    lengths = [float(one.attrib["y1"]) - float(one.attrib["y2"]) for one in upright]
    per_litre = float(column.attrib["height"]) / 4

    assert lengths == [pytest.approx(per_litre, abs=0.02)]
    assert "In: 4.00 L, uncertain by 0.50 L, of it 4.00 L refill; Out: 0.00 L" in (
        picture.alt if picture else ""
    )


def test_where_nothing_was_measured_there_is_no_picture() -> None:
    assert litres_chart(sides_of(nothing_done(), [])) is None
    assert share_chart(nothing_done()) is None


def test_the_share_stands_between_its_bounds() -> None:
    picture = share_chart(whole())
    (_, band) = all_of(picture, "rect")
    (upright, *_) = all_of(picture, "line")
    low, width = float(band.attrib["x"]), float(band.attrib["width"])

    assert low < float(upright.attrib["x1"]) < low + width
    assert "About 80 of 100 parts are fresh, between 74 and 83" in (picture.alt if picture else "")


def test_pictures_have_no_colour(bay: Bay) -> None:
    bay.whole_job()
    record = record_of(bay)
    pictures = [temperature_chart(record), share_chart(record),
                litres_chart(sides_of(record, moved_of(record)))]  # fmt: skip

    for picture in pictures:
        assert picture is not None
        colours = re.findall(r"#[0-9a-fA-F]{3,8}\b", picture.svg)
        assert colours
        assert all(GREYS.fullmatch(one) for one in colours)


def test_the_chart_says_in_words_what_it_shows(bay: Bay) -> None:
    bay.read(20.0, 90.0, 40.0, every_s=600)
    picture = temperature_chart(record_of(bay))

    assert picture is not None
    assert picture.alt == (
        "Temperature of the fluid over time, from 08:10 to 08:30. scan tool: 20.0 °C at first, "
        "40.0 °C at last, between 20.0 and 90.0 °C; window for the level 35 to 45 °C."
    )
    assert drawing(picture).attrib["aria-label"] == picture.alt
