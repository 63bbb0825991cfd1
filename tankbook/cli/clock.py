"""Times of the clock that a session is planned between."""

from __future__ import annotations

import datetime as dt

from tankbook.cli import open_ledger
from tankbook.cli.answer import RequestError
from tankbook.cli.open_ledger import Desk
from tankbook.cli.options import Common


def times(
    asked: Common, desk: Desk, ready_by: str, start: str
) -> tuple[dt.datetime | None, dt.datetime | None]:
    """When work may begin and when it must be done; the next such time of the clock."""
    if not ready_by:
        if start:
            raise RequestError("--start goes with --ready-by", "say when all must be done")
        return None, None
    done = _time("--ready-by", ready_by)
    if start:
        begins = dt.datetime.combine(desk.today, _time("--start", start))
    elif asked.on or asked.as_of:
        raise RequestError("--on names a day and not the time", "give it with --start 07:30")
    else:
        begins = open_ledger.moment_asked(asked).replace(tzinfo=None)
    until = dt.datetime.combine(begins.date(), done)
    return begins, until if until > begins else until + dt.timedelta(days=1)


def _time(option: str, text: str) -> dt.time:
    try:
        if len(text) != 5:
            raise ValueError
        return dt.time.fromisoformat(text)
    except ValueError:
        raise RequestError(f"{option}: {text!r} is not a time", "write it as 09:00") from None
