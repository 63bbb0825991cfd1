"""`tankbook calendar`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common
from tankbook.output.screen import one_line


def calendar(
    asked: Common,
    ics: Annotated[str, Opt("FILE", "Write them into this file.")] = "",
    by: Annotated[
        str, Opt("WHAT", "One entry an obligation or a month; else as the settings say.")
    ] = "",
    alarm: Annotated[
        list[str] | None,
        Opt("PERIOD", "Remind 30d, 2m before; may be given again; else as the settings say."),
    ] = None,
) -> Answer:
    """What is due, for a calendar program.

    All-day entries. Read again into the calendar, the file moves the entries it put there.
    """
    from pathlib import Path

    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import moment_asked, open_desk
    from tankbook.ledger.handed_out import check_out, write_out
    from tankbook.output import calendar as output
    from tankbook.records.settings import CalendarSettings
    from tankbook.records.words import CalendarBy
    from tankbook.rules.calendar_entries import diary as diary_of

    if (by or alarm) and not ics:
        raise RequestError("--by and --alarm are for a file", "name one with --ics FILE")
    desk = open_desk(asked)
    settings = desk.book.settings.calendar or CalendarSettings()
    grouped = option_values.word("--by", by, CalendarBy) if by else settings.by
    alarms = [option_values.period("--alarm", each) for each in alarm or []] or settings.alarm
    name = desk.book.settings.ledger
    if ics:
        check_out(Path(ics), ".ics")
    diary = diary_of(desk.book, desk.today)
    said = output.text(diary, desk.page)
    if ics:
        written = output.ics(
            diary,
            name,
            moment_asked(asked),
            alarms=alarms,
            monthly=grouped is CalendarBy.MONTH,
        )
        write_out(Path(ics), written, ".ics")
        each = "a month" if grouped is CalendarBy.MONTH else "an obligation"
        said = f"{output.headline(diary)}\nWritten to {one_line(ics)}, one entry {each}.\n"
    if asked.json:
        return desk.data(output.data(diary, name))
    return desk.answer(said)
