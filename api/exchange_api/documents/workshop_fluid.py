"""Of the workshop's record: temperatures, litres, the fresh share, the level."""

from collections.abc import Iterator

from exchange_api.documents.blocks import Fact, Section, number, table, text
from exchange_api.documents.customer_facts import at_close, standing_of
from exchange_api.documents.event_texts import seen_of
from exchange_api.documents.history import in_force
from exchange_api.documents.litres_chart import litres_chart
from exchange_api.documents.moved import BESIDE, Moved, moved_of, purpose_of, sides_of
from exchange_api.documents.share_chart import share_chart
from exchange_api.documents.temperature_chart import temperature_chart
from exchange_api.documents.words import clock, of_hundred, shown, signed, spaced
from libexchange.job.events import LeakChecked, LevelChecked
from libexchange.record import JobRecord

BALANCES = {
    "ok": "closes",
    "explain": "off, to be explained",
    "stop": "off beyond the stop limit",
    "open": "open, since the level was not set",
}


def results_of(record: JobRecord) -> tuple[Fact, ...]:
    """The figures of the work, each with what is to be known beside it."""
    return (
        _route(record), _share(record), *_balance(record), _level(record),
        Fact(name="Leak check", value=record.leak_check or "not done", note=at_close(record)),
        Fact(name="Test drive", value=record.test_drive or "not done", note=at_close(record)),
        *_opened(record),
    )  # fmt: skip


def _route(record: JobRecord) -> Fact:
    plan = record.plan
    litres = f"{shown(plan.litres.planned)} planned" if plan.litres else "no litres planned"
    return Fact(name="Route", value=spaced(plan.route or "none"), note=litres)


def _share(record: JobRecord) -> Fact:
    share = record.fresh_share
    if share is None:
        return Fact(name="Fresh share", value="cannot be told", note="from the litres recorded")
    band = f"{of_hundred(share.low)} to {of_hundred(share.high)}"
    value = f"about {of_hundred(share.expected)} of 100 parts ({band})"
    return Fact(name="Fresh share", value=value, note=share.basis)


def _balance(record: JobRecord) -> Iterator[Fact]:
    balance = record.balance
    if balance is None:
        yield Fact(name="Litres at 15 °C", value="not recorded")
        return
    inside, outside = sides_of(record, moved_of(record))
    value = f"{inside.litres:.2f} L in, {outside.litres:.2f} L out"
    off = signed(balance.difference.l) if balance.difference else "beyond telling"
    wanted = signed(balance.expected_change.l) if balance.expected_change else "beyond telling"
    beside = [part for side in (inside, outside) for part in side.parts if part.name in BESIDE]
    note = "".join(f"{part.litres:.2f} L {part.name} among them; " for part in beside)
    note += f"difference {off} L, expected {wanted} L, uncertain by {shown(balance.uncertainty, 2)}"
    yield Fact(name="Litres at 15 °C", value=value, note=note)
    yield Fact(name="Balance", value=BALANCES[balance.verdict])


def _level(record: JobRecord) -> Fact:
    level = record.level
    if level is None:
        return Fact(name="Level", value="not looked at")
    rounds = f"{level.rounds} round{'s' * (level.rounds != 1)}"
    note = f"last look at {shown(level.temperature)}; {rounds} of correction, "
    note += f"{shown(level.added, 2)} beyond the refill{_after_leak(record)}"
    return Fact(name="Level", value=standing_of(record, level), note=note)


def _after_leak(record: JobRecord) -> str:
    """A leak that was seen answers for the corrections before it."""
    seen = (e for e in in_force(record) if isinstance(e, LeakChecked))
    return ", without those before the leak" if any(e.result == "leak" for e in seen) else ""


def _opened(record: JobRecord) -> Iterator[Fact]:
    for one in record.fluids_opened:
        yield Fact(name="Fluid opened", value=one.fluid_kind, note=f"lot {one.lot or 'not noted'}")
    if not record.fluids_opened:
        yield Fact(name="Fluid opened", value="not recorded")


def sections_of(record: JobRecord) -> Iterator[Section]:
    """Their sections, each where there is something to tell."""
    if (drawn := temperature_chart(record)) is not None:
        yield Section(title="Temperature of the fluid", picture=drawn)
    moved = moved_of(record)
    if moved:
        drawn = litres_chart(sides_of(record, moved))
        yield Section(title="Litres in and out", picture=drawn, table=table(COLUMNS, _rows(moved)))
    if (drawn := share_chart(record)) is not None:
        yield Section(title="Share of the fluid that is fresh", picture=drawn)
    yield from _looks(record)


COLUMNS = (
    text("When"), text("Direction", 1), text("For", 2), number("As entered"), number("At"),
    number("Error limit"), number("L at 15 °C"),
)  # fmt: skip


def _rows(moved: list[Moved]) -> Iterator[tuple[str, ...]]:
    before = None
    for event, move in moved:
        at = event.occurred_at
        limit = f"{event.meter_class:g} %" if event.meter_class is not None else "usual"
        yield (
            clock(at, before), event.direction, purpose_of(move),
            shown(event.volume or event.mass, 3),
            shown(event.temperature) if event.temperature else "",
            limit, f"{move.litres:.3f}",
        )  # fmt: skip
        before = at


def _looks(record: JobRecord) -> Iterator[Section]:
    looks = [event for event in in_force(record) if isinstance(event, LevelChecked)]
    rows, before = [], None
    for look in looks:
        at, running = look.occurred_at, look.engine_running
        engine = {True: "running", False: "off", None: "not noted"}[running]
        slope = shown(look.slope) if look.slope else "not noted"
        rows.append(
            (clock(at, before), spaced(look.method), seen_of(look), shown(look.temperature), engine,
             slope)
        )  # fmt: skip
        before = at
    if rows:
        columns = (text("When"), text("Method", 1), text("Seen", 1), number("Temperature"),
                   text("Engine"), number("Slope"))  # fmt: skip
        yield Section(
            title="Looks at the level", table=table(columns, rows), note=_corrected(record)
        )


def _corrected(record: JobRecord) -> str:
    level = record.level
    if level is None:
        return ""
    added = f"{shown(level.added, 2)} beyond the refill{_after_leak(record)}"
    told = f"Corrections: {level.rounds}, {added}."
    if level.correction is not None:
        told += f" At the last look {shown(level.correction, 2)} were to be moved."
    return told
