"""Names and telephone numbers of contacts: told where they are asked for, and nowhere else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Flag

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.cli.options import Common
    from tankbook.output.people import Names

NamesAsked = Annotated[bool, Flag("Tell the names and telephone numbers that this computer knows.")]

HINT = "\nNames and telephone numbers are known here: add --names.\n"


def open_with_names(asked: Common) -> Desk:
    """As `open_desk`, of an answer that says whom to ring: what is wrong with the file of names and
    numbers is told with it."""
    from msgspec.structs import replace

    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.contacts import read_contacts

    desk = open_desk(asked)
    _, wrong = read_contacts(desk.root)
    return replace(desk, book=replace(desk.book, findings=(*desk.book.findings, *wrong)))


def names_asked(root: Path, asked: bool) -> Names:
    """The contacts by reference where they were asked for, none else."""
    from tankbook.ledger.contacts import contacts

    return contacts(root) if asked else {}


def with_hint(root: Path, asked: bool, text: Callable[[Names], str]) -> str:
    """A text about people, with how to ask for their names where any would be told."""
    said = text(names_asked(root, asked))
    if asked or text(names_asked(root, True)) == said:
        return said
    return said + HINT
