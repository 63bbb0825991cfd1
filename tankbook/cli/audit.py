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
    from tankbook.rules.terms import Asked


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
    from tankbook.cli.archive import archive_asked
    from tankbook.cli.desk import page
    from tankbook.ledger.gitlog import count
    from tankbook.ledger.gitwalk import steps
    from tankbook.output import audit as output
    from tankbook.rules.audit import audit as audit_of

    asked = common(context, json, on, ledger)
    with archive_asked(asked) as archive:
        found = steps(archive.repository, archive.objects, archive.tip)
        shown = _watched(found, count(archive.repository, archive.tip))
        answer = audit_of(chain(shown, archive.unsaved()), _asked(archive, late, many))
        shallow, notes = archive.repository.shallow, archive.notes
    code = NO if answer.signs else DONE
    if asked.json:
        return as_data(output.data(answer, shallow), code, notes)
    return Answer(output.text(answer, shallow, page(), everything=everything), code, notes)


def _asked(archive: Archive, late: int | None, many: int | None) -> Asked:
    """What is asked for by hand, and who is certified now."""
    from tankbook.ledger.part import settings_of
    from tankbook.ledger.shipped import sets_of
    from tankbook.rules.terms import Asked

    return Asked(late, many, settings_of(archive.latest).people, sets_of)


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
