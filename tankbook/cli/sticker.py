"""`tankbook sticker`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import Bench, By, Commit, Day, DryRun, asked, run

if TYPE_CHECKING:
    from tankbook.records.edits import Act, Refusal


def sticker(
    context: typer.Context,
    ids: Annotated[
        list[str] | None, typer.Argument(metavar="ID", help="Cylinders; a tail will do.")
    ] = None,
    number: Annotated[
        str,
        typer.Option(
            "--number",
            metavar="LIST",
            help="Its number; 0417..0420 for several. With --void: what replaces it.",
            show_default=False,
        ),
    ] = "",
    void: Annotated[
        str,
        typer.Option(
            "--void", metavar="NUMBER", help="Void this sticker number.", show_default=False
        ),
    ] = "",
    why: Annotated[
        str,
        typer.Option("--why", metavar="TEXT", help="Why it is void.", show_default=False),
    ] = "",
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Put a withheld sticker on, or void a number.

    It carries the month of the full inspection. How old that may be, and whether a second look is
    asked for, is the policy of tankbook.yaml.
    """
    given = asked(context, json, on, ledger, by, dry_run, commit)
    if bool(ids) == bool(void):
        raise RequestError("name cylinders, or a number with --void", "one of the two")

    def planned(bench: Bench) -> Act | Refusal:
        from tankbook.acts.stickers import put_on, void_number

        if void:
            return void_number(
                bench.book, void, why=why, by=bench.by, on=bench.today, instead=number
            )
        named = bench.resolve(ids or [])
        return put_on(bench.book, named, by=bench.by, on=bench.today, numbers=_numbers(number))

    return run(given, planned)


def _numbers(text: str) -> tuple[str, ...]:
    from tankbook.acts.arrivals import serials

    try:
        return serials(text) if text else ()
    except ValueError as error:
        raise RequestError(f"--number: {error}") from None
