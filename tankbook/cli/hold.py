"""`tankbook hold` and `tankbook release`."""

from __future__ import annotations

from typing import Annotated

import typer

from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import By, Commit, Day, DryRun, Ids, TimeOfDay, asked, run, time_of


def hold(
    context: typer.Context,
    ids: Ids,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="Why it is set aside.")],
    by: By = "",
    on: Day = "",
    at: TimeOfDay = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Set cylinders aside until somebody decides; they are not filled meanwhile."""
    from tankbook.acts.hold import hold as plan

    given = asked(context, json, on, ledger, by, dry_run, commit)
    return run(
        given,
        lambda bench: plan(
            bench.book,
            bench.resolve(ids),
            why=why,
            by=bench.by,
            on=bench.today,
            at=time_of(bench, at),
        ),
    )


def release(
    context: typer.Context,
    ids: Ids,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="Why it may go back.")],
    held: Annotated[
        str,
        typer.Option(
            "--held",
            metavar="DATE",
            help="Which hold, by its date, or DATE#2 for the second of that day.",
            show_default=False,
        ),
    ] = "",
    every: Annotated[bool, typer.Option("--all", help="All the holds of a cylinder.")] = False,
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Let held cylinders go, and lift a rejection that a later test or inspection has answered.

    Somebody certified does it, where that is kept. What still keeps them from being filled is said.
    """
    from tankbook.acts.hold import release as plan
    from tankbook.cli import option_values

    given = asked(context, json, on, ledger, by, dry_run, commit)
    day, _, number = held.partition("#")
    held_on = option_values.date("--held", day) if held else None
    if number and not (number.isdecimal() and int(number)):
        raise RequestError(f"--held: {held!r} names no hold", "as they are listed: 2026-11-20#2")
    nth = int(number) if number else 0
    return run(
        given,
        lambda bench: plan(
            bench.book,
            bench.resolve(ids),
            why=why,
            by=bench.by,
            on=bench.today,
            held_on=held_on,
            nth=nth,
            every=every,
        ),
    )
