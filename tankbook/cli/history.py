"""`tankbook history`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import DONE, Answer, as_data
from tankbook.cli.options import Common, Json, Ledger, On, common

if TYPE_CHECKING:
    from tankbook.cli.archive import Archive
    from tankbook.cli.loud import Fault
    from tankbook.ledger.files import Files
    from tankbook.ledger.gitpast import Past


def history(
    context: typer.Context,
    id_: Annotated[str, typer.Argument(metavar="ID", help="A cylinder or set; a tail will do.")],
    fills: Annotated[bool, typer.Option("--fills", help="Every line of the log.")] = False,
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer:
    """The life of a cylinder in one timeline, and what was changed in its record since.

    Past entries that were edited or removed come first, with date, author and commit.
    """
    from tankbook.cli import ask
    from tankbook.cli.desk import root_asked, told
    from tankbook.ledger.files import OnDisk
    from tankbook.ledger.whole import whole

    asked = common(context, json, on, ledger)
    until = ask.day("--on", asked.on) if asked.on else None
    root = root_asked(asked)
    if asked.as_of:
        return _told(asked, OnDisk(root), id_, until, fills)
    return whole(root, lambda disk: _told(asked, disk, id_, until, fills), told)


def _told(asked: Common, disk: Files, id_: str, until: dt.date | None, fills: bool) -> Answer:
    """The answer, `disk` being the ledger in its folder."""
    from tankbook.cli import loud
    from tankbook.cli.desk import conflicts, page
    from tankbook.ledger import part
    from tankbook.output import history as output
    from tankbook.rules.history import life_of

    with _opened(asked, disk) as (archive, files, why_not):
        name = _named(archive, files, id_)
        path = part.path_of(files, name)
        ids = (name, *part.sets_of(files, name))
        node, faults = part.node_at(files, path)
        formerly = tuple(part.formerly_of(node))
        lines, findings = part.lines_of(files, (*ids, *formerly))
        past = _past(archive, files, path, ids, formerly)
        unsaved = archive.unsaved_commit if archive else None
        life = life_of(name, path, past.steps, node, lines, past.gone, unsaved)
        shore = part.settings_of(files).units
        shallow, notes = (archive.repository.shallow, archive.notes) if archive else (False, ())
        if archive and archive.past:
            until = until or archive.now.date()
    life = life.until(until) if until else life
    archived = output.Archive(past.every, why_not, shallow)
    notes = (*notes, *conflicts([*faults, *findings]))
    of_all, said = _faults(asked, loud.unread([*faults, *findings]))
    code = loud.code_with(DONE, of_all)
    if asked.json:
        data = loud.in_data(output.data(life, archived, fills=fills), of_all)
        return as_data(data, code, notes)
    paper = page(shore)
    text = output.text(life, archived, paper, fills=fills)
    return loud.told(Answer(text, code, notes), said, paper.width)


def _faults(asked: Common, own: tuple[Fault, ...]) -> tuple[tuple[Fault, ...], str]:
    """What must be told of the whole ledger, and in which words; of its own files alone where the
    ledger cannot be opened."""
    from tankbook.cli import loud
    from tankbook.cli.desk import open_desk
    from tankbook.ledger.errors import LedgerError

    try:
        desk = open_desk(asked)
    except LedgerError:
        return own, loud.line(own, ())
    return desk.faults, desk.said


@contextmanager
def _opened(asked: Common, disk: Files) -> Iterator[tuple[Archive | None, Files, str]]:
    """The archive and the ledger's files; where git cannot be asked the files alone, and why."""
    from tankbook.cli.archive import archive_asked
    from tankbook.ledger.errors import LedgerError

    with ExitStack() as stack:
        try:
            archive = stack.enter_context(archive_asked(asked, disk))
        except LedgerError as error:
            if asked.as_of:
                raise
            yield None, disk, error.text
        else:
            yield archive, archive.latest, ""


def _past(
    archive: Archive | None,
    files: Files,
    path: str,
    ids: tuple[str, ...],
    formerly: tuple[str, ...],
) -> Past:
    from tankbook.ledger.gitpast import Past, past_of

    if archive is None:
        return Past()
    where = (archive.repository, archive.objects, archive.tip, archive.unsaved_commit)
    return past_of(*where, path, (*ids, *formerly), files, formerly)


def _named(archive: Archive | None, files: Files, text: str) -> str:
    """The id asked for; one whose file is gone is known to git by its whole id."""
    from tankbook.ledger import part
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.finding import named
    from tankbook.ledger.names import is_safe_id

    try:
        return named(part.ids_of(files), text)
    except LedgerError as error:
        if archive is not None and is_safe_id(text) and archive.once_had(text):
            return text
        if "ends so:" in error.text:
            raise
    from tankbook.ledger.load import load_from, resolve

    return resolve(load_from(files), text)
