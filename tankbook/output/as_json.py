"""Answers as JSON: UTF-8, keys in a fixed order, plain numbers."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Any

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.fields import Record, attributes_of
from tankbook.records.kinds import Cleared, Rated
from tankbook.units import Money, PartialDate, Period, Quantity

DIGITS = 10
"""Significant digits of a computed number: enough to check it, stable between machines."""


def dumps(value: Any) -> str:
    """`value` as indented JSON, ending in a newline."""
    return json.dumps(plain(value), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def number(value: float | None) -> float | None:
    """A computed number at the digits that are stable, or None."""
    return None if value is None else float(f"{value:.{DIGITS}g}")


def plain(value: Any) -> Any:
    """`value` in what JSON knows. Quantities and dates are text, as they stand in a record file.

    Raises:
        TypeError: for a value that has no such form.
    """
    match value:
        case None | bool() | int():
            return value
        case float():
            return number(value)
        case Enum():
            return value.value
        case str():
            return value
        case Quantity() | PartialDate() | Period() | Money() | Rated() | Gas() | Fraction():
            return str(value)
        case Cleared():
            return str(value)
        case dt.time():
            return f"{value:%H:%M}"
        case Decimal():
            return str(value)
        case dt.date() | dt.datetime():
            return value.isoformat()
        case Record():
            return record(value)
        case Mapping():
            return {str(k): plain(v) for k, v in value.items()}
        case list() | tuple():
            return [plain(v) for v in value]
    if isinstance(value, Struct):
        return {name: plain(getattr(value, name)) for name in value.__struct_fields__}
    raise TypeError(f"no JSON form for {type(value).__name__}")


def record(value: Record) -> dict[str, Any]:
    """A record with its keys as in its file, in the order declared; absent ones are left out."""
    found = ((name, getattr(value, attr)) for name, attr in attributes_of(type(value)).items())
    return {name: plain(v) for name, v in found if v is not None and v not in ((), {})}
