"""What gas a bank was raised with: what each part of a raising's source gives."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Iterator, Sequence
from functools import cache

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import AIR_GAS, Gas, GasError
from tankbook.records.book import Book, once_per_book
from tankbook.records.log import Log, each_named
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.station import Bank, Booster, Enricher, Raised, Station
from tankbook.records.words import LogAct, SourceKind
from tankbook.rules.air import by_others, own_names, taken_here, told_by, unfed
from tankbook.rules.bad_air import cylinders_called, is_for_oxygen
from tankbook.rules.fill_history import lines_held, struck_out_lines, void_key
from tankbook.rules.inforce import act_ends, rules_of, speaks_of_station
from tankbook.rules.wording import denied_by
from tankbook.units import PartialDate, Period, UnitError
from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import pattern


class GasPut(Struct, frozen=True):
    """A gas that something gives; None of one that nobody names. `mixed`: that is known to be none
    of those that a bank is taken to hold all along; `pumped`: it came from a compressor, which may
    have been fed with more than air; `untested`: nobody here knows a test of its air; `unfit`: it
    is none that is breathed, or not said to be one; `of_air`: made of air alone, it holds no
    helium.
    """

    gas: Gas | None = None
    mixed: bool = False
    called: str = ""
    pumped: bool = False
    untested: bool = False
    unfit: bool = False
    of_air: bool = False


def gas_of(bank: Bank) -> Gas:
    """The gas a bank is said to hold; air where nobody says."""
    return bank.gas or AIR_GAS


def parts_of(raised: Raised) -> tuple[str, ...]:
    """The parts that a bank was raised from, as they are named."""
    return each_named(raised.source_)


def gases_put(book: Book, station: Station, raised: Raised) -> Iterator[GasPut]:
    """Every gas that a raising put in, part by part of its source."""
    names = parts_of(raised)
    if not names:
        yield GasPut(AIR_GAS, called="air", pumped=True) if station.every_compressor else GasPut()
    for name in names:
        parts = frozenset[str]() if by_others(name) else told_by(station, name)
        boosters = {b.name.casefold(): b for b in station.boosters}
        parts -= boosters.keys() - unfed(station)  # told by what feeds them
        if parts:
            for part in sorted(parts):
                yield from _of_part(book, station, part, raised)
        elif cylinders_called(book, name):
            yield from _of_cylinder(book, name, raised)
        else:
            yield from put_by_others(name, raised.on, rows_of_tests(book))
        if parts and name.casefold() not in _labels(station):
            yield from gases_said(name)


def _labels(station: Station) -> set[str]:
    every = [b.name for b in station.banks] + [f.name for f in station.every_fed]
    return {name.casefold() for name in every} | own_names(station)


def _of_part(book: Book, station: Station, part: str, raised: Raised) -> Iterator[GasPut]:
    for bank in station.banks:
        if bank.name.casefold() == part:
            held = [gas_of(then) for then in as_on(book, bank, raised.on)]
            yield from (GasPut(gas, called=str(gas)) for gas in held)
            if not held:
                yield GasPut(mixed=True, called=f"what it held before {bank.since}")
            return
    fed: dict[str, Booster | Enricher] = {each.name.casefold(): each for each in station.every_fed}
    made = fed.get(part)
    if part in own_names(station):
        yield GasPut(AIR_GAS, called="air", pumped=True)
    elif isinstance(made, Enricher):
        membrane = made.kind is SourceKind.MEMBRANE
        yield GasPut(mixed=True, called=str(made.kind), of_air=membrane)
    elif isinstance(made, Booster) and len(made.drives) == 1:
        yield GasPut(made.drives[0], called=str(made.drives[0]))
    else:
        yield GasPut()


def _of_cylinder(book: Book, name: str, raised: Raised) -> Iterator[GasPut]:
    """What a cylinder of the ledger was last filled with before it gave; of one for oxygen that.
    Of a raising that has no hour it may have been filled that day before it, or after."""
    if is_for_oxygen(book, name):
        yield GasPut(Gas.parse("oxygen"), called="oxygen")
        return
    end = dt.datetime.combine(raised.on, raised.at or dt.time.max)
    since = end if raised.at else dt.datetime.combine(raised.on, dt.time.min)
    lines = (n for id_ in cylinders_called(book, name) for n in lines_held(book, id_))
    known = {n.at.replace(tzinfo=None): n.gas for n in lines if n.gas is not None}
    before = max((at for at in known if at < since), default=None)
    found = [known[at] for at in sorted(known) if since <= at <= end or at == before]
    if not found:
        yield GasPut()
    yield from (GasPut(gas, called=str(gas)) for gas in dict.fromkeys(found))


# --- what a bank held before it came to hold its gas


def as_on(book: Book, bank: Bank, day: dt.date) -> tuple[Bank, ...]:
    """A bank with each gas that it may have held on a day: with the one before as well on the day
    since which it holds its own, as nobody says at what hour. None where nobody knows which."""
    if bank.since is None or day > bank.since:
        return (bank,)
    given = _given_before(book, bank)
    by = [gas for on, gas in given if on <= day][-1:] or [gas for _, gas in given][:1]
    was = tuple(_with_gas(book, bank, gas) for gas in by)
    return (bank, *was) if day == bank.since else was


@once_per_book
def _given_before(book: Book, bank: Bank) -> tuple[tuple[dt.date, Gas], ...]:
    """The gases that fills say a bank held before it came to hold its own, oldest first: it gave
    alone, or all of it was air."""
    station, gone, log = book.station, struck_out_lines(book), Log.of(book.log)
    if station is None or bank.since is None:
        return ()
    acts, sources = log.column("act"), log.column("source_")
    named = {said: frozenset[str]() for said in set(sources) if said}
    for said in named:
        named[said] = named[said].union(*(told_by(station, n) for n in taken_here(said)))
    own = bank.name.casefold()
    told = [i for i, said in enumerate(sources) if said and own in named[said]]
    lines = (log[i] for i in told if acts[i] is LogAct.FILL)
    found = [
        (n.at.date(), n.gas)
        for n in lines
        if n.gas is not None and (n.gas.is_air or named[n.source_ or ""] == {own})
        if n.at.date() < bank.since and void_key(n) not in gone
    ]
    return tuple(sorted(found, key=lambda each: each[0]))


@once_per_book
def _with_gas(book: Book, bank: Bank, gas: Gas) -> Bank:  # one record of each, for what is kept
    return replace(bank, gas=gas, since=None)


_SAY = Lexicon("sources")


_CAPITAL = Lexicon("sources", re.NOFLAG)


@cache
def _called() -> re.Pattern[str]:
    """How a gas is called where others filled it."""
    oxygen, other = _SAY.text("oxygen"), _SAY.text("not of oxygen")
    return re.compile(
        rf"\b(?P<mix>(?:{_SAY.text('with figures')})[ -]?\d[\d.]*(?:/\d[\d.]*)?)"
        r"|(?<![\d.])(?<!to )(?<!auf )(?P<share>\d{1,2}(?:\.\d{1,2})?)[ ]?"
        rf"(?:{_SAY.text('percent')})"
        rf"(?:[ ]?(?:{oxygen})\b|(?=\s*(?:bank\b|[,;(]|$)))"
        r"|(?<![\d/.-])(?P<pair>\d\d/\d\d)(?![\d/])"
        rf"|\b(?P<oxygen>{oxygen})\b(?![- ]?(?:{other}))"
        rf"|\b(?P<helium>{_SAY.text('helium')})\b|(?-i:\b(?P<he>He)\b)(?=\s*(?:[,;(]|$))"
        rf"|\b(?P<none>{_SAY.text('not breathed')})\b(?![ ](?:divers|diving|dive)\b)"
        rf"|\b(?P<some>{_SAY.text('some mix')})\b",
        re.IGNORECASE,
    )


def gases_said(text: str) -> Iterator[GasPut]:
    """The gases that a text names: `elsewhere: Weir, nitrox36`."""
    text = unicodedata.normalize("NFKC", text)
    if _SAY.shape("air").fullmatch(text):
        yield GasPut(AIR_GAS, called="air")
    for found in _called().finditer(text):
        kind = str(found.lastgroup)
        word = {"share": f"nitrox{found['share']}", "he": "helium"}.get(kind, kind)
        if kind == "mix":
            letters, number = re.split(r"[ -]?(?=\d)", found[0].casefold(), maxsplit=1)
            for short, whole in _SAY.changes("spelt"):
                letters = whole.strip() if short.fullmatch(letters) else letters
            word = letters + number
        try:
            gas = None if kind in {"some", "none", "pair"} else Gas.parse(word)
        except GasError:
            gas = None
        called = str(gas) if gas else found[0]
        yield GasPut(gas, mixed=gas is None, called=called, unfit=kind == "none")


def put_by_others(text: str, on: dt.date, rows: Sequence[RuleRow] = ()) -> Iterator[GasPut]:
    """What others filled on a day, by what is said of that: the gases that are named, and air that
    nobody here knows a test of; of `rows` that say how long an air test holds each counts."""
    text = _without_places(text)
    named = [*gases_said(text)]
    yield from named
    if any(put.gas != AIR_GAS for put in named) or test_was_seen(text, on, rows):
        yield from () if named else (GasPut(),)
    elif _SAY.holds("unfit", text):
        yield GasPut(called=UNTESTED, unfit=True, untested=True)
    else:
        yield GasPut(called=UNTESTED, untested=True)


def untested_parts(book: Book, source: str, on: dt.date) -> Iterator[str]:
    """The parts of a source that others fill with air of which, on a day, nobody here knows a test,
    each as it is said."""
    for part in filter(by_others, each_named(source)):
        if any(put.untested for put in put_by_others(part, on, rows_of_tests(book))):
            yield part


def _without_places(text: str) -> str:
    """A text without the names of places, but for those that name a gas."""

    def kept(found: re.Match[str]) -> str:
        names = ("with figures", "oxygen", "helium")
        return found[0] if any(_SAY.holds(name, found[0]) for name in names) else " "

    return _SAY.phrases("places").sub(kept, _CAPITAL.phrases("named places").sub(kept, text))


UNTESTED = "air that no test is known of"

_DAY = pattern(r"\s*(\d{4}-\d{2}(?:-\d{2})?)\b")


def rows_of_tests(book: Book) -> tuple[RuleRow, ...]:
    """The rows in force that say how long an air test holds."""
    rows = rules_of(book).rows[Obligation.AIR_TEST]
    return tuple(r for r in rows if speaks_of_station(r) and isinstance(r.period, Period))


def test_was_seen(text: str, on: dt.date, rows: Sequence[RuleRow]) -> bool:
    """Whether it is said when somebody saw the air test of others, and that was by a day on which
    it still held by each of some rows; nor is it said that it failed."""
    if _SAY.holds("test failed", text):
        return False
    for found in _SAY.phrases("test seen").finditer(text):
        clause = re.split(r"[,;:.()]", text[: found.start()])[-1]
        if denied_by(clause, text, found.end(), (), ()):
            continue
        day = _DAY.match(text, found.end())
        try:
            seen = PartialDate.parse(day[1]) if day is not None else None
            if seen is not None and seen.first <= on and _holds(seen, on, rows):
                return True
        except UnitError:
            continue
    return False


def _holds(seen: PartialDate, on: dt.date, rows: Sequence[RuleRow]) -> bool:
    return all(
        act_ends(seen, row.period, row.good_until).last >= on
        for row in rows
        if isinstance(row.period, Period)
    )
