"""`tankbook rent`, `tankbook return` and `tankbook rentals`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Analysed, Arg, CardSeen, Deepest, Level, Opt, UserInitials
from tankbook.cli import keys, option_values
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.fill_log_options import MOMENT, Degrees, DegreesText, moment
from tankbook.cli.names import NamesAsked, names_asked, open_with_names, with_hint
from tankbook.cli.options import Common
from tankbook.cli.recording import Bench, Given, Planned, run
from tankbook.gas import Gas
from tankbook.records.words import Isolator

if TYPE_CHECKING:
    from tankbook.acts.rent import Going
    from tankbook.acts.return_ import Back
    from tankbook.cli.open_ledger import Desk
    from tankbook.rules.rental import Candidate


def rent(
    bench: Bench,
    *,
    to: Annotated[str, Opt("REFERENCE", "Booking or customer reference; no name.")],
    ids: Annotated[
        Sequence[str],
        Arg(
            "ID[=PRESSURE]",
            "Cylinders or sets; 14=2950 with its gauge read. None: chosen for the booking.",
        ),
    ] = (),
    until: Annotated[dt.date | None, Opt("DATE", "Back by; today, if not said.")] = None,
    count: Annotated[int, Opt("", "Choose this many.", least=0)] = 0,
    size: Annotated[str, Opt("SIZE", "Choose of this size: al80, doubles.")] = "",
    gas: Annotated[Gas | None, Opt("GAS", "The gas wanted.")] = None,
    analysed: Analysed = (),
    depth: Deepest = (),
    user: UserInitials = "",
    certified: Level = None,
    card: CardSeen = "",
    temperature: Degrees = None,
    happened: Annotated[str, Opt("REASON", "It is out already: log that, whatever stands.")] = "",
    at: Annotated[str, MOMENT] = "",
) -> Planned:
    """Send cylinders out: those named, or chosen by oldest contents, then fewest fills.

    What lapses before it is due back, or has anything against it, does not go. Any gas but air is
    analysed by whoever takes it, who was seen to be trained for it.
    """
    from tankbook.acts import rent as room
    from tankbook.acts.common import refusal
    from tankbook.cli.taken import shown_of
    from tankbook.rules.as_it_was import kept_hour

    if ids and (count or size):
        raise RequestError("--count and --size choose, and cylinders are named too", "give one")
    going = _going(bench, ids)
    chosen: tuple[Candidate, ...] = ()
    if not ids:
        lot = room.Lot(count, size, gas)
        chosen, missing = room.choose(bench.book, lot, to, until, bench.today)
        if missing:
            return refusal(missing)
        going = [room.Going(each.id) for each in chosen]
    read = any(each.pressure for each in going)
    ids = [each.id for each in going]
    when = moment(bench, at) if read or at else None
    return room.rent(
        bench.book,
        going,
        to=to,
        until=until,
        by=bench.by,
        at=when or bench.now,
        gas=gas,
        temperature=temperature,
        happened=happened,
        chosen=chosen,
        shown=shown_of(bench, ids, certified, card, analysed, depth, user),
        hour=kept_hour(when) or kept_hour(bench.now if bench.at else None),
    )


def _going(bench: Bench, texts: Iterable[str]) -> list[Going]:
    from tankbook.acts.rent import Going

    return [
        Going(id_, bench.pressure(said.name, said.text) if said.text else None)
        for id_, said in option_values.listed(bench.resolve, bench.spread(texts))
    ]


def return_(
    given: Given,
    ids: Annotated[
        list[str],
        Arg(
            "ID[=PRESSURE][/VALVE]",
            "14=600, 22=0/open, 31=500/closed; doubles with a shut isolator DB-02=600+650.",
        ),
    ],
    *,
    pressure: Annotated[str, Opt("PRESSURE", "What those without their own showed.")] = "",
    valve: Annotated[str, Opt("closed|open", "How those without their own were found.")] = "",
    damage: Annotated[Sequence[str], Opt("ID=TEXT", "Damage seen; as often as needed.")] = (),
    isolator: Annotated[
        Isolator | None, Opt("open|shut", "How the isolator of doubles was found.")
    ] = None,
    temperature: DegreesText = "",
    at: Annotated[str, MOMENT] = "",
) -> Answer:
    """Take cylinders back: pressure, valve open or closed, and damage are asked of each.

    One that comes back empty or with its valve open is looked inside before it is filled.
    """
    from tankbook.cli.open_ledger import open_desk

    noted = list(damage)
    if keys.is_terminal():
        ids = _asked_each(open_desk(given.common), ids, pressure, valve, noted)

    def planned(bench: Bench) -> Planned:
        from tankbook.acts.return_ import return_ as plan

        return plan(
            bench.book,
            _backs(bench, ids, pressure, valve, noted),
            by=bench.by,
            at=moment(bench, at),
            temperature=bench.temperature(temperature),
            isolator=isolator,
        )

    return run(given, planned)


def _asked_each(
    desk: Desk, texts: list[str], pressure: str, valve: str, damage: list[str]
) -> list[str]:
    """What a terminal is asked for that the line does not say; `damage` takes what is answered."""
    found = []
    for text in desk.spread(texts):
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
    said = option_values.parted(rest)
    return said.name, said.text or "", valve.strip()


def _backs(
    bench: Bench, texts: list[str], pressure: str, valve: str, damage: list[str]
) -> list[Back]:
    from tankbook.acts.return_ import Back, with_defaults
    from tankbook.records.words import ValvePosition

    shore, texts = bench.desk.shore, bench.spread(texts)
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
    otherwise = partial(option_values.names_none, "--damage")
    for text in texts:
        if option_values.parted(text).text == "":
            raise otherwise(text)
    for id_, said in option_values.by_id(bench.resolve, texts, ids, str, otherwise):
        if id_ not in ids:
            raise RequestError(f"--damage: {id_} is none of those that came back")
        found[id_] = said
    return found


def rentals(
    asked: Common,
    names: NamesAsked = False,
) -> Answer:
    """The rental board: out, back today, late, and any day ahead that is short."""
    from tankbook.output import rentals as output
    from tankbook.rules.bookings import rental_board

    desk = open_with_names(asked)
    board = rental_board(desk.book, desk.today)
    if asked.json:
        return desk.data(output.data(board, names_asked(desk.root, names)))
    return desk.answer(with_hint(desk.root, names, lambda n: output.text(board, n, desk.page)))
