"""A fill sheet from the lake, keyed in: each row judged by itself, refused rows listed, the rest
recorded together."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.common import named, refusal
from tankbook.acts.fill import fill
from tankbook.acts.fill_request import Filling, Wanted
from tankbook.acts.repeated import Known, known_as, repeated
from tankbook.acts.soundness import lines_of
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.words import Shore
from tankbook.units import GaugePressure, Percent, Temperature
from tankbook.units.nouns import counted
from tankbook.units.patterns import pattern

T = TypeVar("T")

COLUMNS = (
    "cylinder", "time", "from", "to", "bled", "temperature", "gas", "o2", "he", "looked", "by",
    "analysed_by", "source", "position", "happened", "note",
)  # fmt: skip
"""What a keyed sheet may say of a fill; only `cylinder` and `to` must be there."""

ONCE_MORE = "if it was filled once more, log it with `tankbook fill --again`"
FILLED_AFTER_ALL = "if it was filled after all, log it with `tankbook fill`"

_TEXTS = ("by", "analysed_by", "source", "position", "happened", "note")
_TIME = pattern(r"([01]?[0-9]|2[0-3])[:.]([0-5][0-9])")
_YES = {"y", "yes", "x", "ok"}
_DEGREES = {Shore.PSI: "degF", Shore.BAR: "degC"}


class Row(Struct, frozen=True):
    """A row of a sheet as keyed: its line in the file, and its cells by column, as text."""

    line: int
    cells: Mapping[str, str]

    def __getitem__(self, name: str) -> str:
        return self.cells.get(name, "").strip()


class RowRefused(Struct, frozen=True):
    """A row that was not recorded, and every reason."""

    line: int
    cylinder: str
    reasons: tuple[str, ...]

    def __str__(self) -> str:
        return f"line {self.line}, {self.cylinder or 'no cylinder'}: {'; '.join(self.reasons)}"


class Keyed(Struct, frozen=True):
    """What became of a sheet: the acts of the rows that stand, rows refused, rows known before, and
    of those the ones that were struck out since."""

    day: dt.date
    acts: tuple[Act, ...]
    refused: tuple[RowRefused, ...]
    already: tuple[str, ...]
    struck: tuple[str, ...] = ()

    @property
    def act(self) -> Act | Refusal:
        """The rows that stand as one act, the others told; a refusal where none stands."""
        if self.refused and not (self.acts or self.already or self.struck):
            return refusal(map(str, self.refused))
        ids = tuple(dict.fromkeys(i for act in self.acts for i in act.subjects))
        edits = tuple(edit for act in self.acts for edit in act.edits)
        return Act("fill", ids, self._sentence(ids), edits, tuple(self._notes()))

    def _sentence(self, ids: tuple[str, ...]) -> str:
        count = len(self.acts)
        said = f"Keyed in {counted(count, 'fill')} of {self.day}"
        said += f": {named(ids)}" if ids else ""
        if self.refused:
            rows = f"{counted(len(self.refused), 'row')}"
            said += f"; {rows} REFUSED"
        return said

    def _notes(self) -> Iterator[str]:
        """The refused rows, what was passed over, and what the acts noted, each thing once."""
        yield from (f"REFUSED {row}" for row in self.refused)
        if self.already:
            yield f"in the log already, and passed over: {', '.join(self.already)}"
        if self.struck:
            ids = ", ".join(dict.fromkeys(self.struck))
            yield f"struck out in the log since, and passed over: {ids}; {FILLED_AFTER_ALL}"
        yield from dict.fromkeys(note for act in self.acts for note in act.notes)


def key_in(
    book: Book,
    rows: Sequence[Row],
    how: Filling,
    *,
    midnight: dt.datetime,
    resolve: Callable[[str], str],
) -> Keyed:
    """Plan the fills of a sheet.

    Args:
        book: the records, all of them.
        rows: the rows in the order of the sheet.
        how: what holds for every row that does not say otherwise.
        midnight: the beginning of the day of the sheet, with its UTC offset. A row without a time
            takes noon and as many seconds as its line says, so that it reads the same again.
        resolve: the id that a tail stands for; raises ValueError that says why not.

    A row that is in the log already, of the same cylinder, time and pressure, is passed over, also
    where that was corrected or struck out since: a sheet whose refused rows were mended may be
    keyed in again as a whole.
    """
    refused: list[RowRefused] = []
    already: list[str] = []
    struck: list[str] = []
    acts: list[Act] = []
    for row in sorted(rows, key=_time_of):
        reasons: list[str] = []
        got = _typed(row, how, book.settings.units, resolve, reasons)
        if got is None:
            refused.append(RowRefused(row.line, row["cylinder"], tuple(reasons)))
            continue
        wanted, its = got
        at = midnight + _time_of(row)
        if (known := known_as(book, wanted, its, at)) is not None:
            (struck if known is Known.STRUCK else already).append(wanted.id)
            continue
        planned = fill(book, [wanted], its, at=at)
        again = () if isinstance(planned, Refusal) else repeated(book, planned)
        if isinstance(planned, Refusal) or again:
            why = planned.reasons if isinstance(planned, Refusal) else again
            once_more = f"; {ONCE_MORE}" if again else ""
            told = tuple(f"{r.removeprefix(f'{wanted.id}: ')}{once_more}" for r in why)
            refused.append(RowRefused(row.line, wanted.id, told))
            continue
        acts.append(planned)
        book = replace(book, log=(*book.log, *lines_of(planned.edits)))
    order = tuple(sorted(refused, key=lambda r: r.line))
    return Keyed(midnight.date(), tuple(acts), order, tuple(already), tuple(struck))


def _time_of(row: Row) -> dt.timedelta:
    found = _TIME.fullmatch(row["time"])
    if found is None:
        return dt.timedelta(hours=12, seconds=row.line)
    return dt.timedelta(hours=int(found[1]), minutes=int(found[2]))


def _typed(
    row: Row,
    how: Filling,
    shore: Shore,
    resolve: Callable[[str], str],
    reasons: list[str],
) -> tuple[Wanted, Filling] | None:
    """A row's fill, or None after noting every cell that cannot be read."""

    def cell(name: str, parse: Callable[[str], T]) -> T | None:
        if not row[name]:
            return None
        try:
            return parse(row[name])
        except ValueError as error:
            mend = getattr(error, "mend", "")
            reasons.append(f"{name}: {error}" + (f"; {mend}" if mend else ""))
            return None

    if row["time"] and not _TIME.fullmatch(row["time"]):
        reasons.append(f"time: {row['time']!r} is not a time of day; write it as 14:30")
    id_ = _id_of(row, resolve, reasons)
    to = cell("to", lambda text: GaugePressure.parse(text, shore.value))
    if not row["to"]:
        reasons.append("to: the pressure reached is missing")
    from_ = cell("from", lambda text: GaugePressure.parse(text, shore.value))
    bled = cell("bled", lambda text: GaugePressure.parse(text, shore.value))
    said: dict[str, Any] = {
        "temperature": cell("temperature", lambda t: Temperature.parse(t, _DEGREES[shore])),
        "gas": cell("gas", Gas.parse),
        "o2": cell("o2", _percent),
        "he": cell("he", _percent),
        "looked": row["looked"].casefold() in _YES or None,
        **{name: row[name] for name in _TEXTS},
    }
    if reasons or id_ is None or to is None:
        return None
    its = replace(how, **{k: v for k, v in said.items() if v not in (None, "")})
    return Wanted(id_, to, from_, bled=bled), its


def _percent(text: str) -> Percent:
    return Percent.parse(text if text.rstrip().endswith("%") else f"{text} %")


def _id_of(row: Row, resolve: Callable[[str], str], reasons: list[str]) -> str | None:
    if not row["cylinder"]:
        reasons.append("cylinder: which one is missing")
        return None
    try:
        return resolve(row["cylinder"])
    except ValueError as error:
        reasons.append(f"cylinder: {error}")
        return None
