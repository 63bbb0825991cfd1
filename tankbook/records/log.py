"""The lines of the fill log, of the bookings and of the contacts: what a row of each says.

Cells are declared like keys, in column order, so that header, check and format page are one.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from tankbook.gas import Gas
from tankbook.records.fields import (
    COUNT,
    TEXT,
    Kind,
    OneOf,
    Reader,
    Record,
    attributes_of,
    key,
    keys_of,
    once_per_record,
)
from tankbook.records.kinds import DAY, GAS, ID, PERCENT, PRESSURE, TEMPERATURE, TIME
from tankbook.records.node import Mark, Scalar
from tankbook.records.words import Act
from tankbook.units import GaugePressure, Percent, Temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLine(Record):
    """One act at the fill station."""

    title: ClassVar[str] = "fill log line"
    path: str = ""
    line: int = 0
    at: dt.datetime = key(
        TIME, "Local time with seconds and UTC offset.", "2026-11-25T09:30:00+01:00", required=True
    )
    cylinder: str = key(ID, "Id of the cylinder.", "RB-014", required=True)
    act: Act = key(OneOf(Act), "What was done.", "fill", required=True)
    from_: GaugePressure | None = key(PRESSURE, "Pressure before.", "500 psi")
    to: GaugePressure | None = key(
        PRESSURE, "Pressure after; for a reading, what was read.", "3000 psi"
    )
    temperature: Temperature | None = key(
        TEMPERATURE, "Of the cylinder when `to` was read.", "64 degF"
    )
    gas: Gas | None = key(GAS, "Gas, by its word.", "nitrox32")
    o2: Percent | None = key(PERCENT, "Analysed oxygen.", "32.1 %")
    he: Percent | None = key(PERCENT, "Analysed helium.", "0 %")
    by: str | None = key(TEXT, "Initials of the operator.", "MV")
    analysed_by: str | None = key(TEXT, "Initials of the analyst.", "MV")
    source_: str | None = key(TEXT, "Banks or compressor the gas came from, joined by +.", "B1+B2")
    position: str | None = key(TEXT, "Fill position.", "P1")
    override: str | None = key(
        TEXT, "Reason and initials of who allowed a shop rule to be passed.", "regatta day (JO)"
    )
    voids: str | None = key(
        TEXT,
        "For `void`: time and cylinder of the line struck out.",
        "2026-11-25T09:30:00+01:00 RB-014",
    )
    note: str | None = key(
        TEXT,
        "Anything worth knowing; `happened:` marks a fact logged against advice.",
        "overfill bled down",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Booking(Record):
    """What is wanted on a day."""

    title: ClassVar[str] = "booking"
    path: str = ""
    line: int = 0
    date: dt.date = key(DAY, "The day.", "2026-11-28", required=True)
    reference: str = key(TEXT, "Booking reference; never a name.", "B-4471", required=True)
    use: str | None = key(TEXT, "What for.", "rental")
    size: str | None = key(TEXT, "Trade size.", "al80")
    gas: Gas | None = key(GAS, "Gas.", "air")
    count: int = key(COUNT, "How many.", "6", required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact(Record):
    """Whom a reference stands for. It stays on the computer it was typed on."""

    title: ClassVar[str] = "contact"
    path: str = ""
    line: int = 0
    reference: str = key(TEXT, "Booking or customer reference.", "C-0192", required=True)
    name: str = key(TEXT, "Whom to ask for.", "A. Example", required=True)
    phone: str | None = key(TEXT, "Telephone number.", "555 0100")


@once_per_record
def columns(record: type[Record]) -> tuple[str, ...]:
    """The header of a line noun, in order."""
    return tuple(keys_of(record))


@once_per_record
def _cells(record: type[Record]) -> tuple[tuple[str, str, Kind, bool], ...]:
    names = attributes_of(record)
    return tuple((k.name, names[k.name], k.kind, k.required) for k in keys_of(record).values())


def read_line(
    record: type[Any], cells: Sequence[str], reader: Reader, line: int, column: Any = None
) -> Any | None:
    """Type one row. `column(i)` gives the column of cell `i`, asked only for a fault.

    Returns None, after noting every fault, when the row cannot be used.
    """
    values: dict[str, Any] = {}
    before = len(reader.findings)
    for i, (name, attribute, kind, required) in enumerate(_cells(record)):
        text = cells[i]
        if text:
            mark = Mark(0, line, column(i) if column else 1)
            got = kind.read(Scalar(text, mark, mark), name, reader)
            if got is not None:
                values[attribute] = got
        elif required:
            mark = Mark(0, line, column(i) if column else 1)
            reader.fault(mark, "missing-cell", f"`{name}` is empty", f"write {kind.label}")
    if len(reader.findings) > before:
        return None
    return record(path=reader.path, line=line, **values)
