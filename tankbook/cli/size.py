"""`tankbook station size`: how many fills a day the station carries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError, shown
from tankbook.cli.options import Common, Csv

if TYPE_CHECKING:
    import datetime as dt

    from tankbook.cli.open_ledger import Desk
    from tankbook.filling.size_up import NewBank
    from tankbook.units import RunningTime


def size(
    asked: Common,
    since: Annotated[
        str, Opt("DATE", "Look at the log from this day on; 12 months back, if not said.")
    ] = "",
    gas: Annotated[str, Opt("GAS", "Fills of this gas; the settings', if not said.")] = "",
    hours: Annotated[
        str, Opt("HOURS", "How long a working day is; as opening and closing tell, else 8.")
    ] = "",
    add: Annotated[
        str,
        Opt("PRESSURE/VOLUME", "The bank to add: 4500/50L; like the largest, if not said."),
    ] = "",
    csv: Csv = False,
) -> Answer:
    """How many fills a day banks and compressors carry, and what a bank, an hour or a compressor
    more would add.

    By the fill log and the bookings: each day of the log is filled again, by the hour, from banks
    that are full in the morning. Exit code 1 when a day ahead is booked for more than is carried.
    With --csv: the days of the log.
    """
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import open_desk
    from tankbook.filling import PlanError
    from tankbook.filling.size_up import SizeWish, size_up
    from tankbook.output import size as output

    runs = _hours(hours) if hours else None
    desk = open_desk(asked)
    wish = SizeWish(
        since=_since(desk, since),
        gas=option_values.gas("--gas", gas) if gas else desk.book.usual_gas,
        unit=desk.shore.value,
        hours=runs,
        add=_bank(desk, add) if add else None,
    )
    if desk.station_unread:
        raise desk.unanswered("the station's file cannot be read", json=asked.json)
    try:
        found = size_up(desk.book, desk.today, wish)
    except PlanError as error:
        raise RequestError(str(error), error.mend) from None
    code = DONE if all(each.whole for each in found.ahead) else NO
    if asked.json:
        return desk.data(output.data(found), code)
    if csv:
        return desk.table(output.DAYS, found.days, code)
    return desk.answer(output.text(found, desk.page), code)


def _since(desk: Desk, text: str) -> dt.date:
    from dateutil.relativedelta import relativedelta

    from tankbook.cli import option_values
    from tankbook.rules.leaks import LOOKED_BACK

    if not text:
        return desk.today - relativedelta(months=LOOKED_BACK.months)
    first = option_values.day("--since", text)
    if first >= desk.today:
        raise RequestError(
            f"--since: {first} is not before {desk.today}", "give a day of which the log tells"
        )
    return first


def _hours(text: str) -> RunningTime:
    from tankbook.cli import option_values
    from tankbook.units import RunningTime

    found: RunningTime = option_values.value(RunningTime, "--hours", text)
    if not 0 < found.hours <= 24:
        raise RequestError(f"--hours: {shown(text)} is no part of a day", "write it as 8, or 7.5 h")
    return found


def _bank(desk: Desk, text: str) -> NewBank:
    from tankbook.cli import option_values
    from tankbook.filling.size_up import NewBank

    return NewBank(*option_values.bank("--add", text, desk.shore))
