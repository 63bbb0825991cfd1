"""What is told of a fill that its banks can hardly have given: advice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from tankbook.acts.soundness import lines_of
from tankbook.records.book import Book
from tankbook.records.edits import Edit
from tankbook.records.naming import line_named
from tankbook.rules.bank_air import beyond_of
from tankbook.rules.fill_history import void_key


def beyond_banks(book: Book, edits: Sequence[Edit]) -> Iterator[str]:
    """Of each fill among the lines that are entered that its banks can hardly have given, with what
    is to be done."""
    lines = tuple(lines_of(edits))
    found = beyond_of(replace(book, log=(*book.log, *lines)))
    mine = [found[key] for line in lines if (key := void_key(line)) in found]
    for each in mine:
        yield f"{each.line.cylinder}: WARNING: filled to {each.line.to}, and {each.can_have_shown}"
    for each in mine[:1]:
        line = each.line
        yield (
            "read the bank (`tankbook station read`); record when it was raised (`tankbook station "
            f"raise`), or what the fill came from (`tankbook correct {line.cylinder} fill "
            f"{line_named(line.at)} --set source=NAME --why WHY`)"
        )
