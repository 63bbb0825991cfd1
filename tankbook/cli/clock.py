"""Times of the clock that a session is planned between."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from tankbook.cli import open_ledger
from tankbook.cli.answer import RequestError
from tankbook.cli.open_ledger import Desk
from tankbook.cli.options import Common
from tankbook.units.patterns import pattern

if TYPE_CHECKING:
    from tankbook.filling import Demand
    from tankbook.filling.wish import QueueEntry

BOOKINGS = "bookings"
"""Said with `--needed`: the hours of the bookings of the day."""

NONE_BOOKED: Mapping[str, dt.time] = {}

HOUR = pattern(r"[0-9]{2}:[0-9]{2}")


def times(
    asked: Common, desk: Desk, ready_by: str, start: str, *, hours: bool = False
) -> tuple[dt.datetime | None, dt.datetime | None]:
    """When work may begin and when it must be done; the next such time of the clock. `hours`:
    single cylinders have theirs."""
    if not ready_by and not hours:
        if start:
            raise RequestError(
                "--start goes with --ready-by, --needed or --comes", "say when it must be done"
            )
        return None, None
    done = _time("--ready-by", ready_by) if ready_by else None
    if start:
        begins = dt.datetime.combine(desk.today, _time("--start", start))
    elif asked.on or asked.as_of:
        raise RequestError("--on names a day and not the time", "give it with --start 07:30")
    else:
        begins = open_ledger.moment_asked(asked).replace(tzinfo=None)
    return begins, None if done is None else _next(begins, done)


def demands(
    desk: Desk,
    begins: dt.datetime | None,
    until: dt.datetime | None,
    queue: Sequence[QueueEntry],
    said: tuple[list[str], list[str]],
    booked: Mapping[str, dt.time] = NONE_BOOKED,
) -> dict[str, Demand]:
    """When each cylinder of a queue comes and is needed, of `ID=TIME` options; empty without any.
    One that comes before work begins is there, unless it is needed after the next such hour; the
    hour at which all must be done is that of those that have none. `booked` are the hours of
    bookings of the day on which work begins, for those that are given none: one may be over."""
    from tankbook.filling import Demand

    needed, comes = _hours(desk, "--needed", said[0]), _hours(desk, "--comes", said[1])
    if begins is None or not (needed or comes or booked):
        return {}
    ids = [entry.id for entry in queue]
    found = {}
    for id_ in (*needed, *comes):
        if id_ not in ids:
            raise RequestError(f"{id_} is none of the cylinders to be filled", "add it to them")
    for id_ in ids:
        here = dt.datetime.combine(begins.date(), comes[id_]) if id_ in comes else begins
        last = _next(begins, needed[id_]) if id_ in needed else until
        as_booked = id_ in booked and id_ not in needed
        if as_booked:
            last = dt.datetime.combine(begins.date(), booked[id_])
        if last is not None and here < begins and here + dt.timedelta(days=1) < last:
            here += dt.timedelta(days=1)
        if last is not None and here >= last and not as_booked:
            raise RequestError(
                f"{id_} is needed at {last:%H:%M} and comes at {here:%H:%M}", "mend one of them"
            )
        found[id_] = Demand(
            comes=max(0.0, _minutes(here - begins)),
            needed=None if last is None else _minutes(last - begins),
        )
    return found


def _hours(desk: Desk, option: str, texts: list[str]) -> dict[str, dt.time]:
    from tankbook.cli import queue

    read = queue.values(
        option, desk.spread(texts), f"{option} 14=09:00", lambda text: _time(option, text)
    )
    found: dict[str, dt.time] = {}
    for name, hour in read.items():
        (id_,) = desk.resolve([name])
        if id_ in found:
            raise RequestError(f"{option}: {id_} is given twice", "give it once")
        found[id_] = hour
    return found


def _minutes(span: dt.timedelta) -> float:
    return span.total_seconds() / 60


def _next(begins: dt.datetime, hour: dt.time) -> dt.datetime:
    """The next such time of the clock."""
    at = dt.datetime.combine(begins.date(), hour)
    return at if at > begins else at + dt.timedelta(days=1)


def _time(option: str, text: str) -> dt.time:
    from tankbook.cli.said_dates import hour_said

    try:
        hour = hour_said(text)
        if not HOUR.fullmatch(hour):
            raise ValueError
        return dt.time.fromisoformat(hour)
    except ValueError:
        raise RequestError(f"{option}: {text!r} is not a time", "write it as 09:00") from None
