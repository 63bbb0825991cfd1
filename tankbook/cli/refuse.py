"""`tankbook refuse`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.fill_log_options import Note
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import Bench, By, Commit, Day, DryRun, Ids, asked, run

if TYPE_CHECKING:
    from tankbook.records.edits import Act, Refusal


def refuse(
    context: typer.Context,
    ids: Ids,
    reason: Annotated[
        list[str] | None,
        typer.Option(
            "--reason",
            metavar="TEXT",
            help="What was shown; else what the rules have against a fill.",
            show_default=False,
        ),
    ] = None,
    told: Annotated[
        str,
        typer.Option(
            "--told",
            metavar="HOW",
            help="Owner told: in person, telephone, letter.",
            show_default=False,
        ),
    ] = "",
    earlier: Annotated[
        bool, typer.Option("--earlier", help="Told of a refusal that is on record already.")
    ] = False,
    gas: Annotated[
        str, typer.Option("--gas", metavar="GAS", help="The gas wanted.", show_default=False)
    ] = "",
    note: Note = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Record a refusal at the counter: the reasons shown, and that the owner was told."""
    from tankbook.acts.refuse import refuse as plan
    from tankbook.acts.refuse import tell
    from tankbook.cli import option_values

    given = asked(context, json, on, ledger, by, dry_run, commit)
    mixture = option_values.gas("--gas", gas) if gas else None
    if earlier and (reason or not told):
        mend = "give --told, and no --reason"
        raise RequestError("--earlier records only that the owner was told", mend)

    def planned(bench: Bench) -> Act | Refusal:
        named = bench.resolve(ids)
        if earlier:
            return tell(bench.book, named, by=bench.by, on=bench.today, told_how=told, note=note)
        return plan(
            bench.book,
            named,
            by=bench.by,
            on=bench.today,
            reasons=reason or (),
            told_how=told,
            gas=mixture,
            note=note,
        )

    return run(given, planned)
