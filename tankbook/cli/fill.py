"""`tankbook fill`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli import keys
from tankbook.cli.answer import Answer
from tankbook.cli.gauges import At, Degrees, Note, moment, per_cylinder, pressures
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import Bench, By, Commit, Day, DryRun, asked, run

if TYPE_CHECKING:
    from tankbook.records.edits import Act, Refusal
    from tankbook.records.words import Shore
    from tankbook.rules.acts.fill import Filling


def _text(name: str, metavar: str, says: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(
        name, metavar=metavar, help=says, show_default=False
    )
    return option


def fill(
    context: typer.Context,
    ids: Annotated[
        list[str],
        typer.Argument(metavar="ID[=PRESSURE]", help="Cylinders or sets; 14=2980 is one's own."),
    ],
    to: Annotated[str, _text("--to", "PRESSURE", "The pressure reached.")] = "",
    from_: Annotated[
        list[str] | None,
        _text("--from", "[ID=]PRESSURE", "The pressure before, of all or of one."),
    ] = None,
    gas: Annotated[
        str, _text("--gas", "GAS", "As in the day's last fill, then the settings, if not said.")
    ] = "",
    o2: Annotated[str, _text("--o2", "PERCENT", "Oxygen as analysed.")] = "",
    he: Annotated[str, _text("--he", "PERCENT", "Helium as analysed.")] = "",
    analysed_by: Annotated[str, _text("--analysed-by", "XX", "Initials of who analysed.")] = "",
    source: Annotated[
        str, _text("--source", "B1+B2", "Banks or compressor; as in the day's last fill.")
    ] = "",
    position: Annotated[str, _text("--position", "P1", "The fill position.")] = "",
    temperature: Degrees = "",
    fill_pressure: Annotated[
        str, _text("--fill-pressure", "PRESSURE", "What the fill regulator was set to.")
    ] = "",
    together: Annotated[
        bool, typer.Option("--together", help="They were connected to one regulator.")
    ] = False,
    looked: Annotated[
        bool, typer.Option("--looked", help="Each was looked over before the fill.")
    ] = False,
    override: Annotated[
        str, _text("--override", "REASON", "Pass a shop rule; law and unknowns stay.")
    ] = "",
    approved_by: Annotated[
        str, _text("--approved-by", "XX", "Initials of who allows the override.")
    ] = "",
    happened: Annotated[
        str, _text("--happened", "REASON", "Log a fact against advice, and hold the cylinder.")
    ] = "",
    note: Note = "",
    by: By = "",
    on: Day = "",
    at: At = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Log fills: asked of the same rules as may-fill, refused with every reason.

    Each is looked over first. Any gas but air is analysed, by somebody. What is not said is as in
    the day's last fill, then as in the settings, and is told.
    """
    given = asked(context, json, on, ledger, by, dry_run, commit)
    if not looked and not happened and keys.is_terminal():
        looked = keys.key("Each looked over before the fill? [y]es [n]o: ", "ynq") == "y"

    def planned(bench: Bench) -> Act | Refusal:
        from tankbook.rules.acts.fill import Wanted
        from tankbook.rules.acts.fill import fill as plan

        reached = pressures(bench, "--to", ids, to)
        before = per_cylinder(bench, "--from", from_ or [], [i for i, _ in reached])
        how = _how(
            bench.desk.shore,
            gas=gas, o2=o2, he=he, temperature=temperature, fill_pressure=fill_pressure,
            by=given.by, analysed_by=analysed_by, source=source, position=position,
            together=together, looked=looked, override=override, approved_by=approved_by,
            happened=happened, note=note,
        )  # fmt: skip
        wanted = [Wanted(id_, pressure, before.get(id_)) for id_, pressure in reached]
        return plan(bench.book, wanted, how, at=moment(given, bench, at))

    return run(given, planned)


def _how(
    shore: Shore,
    *,
    gas: str,
    o2: str,
    he: str,
    temperature: str,
    fill_pressure: str,
    **plain: str | bool,
) -> Filling:
    """The options with their values read; a bare number takes the ledger's unit."""
    from tankbook.cli import ask
    from tankbook.rules.acts.fill import Filling

    return Filling(
        gas=ask.gas("--gas", gas) if gas else None,
        o2=ask.percent("--o2", o2) if o2 else None,
        he=ask.percent("--he", he) if he else None,
        temperature=ask.temperature("--temperature", temperature, shore) if temperature else None,
        fill_pressure=ask.pressure("--fill-pressure", fill_pressure, shore)
        if fill_pressure
        else None,
        **plain,  # type: ignore[arg-type]
    )
