"""The record of a job as one page in plain words: no scripts, nothing from the network."""

from functools import lru_cache
from importlib.resources import files

from jinja2 import Environment, StrictUndefined, Template

from exchange_api.people_words import moment, of_hundred, plain, shown
from exchange_api.record_chart import HEIGHT, LEFT, WIDTH, chart_of
from exchange_api.record_rows import rows_of
from libexchange.record import JobRecord

VERDICTS = {
    "accepted": "Accepted",
    "accepted_with_remarks": "Accepted with remarks",
    "not_accepted": "Not accepted",
    "incomplete": "Incomplete",
}


def record_page(record: JobRecord) -> bytes:
    """The page of a record; the same record always gives the same bytes."""
    offered = [
        one
        for one in record.plan.alternatives
        if one.route not in (record.plan.route, "level_only") and one.standing != "no"
    ]
    page = _template().render(
        record=record,
        verdict=VERDICTS[record.closing.verdict],
        offered=offered,
        rows=rows_of(record),
        chart=chart_of(record),
        size={"width": WIDTH, "height": HEIGHT, "left": LEFT},
    )
    return page.encode()


@lru_cache(maxsize=1)
def _template() -> Template:
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters |= {
        "shown": shown, "of_hundred": of_hundred, "moment": moment, "plain": plain,
    }  # fmt: skip
    source = files("exchange_api").joinpath("record.html.jinja").read_text(encoding="utf-8")
    return environment.from_string(source)
