"""The lines of the fill log, of the bookings and of the contacts: what a row of each says.

Cells are declared like keys, in column order, so that header, check and format page are one.
"""

from __future__ import annotations

import datetime as dt
import re
from bisect import bisect_left
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from functools import partial
from itertools import compress, islice, pairwise
from operator import le, ne
from typing import Any, ClassVar, NamedTuple, TypeAlias, overload

from msgspec.structs import replace

from tankbook.gas import Gas
from tankbook.records.fields import (
    COUNT,
    NOTHING,
    TEXT,
    Kind,
    NodeReader,
    Parsed,
    Record,
    attributes_of,
    key,
    keys_of,
    once_per_record,
)
from tankbook.records.kinds import (
    DAY,
    GAS,
    ID,
    PERCENT,
    PRESSURE,
    TEMPERATURE,
    TIME,
    TIME_OF_DAY,
)
from tankbook.records.node import Mark, Scalar, Where
from tankbook.records.words import LogAct
from tankbook.units import GaugePressure, Percent, Temperature
from tankbook.units.patterns import pattern

HAPPENED = "happened:"
"""How the note of a fact begins that was logged against advice."""


_TOOK = pattern(
    r"\bfilled in (\d{1,3}(?:\.\d{1,3})?) min\b(?:, held for (\d{1,3}(?:\.\d{1,3})?) min\b)?",
    re.ASCII,
)


class FillTook(NamedTuple):
    """How long a fill took [min], from where it was opened to where it was shut, and for how many
    minutes of that its gauge was held at the stop."""

    minutes: float
    held: float

    @property
    def said(self) -> str:
        """As the note of a fill has it that was logged by a plan: nobody measured it."""
        held = f", held for {self.held:.1f} min" if self.held >= LEAST_HELD else ""
        return f"filled in {self.minutes:.1f} min{held} by the plan"


LEAST_HELD = 0.05
"""Fewer minutes than this are written as none."""
MOST_MINUTES = 999.0
"""No note of a longer fill is read, and none is written."""


def took(note: str | None) -> FillTook | None:
    """How long a fill took by its note; None where that does not say it."""
    found = _TOOK.search(note or "")
    if found is None or float(found[1]) < LEAST_HELD:
        return None
    held = min(float(found[2] or 0), float(found[1]))
    return FillTook(float(found[1]), held)


class LogLine(Record, frozen=True, kw_only=True):
    """One act at the fill station."""

    title: ClassVar[str] = "fill log line"
    path: str = ""
    line: int = 0
    at: dt.datetime = key(
        TIME, "Local time with seconds and UTC offset.", "2026-11-25T09:30:00+01:00", required=True
    )
    cylinder: str = key(ID, "Id of the cylinder.", "RB-014", required=True)
    act: LogAct = key(LogAct, "What was done.", "fill", required=True)
    from_: GaugePressure | None = key(PRESSURE, "Pressure before.", "500 psi")
    to: GaugePressure | None = key(
        PRESSURE, "Pressure after; for a reading, what was read.", "3000 psi"
    )
    temperature: Temperature | None = key(
        TEMPERATURE, "Of the cylinder when `to` was read; empty where it was warm.", "64 degF"
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
        "Anything worth knowing; `happened:` marks a fact logged against advice, "
        "`filled in 7.7 min` says how long it took.",
        "overfill bled down",
    )

    @property
    def where(self) -> Where:
        """The line it stands on."""
        return Where(self.path, self.line, 1)


Lines: TypeAlias = Sequence[LogLine]


class Booking(Record, frozen=True, kw_only=True):
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
    at: dt.time | None = key(TIME_OF_DAY, "The hour at which they are to be ready.", "09:00")


NEWER: Mapping[type[Record], int] = {Booking: 1}
"""How many of the last columns a file that was begun before has not."""


class Contact(Record, frozen=True, kw_only=True):
    """Whom a reference stands for. It stays on the computer it was typed on."""

    title: ClassVar[str] = "contact"
    path: str = ""
    line: int = 0
    reference: str = key(TEXT, "Booking or customer reference.", "C-0192", required=True)
    name: str = key(TEXT, "Whom to ask for.", "A. Example", required=True)
    phone: str | None = key(TEXT, "Telephone number.", "555 0100")


def each_named(text: str | None) -> tuple[str, ...]:
    """What a cell names side by side, as it is written there: sources, or the parts that a cylinder
    was connected to.

    >>> each_named("B1 + elsewhere: the club+")
    ('B1', 'elsewhere: the club')
    """
    return tuple(name for part in (text or "").split("+") if (name := part.strip()))


@once_per_record
def columns(record: type[Record]) -> tuple[str, ...]:
    """The header of a line noun, in order."""
    return tuple(keys_of(record))


@once_per_record
def _cells(record: type[Record]) -> tuple[tuple[str, str, Kind, bool], ...]:
    names = attributes_of(record)
    return tuple((k.name, names[k.name], k.kind, k.required) for k in keys_of(record).values())


def read_line(
    record: type[Any], cells: Sequence[str], reader: NodeReader, line: int, column: Any = None
) -> Any | None:
    """Type one row. `column(i)` gives the column of cell `i`, asked only for a fault.

    Returns None, after noting every fault, when the row cannot be used.
    """
    values: dict[str, Any] = {}
    before = len(reader.findings)
    here = Mark(0, line, 1)
    for i, (name, attribute, kind, required) in enumerate(_cells(record)):
        text, said = cells[i], len(reader.findings)
        if text:
            got = kind.read(Scalar(text, here, here), name, reader)
            if got is not None:
                values[attribute] = got
        elif required:
            reader.fault(here, "missing-cell", f"`{name}` is empty", f"write {kind.label}")
        if column and len(reader.findings) > said:
            where = Where(reader.path, line, column(i))
            reader.findings[said:] = [replace(f, where=where) for f in reader.findings[said:]]
    if len(reader.findings) > before:
        return None
    return record(path=reader.path, line=line, **values)


class Log(Sequence[LogLine]):
    """The lines of a fill log in their order, made one by one when somebody looks at them.

    Most questions are of a few columns, or of the last lines of each cylinder: `column` gives the
    values of one attribute of all lines.
    """

    __slots__ = ("_asked", "_columns", "_in_order", "_lines")

    def __init__(
        self, columns: Mapping[str, Sequence[Any]], count: int, in_order: bool | None = None
    ) -> None:
        self._columns = columns
        self._in_order = in_order
        self._asked: dict[str, Sequence[Any]] = {}
        self._lines: list[LogLine | None] = [None] * count

    @classmethod
    def of(cls, lines: Sequence[LogLine]) -> Log:
        """The log of these lines."""
        if isinstance(lines, Log):
            return lines
        log = cls({}, len(lines))
        log._lines[:] = lines
        return log

    @classmethod
    def joined(cls, logs: Sequence[Log]) -> Log:
        """One log after the other."""
        if len(logs) == 1:
            return logs[0]
        names = dict.fromkeys(name for log in logs for name in log._columns)
        values = {name: [v for log in logs for v in log.column(name)] for name in names}
        kept = [log for log in logs if len(log)]
        between = all(one[-1].at <= next_[0].at for one, next_ in pairwise(kept))
        in_order = between and all(log._in_order for log in kept)
        return cls(values, sum(map(len, logs)), in_order or None)

    @property
    def in_order(self) -> bool:
        """Whether no line is earlier than the one before it."""
        if self._in_order is None:
            times = self.column("at")
            self._in_order = all(map(le, times, islice(times, 1, None)))
        return self._in_order

    def column(self, attribute: str) -> Sequence[Any]:
        """The values of an attribute, line by line."""
        if attribute in self._columns:
            return self._columns[attribute]
        if attribute not in self._asked:
            self._asked[attribute] = [
                None if line is None else getattr(line, attribute) for line in self._lines
            ]
        return self._asked[attribute]

    def after(
        self, day: dt.date, past: dt.datetime | None = None, to_come: dt.datetime | None = None
    ) -> list[int]:
        """The places of the lines later than a day, by the local date of each; those of another
        offset whose moment is `past` are not, and those whose moment is `to_come` are."""
        times = self.column("at")
        begin = 0
        if self.in_order and day.toordinal() > 2:
            # a local date is within a day of the date in UTC
            before = dt.datetime.combine(day - dt.timedelta(days=1), dt.time.min, dt.UTC)
            begin = bisect_left(times, before)
        rest = range(begin, len(self))
        later = (i for i in rest if times[i].date() > day and (past is None or times[i] > past))
        if to_come is None:
            return list(later)
        return sorted({*later, *(i for i in rest if times[i] > to_come)})

    def struck_early(self, ahead: Sequence[int]) -> dict[int, int]:
        """Of the places of lines that lie ahead, those that a line which does not strikes out
        already, each with the place of that line."""
        times, names, voids = (self.column(name) for name in ("at", "cylinder", "voids"))
        keys = {f"{times[i].isoformat()} {names[i]}": i for i in ahead}
        by = {keys[voids[i]]: i for i in range(len(self)) if voids[i] in keys} if keys else {}
        return {i: void for i, void in by.items() if void not in ahead and names[i] == names[void]}

    def without(self, places: Collection[int]) -> Log:
        """The lines but for those of some places."""
        return Log.of([line for i, line in enumerate(self) if i not in places]) if places else self

    def until(
        self, day: dt.date, past: dt.datetime | None = None, to_come: dt.datetime | None = None
    ) -> Log:
        """The lines up to a day, by the local date of each, and those whose moment is `past`, but
        none whose moment is `to_come`."""
        later = self.after(day, past, to_come)
        if not later:
            return self
        kept = [True] * len(self)
        for place in later:
            kept[place] = False
        if not self._columns:
            return Log.of(list(compress(self, kept)))
        columns_ = {name: list(compress(v, kept)) for name, v in self._columns.items()}
        return Log(columns_, sum(kept), self._in_order or None)

    def under(self, names: Mapping[str, str]) -> Log:
        """The log with some ids written as others: those that a cylinder or a set had before."""
        if not names or not any(name in names for name in set(self.column("cylinder"))):
            return self
        if not self._columns:
            return Log.of([_under(line, names) for line in self])
        columns_ = dict(self._columns)
        columns_["cylinder"] = [names.get(n, n) for n in columns_["cylinder"]]
        if "voids" in columns_:
            columns_["voids"] = [_voids_under(v, names) for v in columns_["voids"]]
        return Log(columns_, len(self), self._in_order)

    def __len__(self) -> int:
        return len(self._lines)

    @overload
    def __getitem__(self, index: int) -> LogLine: ...

    @overload
    def __getitem__(self, index: slice) -> tuple[LogLine, ...]: ...

    def __getitem__(self, index: int | slice) -> LogLine | tuple[LogLine, ...]:
        if isinstance(index, slice):
            return tuple(self[i] for i in range(*index.indices(len(self))))
        line = self._lines[index]
        if line is None:
            values = {name: column[index] for name, column in self._columns.items()}
            line = self._lines[index] = LogLine(**values)
        return line

    def __iter__(self) -> Iterator[LogLine]:
        return (self[i] for i in range(len(self)))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Log | tuple) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]  # what can be equal to a tuple hashes like none


def _under(line: LogLine, names: Mapping[str, str]) -> LogLine:
    name = names.get(line.cylinder, line.cylinder)
    return replace(line, cylinder=name, voids=_voids_under(line.voids, names))


def _voids_under(said: str | None, names: Mapping[str, str]) -> str | None:
    at, blank, name = (said or "").rpartition(" ")
    return f"{at}{blank}{names[name]}" if name in names else said


def read_log(
    cells: Sequence[Sequence[str]],
    lines: Sequence[int],
    reader: NodeReader,
    column: Callable[[int, int], int],
) -> Log:
    """Type the rows of a fill log, as `read_line` does each, but a column at a time.

    Args:
        cells: the cells of each row.
        lines: the line each stands on.
        reader: takes the findings.
        column: the column at which a row's cell begins, by the row's place and the cell's.

    A log says the same few pressures, gases and initials thousands of times, so each text of a
    column is typed once. A row with any fault goes through `read_line`, which says what it is.
    """
    if not lines:
        return Log({}, 0)
    typed: dict[str, Sequence[Any]] = {"path": [reader.path] * len(lines), "line": lines}
    bad: set[int] = set()
    in_order = False
    for (name, attribute, kind, required), texts in zip(
        _cells(LogLine), zip(*cells, strict=True), strict=True
    ):
        different = set(texts)
        values, wrong = _typed(different, name, kind, required)
        bad |= {i for i, text in enumerate(texts) if text in wrong} if wrong else set()
        if values:  # else the column is empty, as the attribute is by itself
            same = len(different) == 1
            only = [values[texts[0]]] * len(lines) if same else map(values.get, texts)
            typed[attribute] = list(only)
        if attribute == "at" and not wrong:
            in_order = _in_order(texts, typed[attribute])
    if not bad:
        return Log(typed, len(lines), in_order)
    for i in sorted(bad):
        read_line(LogLine, cells[i], reader, lines[i], partial(column, i))
    kept = [i not in bad for i in range(len(lines))]
    return Log({name: list(compress(v, kept)) for name, v in typed.items()}, sum(kept))


def _in_order(texts: Sequence[str], times: Sequence[dt.datetime]) -> bool:
    """Whether times come in their order. Of one UTC offset, they do when their texts do: to compare
    fifty thousand texts takes no time at all."""
    offsets = [text[19:] for text in texts]
    changes = [i for i, differ in enumerate(map(ne, offsets, islice(offsets, 1, None))) if differ]
    if not all(map(le, texts, islice(texts, 1, None))):
        return all(map(le, times, islice(times, 1, None)))
    return all(times[i] <= times[i + 1] for i in changes)


def _typed(
    texts: set[str], name: str, kind: Kind, required: bool
) -> tuple[dict[str, Any], set[str]]:
    """The value of each text of a column, and the texts that cannot stand there."""
    values: dict[str, Any] = {}
    wrong = {""} & texts if required else set()
    here = Mark(0, 0, 0)
    said = [text for text in texts if text]
    if isinstance(kind, Parsed) and not texts & NOTHING and said == list(map(str.strip, said)):
        try:  # as the kind reads each, without its finding
            return dict(zip(said, map(kind.parse, said), strict=True)), wrong
        except ValueError:
            values = {}
    for text in said:
        reader = NodeReader("")
        got = kind.read(Scalar(text, here, here), name, reader)
        if reader.findings:
            wrong.add(text)
        else:
            values[text] = got
    return values, wrong
