"""The report: what it tells, section by section."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import shorten
from typing import Any

from msgspec.structs import replace

from tankbook.output import costs, fleet, rentals, report_pictures, workshop
from tankbook.output import due as due_output
from tankbook.output.bars import Bar, Series, bars
from tankbook.output.costs import sums
from tankbook.output.document import Block, Document, Facts, Grid, Picture, Section, Words
from tankbook.output.document import grid_of as grid_of
from tankbook.output.document_text import text as text
from tankbook.output.drawing import Tone
from tankbook.output.due import late_by, left, subject, whole_name
from tankbook.output.may_fill import briefly
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import Column, Table, in_words
from tankbook.output.words import CAUTION, NOT_ADVICE
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import Due, DueKind, FleetRow, Reason, State, Tally
from tankbook.rules.bookings import DayAhead
from tankbook.rules.costs import CostsAhead, Share, by_month, by_obligation, totals_of
from tankbook.rules.months import month_of
from tankbook.rules.rental import Lending
from tankbook.rules.summary import SetAside, Summary
from tankbook.rules.worked import Fills, GasGroup, Worked
from tankbook.rules.workshop import JobLine

TOP = 10
"""Rows of a table on one page, before the rest is only counted."""

LONGEST = 150
"""Letters of a reason on one page."""

KINDS = (
    ("hydro", Tone.DARK),
    ("visual", Tone.PAPER),
    ("other", Tone.MID),
    ("spared", Tone.PALE),
)
"""The parts of a month's bar. `spared` is what an act before its turn meets, `other` whatever is
left."""

GAS_TONES = {
    GasGroup.AIR: Tone.PAPER,
    GasGroup.NITROX: Tone.MID,
    GasGroup.OXYGEN: Tone.INK,
    GasGroup.HELIUM: Tone.DARK,
    GasGroup.UNKNOWN: Tone.PALE,
}


def report(told: Summary, *, short: bool = False) -> Document:
    """The whole report, or the one page of it for a committee."""
    sections = _short(told) if short else _whole(told)
    return Document(
        title=f"{told.ledger}: {'summary' if short else 'report'}",
        told=f"As of {plain_date(told.today)}. {headline(told)}",
        sections=tuple(sections),
        foot=(CAUTION, NOT_ADVICE),
        short=short,
    )


def made(document: Document, ending: str, paper: str) -> bytes:
    """The report as a file. Raises `PaperError` for a character that cannot be printed."""
    if ending == ".pdf":
        from tankbook.output.report_pdf import pdf

        return pdf(document, paper)
    from tankbook.output.html import page as html_page

    return html_page(document).encode()


def headline(told: Summary) -> str:
    """The answer in a sentence: how many, how they stand, and what the year ahead costs."""
    count, _, fit, _ = fleet.totals(told.fleet)
    late = due_output.overdue(Tally.of(told.dues))
    return (
        f"{counted(count, 'cylinder')}, {fit} fit to be filled; "
        f"{late}; {costs.year_ahead(told.ahead.needs)}."
    )


def _whole(told: Summary) -> Iterator[Section]:
    glance = grid_of("Cylinders by use and size", FLEET, told.fleet, lambda row: row.overdue)
    counts = Words(fleet.what_it_counts(failed=any(row.failed for row in told.fleet)))
    blocks: tuple[Block, ...] = (facts_of(told), glance, *([counts] if told.fleet else []))
    yield Section("glance", "The fleet at a glance", blocks)
    yield Section("overdue", "Overdue and held", tuple(_overdue(told)))
    yield Section("ahead", "The next twelve months", (_ahead(told),))
    yield Section("fills", "Fills by month and gas", (_fills(told.fills),))
    yield Section("work", "Work per cylinder", (_worked(told),))
    yield from report_pictures.sections(told)
    station = (*_station(told), *report_pictures.hours_of(told))
    yield Section("station", "Station upkeep", station)
    yield Section("counter", "Jobs and rental", tuple(_counter(told)))
    yield Section("costs", "What the next twelve months cost", tuple(_costs(told.ahead)))


def _short(told: Summary) -> Iterator[Section]:
    yield Section("glance", "At a glance", (facts_of(told),))
    late = LATE.pick("what", "since", "rule").rows(told.board.overdue, Page())
    kept = (replace(each, where="not here" if each.where else "") for each in told.kept)
    rows = [*late, *KEPT.rows(kept, Page())]  # to whom it went is no matter of a meeting
    rows = [(what, since, _shortened(why)) for what, since, why in rows]
    grid = _first("Overdue, held and rejected", ("what", "since", "why"), rows)
    yield Section("overdue", "Overdue and held", (grid,) if rows else (Words("Nothing."),))
    yield Section("ahead", "The next twelve months", (_ahead(told),))
    yield Section("costs", "What they cost", (_cost_grid(told.ahead),))


def _shortened(text: str) -> str:
    """A reason short enough for two lines of a page; the whole report has all of it."""
    return shorten(" ".join(text.split()), LONGEST, placeholder=" ...")


def _first(caption: str, headers: tuple[str, ...], rows: list[tuple[str, ...]]) -> Grid:
    """The first rows of a table; the rest is counted in its last."""
    shown = rows[:TOP]
    if len(rows) > TOP:
        rest = len(rows) - TOP
        shown.append((f"and {rest} more", *[""] * (len(headers) - 1)))
    return Grid(caption, headers, tuple(shown))


def facts_of(told: Summary) -> Facts:
    """The figures at the head of a report."""
    board = told.board
    station = "closed" if board.station_refusals else "open" if board.station else "not on record"
    tally = Tally.of(told.dues)
    word = due_output.LATE_WORDS[bool(tally.failed)]
    of_cylinders = dict(tally.overdue).get(DueKind.CYLINDER, 0)
    count, in_service, fit, _ = fleet.totals(told.fleet)
    pairs = (
        ("cylinders", str(count)),
        ("in service", str(in_service)),
        ("fit to be filled", str(fit)),
        (word, str(tally.late)),
        (f"{word}, of cylinders", str(of_cylinders)),
        ("not on record", str(tally.unknown)),
        ("held or rejected", str(len(told.kept))),
        ("out on rental", str(len(told.rental.out))),
        ("away at test or repair", str(len(board.away))),
        ("station", station),
        ("fills in twelve months", str(told.fills.total)),
        ("cost of the next 12 months", sums(totals_of(n.price for n in told.ahead.needs))),
    )
    alarm = [name for name, bad in (
        (word, tally.late),
        (f"{word}, of cylinders", of_cylinders),
        ("not on record", tally.unknown),
        ("held or rejected", told.kept),
        ("station", board.station_refusals),
    ) if bad]  # fmt: skip
    return Facts(pairs, tuple(alarm))


FLEET = Table[FleetRow](
    Column("", lambda row: f"{row.use or 'use not recorded'} {row.size}", "use and size"),
    *fleet.COLUMNS.pick("count", "in service", "fit", fleet.OVERDUE).columns,
    Column("", lambda row: row.oldest, "oldest test"),
)


def _name(item: Due) -> str:
    return whole_name(subject(item), item.obligation.called)


LATE = Table[Due](
    Column("", _name, "what"),
    Column("", lambda d: d.next or d.last, "since"),
    Column("", late_by, "late by", right=True),
    Column("", lambda d: due_output.note(d) or None, "note", none=""),
    Column("", lambda d: d.why or d.citation, "rule"),
)
NOT_ON_RECORD = Table[Due](
    Column("", _name, "what"),
    Column("", lambda d: due_output.note(d) or None, "note", none=""),
    Column("", lambda d: d.why or None, "why", none="nothing on record"),
)


def _kept(kept: SetAside) -> str:
    """`RB-018 held, away: requalification at Weir Street Hydro since 2026-11-26`."""
    return ", ".join(filter(None, (f"{kept.id} {kept.status}", kept.where)))


KEPT = Table[SetAside](
    Column("", _kept, "cylinder"),
    Column("id", lambda kept: kept.id),
    Column("stands", lambda kept: kept.status),
    Column("since", lambda kept: kept.since, "since"),
    Column("why", lambda kept: kept.why, "why", lambda why: why or "no reason on record"),
    Column("where", lambda kept: kept.where or None),
)
CLOSED = Table[Reason](
    Column("", briefly, "reason"),
    Column("", lambda reason: reason.mend or None, "how to mend it"),
)


def _overdue(told: Summary) -> Iterator[Block]:
    board = told.board
    if board.overdue:
        called = due_output.late_word(board.overdue).capitalize()
        yield grid_of(called, LATE, board.overdue, lambda _: True)
    else:
        yield Words("Nothing is overdue.")
    if board.missing:
        yield grid_of("Not on record, so not known to be in date", NOT_ON_RECORD, board.missing)
    yield grid_of("Held and rejected", KEPT, told.kept) if told.kept else Words("Nothing is held.")
    if board.station_refusals:
        yield grid_of("Why the station is closed", CLOSED, board.station_refusals)
    out = tuple(r for _, r in board.out_of_use if r not in board.station_refusals)
    if out:
        yield grid_of("Parts of the station that are out of use", CLOSED, out)
    if board.warned:
        yield grid_of(TOLD_OF_PARTS, CLOSED, board.warned)


TOLD_OF_PARTS = "What is told of the station's parts and closes none"

BARS = {"overdue": "overdue", "overdue or failed": "not kept"}
"""What is written beside the bar of what is late, where there is little room."""


def _ahead(told: Summary) -> Picture:
    """What falls due: a bar for what is overdue, one for what is not on record, and one for each
    month; what runs in hours on the day that they are reckoned to last, or at once where that has
    passed."""
    each = {d.owner: d for d in told.dues if d.kind is not DueKind.SET}.values()
    late = [d for d in each if d.state is State.OVERDUE]
    unknown = [d for d in each if d.state is State.MISSING]
    days = [(max(d.by, told.today), d) for d in each if d.by and not d.is_open]
    to_come = [(day, d) for day, d in days if day <= told.ahead.last_day]
    word = due_output.late_word(late)
    rows = [Bar(BARS[word], _parts(late))] if late else []
    rows += [Bar("no record", _parts(unknown))] if unknown else []
    rows += [
        Bar(plain_date(m), _parts([d for day, d in to_come if month_of(day) == m]))
        for m in told.ahead.months
    ]
    said = f"{len(late)} {word}, {len(unknown)} not on record, "
    said += f"{len(to_come)} in date until a day of the twelve months"
    series = [Series(name, tone) for name, tone in KINDS]
    titles = "What falls due, month by month", "What falls due by month"
    alarm = tuple(range(bool(late) + bool(unknown)))
    return _by_month("due", titles, said, series, rows, alarm=alarm)


def _by_month(
    name: str,
    titles: tuple[str, str],
    said: str,
    series: Sequence[Series],
    rows: Sequence[Bar],
    alarm: tuple[int, ...] = (),
) -> Picture:
    """A bar a month, and the table of what it shows, each with its title."""
    grid = Grid(
        titles[1],
        ("month", *(each.name for each in series), "all"),
        tuple((r.name, *map(str, r.values), str(sum(r.values))) for r in rows),
        right=tuple(range(1, len(series) + 2)),
        alarm=alarm,
    )
    busiest = max(rows, key=lambda r: sum(r.values))
    says = f"{said}; most in {busiest.name} ({sum(busiest.values)})."
    return Picture(name, bars(titles[0], says, series, rows), grid)


def _parts(items: Sequence[Due]) -> tuple[int, ...]:
    places = [_place(d) for d in items]
    return tuple(places.count(place) for place in range(len(KINDS)))


def _place(item: Due) -> int:
    """Which part of its bar an obligation is in: that it is spared makes good nothing overdue."""
    if item.spared is not None and not item.is_open:
        return 3
    return {Obligation.REQUALIFICATION: 0, Obligation.VISUAL: 1}.get(item.obligation, 2)


def _fills(fills: Fills) -> Block:
    if not fills.total:
        return Words("No fill is on record in the last twelve months.")
    rows = [
        Bar(plain_date(m), tuple(dict(counts).get(g, 0) for g in fills.groups))
        for m, counts in zip(fills.months, fills.counts, strict=True)
    ]
    series = [Series(str(g), GAS_TONES[g]) for g in fills.groups]
    said = f"{fills.total} fills in twelve months"
    titles = "Fills, month by month", "Fills by month and gas"
    return _by_month("fills", titles, said, series, rows)


WORKED = Table[Worked](
    Column("id", lambda w: w.id, "cylinder"),
    Column("fills", lambda w: w.fills, "fills", right=True),
    Column("rentals", lambda w: w.rentals, "rentals", right=True),
    Column("visuals", lambda w: w.visuals, "visuals", right=True),
    Column("hydros", lambda w: w.hydros, "hydros", right=True),
    Column("valve_services", lambda w: w.services, "valve", right=True),
    Column("cleanings", lambda w: w.cleanings, "cleaned", right=True),
    Column("jobs", lambda w: w.jobs, "jobs", right=True),
)


def _worked(told: Summary) -> Grid | Words:
    if not told.worked:
        return Words("No work is on record in the last twelve months.")
    return grid_of("The last twelve months, most filled first", WORKED, told.worked)


def parts(items: Sequence[Due]) -> Table[Due]:
    """What is said of the station's parts; what else is known of one, where there is any."""
    noted = any(map(due_output.note, items))
    return Table[Due](
        Column("", _name, "part"),
        Column("", lambda d: d.last, "last"),
        Column("", due_output.next_said, "next"),
        Column(
            "",
            lambda d: due_output.alarm(d) if d.failed or d.state is State.MISSING else left(d),
            "left",
            right=True,
        ),
        Column("", lambda d: due_output.note(d) or None, "note" if noted else None, none=""),
    )


def _station(told: Summary) -> Iterator[Block]:
    if not told.board.station:
        yield Words("No station is on record.")
        return
    bad = {State.OVERDUE, State.MISSING}
    yield grid_of(
        "Parts of the station",
        parts(told.board.station),
        told.board.station,
        lambda d: d.state in bad,
    )


JOBS = Table[JobLine](
    Column("", lambda line: f"{line.id} {', '.join(line.job.work)}", "job"),
    Column("", lambda line: line.job.reference or None, "reference"),
    Column("", lambda line: line.state, "stands", in_words),
    Column("", lambda line: line.job.promised, "promised"),
    Column("", lambda line: "LATE" if line.late else "to call" if line.to_call else "", "note"),
)
BOOKED = Table[DayAhead](
    Column("", lambda day: day.day, "day"),
    Column("", lambda day: sum(w.count for w in day.wants), "cylinders", right=True),
    Column("", lambda day: day.short or None, "short", right=True),
)


def _lending_note(each: Lending, told: Summary) -> str:
    """That what is out is late, and what stands against it besides."""
    late = "LATE" if each.is_late(told.today) else ""
    return "; ".join(filter(None, (late, each.against)))


def _counter(told: Summary) -> Iterator[Block]:
    jobs, out, days = told.workshop.jobs, told.rental.out, told.rental.days
    if jobs:
        yield grid_of("Jobs not collected", JOBS, jobs, lambda line: line.late)
    else:
        yield Words("No job is open.")
    lent = Table[Lending](
        Column("", lambda e: e.id, "cylinder"),
        Column("", lambda e: e.to, "to"),
        Column("", lambda e: e.since, "since"),
        Column("", lambda e: e.until, "due back"),
        Column("", lambda e: _lending_note(e, told), "note"),
    )
    if out:
        yield grid_of("Out on rental", lent, out, lambda e: e.is_late(told.today))
    else:
        yield Words("Nothing is out on rental.")
    if days:
        yield grid_of("Booked", BOOKED, days, lambda day: day.short)


def _costs(ahead: CostsAhead) -> Iterator[Block]:
    yield _cost_grid(ahead)
    months = dict(zip(by_month(ahead), map(plain_date, ahead.months), strict=True))
    columns = Table[Share](
        Column("", lambda share: months[share], "month"),
        *costs.shares("").pick("tests and checks").columns,
        Column("", lambda share: sums(share.total), "in all", right=True),
    )
    yield grid_of("By month", columns, list(months))
    for note in costs.notes(ahead):
        yield Words(note)


def _cost_grid(ahead: CostsAhead) -> Grid:
    columns = costs.BY_OBLIGATION
    rows = [*columns.rows(by_obligation(ahead), Page())]
    rows.append(("all", str(len(ahead.needs)), "", sums(totals_of(n.price for n in ahead.needs))))
    return Grid("By test and check", columns.heads, tuple(rows), right=(1, 2, 3))


def data(told: Summary) -> dict[str, Any]:
    """The JSON shape of `report`: what its tables hold."""
    rented = rentals.data(told.rental, {})
    return {
        "today": told.today,
        "ledger": told.ledger,
        "facts": dict(facts_of(told).pairs),
        "held": KEPT.objects(told.kept),
        "due_by_month": [
            {"month": month, **share}
            for month, share in zip(
                told.ahead.months, costs.shares("").objects(by_month(told.ahead)), strict=True
            )
        ],
        "fills_by_month": [
            {"month": m, "counts": {g.value: n for g, n in counts}}
            for m, counts in zip(told.fills.months, told.fills.counts, strict=True)
        ],
        "work": WORKED.objects(told.worked),
        "fleet": fleet.COLUMNS.objects(told.fleet),
        "overdue": due_output.data(told.board.overdue),
        "missing": due_output.data(told.board.missing),
        "station_due": due_output.data(told.board.station),
        "jobs": workshop.data(told.workshop, {})["jobs"],
        "out": rented["out"],
        "booked": rented["days"],
        "costs": costs.BY_OBLIGATION.objects(by_obligation(told.ahead)),
        **report_pictures.data(told),
    }
