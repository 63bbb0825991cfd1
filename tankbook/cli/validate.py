"""`tankbook validate`."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError, as_data
from tankbook.cli.options import Common

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from tankbook.ledger.files import Files
    from tankbook.records.book import Book
    from tankbook.records.node import Finding

FORMATS = ("text", "github")


def validate(
    asked: Common,
    form: Annotated[
        str, Opt("text|github", "github: annotations for a check.", "--format")
    ] = "text",
    newly: Annotated[bool, Flag("Only what this version refuses and the last did not.")] = False,
    staged: Annotated[
        bool, Flag("All that is staged in git, as the next commit would have it: for a hook.")
    ] = False,
) -> Answer:
    """Read every file and check the records against each other; all faults in one run.

    Exit code 1 when there is a fault; advice alone is 0. With --newly, every cylinder that only
    this version refuses, by what is to be mended.
    """
    from tankbook.cli import keys, loud
    from tankbook.cli.open_ledger import LedgerSource, asked_of, clock, compared, moment
    from tankbook.ledger.contacts import check_contacts
    from tankbook.ledger.load import read_from
    from tankbook.output import findings as output

    if form not in FORMATS:
        raise RequestError(f"--format: {form!r} is not known", f"known: {', '.join(FORMATS)}")

    if staged:
        if asked.as_of or newly:
            other = "--as-of" if asked.as_of else "--newly"
            raise RequestError(f"--staged and {other} ask two things", "give one of them")
        return _of_index(asked, form)

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
        said = keys.fitted_lines(output.newly(groups, read(book)))
        answer = Answer(said, code, source.notes)
        return loud.told(answer, pending)
    more = [*check_contacts(root), *_of_schemas(source.files)] if source.commit is None else ()
    findings = _all_of(book, today, *more)
    answer = _told(findings, book, form, root, source.notes, as_json=asked.json)
    return answer if asked.json else loud.told(answer, pending)


def _of_index(asked: Common, form: str) -> Answer:
    """What the next commit would hold. Takes no lock and finishes nothing: whoever commits may hold
    the lock, and wait for this."""
    from tankbook.cli.open_ledger import clock, compared, day_asked, moment, root_asked
    from tankbook.ledger.contacts import check_contacts
    from tankbook.ledger.load import read_from
    from tankbook.ledger.staged import staged

    today, root = day_asked(asked), root_asked(asked)
    with staged(root) as files:
        book = read_from(files, clock=clock(), now=moment()).as_known_on(today)
        book = compared(book, root, today, files.folder())
        schemas = list(_of_schemas(files))
    findings = _all_of(book, today, *check_contacts(root), *schemas)
    return _told(findings, book, form, root, (), as_json=asked.json)


def _of_schemas(files: Files) -> Iterator[Finding]:
    """What is told of schemas that this version would write otherwise: those of another version, or
    what a merge left of them."""
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.modelines import SCHEMAS, WHERE, WRITE_SCHEMAS, file_of
    from tankbook.output.schema import all_files
    from tankbook.records.node import Finding, Severity, Where

    there = set(files.names(SCHEMAS))
    if not there & {file_of(name) for name in WHERE}:
        return
    other = []
    for name, data in all_files().items():
        try:
            is_ = files.read(f"{SCHEMAS}/{name}") if name in there else b""
        except LedgerError:
            is_ = b""
        if is_.replace(b"\r\n", b"\n") != data:
            other.append(name)
    if other:
        text = f"{', '.join(other)}: not as this version writes it, so an editor may check wrongly"
        where = Where(f"{SCHEMAS}/{other[0]}")
        yield Finding(
            where, "schemas-old", text, f"{WRITE_SCHEMAS} writes them anew", Severity.ADVICE
        )


def _all_of(book: Book, today: dt.date, *more: Finding) -> list[Finding]:
    """What reading found, and the checks, in the order of files and lines."""
    from tankbook.ledger.names import SETTINGS_FILE
    from tankbook.rules.checks import check

    findings = [*book.findings, *more]
    if not any(f.where.path == SETTINGS_FILE for f in findings):
        findings += check(book, today)  # without settings every person and rule would be unknown
    return sorted(findings, key=lambda f: f.where)


def _told(
    findings: list[Finding],
    book: Book,
    form: str,
    root: Path,
    notes: tuple[str, ...],
    *,
    as_json: bool,
) -> Answer:
    """The findings as they are wanted; no where there is a fault."""
    from tankbook.cli import keys
    from tankbook.output import findings as output
    from tankbook.records.node import Severity

    code = NO if any(f.severity is Severity.FAULT for f in findings) else DONE
    if as_json:
        return as_data(output.data(findings), code, notes)
    if form == "github":
        text = output.github(findings, read(book), _folder(root))
    else:
        text = keys.fitted_lines(output.text(findings, read(book)))
    return Answer(text, code, notes)


def read(book: Book) -> str:
    """What was read, counted."""
    from tankbook.output.page import counted

    said = f"{counted(len(book.cylinders), 'cylinder')}, {counted(len(book.log), 'log line')}"
    unread = len(book.broken_cards)
    return f"{said}; {counted(unread, 'file')} that may be a card NOT READ" if unread else said


def _folder(root: Path) -> str:
    """The ledger's path from where annotations count: the hosted check's workspace, else the top of
    the repository that it lies in, else here."""
    from tankbook.ledger.names import tops

    top = os.environ.get("GITHUB_WORKSPACE") or next((t for t, _ in tops(root)), Path.cwd())
    folder = Path(os.path.relpath(root.resolve(), Path(top).resolve())).as_posix()
    return "" if folder == "." else folder
