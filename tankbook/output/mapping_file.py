"""The mapping file of an import, to be corrected by whoever knows the table."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankbook.acts.tab_cells import SWAPPED
from tankbook.acts.tab_guess import ColumnGuess, TableGuess
from tankbook.acts.tab_rows import HYDRO, PLACE, REFERENCES, STANDS, WHAT, keys_for, words_of
from tankbook.records.fields import NOTHING, TEXT
from tankbook.records.sheet_mapping import UNANSWERED, RowsAre
from tankbook.records.tab import Tab
from tankbook.records.written import scalar_text

WIDTH = 100


def text(tab: Tab, guess: TableGuess) -> str:
    """The mapping as a file, with what each column holds beside it."""
    return "\n".join([*_head(tab, guess), *_whole(tab, guess), *_columns(guess), ""])


def questions(guess: TableGuess) -> list[str]:
    """What is left open, one line each."""
    found = [f"{name}: {why}" for name, value, why in _facts(guess) if value == UNANSWERED]
    for each in guess.columns:
        called = f"column {each.letter}" + (f" ({each.heading})" if each.heading else "")
        if each.key == UNANSWERED:
            found.append(f"{called}: {each.told}")
        if each.asks:
            found.append(f"{called}: {_LAST_OR_NEXT}")
        if each.dates == UNANSWERED:
            found.append(f"{called}: {_ORDER}")
        if each.swapped:
            found.append(f"{called}: {SWAPPED}")
        if each.blanks:
            found.append(f"{called}: {_BLANKS}")
        if each.unit == UNANSWERED:
            found.append(f"{called}: in which unit are its numbers?")
        open_ = [old for old, new in each.values if new == UNANSWERED]
        if open_:
            more = f" and {len(open_) - _MOST} more" if len(open_) > _MOST else ""
            found.append(f"{called}: what mean {', '.join(open_[:_MOST])}{more}?")
    found += [f"gone: what comes of a cylinder of which it says `{each}`?" for each in guess.gone]
    return found


def data(tab: Tab, guess: TableGuess) -> dict[str, Any]:
    """The JSON shape of an import without a mapping."""
    return {
        "file": tab.path,
        "sheet": tab.name or None,
        "mapping": text(tab, guess),
        "questions": questions(guess),
        "notes": list(tab.notes),
    }


_MOST = 6
"""So many words of a column are named in its question; the mapping has all."""
_ANSWERS = {
    PLACE: "a place: here; where it is not to be used: hold; who has it: out to M-001; or keep",
    STANDS: "here, hold or leave-out; where somebody has it: out to M-001",
    WHAT: (
        "hydro, visual or hydro and visual; where it is neither: leave-out, and in a list of "
        "cylinders keep"
    ),
    **dict.fromkeys(REFERENCES, "a reference, such as M-001"),
}
_LAST_OR_NEXT = "do its dates say when the last test was, or when the next is due?"


_BLANKS = "is each empty cell of what stands above it, or of nothing?"
_ORDER = "which number of its dates comes first: day-first, month-first or year-first?"


def _head(tab: Tab, guess: TableGuess) -> Iterator[str]:
    sheet = f", sheet {tab.name}" if tab.name else ""
    yield f"# How {tab.path}{sheet} is read. It is a guess: correct it, and answer every ?"
    for note in tab.notes:
        yield f"# {_remark(note)}"
    for title in guess.title[:3]:
        yield f"# above the headings, and not read: {_remark(title)}"
    yield "# A column may be mapped to one of:"
    line = "#  "
    for name in keys_for(guess.rows):
        if len(line) + len(name) + 2 > WIDTH:
            yield line
            line = "#  "
        line = f"{line} {name}"
    yield line
    yield "# keep: in the note, with its heading; leave-out: nowhere; remark: in the note, and"
    yield "# where it speaks of damage the cylinder is held until somebody looked at it."
    yield "# otherwise: remark  keeps in the note what cannot be read; else its row is refused."


def _facts(guess: TableGuess) -> Iterator[tuple[str, str, str]]:
    """What holds for the whole table: key, value, and what is asked."""
    yield "what", guess.what, "rental, hydro or visual: what each row is"
    yield "dates", guess.dates, "day-first or month-first, in dates such as 3/4/2021; or year-first"
    yield "decimal", guess.decimal, "point or comma, before tenths: is 3,000 three thousand?"
    yield "day_numbers", guess.day_numbers, "1900 or 1904: dates are days counted since then"
    yield "hidden_rows", guess.hidden_rows, "take or leave-out: rows that nobody sees"
    yield "use", guess.use, "rental, sale, customer, staff, pool or bank: what they are kept for"
    yield "owned", guess.owned, "customer, or as `use:`: what those are kept for that have an owner"


def _whole(tab: Tab, guess: TableGuess) -> Iterator[str]:
    if tab.name:
        yield f"sheet: {scalar_text(tab.name)}"
    if tab.encoding:
        yield f"encoding: {tab.encoding}"
    if tab.separator:
        yield f"separator: {scalar_text(tab.separator)}"
    two = "the two rows of the headings" if "-" in guess.headings else "the row of the headings"
    yield f"headings: {guess.headings}  # {two}"
    if guess.rows is RowsAre.ENTRIES:
        yield "rows: entries  # one test, sticker or rental a row"
    for name, value, why in _facts(guess):
        if value:
            yield f"{name}: {value}  # {why}"
    if guess.rows is RowsAre.CYLINDERS:
        yield "# on_file: complete  # adds to cards that are there what they lack, or they stay"
        if guess.use == UNANSWERED:
            yield "# With it `use:` is asked of new rows alone: where none is, take its line out."
    if guess.gone:
        yield "gone:  # leave-out (no card), hold or here"
        for each in guess.gone:
            yield f"  {_quoted(each)}: {UNANSWERED}"


def _columns(guess: TableGuess) -> Iterator[str]:
    yield "columns:"
    for each in guess.columns:
        yield from _column(each)


def _column(each: ColumnGuess) -> Iterator[str]:
    seen = f"  # {_remark(', '.join(each.samples))}" if each.samples else ""
    yield f"  - column: {each.letter}{seen}"
    if each.heading and each.heading not in NOTHING and len(each.heading) <= TEXT.limit:
        yield f"    heading: {_quoted(each.heading)}"
    told = f"  # {each.told}" if each.told else ""
    yield f"    key: {each.key}{told}"
    if each.unit:
        yield f"    unit: {each.unit}" + ("  # of numbers that stand alone" * (each.unit == "?"))
    if each.asks:
        yield f"    is: {UNANSWERED}  # last or next: {_LAST_OR_NEXT}"
        period = "5 years" if each.key == HYDRO else "1 year"
        yield f"    # period: {period}  # with `is: next`: from the last test to it"
    if each.dates:
        yield f"    dates: {each.dates}" + f"  # {_ORDER}" * (each.dates == UNANSWERED)
    if each.swapped:
        yield f"    days: {UNANSWERED}  # right or swapped: {SWAPPED}"
    if each.blanks:
        yield f"    blanks: {UNANSWERED}  # as-above or nothing: {_BLANKS}"
    if each.spaces:
        yield f'    spaces: "{each.spaces}"  # in the place of blanks, which an id has none of'
    if each.values:
        way = (
            _ANSWERS.get(each.key, _words(each.key))
            if any(v == UNANSWERED for _, v in each.values)
            else None
        )
        yield "    values:" + (f"  # {way}" if way else "")
        for old, new in each.values:
            yield f"      {_quoted(old)}: {new}"


def _words(key: str) -> str:
    words = words_of(key)
    return f"{', '.join(words)}; or keep, in the note" if words else ""


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _remark(text: str) -> str:
    """A text as it may stand in a comment: on one line, and no longer than one."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return plain if len(plain) <= WIDTH - 20 else f"{plain[: WIDTH - 23]}..."
