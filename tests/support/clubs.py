"""Lists of cylinders as people keep them, each messy in its own way; and how one is imported."""

from __future__ import annotations

import datetime as dt

import books

from tankbook.acts.import_ import Imported, import_table
from tankbook.acts.tab_guess import TableGuess, guess
from tankbook.ledger.mapping import mapping_of
from tankbook.ledger.tables import table_of
from tankbook.output.mapping_file import text
from tankbook.records.book import Book
from tankbook.records.sheet_mapping import SheetMapping
from tankbook.records.tab import Tab

CLUB = """\
Harbour Divers, club cylinders;;;;;;;;;;
kept by the kit officer, spring 2026;;;;;;;;;;
;;;;;Last test;;;;;
No;Serial;Make;WP (bar);Size (L);Visual;Hydro;Metal;Valve;Who has it;Remarks
HD 01;BD1001;Hollis Steel;232;12;03/2026;04/2022;St;DIN 200;;
HD 02;BD1002;Hollis Steel;232;12;03/2026;04/2022;St;DIN 200;Jim;
HD 03;BD1003;Hollis Steel;232;12;03/2026;04/2022;St;DIN 200;;valve leaks
HD 04;BD1004;Hollis Steel;232;10;03/2026;05/2023;Steel;DIN 200;;
HD 05;BD1005;Hollis Steel;232;12,2;03/2026;04/2022;St;A-clamp;shed;blue boot
HD 06;BD1006;Hollis Steel;232;12;n/a;?;St;DIN 200;;sold to Jim
HD 07;BD1007;Example Alu;207;11,1;03/2026;06/2024;Alu;A-clamp;Sue;
HD 08;BD1008;Example Alu;207;11,1;03/2026;06/2024;Alu;A-clamp;;"was Bob's;
yellow"
HD 09;BD1009;Example Alu;207;11,1;03/2026;06/2024;Alu;A-clamp;;
HD 10;BD1010;Example Alu;207;11,1;03/2026;06/2024;Alu;A-clamp;;
HD 11;BD1011;Example Alu;207;11,1;03/2026;06/2024;Alu;A-clamp;;
Total 11;;;;;;;;;;
Signed: ________;;;;;;;;;;
"""
"""A club's: title lines, headings over two rows, names, remarks, a foot."""

ANSWERS = {
    "blanks: ?": "blanks: as-above",
    "use: ?": "use: pool",
    "is: ?": "is: last",
    '"Jim": ?': '"Jim": M-01',
    '"Sue": ?': '"Sue": M-02',
    '"sold to Jim": ?': '"sold to Jim": leave-out',
    "dates: ?": "dates: day-first",
    "decimal: ?": "decimal: point",
    "day_numbers: ?": "day_numbers: 1900",
}
"""What the kit officer answers."""


def read(table: str | bytes, path: str = "club.csv") -> Tab:
    """A table from its text."""
    return table_of(table if isinstance(table, bytes) else table.encode(), path)


def guessed(table: str | bytes, today: dt.date = books.TODAY) -> TableGuess:
    """What its columns seem to hold."""
    return guess(read(table), today)


def mapping(table: str | bytes, **answers: str) -> str:
    """The mapping of a table with the answers of the kit officer, and these."""
    tab = read(table)
    found = text(tab, guess(tab, books.TODAY))
    for old, new in (ANSWERS | answers).items():
        found = found.replace(old, new)
    return found


def typed(text_: str) -> SheetMapping:
    """A mapping read from its text; anything wrong with it fails the test."""
    found, findings = mapping_of(text_, "club.yaml")
    assert found is not None, "\n".join(map(str, findings))
    return found


def imported(
    book: Book, table: str | bytes, said: str = "", *, good: bool = False, by: str = "MV"
) -> Imported:
    """A table imported by its mapping, the guessed one where none is said."""
    return import_table(
        book, books.TODAY, read(table), typed(said or mapping(table)), by=by, good=good
    )


def fates(got: Imported) -> dict[int, str]:
    """What comes of each row, by its number."""
    return {f.row: f.comes.value for f in got.fates}


def told(got: Imported) -> str:
    """All that is said of a table and of its rows."""
    return "\n".join([*got.told, *(text for f in got.fates for text in f.says)])
