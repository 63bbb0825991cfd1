"""How one entry of a list is named where it is to be corrected: by its day, hour or number."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any


def begun_at(entry: Any) -> str:
    """The day of an entry, with its hour where it says one: `2026-11-24 12:00`."""
    at = getattr(entry, "at", None)
    return f"{entry.on} {at:%H:%M}" if isinstance(at, dt.time) else str(entry.on)


def line_named(at: dt.datetime) -> str:
    """How a line of the log is named by its time: to the second, which is its cylinder's alone."""
    return f"{at:%Y-%m-%dT%H:%M:%S}"


def named_among(entries: Sequence[Any], entry: Any) -> str:
    """The name of an entry of a list: its day, with its number among those of that day, struck out
    or not, where there are several: `2026-11-24#2`."""
    of_day = [each for each in entries if str(each.on).startswith(str(entry.on))]
    number = next((n for n, each in enumerate(of_day, 1) if each is entry), 0)
    return f"{entry.on}#{number}" if number and len(of_day) > 1 else str(entry.on)
