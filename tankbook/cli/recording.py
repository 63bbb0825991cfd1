"""How a recording command runs: the ledger locked, an act planned on it, written and told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from msgspec import Struct

from tankbook.cli.answer import DONE, NO, Answer, RequestError, shown
from tankbook.cli.local import refuse_left_out
from tankbook.cli.options import Common, common

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.ledger.apply import Recorded
    from tankbook.records.book import Book
    from tankbook.records.edits import Act, Refusal

Ids = Annotated[list[str], typer.Argument(metavar="ID", help="Cylinders or sets; a tail will do.")]
Id = Annotated[str, typer.Argument(metavar="ID", help="The cylinder; a tail will do.")]
By = Annotated[
    str,
    typer.Option(
        "--by",
        metavar="XX",
        help="Initials of who did it; the settings' operator, if not said.",
        show_default=False,
    ),
]
Day = Annotated[
    str,
    typer.Option(
        "--on",
        metavar="DATE",
        help="The day it was done (2026-11-25); today, if not said.",
        show_default=False,
    ),
]
DryRun = Annotated[bool, typer.Option("--dry-run", help="Show what would change, write nothing.")]
TimeOfDay = Annotated[
    str,
    typer.Option(
        "--at",
        metavar="TIME",
        help="At what time of the day (16:30); now, if it is dated today.",
        show_default=False,
    ),
]
Commit = Annotated[
    bool | None,
    typer.Option(
        "--commit/--no-commit",
        help="Commit it to git, or not; else as the settings say.",
        show_default=False,
    ),
]


LONGEST_ID = 64
"""Characters of the longest id there can be."""
LONGEST_PATH = 1024


class Asked(Struct, frozen=True):
    """The options of a recording command as given."""

    common: Common
    by: str
    dry_run: bool
    commit: bool | None


class Bench(Struct, frozen=True):
    """What an act is planned from: the whole ledger, the day, the moment, and who signs.

    Unlike an answering command's, the book holds records later than the day as well: they are in
    the files that are written.
    """

    desk: Desk
    by: str
    now: dt.datetime

    @property
    def book(self) -> Book:
        """The records."""
        return self.desk.book

    @property
    def today(self) -> dt.date:
        """The day the act is dated."""
        return self.desk.today

    @property
    def at(self) -> dt.time | None:
        """The time of day, where the act is dated today by the clock; of another day nobody
        knows it."""
        return self.now.time() if self.today == self.book.clock else None

    def resolve(self, ids: list[str]) -> list[str]:
        """The full ids that the given ones stand for.

        Raises:
            LedgerError: no id, or more than one, is meant.
            RequestError: a text can be none.
        """

        for text in ids:
            if not text.isprintable() or len(text) > LONGEST_ID:
                raise RequestError(f"{shown(text)} names no cylinder or set", "write its id")
        return self.desk.resolve(ids)


def file_named(option: str, text: str) -> Path:
    """A file that is named on the command line.

    Raises:
        RequestError: no file is called so.
    """
    if not text.isprintable() or len(text) > LONGEST_PATH:
        raise RequestError(f"{option}: {shown(text)} names no file", "check the path")
    return Path(text)


def time_of(bench: Bench, text: str) -> dt.time | None:
    """The time of day said with --at, else that of the clock where the act is dated today.

    Raises:
        RequestError: it is no time, or lies ahead.
    """

    if not text:
        return bench.at
    try:
        at = dt.time.fromisoformat(text)
        if len(text) != 5:
            raise ValueError
    except ValueError:
        raise RequestError(f"--at: {shown(text)} is not a time of day", "write 16:30") from None
    if bench.at is not None and at > bench.at:
        raise RequestError(f"--at: {text} lies ahead", f"it is {bench.now:%H:%M}")
    refuse_left_out("--at", bench.today, at)
    return at


def asked(
    context: typer.Context,
    json: bool,
    on: str,
    ledger: str,
    by: str,
    dry_run: bool,
    commit: bool | None,
) -> Asked:
    """A recording command's options, with those given before its name."""
    return Asked(common(context, json, on, ledger), by, dry_run, commit)


def run(given: Asked, plan: Callable[[Bench], Act | Refusal], *, again: bool = False) -> Answer:
    """Plan an act on the ledger as it stands, nobody else writing, record it and tell it.

    With `again` it is recorded even where it is the same as one that could not be told.

    Raises `LedgerError` and `RequestError`; nothing is written then.
    """
    from msgspec.structs import replace

    from tankbook.cli.allowing import ask_leave
    from tankbook.cli.open_ledger import (
        Desk,
        clock,
        compared,
        day_done,
        moment,
        moment_asked,
        page,
        root_asked,
        told,
    )
    from tankbook.ledger.apply import record
    from tankbook.output import as_json
    from tankbook.output import recorded as output
    from tankbook.records.edits import Refusal

    today, now, root = day_done(given.common), moment_asked(given.common), root_asked(given.common)
    desks: list[Desk] = []
    if not given.dry_run:
        ask_leave(root, given.commit)

    def planned(book: Book) -> Act | Refusal:
        known = compared(replace(book, clock=clock(), now=moment()), root, today)
        desk = Desk(root, known, today, page(book.settings.units))
        desks.append(desk)
        return plan(Bench(desk, given.by or book.settings.operator or "", now))

    done = record(
        root,
        planned,
        dry_run=given.dry_run,
        commit=given.commit,
        by=given.by,
        again=again,
        tell=told,
    )
    code = NO if isinstance(done, Refusal) else DONE
    if given.common.json:
        answer = Answer(as_json.dumps(output.data(done)), code, desks[-1].notes)
    else:
        answer = Answer(output.text(done, desks[-1].page), code, desks[-1].notes)
    return acknowledging(answer, root, done)


def acknowledging(answer: Answer, root: Path, done: Recorded | Refusal) -> Answer:
    """The answer to an act, which is acknowledged once it is out."""
    from msgspec.structs import replace

    from tankbook.ledger.receipts import acknowledge
    from tankbook.records.edits import Refusal

    if isinstance(done, Refusal) or not done.receipt:
        return answer
    return replace(answer, out=lambda: acknowledge(root, done.receipt))
