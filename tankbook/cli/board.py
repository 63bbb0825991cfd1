"""Bare `tankbook`: today's board."""

from __future__ import annotations

from tankbook.cli.answer import Answer
from tankbook.cli.options import Common


def board(asked: Common) -> Answer:
    """Today's board."""
    from tankbook.cli.desk import open_desk
    from tankbook.ledger.copies import copies_of
    from tankbook.ledger.git import ignored, uncommitted
    from tankbook.output import board as output
    from tankbook.rules.board import board as board_of

    desk = open_desk(asked)
    answer = board_of(desk.book, desk.today)
    files = uncommitted(desk.root) if desk.commit is None else None
    heads = desk.book.absence.heads
    unseen = ignored(desk.root) if files is not None else []
    copies = copies_of(desk.root) if files is not None and heads.head else None
    if asked.json:
        return desk.data(output.data(answer, files, unseen, copies), fleet=True)
    shown = files if desk.commit is None else ()
    absence = desk.book.absence
    why = next((u.why for u in absence.unseen if not u.path), "")
    told = output.text(answer, shown, desk.page, why, unseen, copies)
    return desk.answer(told, fleet=True)
