"""`tankbook fill`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Annotated, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Note, Opt
from tankbook.cli import keys, option_values
from tankbook.cli.answer import DONE, NO, Answer, RequestError
from tankbook.cli.fill_log_options import (
    MOMENT,
    Analyst,
    DegreesText,
    Helium,
    Oxygen,
    analysed,
    began,
    moment,
    per_cylinder,
    pressures,
)
from tankbook.cli.local import midnight_of
from tankbook.cli.recording import Bench, Given, Planned, file_named, run
from tankbook.cli.walk_in import (
    Maker,
    MarksLine,
    MarksSeen,
    MoreSeen,
    OutletText,
    Reference,
    StickerMonth,
)
from tankbook.gas import Gas

if TYPE_CHECKING:
    from tankbook.acts.fill import Filling, Wanted
    from tankbook.acts.fill_sheet import RowRefused
    from tankbook.acts.session import AsFilled

T = TypeVar("T")


def fill(
    given: Given,
    ids: Annotated[
        Sequence[str], Arg("ID[=PRESSURE]", "Cylinders or sets; 14=2980 is one's own.")
    ] = (),
    plan_file: Annotated[
        str, Opt("FILE", "Log what was filled by a plan (plan --json): 14=2980.", "--plan")
    ] = "",
    sheet_file: Annotated[
        str, Opt("FILE", "Key in a fill sheet; refused rows are listed, others kept.", "--sheet")
    ] = "",
    to: Annotated[str, Opt("PRESSURE", "The pressure reached.")] = "",
    from_: Annotated[
        Sequence[str], Opt("[ID=]PRESSURE", "The pressure before, of all or of one.")
    ] = (),
    bled: Annotated[
        Sequence[str], Opt("[ID=]PRESSURE", "A little over: bled, read again at this, both logged.")
    ] = (),
    gas: Annotated[
        Gas | None, Opt("GAS", "As in the day's last fill, then the settings, if not said.")
    ] = None,
    o2: Oxygen = (),
    he: Helium = (),
    analysed_by: Analyst = "",
    source: Annotated[str, Opt("B1+B2", "Banks or compressor; `elsewhere: WHERE`.")] = "",
    position: Annotated[str, Opt("P1+W1", "The position, whip and adaptor.")] = "",
    temperature: DegreesText = "",
    fill_pressure: Annotated[str, Opt("PRESSURE", "What the fill regulator was set to.")] = "",
    together: Annotated[bool, Flag("They were connected to one regulator.")] = False,
    looked: Annotated[bool, Flag("Each was looked over before the fill.")] = False,
    override: Annotated[str, Opt("REASON", "Pass a shop rule; law and unknowns stay.")] = "",
    approved_by: Annotated[str, Opt("XX", "Initials of who allows the override.")] = "",
    happened: Annotated[
        str, Opt("REASON", "Log a fact against advice, and hold the cylinder.")
    ] = "",
    again: Annotated[bool, Flag("It is logged already, and was filled once more.")] = False,
    note: Note = "",
    marks: MarksLine = "",
    maker: Maker = "",
    outlet: OutletText = "",
    sticker: StickerMonth = "",
    ref: Reference = "",
    more: MoreSeen = (),
    at: Annotated[str, MOMENT] = "",
) -> Answer:
    """Log fills: asked of the same rules as may-fill, refused with every reason.

    Each is looked over first. Any gas but air is analysed, by somebody. What is not said is as in
    the day's last fill, then as in the settings, and is told. With --marks a walk-in's cylinder
    is booked in and its fill logged in one line: what is seen with the valve in is enough.
    """
    from tankbook.acts.fill import Filling

    if not looked and not happened and keys.is_terminal():
        looked = keys.key("Each looked over before the fill? [y]es [n]o: ", "ynq") == "y"
    filling = Filling(
        by=given.by,
        gas=gas,
        analysed_by=analysed_by,
        source=source,
        position=position,
        together=together,
        looked=looked,
        override=override,
        approved_by=approved_by,
        happened=happened,
        note=note,
    )
    how = partial(_with_gauges, filling, temperature, fill_pressure)
    seen = MarksSeen(marks, maker, outlet, sticker, ref, tuple(more))
    each = tuple(ids), tuple(from_), tuple(bled), tuple(o2), tuple(he)
    line = _Line(*each, plan_file, to, at)
    _go_together(seen, line, sheet_file, happened)
    if seen.is_said:
        return _once(given, partial(line.of_walk_in, seen, how))
    if sheet_file:
        return _from_sheet(given, sheet_file, line, how)
    planned = partial(line.planned, how)
    return run(given, planned, again=True) if again else _once(given, planned)


def _go_together(seen: MarksSeen, line: _Line, sheet_file: str, happened: str) -> None:
    """That a walk-in is logged by itself, and that what was filled by a plan has its own readings.

    Raises:
        RequestError: options contradict each other.
    """
    if seen.is_said and (line.ids or line.plan_file or sheet_file):
        raise RequestError("--marks is of one walk-in", "log the others by themselves")
    if seen.is_said and happened:
        mend = "book it in first (`tankbook book-in --marks`), then log it under its id"
        raise RequestError("--marks and --happened do not go together", mend)
    if line.plan_file and line.to and not sheet_file:
        raise RequestError("--plan and --to do not go together", "give each its reading, 14=2980")


def _with_gauges(how: Filling, temperature: str, fill_pressure: str, bench: Bench) -> Filling:
    """How it was filled, with what was read of gauges in the ledger's units."""
    degrees = bench.temperature(temperature)
    regulator = bench.pressure("--fill-pressure", fill_pressure) if fill_pressure else None
    return replace(how, temperature=degrees, fill_pressure=regulator)


class _Line(Struct, frozen=True):
    """Which cylinders were filled, to what, from what and when, as given."""

    ids: tuple[str, ...] = ()
    from_: tuple[str, ...] = ()
    bled: tuple[str, ...] = ()
    o2: tuple[str, ...] = ()
    he: tuple[str, ...] = ()
    plan_file: str = ""
    to: str = ""
    at: str = ""

    def planned(self, how: Callable[[Bench], Filling], bench: Bench) -> Planned:
        """The fills that it tells of."""
        from tankbook.acts.fill import fill as plan

        filling = how(bench)
        gave: tuple[Wanted, ...] = ()
        session: AsFilled | None = None
        if self.plan_file:
            session, filling = _from_plan(bench, self.plan_file, self.ids, filling)
            wanted, gave = session.got, session.gave
        else:
            wanted = _wanted(bench, self.ids, self.to, self.from_)
        oxygen, helium = analysed(bench, self.o2, self.he, [w.id for w in wanted])
        wanted = tuple(replace(w, o2=oxygen.get(w.id), he=helium.get(w.id)) for w in wanted)
        wanted = _bled(bench, wanted, self.bled)
        at = moment(bench, self.at)
        act = plan(bench.book, wanted, filling, at=at, gave=gave)
        return _not_recorded(bench, act, session, at) if session else act

    def of_walk_in(self, seen: MarksSeen, how: Callable[[Bench], Filling], bench: Bench) -> Planned:
        """The card of a cylinder that has none, and its fill."""
        from tankbook.acts.fill import Wanted
        from tankbook.acts.walk_in import fill_walk_in

        if not self.to:
            raise RequestError("to what pressure is not said", "give --to")
        to = bench.pressure("--to", self.to)
        before = _one("--from", self.from_, bench.pressure)
        bled = _one("--bled", self.bled, bench.pressure)
        o2 = _one("--o2", self.o2, option_values.percent)
        he = _one("--he", self.he, option_values.percent)
        arrival = seen.arrival(bench.desk.shore)
        filling, at = replace(how(bench), by=bench.by), moment(bench, self.at)

        def wanted(id_: str) -> Wanted:
            return Wanted(id_, to, before, o2=o2, he=he, bled=bled)

        return fill_walk_in(bench.book, arrival, wanted, filling, at=at)


def _one(option: str, texts: Sequence[str], read: Callable[[str, str], T]) -> T | None:
    """The value of an option that is said of one cylinder."""
    if len(texts) > 1:
        raise RequestError(f"{option} is given {len(texts)} times", "give it once")
    return read(option, texts[0]) if texts else None


def _from_sheet(given: Given, file: str, line: _Line, how: Callable[[Bench], Filling]) -> Answer:
    """Record the rows of a sheet that stand; exit code 1 when a row is refused."""
    if line != _Line():
        mend = "the sheet says which, when and to what"
        raise RequestError("--sheet is keyed in by itself", mend)
    path = file_named("--sheet", file)
    refused: list[RowRefused] = []

    def planned(bench: Bench) -> Planned:
        from tankbook.acts.fill_sheet import key_in
        from tankbook.ledger.errors import LedgerError
        from tankbook.ledger.keyed import read_sheet

        def resolve(text: str) -> str:
            try:
                (id_,) = bench.resolve([text])
            except LedgerError as error:
                raise ValueError(f"{error.text}; {error.mend}") from None
            return id_

        midnight = midnight_of(bench.today)
        rows = read_sheet(path)
        got = key_in(bench.book, rows, how(bench), midnight=midnight, resolve=resolve)
        refused[:] = got.refused
        return got.act

    answer = run(given, planned)
    return replace(answer, code=NO if answer.code == DONE and refused else answer.code)


def _once(given: Given, planned: Callable[[Bench], Planned]) -> Answer:
    """Log fills that are not logged yet; on a terminal, ask about those that seem to be."""
    logged: tuple[str, ...] = ()

    def unless_logged(bench: Bench) -> Planned:
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


def _wanted(bench: Bench, ids: Iterable[str], to: str, before: Iterable[str]) -> tuple[Wanted, ...]:
    from tankbook.acts.fill import Wanted

    reached = pressures(bench, "--to", ids, to)
    first = began(bench, before, reached)
    return tuple(Wanted(id_, pressure, first.get(id_)) for id_, pressure in reached)


def _bled(bench: Bench, wanted: tuple[Wanted, ...], texts: Iterable[str]) -> tuple[Wanted, ...]:
    """Each with what it was bled to and read again at, where it was."""
    ids = [w.id for w in wanted]
    read = per_cylinder(bench, "--bled", texts, ids, lambda t: bench.pressure("--bled", t))
    return tuple(replace(w, bled=read.get(w.id)) for w in wanted)


def _from_plan(
    bench: Bench, file: str, ids: Iterable[str], how: Filling
) -> tuple[AsFilled, Filling]:
    """What was filled by a plan and what gave, as read; its gas, and its temperature for what has
    cooled. With a temperature given all was read at that."""
    from tankbook.acts.session import as_filled
    from tankbook.ledger.plan_file import read_plan
    from tankbook.units import SAID_LIKE, Temperature

    station = bench.book.station
    compressor = station.only_compressor if station else None
    session = read_plan(
        file_named("--plan", file), (compressor.name if compressor else None) or "compressor"
    )
    bench.resolve([p.id for p in session.cylinders])
    read = dict(pressures(bench, "ID", ids))
    try:
        filled = as_filled(session, read)
    except ValueError as error:
        like = SAID_LIKE[bench.desk.shore.value].full
        raise RequestError(
            f"{file}: {error}", f"as in 14={like}; log others by themselves"
        ) from None
    ambient = session.ambient.to(option_values.DEGREES[bench.desk.shore])
    planned = Temperature.of(round(ambient, 1), option_values.DEGREES[bench.desk.shore])
    if how.temperature is not None:
        filled = replace(filled, got=tuple(replace(w, warm=False, past=None) for w in filled.got))
    gas, degrees = how.gas or session.gas, how.temperature or planned
    return filled, replace(how, gas=gas, temperature=degrees)


def _not_recorded(bench: Bench, act: Planned, session: AsFilled, at: dt.datetime) -> Planned:
    """What is recorded, with the cylinders of the plan that are not logged, and the readings of
    banks that it was given and the station does not have."""
    from tankbook.acts.session import readings_offered
    from tankbook.records.edits import Act

    if not isinstance(act, Act):
        return act
    unread = ", ".join(session.unread)
    told = [f"not logged, as no reading was given: {unread}"] if unread else []
    told += readings_offered(bench.book, session.told, at)
    return replace(act, notes=(*act.notes, *told))
