"""`tankbook rent`, `tankbook return` and `tankbook rentals`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from tankbook.cli import keys
from tankbook.cli.answer import Answer, RequestError, shown
from tankbook.cli.fill_log_options import At, Degrees, moment
from tankbook.cli.names import Asked, names_asked, open_with_names, with_hint
from tankbook.cli.options import Json, Ledger, On, common
from tankbook.cli.recording import Bench, By, Commit, Day, DryRun, asked, run

if TYPE_CHECKING:
    from tankbook.acts.rent import Going
    from tankbook.acts.return_ import Back
    from tankbook.cli.open_ledger import Desk
    from tankbook.records.edits import Act, Refusal
    from tankbook.rules.rental import Candidate


def _text(name: str, metavar: str, says: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(
        name, metavar=metavar, help=says, show_default=False
    )
    return option


def rent(
    context: typer.Context,
    to: Annotated[str, _text("--to", "REFERENCE", "Booking or customer reference; no name.")],
    ids: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="ID[=PRESSURE]",
            help="Cylinders or sets; 14=2950 with its gauge read. None: chosen for the booking.",
            show_default=False,
        ),
    ] = None,
    until: Annotated[str, _text("--until", "DATE", "Back by; today, if not said.")] = "",
    count: Annotated[
        int, typer.Option("--count", help="Choose this many.", min=0, show_default=False)
    ] = 0,
    size: Annotated[str, _text("--size", "SIZE", "Choose of this size: al80, doubles.")] = "",
    gas: Annotated[str, _text("--gas", "GAS", "The gas wanted.")] = "",
    temperature: Degrees = "",
    happened: Annotated[
        str, _text("--happened", "REASON", "It is out already: log that, whatever stands.")
    ] = "",
    by: By = "",
    on: Day = "",
    at: At = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Send cylinders out: those named, or chosen by oldest contents, then fewest fills.

    What lapses before it is due back, or has anything against it, does not go.
    """
    from tankbook.cli import option_values

    given = asked(context, json, on, ledger, by, dry_run, commit)
    back = option_values.day("--until", until) if until else None
    mixture = option_values.gas("--gas", gas) if gas else None
    if ids and (count or size):
        raise RequestError("--count and --size choose, and cylinders are named too", "give one")

    def planned(bench: Bench) -> Act | Refusal:
        from tankbook.acts import rent as room
        from tankbook.acts.common import refusal

        going = _going(bench, ids or [])
        chosen: tuple[Candidate, ...] = ()
        if not ids:
            lot = room.Lot(count, size, mixture)
            chosen, missing = room.choose(bench.book, lot, to, back, bench.today)
            if missing:
                return refusal(missing)
            going = [room.Going(each.id) for each in chosen]
        shore = bench.desk.shore
        read = any(each.pressure for each in going)
        return room.rent(
            bench.book,
            going,
            to=to,
            until=back,
            by=bench.by,
            at=moment(given, bench, at) if read or at else bench.now,
            gas=mixture,
            temperature=option_values.temperature("--temperature", temperature, shore)
            if temperature
            else None,
            happened=happened,
            chosen=chosen,
        )

    return run(given, planned)


def _going(bench: Bench, texts: list[str]) -> list[Going]:
    from tankbook.acts.rent import Going
    from tankbook.cli import option_values

    found = []
    for text in texts:
        name, _, said = text.partition("=")
        (id_,) = bench.resolve([name.strip()])
        pressure = (
            option_values.pressure(name, said.strip(), bench.desk.shore) if said.strip() else None
        )
        found.append(Going(id_, pressure))
    return found


def return_(
    context: typer.Context,
    ids: Annotated[
        list[str],
        typer.Argument(
            metavar="ID[=PRESSURE][/VALVE]",
            help="14=600, 22=0/open, 31=500/closed; doubles with a shut isolator DB-02=600+650.",
        ),
    ],
    pressure: Annotated[
        str, _text("--pressure", "PRESSURE", "What those without their own showed.")
    ] = "",
    valve: Annotated[
        str, _text("--valve", "closed|open", "How those without their own were found.")
    ] = "",
    damage: Annotated[
        list[str] | None, _text("--damage", "ID=TEXT", "Damage seen; as often as needed.")
    ] = None,
    isolator: Annotated[
        str, _text("--isolator", "open|shut", "How the isolator of doubles was found.")
    ] = "",
    temperature: Degrees = "",
    by: By = "",
    on: Day = "",
    at: At = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Take cylinders back: pressure, valve open or closed, and damage are asked of each.

    One that comes back empty or with its valve open is looked inside before it is filled.
    """
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import open_desk

    given = asked(context, json, on, ledger, by, dry_run, commit)
    noted = list(damage or [])
    if keys.is_terminal():
        ids = _asked_each(open_desk(given.common), ids, pressure, valve, noted)

    def planned(bench: Bench) -> Act | Refusal:
        from tankbook.acts.return_ import return_ as plan
        from tankbook.records.words import Isolator

        backs = _backs(bench, ids, pressure, valve, noted)
        shore = bench.desk.shore
        return plan(
            bench.book,
            backs,
            by=bench.by,
            at=moment(given, bench, at),
            temperature=option_values.temperature("--temperature", temperature, shore)
            if temperature
            else None,
            isolator=option_values.word("--isolator", isolator, Isolator) if isolator else None,
        )

    return run(given, planned)


def _asked_each(
    desk: Desk, texts: list[str], pressure: str, valve: str, damage: list[str]
) -> list[str]:
    """What a terminal is asked for that the line does not say; `damage` takes what is answered."""
    found = []
    for text in texts:
        name, read, found_valve = _parts(text)
        (id_,) = desk.resolve([name])
        asked_any = not (read or pressure) or not (found_valve or valve)
        if not (read or pressure):
            read = keys.line(f"{id_}: pressure ({desk.shore}), both sides as 600+650: ")
        if not (found_valve or valve):
            pressed = keys.key(f"{id_}: valve [c]losed [o]pen: ", "coq")
            found_valve = {"c": "closed", "o": "open"}.get(pressed, "")
        if asked_any and not any(each.startswith(f"{name}=") for each in damage):
            seen = keys.line(f"{id_}: damage (nothing if none): ")
            damage += [f"{id_}={seen}"] if seen else []
        found.append(f"{id_}={read}/{found_valve}")
    return found


def _parts(text: str) -> tuple[str, str, str]:
    """Id, pressures and valve of `14=600/open`; what is not said is empty."""
    rest, _, valve = text.partition("/")
    name, _, read = rest.partition("=")
    return name.strip(), read.strip(), valve.strip()


def _backs(
    bench: Bench, texts: list[str], pressure: str, valve: str, damage: list[str]
) -> list[Back]:
    from tankbook.acts.return_ import Back, with_defaults
    from tankbook.cli import option_values
    from tankbook.records.words import ValvePosition

    shore = bench.desk.shore
    ids = bench.resolve([_parts(text)[0] for text in texts])
    seen = _damage(bench, damage, ids)
    found = []
    for text in texts:
        name, read, said = _parts(text)
        (id_,) = bench.resolve([name])
        sides = read.split("+") if read else []
        readings = tuple(option_values.pressure(name, each.strip(), shore) for each in sides)
        position = option_values.word(name, said, ValvePosition) if said else None
        found.append(Back(id_, readings, position, seen.get(id_, "")))
    every = option_values.pressure("--pressure", pressure, shore) if pressure else None
    found_so = option_values.word("--valve", valve, ValvePosition) if valve else None
    return with_defaults(found, every, found_so)


def _damage(bench: Bench, texts: list[str], ids: list[str]) -> dict[str, str]:
    """Damage by id, from `31=handwheel cracked`, or a bare text where one cylinder is named."""
    found: dict[str, str] = {}
    for text in texts:
        name, sign, said = text.partition("=")
        if not sign and len(ids) == 1:
            found[ids[0]] = text.strip()
            continue
        if not sign or not said.strip():
            raise RequestError(f"--damage: {shown(text)} names no cylinder", "write ID=TEXT")
        (id_,) = bench.resolve([name.strip()])
        if id_ not in ids:
            raise RequestError(f"--damage: {id_} is none of those that came back")
        found[id_] = said.strip()
    return found


def rentals(
    context: typer.Context,
    names: Asked = False,
    json: Json = False,
    on: On = "",
    ledger: Ledger = "",
) -> Answer:
    """The rental board: out, back today, late, and any day ahead that is short."""
    from tankbook.output import rentals as output
    from tankbook.rules.bookings import rental_board

    asked_ = common(context, json, on, ledger)
    desk = open_with_names(asked_)
    board = rental_board(desk.book, desk.today)
    if asked_.json:
        return desk.data(output.data(board, names_asked(desk.root, names)))
    return desk.answer(with_hint(desk.root, names, lambda n: output.text(board, n, desk.page)))
