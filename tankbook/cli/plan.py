"""`tankbook plan`: the fill session."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.printing import Written, print_into
from tankbook.output.screen import one_line

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.cli.queue import Chosen
    from tankbook.filling import Demand
    from tankbook.filling.wish import QueueEntry, Wish
    from tankbook.gas import Gas
    from tankbook.output.plan import PlanMade
    from tankbook.rules.bookings import BookedHour
    from tankbook.units import PressureRate


Bank = Annotated[
    list[str] | None,
    Opt("BANK=PRESSURE", "What a bank's gauge shows now, instead of on record.", "--bank"),
]
Ambient = Annotated[str, Opt("TEMPERATURE", "How warm it is at the station.", "--ambient")]


def plan(
    asked: Common,
    queue: Annotated[
        list[str] | None,
        Arg(
            "ID[=PRESSURE]",
            "What to fill, and what its gauge shows: 14=500; else as last recorded.",
        ),
    ] = None,
    queue_file: Annotated[str, Opt("FILE", "A file of them, one a line: 14=500.", "--queue")] = "",
    use: Annotated[str, Opt("USE", "All of a use that are not full: rental, ...")] = "",
    size: Annotated[str, Opt("SIZE", "All of a size: al80, ...")] = "",
    where: Annotated[list[str] | None, Opt("FIELD=VALUE", "As for list.")] = None,
    below: Annotated[str, Opt("PRESSURE", "With a filter: those last read below this.")] = "",
    bank: Bank = None,
    gas: Annotated[str, Opt("GAS", "What is filled; the settings' gas, if not said.")] = "",
    holds: Annotated[
        list[str] | None, Opt("ID=GAS", "What a cylinder holds, where the log does not know.")
    ] = None,
    to: Annotated[str, Opt("PRESSURE", "Fill none above this, cold.")] = "",
    ambient: Ambient = "",
    rate: Annotated[
        list[str] | None, Opt("[ID=]RATE", "Fill rate of all or of one, a minute: 400.")
    ] = None,
    favour: Annotated[str, Opt("gas|time", "What counts most.")] = "gas",
    wet: Annotated[bool, Flag("Cylinders stand in a water bath.")] = False,
    top_offs: Annotated[
        str,
        Opt(
            "NUMBER", "Connect the short ones again, so often; else held at the stop.", "--top-offs"
        ),
    ] = "",
    no_compressor: Annotated[bool, Flag("Do not count on the compressor.")] = False,
    ready_by: Annotated[str, Opt("TIME", "When all must be done, as in 09:00.")] = "",
    needed: Annotated[
        list[str] | None,
        Opt("ID=TIME", "When one is needed, of a day: 14=09:00; `bookings`: as these say."),
    ] = None,
    comes: Annotated[
        list[str] | None, Opt("ID=TIME", "When one comes that is not there yet: 14=08:30.")
    ] = None,
    start: Annotated[str, Opt("TIME", "When work may begin; now, if not said.")] = "",
    explain: Annotated[bool, Flag("Compare with other orders of opening banks.")] = False,
    plot: Annotated[
        str, Opt("FILE", "Draw gauges, loads and steps against time into this .svg.")
    ] = "",
    pdf: Annotated[str, Opt("FILE", "Print a bench card in large type into this PDF.")] = "",
) -> Answer:
    """Plan a fill session: who is filled, in which loads, which bank to open when, where to stop.

    Each cylinder is asked of may-fill first; the refused are listed and left out. A plan decides
    nothing: a trained operator does. Exit code 1 when any is refused or left unfilled, or not
    ready in time.
    """
    from tankbook.cli import option_values
    from tankbook.cli.clock import BOOKINGS, demands, times
    from tankbook.cli.open_ledger import moment_asked, open_desk
    from tankbook.output import plan as output

    if plot:
        from tankbook.ledger.handed_out import check_out

        check_out(Path(plot), ".svg")
    desk = open_desk(asked)
    mixture = option_values.gas("--gas", gas) if gas else desk.book.usual_gas
    selected = _selected(desk, use, size, where or [], below, mixture)
    entries = _queue(desk, queue or [], queue_file, selected)
    if needed or comes:  # a day has no order but that of its hours
        entries = tuple(sorted(entries, key=lambda entry: entry.id))
    begins, until = times(asked, desk, ready_by, start, hours=bool(needed or comes))
    said = [text for text in needed or [] if text != BOOKINGS]
    booked = None
    if begins is not None and len(said) < len(needed or []):
        booked = _booked(desk, begins, mixture, entries, said)
    at = {id_: each.at for each in booked or () if each.at for id_ in each.ids}
    hours = demands(desk, begins, until, entries, (said, comes or []), at)
    if hours and explain:
        raise RequestError("--explain compares one session, not a day", "leave it out")
    wish = _wish(
        desk, entries, mixture, bank or [], holds or [], rate or [],
        to=to, ambient=ambient, favour=favour, wet=wet, top_offs=top_offs,
        compressor=not no_compressor,
        available=(until - begins) if until and begins else None,
    )  # fmt: skip
    if desk.station_unread:
        raise desk.unanswered("the station's file cannot be read", json=asked.json)
    now = None if asked.on or asked.as_of else moment_asked(asked).time()
    made = _made(desk, wish, selected, hours, explain, begins, until)
    made = replace(made, booked=booked, read=wish.banks, read_on=desk.today, read_at=now)
    if plot:
        _draw(made, plot)
    printed = _print(desk, made, pdf) if pdf else Written()
    code = DONE if made.done else NO
    if asked.json:
        data = output.data(made, wish.unit, wish.favour.value)
        return desk.data({**data, **printed.data}, code)
    text = output.text(made, desk.page)
    if plot and made.plan is not None:
        text += f"Drawn into {one_line(plot)}.\n"
    text += printed.said("Bench card", desk.page)
    return replace(desk, fleet=True).answer(text, code, whole=True)


def _booked(
    desk: Desk, begins: dt.datetime, gas: Gas, entries: tuple[QueueEntry, ...], said: list[str]
) -> tuple[BookedHour, ...]:
    """What the bookings of the day want of the queue, but for those that are given an hour."""
    from tankbook.rules.bookings import booked_hours

    given = {desk.resolve([text.partition("=")[0]])[0] for text in desk.spread(said)}
    ids = [entry.id for entry in entries]
    return booked_hours(desk.book, begins.date(), gas, ids, given)


def _print(desk: Desk, made: PlanMade, file: str) -> Written:
    """The plan as a bench card; nothing is printed where there is no plan."""
    from tankbook.output.paper.bench_card import bench_card
    from tankbook.output.plan import notes_of, refused_texts

    plan = made.plan
    if plan is None:
        return Written()
    name, refused, begins = desk.book.settings.ledger, refused_texts(made), made.begins
    notes = tuple(notes_of(made))
    return print_into(
        file,
        lambda: bench_card(plan, name, desk.today, desk.page, refused, begins, notes),
        desk.book,
    )


def _selected(
    desk: Desk, use: str, size: str, where: list[str], below: str, gas: Gas
) -> Chosen | None:
    """What the filters find; None where none was given."""
    from tankbook.cli import list_filter as filters
    from tankbook.cli import option_values, queue

    written = [*where, *filters.plain(use=use, size=size)]
    if not written:
        if below:
            raise RequestError("--below goes with a filter", "add --use rental, or name cylinders")
        return None
    conditions = [filters.parse(each, desk.shore) for each in written]
    most = option_values.pressure("--below", below, desk.shore) if below else None
    return queue.chosen(desk, conditions, use, most, gas)


def _queue(
    desk: Desk, texts: list[str], file: str, selected: Chosen | None
) -> tuple[QueueEntry, ...]:
    """Everything asked for, in order; what is named goes before what a filter found."""
    from tankbook.cli import queue
    from tankbook.units import SAID_LIKE

    named = [*queue.named(desk, texts), *(queue.filed(desk, file) if file else ())]
    ids = [entry.id for entry in named]
    for id_ in ids:
        if ids.count(id_) > 1:
            raise RequestError(f"{id_} is named twice", "name each once")
    found = [e for e in (selected.entries if selected else ()) if e.id not in ids]
    if not named and not found:
        if selected is not None:
            over = "".join(f"; {i}: {why}" for i, why in selected.passed_over[:5])
            raise RequestError(f"nothing that fits the filter is to be filled{over}")
        like = f"14={SAID_LIKE[desk.shore.value].empty}"
        raise RequestError(
            "nothing is named to be filled", f"name them, as in {like}, or --use rental"
        )
    return (*named, *found)


def _wish(
    desk: Desk,
    entries: tuple[QueueEntry, ...],
    gas: Gas,
    banks: list[str],
    holds: list[str],
    rates: list[str],
    *,
    to: str,
    ambient: str,
    favour: str,
    wet: bool,
    top_offs: str,
    compressor: bool,
    available: dt.timedelta | None,
) -> Wish:
    from tankbook.cli import option_values, queue
    from tankbook.filling import Favour
    from tankbook.filling.wish import Wish
    from tankbook.units import SAID_LIKE, RunningTime

    shore = desk.shore
    one = [text for text in rates if "=" in text]
    every = [text for text in rates if "=" not in text]
    if len(every) > 1:
        raise RequestError("--rate: two rates are given for all", "give one")
    like = SAID_LIKE[shore.value]
    slow = f"--rate 91={like.rate.split()[0]}"
    by_id = queue.values("--rate", one, slow, lambda t: _rate(desk, t))
    contents = queue.values(
        "--holds", holds, "--holds 61=air", lambda t: option_values.gas("--holds", t)
    )
    ready_in = None
    if available is not None:
        ready_in = RunningTime.of(available.total_seconds() / 60, "min")
    return Wish(
        gas=gas,
        queue=entries,
        unit=shore.value,
        ambient=option_values.temperature("--ambient", ambient, shore) if ambient else None,
        banks=queue.values(
            "--bank",
            banks,
            f"--bank B1={like.bank}",
            lambda t: option_values.pressure("--bank", t, shore),
        ),
        holds={desk.resolve([name])[0]: value for name, value in contents.items()},
        rate=_rate(desk, every[0]) if every else None,
        rates={desk.resolve([name])[0]: value for name, value in by_id.items()},
        most=option_values.pressure("--to", to, shore) if to else None,
        favour=option_values.word("--favour", favour, Favour),
        ready_in=ready_in,
        wet=wet,
        top_offs=_count(top_offs) if top_offs else None,
        compressor=compressor,
    )


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) == 1):
        raise RequestError(f"--top-offs: `{text}` is no small whole number", "give 0, 1 or 2")
    return int(text)


def _rate(desk: Desk, text: str) -> PressureRate:
    from tankbook.units import PressureRate, UnitError

    try:
        return PressureRate.parse(text, f"{desk.shore}/min")
    except UnitError as error:
        raise RequestError(f"--rate: {error}", error.mend) from None


def _made(
    desk: Desk,
    wish: Wish,
    selected: Chosen | None,
    hours: Mapping[str, Demand],
    explain: bool,
    begins: dt.datetime | None,
    until: dt.datetime | None,
) -> PlanMade:
    from tankbook.filling import Favour, PlanError, compare_ways, plan_day
    from tankbook.filling import plan as planned
    from tankbook.filling.prepare import prepare
    from tankbook.output.plan import PlanMade

    try:
        prepared = prepare(desk.book, desk.today, wish)
        session = prepared.session
        found = None
        if session:
            found = plan_day(session, hours) if hours else planned(session)
        hurried = None
        if session and found and not found.day and found.readiness and not found.readiness.in_time:
            quick = replace(session, favour=Favour.TIME)
            hurried = planned(quick).session_minutes if session != quick else None
        return PlanMade(
            gas=wish.gas,
            prepared=prepared,
            plan=found,
            asked=len(wish.queue),
            passed_over=selected.passed_over if selected else (),
            compared=compare_ways(session) if session and explain else None,
            begins=begins,
            ready_by=until,
            hurried=hurried,
            needed={i: each.needed for i, each in hours.items() if each.needed is not None},
        )
    except PlanError as error:
        raise RequestError(str(error), error.mend) from None


def _draw(made: PlanMade, file: str) -> None:
    from tankbook.ledger.handed_out import write_out
    from tankbook.output.plot import drawing
    from tankbook.output.svg import standing_alone

    if made.plan is not None:
        svg = standing_alone([drawing(made.plan, made.begins)])
        write_out(Path(file), svg.encode("utf-8"), ".svg")
