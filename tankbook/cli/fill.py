"""`tankbook fill`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli import keys
from tankbook.cli.answer import Answer, RequestError
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
    per_cylinder,
    pressures,
)
from tankbook.cli.fill_sheet import key_in
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import Asked, Bench, By, Commit, Day, DryRun, asked, file_named, run

if TYPE_CHECKING:
    from collections.abc import Callable

    from tankbook.acts.fill import Filling, Wanted
    from tankbook.records.edits import Act, Refusal
    from tankbook.records.words import Shore


def _text(name: str, metavar: str, says: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(
        name, metavar=metavar, help=says, show_default=False
    )
    return option


def fill(
    context: typer.Context,
    ids: Annotated[
        list[str] | None,
        typer.Argument(metavar="ID[=PRESSURE]", help="Cylinders or sets; 14=2980 is one's own."),
    ] = None,
    plan_file: Annotated[
        str, _text("--plan", "FILE", "Log a plan (plan --json); 14=2980 corrects a reading.")
    ] = "",
    sheet_file: Annotated[
        str, _text("--sheet", "FILE", "Key in a fill sheet; refused rows are listed, others kept.")
    ] = "",
    to: Annotated[str, _text("--to", "PRESSURE", "The pressure reached.")] = "",
    from_: Annotated[
        list[str] | None,
        _text("--from", "[ID=]PRESSURE", "The pressure before, of all or of one."),
    ] = None,
    bled: Annotated[
        list[str] | None,
        _text("--bled", "[ID=]PRESSURE", "A little over: bled, read again at this, both logged."),
    ] = None,
    gas: Annotated[
        str, _text("--gas", "GAS", "As in the day's last fill, then the settings, if not said.")
    ] = "",
    o2: Oxygen = None,
    he: Helium = None,
    analysed_by: Analyst = "",
    source: Annotated[
        str, _text("--source", "B1+B2", "Banks or compressor; `elsewhere: WHERE`.")
    ] = "",
    position: Annotated[str, _text("--position", "P1+W1", "The position, whip and adaptor.")] = "",
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
    again: Annotated[
        bool, typer.Option("--again", help="It is logged already, and was filled once more.")
    ] = False,
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

    if sheet_file:
        if ids or plan_file or to or from_ or o2 or he or bled or at:
            mend = "the sheet says which, when and to what"
            raise RequestError("--sheet is keyed in by itself", mend)
        return key_in(
            given,
            str(file_named("--sheet", sheet_file)),
            lambda bench: _how(
                bench.desk.shore,
                gas=gas, temperature=temperature, fill_pressure=fill_pressure,
                by=given.by, analysed_by=analysed_by, source=source, position=position,
                together=together, looked=looked, override=override, approved_by=approved_by,
                happened=happened, note=note,
            ),
        )  # fmt: skip
    if plan_file and to:
        raise RequestError("--plan and --to do not go together", "14=2980 corrects one reading")

    def planned(bench: Bench) -> Act | Refusal:
        from msgspec.structs import replace

        from tankbook.acts.fill import fill as plan

        how = _how(
            bench.desk.shore,
            gas=gas, temperature=temperature, fill_pressure=fill_pressure,
            by=given.by, analysed_by=analysed_by, source=source, position=position,
            together=together, looked=looked, override=override, approved_by=approved_by,
            happened=happened, note=note,
        )  # fmt: skip
        gave: tuple[Wanted, ...] = ()
        if plan_file:
            wanted, gave, how = _from_plan(bench, plan_file, ids or [], how)
        else:
            wanted = _wanted(bench, ids or [], to, from_ or [])
        oxygen, helium = analysed(bench, o2, he, [w.id for w in wanted])
        wanted = tuple(replace(w, o2=oxygen.get(w.id), he=helium.get(w.id)) for w in wanted)
        wanted = _bled(bench, wanted, bled or [])
        return plan(bench.book, wanted, how, at=moment(given, bench, at), gave=gave)

    return run(given, planned, again=True) if again else _once(given, planned)


def _once(given: Asked, planned: Callable[[Bench], Act | Refusal]) -> Answer:
    """Log fills that are not logged yet; on a terminal, ask about those that seem to be."""
    logged: tuple[str, ...] = ()

    def unless_logged(bench: Bench) -> Act | Refusal:
        from tankbook.acts.repeated import repeated
        from tankbook.records.edits import Refusal

        nonlocal logged
        act = planned(bench)
        logged = () if isinstance(act, Refusal) else repeated(bench.book, act)
        if logged and not isinstance(act, Refusal):
            ways = "if it was filled once more, give --again"
            return Refusal(act.sentence, tuple(f"{each}; {ways}" for each in logged))
        return act

    answer = run(given, unless_logged)
    if not logged or given.common.json or not keys.is_terminal():
        return answer
    if keys.key(f"{'; '.join(logged)}. Filled once more? [y]es [n]o: ", "ynq") != "y":
        return answer
    return run(given, planned, again=True)


def _wanted(bench: Bench, ids: list[str], to: str, before: list[str]) -> tuple[Wanted, ...]:
    from tankbook.acts.fill import Wanted

    reached = pressures(bench, "--to", ids, to)
    first = began(bench, before, reached)
    return tuple(Wanted(id_, pressure, first.get(id_)) for id_, pressure in reached)


def _bled(bench: Bench, wanted: tuple[Wanted, ...], texts: list[str]) -> tuple[Wanted, ...]:
    """Each with what it was bled to and read again at, where it was."""
    from msgspec.structs import replace

    from tankbook.cli import option_values

    ids, shore = [w.id for w in wanted], bench.desk.shore
    read = per_cylinder(
        bench, "--bled", texts, ids, lambda t: option_values.pressure("--bled", t, shore)
    )
    return tuple(replace(w, bled=read.get(w.id)) for w in wanted)


def _from_plan(
    bench: Bench, file: str, ids: list[str], how: Filling
) -> tuple[tuple[Wanted, ...], tuple[Wanted, ...], Filling]:
    """What a plan fills and what gives, with readings corrected; its gas and its temperature."""
    from msgspec.structs import replace

    from tankbook.acts.session import as_filled
    from tankbook.cli import option_values
    from tankbook.ledger.plan_file import read_plan
    from tankbook.units import Temperature

    station = bench.book.station
    compressor = station.compressor if station else None
    session = read_plan(
        file_named("--plan", file), (compressor.name if compressor else None) or "compressor"
    )
    bench.resolve([p.id for p in session.cylinders])
    corrected = dict(pressures(bench, "ID", ids))
    try:
        wanted, gave = as_filled(session, corrected)
    except ValueError as error:
        raise RequestError(f"{file}: {error}", "log them by themselves") from None
    ambient = session.ambient.to(option_values.DEGREES[bench.desk.shore])
    planned = Temperature.of(round(ambient, 1), option_values.DEGREES[bench.desk.shore])
    gas, degrees = how.gas or session.gas, how.temperature or planned
    return wanted, gave, replace(how, gas=gas, temperature=degrees)


def _how(
    shore: Shore,
    *,
    gas: str,
    temperature: str,
    fill_pressure: str,
    **plain: str | bool,
) -> Filling:
    """The options with their values read; a bare number takes the ledger's unit."""
    from tankbook.acts.fill import Filling
    from tankbook.cli import option_values

    return Filling(
        gas=option_values.gas("--gas", gas) if gas else None,
        temperature=option_values.temperature("--temperature", temperature, shore)
        if temperature
        else None,
        fill_pressure=option_values.pressure("--fill-pressure", fill_pressure, shore)
        if fill_pressure
        else None,
        **plain,  # type: ignore[arg-type]
    )
