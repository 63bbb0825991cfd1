"""`tankbook audit`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import DONE, NO, Answer, as_data
from tankbook.cli.options import Json, Ledger, On, common

if TYPE_CHECKING:
    from tankbook.cli.archive import Archive
    from tankbook.records.commits import Step
    from tankbook.rules.signs import Terms


def audit(
    context: typer.Context,
    late: Annotated[
        int | None,
        typer.Option(
            "--late",
            metavar="DAYS",
            min=0,
            help="Days after which an entry is late; else as the settings say, or 14.",
            show_default=False,
        ),
    ] = None,
    many: Annotated[
        int | None,
        typer.Option(
            "--many",
            metavar="N",
            min=1,
            help="Cylinders one commit may touch; else as the settings say, or 50.",
            show_default=False,
        ),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="List every sign (JSON does).")] = False,
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer:
    """Read every commit and list the signs of tampering: past entries altered or removed, ...

    Exit code 1 when there are any. Corrections made with `correct` are listed apart.
    """
    from tankbook.cli import loud
    from tankbook.cli.archive import archive_of
    from tankbook.cli.desk import page
    from tankbook.ledger.gitlog import count, steps
    from tankbook.output import audit as output
    from tankbook.rules.audit import audit as audit_of

    asked = common(context, json, on, ledger)

    def told(archive: Archive) -> Answer:
        found = steps(archive.repository, archive.objects, archive.tip)
        shown = _watched(found, count(archive.repository, archive.tip))
        answer = audit_of(chain(shown, archive.unsaved()), _terms(archive, late, many))
        shallow, notes = archive.repository.shallow, archive.notes
        pending = loud.pending(archive.pending)
        code = loud.code_with(NO if answer.signs else DONE, pending)
        if asked.json:
            return as_data(loud.in_data(output.data(answer, shallow), pending), code, notes)
        paper = page()
        text = output.text(answer, shallow, paper, everything=everything)
        said = loud.pending_line(archive.pending)
        return loud.told(Answer(text, code, notes), said, paper.width)

    return archive_of(asked, told)


def _terms(archive: Archive, late: int | None, many: int | None) -> Terms:
    """What is asked for, else what the settings say."""
    from tankbook.ledger.part import settings_of
    from tankbook.rules.signs import LATE_DAYS, MANY, Terms

    settings = settings_of(archive.latest)
    late = settings.late_entry if late is None else late
    many = settings.many_at_once if many is None else many
    return Terms(
        settings.people, LATE_DAYS if late is None else late, MANY if many is None else many
    )


def _watched(steps: Iterable[Step], commits: int) -> Iterator[Step]:
    """The steps as they come, with how far they are on a terminal."""
    from tankbook.cli.progress import Progress

    show = Progress("Reading commits")
    done, last = 0, ""
    for step in steps:
        if step.commit.id != last:
            done, last = done + 1, step.commit.id
            show(done, commits)
        yield step
