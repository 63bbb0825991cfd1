"""`tankbook validate`."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import DONE, NO, Answer, RequestError, as_data
from tankbook.cli.options import Json, Ledger, On, common

if TYPE_CHECKING:
    from tankbook.records.book import Book

FORMATS = ("text", "github")


def validate(
    context: typer.Context,
    form: Annotated[
        str,
        typer.Option("--format", metavar="text|github", help="github: annotations for a check."),
    ] = "text",
    newly: Annotated[
        bool,
        typer.Option("--newly", help="Only what this version refuses and the last did not."),
    ] = False,
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer:
    """Read every file and check the records against each other; all faults in one run.

    Exit code 1 when there is a fault; advice alone is 0. With --newly, every cylinder that only
    this version refuses, by what is to be mended.
    """
    from tankbook.cli.desk import clock, compared, files_asked
    from tankbook.ledger.contacts import check_contacts
    from tankbook.ledger.finding import SETTINGS_FILE
    from tankbook.ledger.load import read_from
    from tankbook.output import findings as output
    from tankbook.records.node import Severity
    from tankbook.rules.checks import check

    asked = common(context, json, on, ledger)
    if form not in FORMATS:
        raise RequestError(f"--format: {form!r} is not known", f"known: {', '.join(FORMATS)}")
    with files_asked(asked) as source:
        book, today, root = read_from(source.files, clock=clock()), source.today, source.root
    book = book.as_known_on(today)
    book = compared(book, root, today) if source.commit is None else book
    if newly:
        from tankbook.rules.newly import newly_refused

        groups = newly_refused(book, today)
        code = NO if groups else DONE
        if asked.json:
            return as_data(output.newly_data(groups), code, source.notes)
        return Answer(output.newly(groups, read(book)), code, source.notes)
    findings = [*book.findings, *(check_contacts(root) if source.commit is None else ())]
    if not any(f.where.path == SETTINGS_FILE for f in findings):
        findings += check(book, today)  # without settings every person and rule would be unknown
    findings.sort(key=lambda f: f.where)
    code = NO if any(f.severity is Severity.FAULT for f in findings) else DONE
    if asked.json:
        return as_data(output.data(findings), code, source.notes)
    if form == "github":
        return Answer(output.github(findings, read(book), _folder(root)), code, source.notes)
    return Answer(output.text(findings, read(book)), code, source.notes)


def read(book: Book) -> str:
    """What was read, counted."""
    from tankbook.output.page import counted

    return f"{counted(len(book.cylinders), 'cylinder')}, {counted(len(book.log), 'log line')}"


def _folder(root: Path) -> str:
    """The ledger's path from where annotations count: the hosted check's workspace, else here."""
    folder = Path(os.path.relpath(root, os.environ.get("GITHUB_WORKSPACE") or ".")).as_posix()
    return "" if folder == "." else folder
