"""Answers as JSON: UTF-8, keys in a fixed order, plain numbers."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Mapping
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from typing import Any

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.fields import Record, attributes_of
from tankbook.records.kinds import Cleared, Rated
from tankbook.units import GaugePressure, Money, PartialDate, Period, Quantity

DIGITS = 10
"""Significant digits of a computed number: enough to check it, stable between machines."""


def dumps(value: Any) -> str:
    """`value` as indented JSON, ending in a newline."""
    return json.dumps(plain(value), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def number(value: float) -> float:
    """A computed number at the digits that are stable."""
    return float(f"{value:.{DIGITS}g}")


def pressures(**named: GaugePressure | None) -> dict[str, float | None]:
    """Each pressure as a number, in psi and in bar: `limit_psi`, `limit_bar`."""
    return {
        f"{name}_{unit}": None if pressure is None else number(pressure.to(unit))
        for name, pressure in named.items()
        for unit in ("psi", "bar")
    }


def plain(value: Any) -> Any:
    """`value` in what JSON knows. Quantities and dates are text, as they stand in a record file.

    Raises:
        TypeError: for a value that has no such form.
    """
    match value:
        case Enum():
            return value.value
        case float():
            return number(value)
        case None | bool() | int() | str():
            return value
        case Quantity() | PartialDate() | Period() | Money() | Gas() | Fraction() | Decimal():
            return str(value)
        case Rated() | Cleared():
            return str(value)
        case dt.time():
            return f"{value:%H:%M}"
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
    return {name: plain(said) for name, said in values_of(value)}


def values_of(value: Record) -> Iterator[tuple[str, Any]]:
    """What each key of a record says, in the order declared; what says nothing is left out."""
    for name, attribute in attributes_of(type(value)).items():
        said = getattr(value, attribute)
        if said is not None and said not in ((), {}):
            yield name, said
