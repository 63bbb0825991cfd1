"""`tankbook reading` and `tankbook drain`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import Answer
from tankbook.cli.fill_log_options import (
    Analyst,
    At,
    Degrees,
    Helium,
    Note,
    Oxygen,
    analysed,
    began,
    moment,
    pressures,
)
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import Bench, By, Commit, Day, DryRun, asked, run

if TYPE_CHECKING:
    from tankbook.records.edits import Act, Refusal
    from tankbook.units import Temperature


def reading(
    context: typer.Context,
    ids: Annotated[
        list[str],
        typer.Argument(metavar="ID=PRESSURE", help="Each with what its gauge shows: 14=1200."),
    ],
    o2: Oxygen = None,
    he: Helium = None,
    analysed_by: Analyst = "",
    temperature: Degrees = "",
    note: Note = "",
    by: By = "",
    on: Day = "",
    at: At = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Log what gauges and analysers show. One at nothing is looked inside before it is filled."""
    given = asked(context, json, on, ledger, by, dry_run, commit)

    def planned(bench: Bench) -> Act | Refusal:
        from tankbook.acts.reading import Shown, read_gauges

        read = pressures(bench, "ID", ids)
        oxygen, helium = analysed(bench, o2, he, [id_ for id_, _ in read])
        shown = [Shown(i, pressure, o2=oxygen.get(i), he=helium.get(i)) for i, pressure in read]
        return read_gauges(
            bench.book,
            shown,
            by=bench.by,
            at=moment(given, bench, at),
            temperature=_degrees(bench, temperature),
            note=note,
            analysed_by=analysed_by,
        )

    return run(given, planned)


def drain(
    context: typer.Context,
    ids: Annotated[
        list[str],
        typer.Argument(metavar="ID[=PRESSURE]", help="Each; 14=3000 is bled to that, 14 to 0."),
    ],
    from_: Annotated[
        list[str] | None,
        typer.Option(
            "--from",
            metavar="[ID=]PRESSURE",
            help="What it showed before, of all or of one.",
            show_default=False,
        ),
    ] = None,
    temperature: Degrees = "",
    note: Note = "",
    by: By = "",
    on: Day = "",
    at: At = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Log that gas was let out, all of it or down to a pressure."""
    given = asked(context, json, on, ledger, by, dry_run, commit)

    def planned(bench: Bench) -> Act | Refusal:
        from tankbook.acts.reading import Shown
        from tankbook.acts.reading import drain as plan

        left = pressures(bench, "ID", ids, "0")
        before = began(bench, from_ or [], left)
        return plan(
            bench.book,
            [Shown(id_, pressure, before.get(id_)) for id_, pressure in left],
            by=bench.by,
            at=moment(given, bench, at),
            temperature=_degrees(bench, temperature),
            note=note,
        )

    return run(given, planned)


def _degrees(bench: Bench, text: str) -> Temperature | None:
    from tankbook.cli import option_values

    return option_values.temperature("--temperature", text, bench.desk.shore) if text else None
