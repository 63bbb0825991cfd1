"""`tankbook dispatch`."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError, shown
from tankbook.cli.options import Common, Csv
from tankbook.cli.papers import Html, Into, PaperSize, PdfToo

if TYPE_CHECKING:
    from tankbook.acts.dispatch import DispatchNote
    from tankbook.cli.open_ledger import Desk


def dispatch(
    asked: Common,
    which: Annotated[
        str, Arg("DATE", "The note of that day; of several DATE#PLACE, or how it begins.")
    ] = "",
    *,
    back: Annotated[
        bool, Flag("The note back: what came home ticked off, with its result.")
    ] = False,
    counted: Annotated[
        list[str] | None,
        Opt("ID", "The note back against this, counted at the door; may be given again."),
    ] = None,
    csv: Csv = False,
    html: Html = "",
    pdf: PdfToo = "",
    paper: PaperSize = "",
) -> Answer:
    """The dispatch notes: what was sent where, the note to go with it, and the note back.

    What `send` recorded for one place on one day is one note. A cylinder counted that is not on the
    note is told, and the exit code is 1 then.
    """
    from tankbook.acts.dispatch import counted_in, notes_sent, told_of
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import dispatch as output

    into = Into(html, pdf, paper)
    desk = open_desk(asked)
    every = notes_sent(desk.book)
    if not which:
        if into.files or back or counted:
            raise RequestError(
                "which note is not said", "give its day; `tankbook dispatch` lists them"
            )
        if csv:
            return desk.table(output.NOTES, every)
        if asked.json:
            return desk.data(output.NOTES.objects(every))
        return desk.answer(output.listed(every, desk.page))
    note = _one(which, every, tuple(desk.book.broken))
    items = told_of(desk.book, note, desk.today)
    if csv:
        return desk.table(output.ITEMS, items)
    found = counted_in(note, every, *_known(desk, counted)) if counted else None
    ledger = desk.book.settings.ledger
    if back or counted:
        document = output.back(note, items, found, ledger, desk.today)
    else:
        document = output.going(note, items, ledger, desk.page)
    code = NO if found and found.not_on_it else DONE
    of = (desk.book.settings, *(item.card for item in note.items))
    return into.answered(
        desk, document, output.data(note, items, found), json=asked.json, of=of, code=code
    )


def _known(desk: Desk, texts: Sequence[str]) -> tuple[list[str], list[str]]:
    """The ids that were counted, and what is none."""
    from tankbook.ledger.errors import LedgerError

    ids, strangers = list[str](), list[str]()
    for text in texts:
        try:
            ids += desk.every([text])
        except LedgerError:
            strangers.append(text)
    return list(dict.fromkeys(ids)), strangers


def _one(which: str, every: Sequence[DispatchNote], unread: Sequence[str]) -> DispatchNote:
    """The note that a day names, or a day and a place. `unread` are the cards that cannot be read,
    which may belong on it.

    Raises:
        RequestError: there is none, or there are several.
    """
    from tankbook.acts.dispatch import asked_for

    same = asked_for(which, every)
    if not same:
        said = f"no note {shown(which)} is on record"
        if unread:
            said += f"; of what cannot be read nobody knows: {', '.join(unread)}"
            raise RequestError(said, "`tankbook validate` says what to mend")
        raise RequestError(said, "`tankbook dispatch` lists them")
    if len(same) > 1:
        named = ", ".join(shlex.quote(n.name) for n in same)
        raise RequestError(f"{len(same)} notes are of {shown(which)}", f"say which: {named}")
    return same[0]
