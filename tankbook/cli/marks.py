"""`tankbook marks`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Arg
from tankbook.cli.answer import DONE, Answer, RequestError, as_data
from tankbook.cli.options import Common


def marks(
    asked: Common,
    line: Annotated[str, Arg("MARKS", "A shoulder line, in quotes.")],
) -> Answer:
    """What stamp marks mean, mark by mark, with citations. What cannot be read is never guessed.

    Needs no ledger; where one is here, what it has of that serial is told. A test dated later
    than today, or than --on, is in doubt.
    """
    from tankbook.cli.open_ledger import day_asked, page
    from tankbook.ledger import shipped
    from tankbook.output import marks as output
    from tankbook.records.marks import read_marks

    if not line.strip():
        raise RequestError("there are no marks to read", 'write them in quotes: "DOT-3AL 3000 ..."')
    found = read_marks(line, shipped.marks(), today=day_asked(Common(on=asked.on)))
    known, notes = _on_record(asked, line) if found.serial else ((), ())
    if asked.json:
        return as_data({**output.data(found), "on_record": known}, DONE, notes)
    told = "".join(f"\n{page().wrap(f'HERE ON RECORD: {each}')}\n" for each in known)
    return Answer(output.text(found, page()) + told, DONE, notes)


def _on_record(asked: Common, line: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What the ledger here has of a cylinder with these marks, and why it could not be asked."""
    from tankbook.acts.counter import on_record
    from tankbook.cli.open_ledger import open_desk, root_asked
    from tankbook.cli.walk_in import MarksSeen
    from tankbook.ledger.errors import LedgerError

    if not asked.ledger:
        try:
            root_asked(asked)
        except LedgerError:
            return (), ()
    try:
        desk = open_desk(asked)
        return on_record(desk.book, MarksSeen(line).card(desk.book), desk.today), desk.notes
    except LedgerError as error:
        return (), (f"tankbook: the ledger here was not asked: {error}",)
    except RequestError:
        return (), ()  # what its marks lack is told with them
