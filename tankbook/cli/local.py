"""Times of this computer's clock with their offsets, also where clocks are put on or back."""

from __future__ import annotations

import datetime as dt

from tankbook.cli.answer import RequestError


def moment_of(option: str, day: dt.date, clock: dt.time) -> dt.datetime:
    """The moment that a clock here showed a time.

    Raises:
        RequestError: the time was left out on that day, or came twice.
    """
    refuse_left_out(option, day, clock)
    shown = dt.datetime.combine(day, clock)
    first, second = shown.astimezone(), shown.replace(fold=1).astimezone()
    if first != second:
        text = f"{option}: {clock:%H:%M} came twice on {day}: clocks were put back then"
        raise RequestError(text, f"write {first.isoformat()}, or {second.isoformat()}")
    return first


def refuse_left_out(option: str, day: dt.date, clock: dt.time) -> None:
    """Refuse a time that no clock here showed on a day.

    Raises:
        RequestError: clocks were put on over it.
    """
    shown = dt.datetime.combine(day, clock)
    if shown.astimezone().replace(tzinfo=None) != shown:
        text = f"{option}: {clock:%H:%M} was left out on {day}: clocks were put on then"
        raise RequestError(text, "give what the clock showed")


def midnight_of(day: dt.date) -> dt.datetime:
    """The beginning of a day here. What is added to it is time as a clock here shows it."""
    return dt.datetime.combine(day, dt.time.min, LocalTime())


def at_about(day: dt.date, clock: dt.time) -> dt.datetime:
    """A moment of that very day at about a time, where nobody said it to the minute."""
    found = dt.datetime.combine(day, clock).astimezone()
    if found.date() == day:
        return found
    return dt.datetime.combine(day, clock, LocalTime())


class LocalTime(dt.tzinfo):
    """The time of this computer's clock, whose offset is that of each moment."""

    def utcoffset(self, when: dt.datetime | None) -> dt.timedelta | None:
        """As it is at that time of the clock; at one left out, as before clocks were put on."""
        if when is None:
            return None
        return when.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, when: dt.datetime | None) -> dt.timedelta | None:
        """Not known apart."""
        return None

    def tzname(self, when: dt.datetime | None) -> str | None:
        """The zone's name as the system has it."""
        return None if when is None else when.replace(tzinfo=None).astimezone().tzname()
