"""`tankbook reject` and `tankbook condemn`."""

from __future__ import annotations

from typing import Annotated

import typer

from tankbook.cli.answer import Answer
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import By, Commit, Day, DryRun, Id, TimeOfDay, asked, run, time_of


def reject(
    context: typer.Context,
    id_: Id,
    why: Annotated[
        str,
        typer.Option("--why", metavar="TEXT", help="What is wrong with it.", show_default=False),
    ] = "",
    told: Annotated[
        str,
        typer.Option(
            "--told",
            metavar="HOW",
            help="How the owner was told in writing, such as `letter`; may follow later.",
            show_default=False,
        ),
    ] = "",
    by: By = "",
    on: Day = "",
    at: TimeOfDay = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Reject a cylinder, as an inspector may, and record the notice to its owner.

    Only a requalifier condemns (`condemn`). With --told alone, the notice to the owner of a
    cylinder already rejected is recorded.
    """
    from tankbook.acts.reject import reject as plan

    given = asked(context, json, on, ledger, by, dry_run, commit)
    return run(
        given,
        lambda bench: plan(
            bench.book,
            bench.resolve([id_])[0],
            why=why,
            by=bench.by,
            on=bench.today,
            told=told,
            at=time_of(bench, at),
        ),
    )


def condemn(
    context: typer.Context,
    id_: Id,
    by: Annotated[
        str,
        typer.Option(
            "--by", metavar="REQUALIFIER", help="Who condemned it: a RIN.", show_default=False
        ),
    ] = "",
    why: Annotated[
        str, typer.Option("--why", metavar="TEXT", help="On what ground.", show_default=False)
    ] = "",
    marked: Annotated[
        str,
        typer.Option(
            "--marked",
            metavar="TEXT",
            help="How it was marked, such as `CONDEMNED on the shoulder`.",
            show_default=False,
        ),
    ] = "",
    consent: Annotated[
        str,
        typer.Option(
            "--consent",
            metavar="TEXT",
            help="The owner's consent to destroy it, such as `letter of 2026-03-04`.",
            show_default=False,
        ),
    ] = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record that a requalifier condemned a cylinder: who, why, how it was marked.

    It may be destroyed only with its owner's consent, which may be recorded later: give --consent
    alone then.
    """
    from tankbook.acts.reject import condemn as plan
    from tankbook.units import PartialDate

    given = asked(context, json, on, ledger, by, dry_run, commit)
    return run(
        given,
        lambda bench: plan(
            bench.book,
            bench.resolve([id_])[0],
            why=why,
            by=given.by,
            on=PartialDate.of(bench.today),
            marked=marked,
            consent=consent,
        ),
    )
