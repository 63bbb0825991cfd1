"""`tankbook send`, `tankbook back` and `tankbook refit`."""

from __future__ import annotations

from typing import Annotated

import typer

from tankbook.cli.answer import Answer
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import By, Commit, Day, DryRun, Ids, asked, run


def send(
    context: typer.Context,
    ids: Ids,
    for_: Annotated[
        str, typer.Option("--for", metavar="requalification|repair", help="What for.")
    ] = "requalification",
    to: Annotated[
        str,
        typer.Option(
            "--to",
            metavar="WHO",
            help="Who gets them; for a test the settings' requalifier, if not said.",
            show_default=False,
        ),
    ] = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Send cylinders to a requalifier or a repairer, so that none is ever simply missing."""
    from tankbook.acts.away import send as plan
    from tankbook.cli import option_values
    from tankbook.records.words import SentFor

    given = asked(context, json, on, ledger, by, dry_run, commit)
    purpose = option_values.word("--for", for_, SentFor)
    return run(
        given,
        lambda bench: plan(
            bench.book, bench.resolve(ids), to=to, for_=purpose, by=bench.by, on=bench.today
        ),
    )


def back(
    context: typer.Context,
    ids: Ids,
    refitted: Annotated[
        bool, typer.Option("--refitted", help="Dried, and their valves refitted, as well.")
    ] = False,
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Have cylinders back from test or repair: to be dried, refitted and inspected."""
    from tankbook.acts.away import back as plan

    given = asked(context, json, on, ledger, by, dry_run, commit)
    return run(
        given,
        lambda bench: plan(
            bench.book, bench.resolve(ids), by=bench.by, on=bench.today, refitted=refitted
        ),
    )


def refit(
    context: typer.Context,
    ids: Ids,
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record that cylinders back from test or repair were dried and their valves refitted."""
    from tankbook.acts.away import refit as plan

    given = asked(context, json, on, ledger, by, dry_run, commit)
    return run(
        given, lambda bench: plan(bench.book, bench.resolve(ids), by=bench.by, on=bench.today)
    )
