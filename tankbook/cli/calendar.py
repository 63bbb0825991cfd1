"""`tankbook calendar`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.printing import files_asked, write_into


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
    at: Annotated[
        str, Opt("TIME", "Remind at 08:30 of those days; else as the settings say, or 09:00.")
    ] = "",
) -> Answer:
    """What is due, for a calendar program.

    All-day entries. Read again into the calendar, the file moves the entries it put there.
    """
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import moment_asked, open_desk
    from tankbook.output import calendar as output
    from tankbook.output.calendar import ALARM_AT
    from tankbook.records.settings import CalendarSettings
    from tankbook.records.words import CalendarBy
    from tankbook.rules.calendar_entries import diary as diary_of

    if (by or alarm or at) and not ics:
        raise RequestError("--by, --alarm and --at are for a file", "name one with --ics FILE")
    desk = open_desk(asked)
    settings = desk.book.settings.calendar or CalendarSettings()
    grouped = option_values.word("--by", by, CalendarBy) if by else settings.by
    alarms = [option_values.period("--alarm", each) for each in alarm or []] or settings.alarm
    alarm_at = option_values.time_of_day("--at", at) if at else settings.alarm_at or ALARM_AT
    name = desk.book.settings.ledger
    files = files_asked({".ics": ics})
    diary = diary_of(desk.book, desk.today)
    said = output.text(diary, desk.page)
    monthly = grouped is CalendarBy.MONTH
    named = write_into(
        files,
        lambda _: output.ics(
            diary, name, moment_asked(asked), alarms=alarms, alarm_at=alarm_at, monthly=monthly
        ),
        desk.book,
    ).names
    if files:
        each = "a month" if monthly else "an obligation"
        said = f"{output.headline(diary)}\nWritten to {named}, one entry {each}.\n"
    if asked.json:
        return desk.data(output.data(diary, name))
    return desk.answer(said)
