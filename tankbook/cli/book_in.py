"""`tankbook book-in`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Flag, Opt
from tankbook.cli import keys, option_values
from tankbook.cli.answer import Answer, RequestError, shown
from tankbook.cli.recording import LONGEST_ID, Bench, Given, Planned, run

if TYPE_CHECKING:
    from tankbook.acts.arrivals import Arrival
    from tankbook.records.node import Scalar
    from tankbook.records.words import Shore


def book_in(
    given: Given,
    marks: Annotated[
        Sequence[str], Opt("LINE", "Stamp marks as read off one shoulder; may be given again.")
    ] = (),
    serials: Annotated[str, Opt("LIST", "Serials: K100..K139, or K100,K104, or both.")] = "",
    like: Annotated[str, Opt("ID", "Take over what cylinders of one make have in common.")] = "",
    quick: Annotated[
        bool, Flag("A walk-in's card: what an eye sees with the valve in is asked for.")
    ] = False,
    serial: Annotated[str, Opt("SERIAL", "One serial.")] = "",
    service_pressure: Annotated[str, Opt("PRESSURE", "Service pressure marked.")] = "",
    hydro: Annotated[str, Opt("MONTH", "Month of its last hydro: 2024-06.")] = "",
    sticker: Annotated[str, Opt("MONTH", "Month of another shop's sticker, as read.")] = "",
    first_test: Annotated[str, Opt("MONTH", "Month of the maker's first test.")] = "",
    maker: Annotated[str, Opt("MAKER", "Maker as marked.")] = "",
    outlet: Annotated[str, Opt("OUTLET", "yoke, din-200, din-300, convertible or m26.")] = "",
    neck_thread: Annotated[
        str, Opt("THREAD", "Thread as marked on the crown: '3/4-14 NPSM'.")
    ] = "",
    valve_thread: Annotated[str, Opt("THREAD", "Thread as marked on the valve body.")] = "",
    valve_rating: Annotated[str, Opt("PRESSURE", "Working pressure marked on the valve.")] = "",
    use: Annotated[str, Opt("USE", "rental, sale, customer, staff, pool or bank.")] = "",
    ref: Annotated[str, Opt("REFERENCE", "Whose it is, a customer's, by reference; no name.")] = "",
    values: Annotated[
        Sequence[str],
        Opt("KEY=VALUE", "Any other key of the card: size=al80; may be given again.", "--set"),
    ] = (),
    ids: Annotated[
        Sequence[str], Opt("ID", "Its id, not the next free one; one a cylinder.", "--id")
    ] = (),
    complete: Annotated[str, Opt("ID", "Add what is missing on a card that is there.")] = "",
) -> Answer:
    """Book in one cylinder or a delivery: a card each, awaiting inspection where none counts.

    All are checked before any is written. What is still to be done to each before it can be
    filled or sold is said. A walk-in's quick card takes what can be seen, says what was not, and
    grows into a full one with --complete.
    """
    common = {
        "serial": serial,
        "service_pressure": service_pressure,
        "hydro": option_values.date_text("--hydro", hydro),
        "sticker": option_values.date_text("--sticker", sticker),
        "first_test": option_values.date_text("--first-test", first_test),
        "maker": maker,
        "valve.outlet": outlet,
        "neck_thread": neck_thread,
        "valve.thread": valve_thread,
        "valve.rating": valve_rating,
        "use": use or ("customer" if quick or ref else ""),
        "owner": ref,
    }
    if quick and keys.is_terminal() and not (serials or complete):
        marks = _look_at_it(common, list(marks))
        serial = common["serial"]
    _one_source(marks, serials, serial, complete)
    no_name(ref)

    def planned(bench: Bench) -> Planned:
        from tankbook.acts.book_in import book_in as plan
        from tankbook.acts.complete import complete as grow

        facts = facts_of(common, values, bench.desk.shore)
        if complete:
            (id_,) = bench.resolve([complete])
            line = {"marks": marks[0]} if marks else {}
            return grow(bench.book, id_, {**facts, **_said(line)}, by=bench.by, on=bench.today)
        arrivals = _named(_arrivals(facts, marks, serials), ids)
        model = bench.book.cylinders[_like(bench, like)] if like else None
        return plan(bench.book, bench.today, arrivals, by=bench.by, like=model)

    return run(given, planned)


SEEN = (
    ("serial", "serial number"),
    ("service_pressure", "service pressure as marked"),
    ("hydro", "month of its last hydro stamp, 2024-06"),
    ("sticker", "month of its inspection sticker, 2026-03"),
    ("maker", "maker as marked"),
    ("valve.outlet", "outlet: yoke, din-200, din-300, convertible or m26"),
    ("neck_thread", "thread as marked on the crown"),
    ("valve.thread", "thread as marked on the valve body"),
    ("valve.rating", "working pressure marked on the valve"),
)
"""What an eye sees of a cylinder with its valve in, by its key, and how it is asked for."""


def _look_at_it(common: dict[str, str], marks: list[str]) -> list[str]:
    """Ask for what can be seen and was not said; an empty line says that it was not seen."""
    if not marks:
        line = keys.line("marks on the shoulder, as they stand (Enter: not read): ")
        marks = [line] if line else []
    for name, called in SEEN:
        in_marks = marks and name in {"serial", "service_pressure", "hydro"}
        while not common[name] and not in_marks:
            text = keys.line(f"{called} (Enter: not seen): ")
            try:
                text = _understood(name, text)
            except RequestError as error:
                keys.say(f"  {error}\n")
                continue
            common[name] = text
            break
    return marks


def _understood(name: str, text: str) -> str:
    """A value as a card takes it. Raises `RequestError` for one that it cannot take."""
    from tankbook.records.words import OUTLET_TWINS, Outlet, Shore

    if not text:
        return ""
    if name in {"hydro", "sticker"}:
        return option_values.date_text(name, text)
    if name == "valve.outlet":
        option_values.word("outlet", text, Outlet, dict(OUTLET_TWINS))
    elif name in PRESSURES and text != "none":
        option_values.pressure(name.rpartition(".")[2], text, Shore.PSI)
    return text


PRESSURES = frozenset(
    {
        "service_pressure",
        "test_pressure",
        "valve.rating",
        "valve.disc",
        "valve.insert",
        "permit.test_pressure",
    }
)
"""The keys of a card that hold pressures: a bare number takes the ledger's unit."""


def _one_source(marks: Sequence[str], serials: str, serial: str, complete: str) -> None:
    """Cylinders come from one place: marks, serials, or one serial."""
    several = len(marks) > 1
    given = {
        "--marks": bool(marks),
        "--serials": bool(serials),
        "--serial": bool(serial) and not marks,
        "--complete": bool(complete) and not (serials or several),
    }
    named = [name for name, there in given.items() if there]
    if complete and set(named) <= {"--complete", "--marks", "--serial"} and "--complete" in named:
        return
    if not named:
        mend = "give --marks, --serials or --serial; `tankbook import` takes a table"
        raise RequestError("no cylinder is named", mend)
    if len(named) > 1 or (several and serial):
        raise RequestError(f"{' and '.join(named)} do not go together", "give one of them")


def no_name(ref: str) -> None:
    """Raises `RequestError` for a reference that reads like a name."""
    from tankbook.acts.common import reference_reasons

    for wrong in reference_reasons("ref", ref) if ref else ():
        raise RequestError(wrong, "give the reference you keep them under, such as C-0192")


def facts_of(common: Mapping[str, str], values: Sequence[str], shore: Shore) -> dict[str, Scalar]:
    """What holds for all of them; a bare pressure takes the ledger's unit."""
    from tankbook.acts.arrivals import known_keys

    facts = {k: v for k, v in common.items() if v}
    for each in values:
        mend = f"keys: {', '.join(known_keys())}"
        wrong = RequestError(f"--set: {shown(each)} is not KEY=VALUE of a card", mend)
        name, text = option_values.pair(each, wrong, empty=True)
        if (key := name.replace("-", "_")) not in known_keys():
            raise wrong
        facts[key] = text
    return _said({k: _with_unit(k, v, shore) for k, v in facts.items()})


def _with_unit(name: str, text: str, shore: Shore) -> str:
    if name in PRESSURES and text != "none":
        return str(option_values.pressure(f"--{name.replace('_', '-')}", text, shore))
    return text


def _said(facts: Mapping[str, str]) -> dict[str, Scalar]:
    from tankbook.acts.arrivals import said

    return {k: said(v) for k, v in facts.items()}


def _arrivals(facts: dict[str, Scalar], marks: Sequence[str], serials: str) -> list[Arrival]:
    from tankbook.acts import arrivals as room

    if marks:
        lines = [{**facts, "marks": room.said(line)} for line in marks]
        return [room.Arrival("--marks", line) for line in lines]
    if serials:
        each = option_values.read("--serials", serials, room.serials)
        return [room.Arrival(s, {**facts, "serial": room.said(s)}) for s in each]
    serial = facts["serial"].text
    place = serial if serial.isprintable() and len(serial) <= LONGEST_ID else "--serial"
    return [room.Arrival(place, facts)]


def _named(arrivals: list[Arrival], ids: Sequence[str]) -> list[Arrival]:
    from tankbook.acts.arrivals import Arrival, said

    if not ids:
        return arrivals
    if len(ids) != len(arrivals):
        raise RequestError(
            f"{len(ids)} ids for {len(arrivals)} cylinders", "give --id once for each, in order"
        )
    return [
        Arrival(a.place, {**a.given, "id": said(i)}) for a, i in zip(arrivals, ids, strict=True)
    ]


def _like(bench: Bench, like: str) -> str:
    (id_,) = bench.resolve([like])
    if id_ not in bench.book.cylinders:
        raise RequestError(f"--like: {id_} is no cylinder that can be read", "name another")
    return id_
