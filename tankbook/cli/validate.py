"""`tankbook validate`."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError, as_data
from tankbook.cli.options import Common

if TYPE_CHECKING:
    from tankbook.records.book import Book

FORMATS = ("text", "github")


def validate(
    asked: Common,
    form: Annotated[
        str, Opt("text|github", "github: annotations for a check.", "--format")
    ] = "text",
    newly: Annotated[bool, Flag("Only what this version refuses and the last did not.")] = False,
) -> Answer:
    """Read every file and check the records against each other; all faults in one run.

    Exit code 1 when there is a fault; advice alone is 0. With --newly, every cylinder that only
    this version refuses, by what is to be mended.
    """
    from tankbook.cli import loud
    from tankbook.cli.open_ledger import LedgerSource, asked_of, clock, compared, moment
    from tankbook.ledger.contacts import check_contacts
    from tankbook.ledger.load import read_from
    from tankbook.ledger.names import SETTINGS_FILE
    from tankbook.output import findings as output
    from tankbook.records.node import Severity
    from tankbook.rules.checks import check

    if form not in FORMATS:
        raise RequestError(f"--format: {form!r} is not known", f"known: {', '.join(FORMATS)}")

    def opened(source: LedgerSource) -> tuple[LedgerSource, Book]:
        book = read_from(source.files, clock=clock(), now=moment()).as_known_on(source.today)
        if source.commit is None:
            book = compared(book, source.root, source.today)
        return source, book

    source, book = asked_of(asked, opened)
    today, root = source.today, source.root
    pending = loud.pending_line(book.findings)
    if newly:
        from tankbook.rules.newly import newly_refused

        groups = newly_refused(book, today)
        code = NO if groups else DONE
        if asked.json:
            return as_data(output.newly_data(groups), code, source.notes)
        answer = Answer(output.newly(groups, read(book)), code, source.notes)
        return loud.told(answer, pending)
    findings = [*book.findings, *(check_contacts(root) if source.commit is None else ())]
    if not any(f.where.path == SETTINGS_FILE for f in findings):
        findings += check(book, today)  # without settings every person and rule would be unknown
    findings.sort(key=lambda f: f.where)
    code = NO if any(f.severity is Severity.FAULT for f in findings) else DONE
    if asked.json:
        return as_data(output.data(findings), code, source.notes)
    if form == "github":
        text = output.github(findings, read(book), _folder(root))
    else:
        text = output.text(findings, read(book))
    return loud.told(Answer(text, code, source.notes), pending)


def read(book: Book) -> str:
    """What was read, counted."""
    from tankbook.output.page import counted

    return f"{counted(len(book.cylinders), 'cylinder')}, {counted(len(book.log), 'log line')}"


def _folder(root: Path) -> str:
    """The ledger's path from where annotations count: the hosted check's workspace, else here."""
    folder = Path(os.path.relpath(root, os.environ.get("GITHUB_WORKSPACE") or ".")).as_posix()
    return "" if folder == "." else folder
