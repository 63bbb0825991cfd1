"""`tankbook station`: how the fill station stands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg, Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.printing import Svg, draw_into, files_asked

if TYPE_CHECKING:
    from tankbook.cli.recording import Bench, Planned


def station(asked: Common, svg: Svg = "") -> Answer | None:
    """How the fill station stands: open or closed, banks, gauges, filters, what is due.

    With --svg: what each compressor ran by month, what it is expected to run, and how long
    its filters last by that. The commands below record its upkeep.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import pump_hours as hours_output
    from tankbook.output import station as output
    from tankbook.rules.board import bank_state
    from tankbook.rules.gate import shut_by, station_reasons
    from tankbook.rules.out_of_use import told_out
    from tankbook.rules.pump_hours import pump_hours
    from tankbook.rules.schedule import due
    from tankbook.rules.source_grade import graded_on
    from tankbook.rules.unmeasured import newest_unmeasured

    files_asked({".svg": svg})
    desk = open_desk(asked, fleet=True)
    book, today = desk.book, desk.today
    if desk.station_unread:
        raise desk.unanswered("the station's file cannot be read", json=asked.json)
    if book.station is None:
        raise RequestError("no station is on record", "describe it in station.yaml")
    state = output.StationState(
        station=book.station,
        today=today,
        reasons=tuple(dict.fromkeys((*station_reasons(book, today), *shut_by(book, today)))),
        dues=tuple(d for d in due(book, today) if d.kind == "station"),
        banks=tuple(bank_state(book, b, today) for b in book.station.banks),
        out_of_use=tuple((str(o.part), o.reason) for o in told_out(book, today)),
        graded=tuple(graded_on(book, today)),
        unmeasured=newest_unmeasured(book),
    )
    hours = pump_hours(book, today) if svg or asked.json else ()
    drawn = draw_into(svg, lambda: hours_output.drawings(hours, today))
    if asked.json:
        return desk.data(output.data(state) | {"running": hours_output.data(hours)})
    if svg:
        said = hours_output.text(hours, today, desk.page)
        return desk.answer(desk.page.answer(hours_output.headline(hours), said, drawn))
    return desk.answer(output.text(state, desk.page))


def read(
    bench: Bench,
    readings: Annotated[list[str], Arg("BANK=PRESSURE", "Such as B1=4400.")],
    happened: Annotated[
        str, Opt("WHY", "It does stand so far above its mark, and why.", "--happened")
    ] = "",
    at: Annotated[
        str, Opt("TIME", "At what time of the day (16:30); now, if it is dated today.")
    ] = "",
) -> Planned:
    """Record gauge readings of banks, as the master gauge shows them."""
    from tankbook.acts.station_upkeep import read_banks
    from tankbook.cli import option_values
    from tankbook.cli.recording import time_of
    from tankbook.units import SAID_LIKE

    like = SAID_LIKE[bench.desk.shore.value].bank
    pairs = [each.partition("=") for each in readings]
    if wrong := [each for each, p in zip(readings, pairs, strict=True) if not (p[0] and p[2])]:
        raise RequestError(f"{wrong[0]!r} is no reading", f"write it as B1={like}")
    shore = bench.desk.shore
    values = {name: option_values.pressure(name, text, shore) for name, _, text in pairs}
    hour = time_of(bench, at)
    return read_banks(bench.book, values, by=bench.by, on=bench.today, at=hour, happened=happened)
