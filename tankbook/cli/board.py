"""Bare `tankbook`: today's board."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankbook.cli.answer import Answer
from tankbook.cli.options import Common

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.records.audited import Checkpoint


def board(asked: Common) -> Answer:
    """Today's board."""
    from msgspec.structs import replace

    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.git import copies_of, ignored, uncommitted
    from tankbook.output import board as output
    from tankbook.output.audit import audited_line
    from tankbook.rules.board import board as board_of

    desk = open_desk(asked, fleet=True)
    answer = board_of(desk.book, desk.today)
    files = uncommitted(desk.root) if desk.commit is None else None
    heads = desk.book.absence.heads
    unseen = ignored(desk.root) if files is not None else []
    copies = copies_of(desk.root) if files is not None and heads.head else None
    audited, unread = _audited(desk) if files is not None else (None, "")
    absence = desk.book.absence
    why = next((u.why for u in absence.unseen if not u.path), "")
    history = audited_line(audited) if audited else unread or output.NEVER_AUDITED
    history = history if files is not None and absence.heads.exists else ""
    git = output.OfGit(files, unseen, copies, audited, why, history)
    if asked.json:
        return desk.data(output.data(answer, git))
    if desk.commit is not None:
        git = replace(git, uncommitted=())
    return desk.answer(output.text(answer, git, desk.page))


def _audited(desk: Desk) -> tuple[Checkpoint | None, str]:
    """Up to where the history was audited, as the ledger says and as far as that was proved; and
    why that is not known."""
    from tankbook.ledger.checkpoints import checkpoints_in
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.files import OnDisk

    wrong = desk.book.absence.unproved
    if wrong is not None:
        return None, f"Up to where the history was audited is not known: {wrong.why}; {wrong.mend}"
    try:
        every = checkpoints_in(OnDisk(desk.root))
    except LedgerError as error:
        return None, f"Up to where the history was audited cannot be read: {error.text}"
    return (every[-1] if every else None), ""
