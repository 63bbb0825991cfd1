"""Answers put into files instead of to the terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

from tankbook.acts.options import Opt
from tankbook.cli.answer import RequestError
from tankbook.output.screen import one_line

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.output.drawing import Drawing
    from tankbook.output.page import Page
    from tankbook.output.paper.form import Form
    from tankbook.records.book import Book
    from tankbook.records.fields import Record

Pdf = Annotated[str, Opt("FILE", "Print it into this PDF instead.")]


Svg = Annotated[str, Opt("FILE", "Draw it into this .svg; the figures stand in the answer.")]


def draw_into(file: str, make: Callable[[], Sequence[Drawing]]) -> str:
    """Draw pictures, one below the other, put them where they were asked for, and say so; an empty
    text where they were not.

    Raises:
        LedgerError: they cannot be written there.
    """
    if not file:
        return ""
    from tankbook.ledger.handed_out import write_out
    from tankbook.output.svg import standing_alone

    write_out(Path(file), standing_alone(make()).encode("utf-8"), ".svg")
    return f"Drawn into {one_line(file)}."


def files_asked(named: Mapping[str, str]) -> list[tuple[str, str]]:
    """The files that were named, by ending, each with its ending; what was not named is empty.

    Raises:
        LedgerError: one cannot be written where it is asked for.
    """
    from tankbook.ledger.handed_out import check_out

    files = [(name, ending) for ending, name in named.items() if name]
    for name, ending in files:
        check_out(Path(name), ending)
    return files


class Written(NamedTuple):
    """The files that were written, named; and of what could not be printed on them, one line each
    with the file and key it is written under."""

    names: str = ""
    notes: tuple[str, ...] = ()

    def said(self, what: str, page: Page) -> str:
        """What was printed and into which file, and the notes; nothing where nothing was."""
        return f"{what}: {self.names}\n{self.told(page)}" if self.names else ""

    def told(self, page: Page) -> str:
        """The notes below an answer, each on lines of its own."""
        said = page.paragraphs((one_line(note) for note in self.notes), hang="  ")
        return f"{said}\n" if said else ""

    @property
    def data(self) -> dict[str, list[str]]:
        """The same in JSON; nothing where all was printed."""
        return {"not_printed": list(self.notes)} if self.notes else {}


def write_into(
    files: list[tuple[str, str]],
    make: Callable[[str], bytes],
    book: Book,
    *,
    of: Iterable[Record] | None = None,
) -> Written:
    """Make each file by its ending, put all where they were asked for, and name them; nothing
    where none was asked for. What cannot be printed is a line to write on, and told.

    `of` are the records that they are made from, all of the ledger where that is not said. Ids and
    the labels of parts always print: they are of plain letters.

    Raises:
        LedgerError: one cannot be written there.
        RequestError: something does not fit on one; nothing is written then.
    """
    if not files:
        return Written()
    from tankbook.ledger.handed_out import write_out

    made, runs = _made(files, make)
    for name, ending, data in made:
        write_out(Path(name), data, ending)
    names = " and ".join(one_line(name) for name, _ in files)
    return Written(names, notes_on(runs, of or every_record(book), names) if runs else ())


def _made(
    files: list[tuple[str, str]], make: Callable[[str], bytes]
) -> tuple[list[tuple[str, str, bytes]], tuple[str, ...]]:
    if not any(ending == ".pdf" for _, ending in files):
        return [(name, ending, make(ending)) for name, ending in files], ()
    from tankbook.output.paper.face import PaperError, written_on

    try:
        return written_on(lambda: [(name, ending, make(ending)) for name, ending in files])
    except PaperError as error:
        raise RequestError(str(error), error.mend) from error


def print_into(
    file: str, make: Callable[[], bytes], book: Book, *, of: Iterable[Record] | None = None
) -> Written:
    """Make a PDF and put it where it was asked for. `of` is that of `write_into`.

    Raises:
        LedgerError: it cannot be written there; nothing is made then.
        RequestError: something on it does not fit; nothing is written then.
    """
    return write_into(files_asked({".pdf": file}), lambda _: make(), book, of=of)


def print_form_into(file: str, form: Form, desk: Desk, ids: Iterable[str]) -> Written:
    """Print a form that is made from the records of some cylinders and sets, as `print_into` does.

    Raises:
        LedgerError: it cannot be written there; nothing is made then.
        RequestError: something does not fit in its column; nothing is written then.
    """
    from tankbook.output.paper.form import PAPER, print_form

    records = {id(each): each for id_ in ids for each in records_on(desk.book, id_)}.values()
    paper = PAPER[desk.shore]
    return print_into(file, lambda: print_form(form, paper), desk.book, of=records)


def every_record(book: Book) -> Iterator[Record]:
    """All that a paper of the whole ledger may be made from."""
    yield book.settings
    yield from book.cylinders.values()
    yield from book.sets.values()
    yield from (each for each in (book.station, book.counter) if each is not None)
    yield from book.bookings
    yield from book.log


MOST_PLACES = 3
"""How many places are named of one run of characters; the rest is counted."""


def notes_on(
    runs: Iterable[str],
    records: Iterable[Record],
    what: str,
    entered: Mapping[str, Record] | None = None,
) -> tuple[str, ...]:
    """Of each run of characters that could not be printed, where it is written: file and key; of
    what is only being `entered`, the file and the list of it that it goes into."""
    return tuple(dict.fromkeys(left_out(runs, records, what, entered)))


def records_on(book: Book, id_: str) -> tuple[Record, ...]:
    """What a paper of a cylinder or set is made from: its card and those of its sides, the
    settings, the log."""
    from tankbook.rules.fill_history import lines_about

    doubles = book.sets.get(id_)
    cards = (id_, *(doubles.cylinders if doubles else ()))
    found = (book.cylinders.get(each) for each in cards)
    own = (doubles, *found, book.settings)
    return (*(each for each in own if each is not None), *lines_about(book, id_))


def left_out(
    runs: Iterable[str],
    records: Iterable[Record],
    what: str,
    entered: Mapping[str, Record] | None = None,
) -> Iterator[str]:
    """Of each run of characters that could not be printed, where it is written: file and key."""
    from tankbook.output.paper.face import LETTERS, why_not_printed

    records = tuple(records)
    for run in runs:
        new = (f"{place}: {key}" for place, each in (entered or {}).items()
               for key, _ in _unprinted(run, each))  # fmt: skip
        places = list(dict.fromkeys((*new, *_written(run, records))))
        more = len(places) - MOST_PLACES
        told = f" (and in {more} more places)" if more > 0 else ""
        for place in places[:MOST_PLACES] or [what]:
            why = f"{why_not_printed(run)}{told}"
            yield f"{place}: {why}; a line to write on stands there: {LETTERS}"
            told = ""


def _written(run: str, records: Iterable[Record]) -> Iterator[str]:
    """The places whose text holds a run of characters that is not printed."""
    for record in records:
        for key, trail in _unprinted(run, record):
            where = getattr(record, "where", None) or record.source.at(*trail)
            yield f"{where}: {key}"


def _unprinted(run: str, record: Record) -> Iterator[tuple[str, tuple[str | int, ...]]]:
    """The keys of a record whose text holds a run of characters that is not printed, each with the
    way that leads to it."""
    from tankbook.output.paper.face import legible

    for trail, text in _texts(record):
        if not text.isascii() and run in legible(text)[1]:
            yield ".".join(str(step) for step in trail if isinstance(step, str)), trail


def _texts(value: Any, trail: tuple[str | int, ...] = ()) -> Iterator[tuple[Any, str]]:
    """Every text in a record, with the keys and places that lead to it."""
    from tankbook.output.as_json import values_of
    from tankbook.records.fields import Record

    if isinstance(value, str):
        yield trail, value
    elif isinstance(value, Record):
        for name, said in values_of(value):
            yield from _texts(said, (*trail, name))
    elif isinstance(value, Mapping):
        for name, said in value.items():
            yield from _texts(said, (*trail, name))
    elif isinstance(value, tuple | list):
        for place, said in enumerate(value):
            yield from _texts(said, (*trail, place))
