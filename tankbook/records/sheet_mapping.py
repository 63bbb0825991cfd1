"""What the columns of somebody's own list of cylinders mean: the mapping file of an import."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import ClassVar

from tankbook.records.cylinder import USE
from tankbook.records.fields import COUNT, TEXT, MapOf, OneOf, Record, key
from tankbook.records.kinds import PERIOD
from tankbook.records.words import Use
from tankbook.units import Period

UNANSWERED = "?"
"""What stands in a mapping where somebody has to say what is meant."""


class RowsAre(StrEnum):
    """What one row is about: a cylinder, or one test, sticker or rental of one."""

    CYLINDERS = "cylinders"
    ENTRIES = "entries"


class EachRowIs(StrEnum):
    """What each row of a table of entries is, where all are of one kind."""

    HYDRO = "hydro"
    VISUAL = "visual"
    RENTAL = "rental"


class DateOrder(StrEnum):
    """Which number of a date comes first. A year of four figures says itself where it stands."""

    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"
    YEAR_FIRST = "year-first"


class DecimalSign(StrEnum):
    """What stands before the tenths of a number."""

    POINT = "point"
    COMMA = "comma"


class DayNumbers(StrEnum):
    """The year from which a spreadsheet counts days, where a date shows as a bare number."""

    SINCE_1900 = "1900"
    SINCE_1904 = "1904"


class Days(StrEnum):
    """Whether the days of a column up to the 12th, which a spreadsheet made dates of, are right, or
    have day and month swapped."""

    RIGHT = "right"
    SWAPPED = "swapped"


class EmptyCells(StrEnum):
    """What an empty cell says of a column that is filled in the first row of each group."""

    AS_ABOVE = "as-above"
    NOTHING = "nothing"


class HiddenRows(StrEnum):
    """What becomes of rows that nobody sees."""

    TAKE = "take"
    LEAVE_OUT = "leave-out"


class OnFile(StrEnum):
    """What becomes of a card that is there: it stays as it is, or what it lacks is added."""

    LEAVE = "leave"
    COMPLETE = "complete"


class DateIs(StrEnum):
    """What a date says: when the last test was, or when the next is due."""

    LAST = "last"
    NEXT = "next"


class Unreadable(StrEnum):
    """What becomes of a value that cannot be read: its row is refused, or it is kept as it is in
    the note of the card."""

    REFUSE = "refuse"
    REMARK = "remark"


class Stands(StrEnum):
    """What a row says of a cylinder that may be gone: it is here, it is here and is held, or it
    gets no card."""

    HERE = "here"
    HOLD = "hold"
    LEAVE_OUT = "leave-out"


class RemarkIs(StrEnum):
    """What a remark is of which nobody here knows whether it tells against its cylinder."""

    HARMLESS = "harmless"
    HOLD = "hold"


class ColumnMeans(Record, frozen=True, kw_only=True):
    """What one column holds."""

    title: ClassVar[str] = "column"
    column: str = key(TEXT, "Its letter, as a spreadsheet shows it.", "D", required=True)
    heading: str | None = key(TEXT, "Its heading, which is held against the file.", "Hydro")
    key_: str = key(
        TEXT,
        "What it holds: a key of a card (`valve.outlet` for one inside), `hydro`, `visual`, "
        "`hydro_result`, `visual_result`, `hydro_by`, `visual_by`, `first_test`, `out_to`, "
        "`out_since`, `out_until`, `stands`, `remark`, `keep` (in the note, with its heading) or "
        "`leave-out`; of entries `what`, `on`, `by`, `result`, `to`, `back`.",
        "hydro",
        required=True,
    )
    unit: str | None = key(TEXT, "Unit of numbers that stand alone.", "bar")
    is_: DateIs | None = key(
        DateIs, "Whether its dates say when the last test was, or when the next is due.", "last"
    )
    dates: DateOrder | None = key(
        DateOrder,
        "Which number of its dates comes first, where it is not as in the other columns.",
        "year-first",
    )
    days: Days | None = key(
        Days,
        "Of a workbook whose days up to the 12th are dates, and the later ones text: whether those "
        "are right, or have day and month swapped.",
        "swapped",
    )
    period: Period | None = key(
        PERIOD, "With `is: next`: how long before that day the last test was.", "5 years"
    )
    by: str | None = key(
        TEXT,
        "Of `hydro` and `visual`: who did all of them, where no column says it.",
        "Northside Diving",
    )
    values: Mapping[str, str] = key(
        MapOf(TEXT),
        "What its words mean: each with that of a card; empty for nothing.",
        "{Alu: aluminium}",
    )
    otherwise: Unreadable = key(
        Unreadable,
        "What becomes of a value that cannot be read.",
        "remark",
        default=Unreadable.REFUSE,
    )
    blanks: EmptyCells | None = key(
        EmptyCells, "Whether an empty cell is of what stands above it, or of nothing.", "as-above"
    )
    spaces: str | None = key(TEXT, "Of ids: what stands in the place of blanks.", "-")
    scheme: str | None = key(TEXT, "Of ids that are bare numbers: # stands for a digit.", "CL-##")


class SheetMapping(Record, frozen=True, kw_only=True):
    """How a table is read."""

    title: ClassVar[str] = "mapping"
    sheet: str | None = key(TEXT, "The sheet of a workbook.", "Cylinders")
    encoding: str | None = key(TEXT, "The encoding of a text file.", "cp1252")
    separator: str | None = key(TEXT, "What stands between cells: `;` `,` `|` or `tab`.", ";")
    headings: str = key(TEXT, "The row of the headings, or the two rows.", "3-4", required=True)
    last_row: int | None = key(COUNT, "The last row that is read, where not all are.", "120")
    rows: RowsAre = key(RowsAre, "What one row is about.", "cylinders", default=RowsAre.CYLINDERS)
    what: EachRowIs | None = key(
        EachRowIs, "Of entries: what each row is, where no column says it.", "rental"
    )
    by: str | None = key(
        TEXT, "Of entries: who did the tests, where no column says it.", "Northside Diving"
    )
    checklist: str | None = key(
        TEXT, "By which checklist the ledger's own people did their visuals.", "annual"
    )
    dates: DateOrder | None = key(DateOrder, "Which number of its dates comes first.", "day-first")
    decimal: DecimalSign | None = key(DecimalSign, "What stands before tenths.", "point")
    day_numbers: DayNumbers | None = key(
        DayNumbers, "From when days are counted, where dates show as bare numbers.", "1900"
    )
    hidden_rows: HiddenRows | None = key(HiddenRows, "What becomes of hidden rows.", "leave-out")
    use: Use | None = key(USE, "What they are kept for, where no column says it.", "rental")
    owned: Use | None = key(
        USE, "What those are kept for of which the table names an owner.", "customer"
    )
    on_file: OnFile = key(
        OnFile, "What becomes of cards that are there.", "leave", default=OnFile.LEAVE
    )
    gone: Mapping[str, Stands] = key(
        MapOf(OneOf(Stands)),
        "What comes of remarks by which a cylinder is gone.",
        "{sold: leave-out}",
    )
    remarks: Mapping[str, RemarkIs] = key(
        MapOf(OneOf(RemarkIs)),
        "Of remarks that nobody judged: whether they hold their cylinder.",
        '{"see Bob first": hold}',
    )
    columns: tuple[ColumnMeans, ...] = key(
        [ColumnMeans],
        "What each column holds.",
        "[{column: D, heading: Hydro, key: hydro, is: last}]",
        required=True,
    )
