"""Answers put into files instead of to the terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from tankbook.acts.options import Opt
from tankbook.cli.answer import RequestError
from tankbook.output.screen import one_line

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.output.drawing import Drawing
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
    from tankbook.output.svg import standing_alone

    named = write_into(
        [(file, ".svg")] if file else [], lambda _: standing_alone(make()).encode("utf-8")
    )
    return f"Drawn into {named}." if named else ""


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


def write_into(files: list[tuple[str, str]], make: Callable[[str], bytes]) -> str:
    """Make each file by its ending, put all where they were asked for, and name them; an empty
    text where none was asked for.

    Raises:
        LedgerError: one cannot be written there.
        RequestError: something on one cannot be printed; nothing is written then.
    """
    if not files:
        return ""
    from tankbook.ledger.handed_out import write_out
    from tankbook.output.paper.face import PaperError

    try:
        made = [(name, ending, make(ending)) for name, ending in files]
    except PaperError as error:
        raise RequestError(str(error), error.mend) from error
    for name, ending, data in made:
        write_out(Path(name), data, ending)
    return " and ".join(one_line(name) for name, _ in files)


def print_into(file: str, make: Callable[[], bytes], what: str) -> str:
    """Make a PDF, put it where it was asked for, and say so.

    Raises:
        LedgerError: it cannot be written there; nothing is made then.
        RequestError: something on it cannot be printed; nothing is written then.
    """
    return f"{what}: {write_into(files_asked({'.pdf': file}), lambda _: make())}\n"


def print_form_into(file: str, form: Form, what: str, desk: Desk, ids: Iterable[str]) -> str:
    """Print a form that is made from the records of some cylinders and sets, and say so; what of it
    cannot be printed is a line to write on, and told by file and key.

    Raises:
        LedgerError: it cannot be written there; nothing is made then.
        RequestError: something does not fit in its column; nothing is written then.
    """
    from tankbook.output.paper.form import PAPER, legible_form, print_form

    said, runs = legible_form(form)
    told = print_into(file, lambda: print_form(said, PAPER[desk.shore]), what)
    if not runs:
        return told
    records = {id(each): each for id_ in ids for each in records_on(desk.book, id_)}
    notes = (one_line(line) for line in left_out(runs, records.values(), what))
    return f"{told}{desk.page.paragraphs(notes, hang='  ')}\n"


def records_on(book: Book, id_: str) -> tuple[Record, ...]:
    """What a paper of a cylinder or set is made from: its card and those of its sides, the
    settings, the log."""
    from tankbook.rules.fill_history import lines_about

    doubles = book.sets.get(id_)
    cards = (id_, *(doubles.cylinders if doubles else ()))
    found = (book.cylinders.get(each) for each in cards)
    own = (doubles, *found, book.settings)
    return (*(each for each in own if each is not None), *lines_about(book, id_))


def left_out(runs: Iterable[str], records: Iterable[Record], what: str) -> Iterator[str]:
    """Of each run of characters that could not be printed, where it is written: file and key."""
    from tankbook.output.paper.face import LETTERS, why_not_printed

    records = tuple(records)
    for run in runs:
        places = list(dict.fromkeys(_written(run, records)))
        for place in places or [what]:
            yield f"{place}: {why_not_printed(run)}; a line to write on stands there: {LETTERS}"


def _written(run: str, records: Iterable[Record]) -> Iterator[str]:
    """The places whose text holds a run of characters that is not printed."""
    from tankbook.output.paper.face import legible

    for record in records:
        for trail, text in _texts(record):
            if not text.isascii() and run in legible(text)[1]:
                where = getattr(record, "where", None) or record.source.at(*trail)
                keys = (str(step) for step in trail if isinstance(step, str))
                yield f"{where}: {'.'.join(keys)}"


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
