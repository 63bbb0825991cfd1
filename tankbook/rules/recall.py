"""Recall: every cylinder that took gas from a source since its last good test, or that a maker's
notice names; what it holds, where it is now and whom to ring.

Nothing is left out for want of a record: where a fill does not say its source, it is listed too.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator, Set
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.kinds import is_empty
from tankbook.records.life import still_open
from tankbook.records.log import Log, LogLine
from tankbook.records.rulerow import WatchRow
from tankbook.records.station import COMPRESSOR, AirTest, Bank, Gauge, that_stand
from tankbook.records.words import JobState, LogAct, SentFor, Status, Use
from tankbook.rules.air import (
    air_judge,
    by_others,
    own_names,
    parts_named,
    sampled_at,
    taken_here,
    unfed,
)
from tankbook.rules.answers import Contents
from tankbook.rules.bank_air import BankOrigin, air_of, may_be_of, may_hold
from tankbook.rules.bank_held import banks_held, is_good, what_opens
from tankbook.rules.fill_history import (
    GAUGE_ERROR_AT_MOST,
    contents_of,
    lines_about,
    lines_into,
    places_of,
    went_into,
)
from tankbook.rules.inforce import is_watched, rules_of
from tankbook.rules.rental import out_as
from tankbook.rules.status import state_of, status_of
from tankbook.rules.tested import made_of
from tankbook.rules.workshop import open_jobs
from tankbook.units import GaugePressure


class Link(StrEnum):
    """How a cylinder is tied to what is recalled."""

    DIRECT = "filled from it"
    BANK = "filled from a bank that it fills"
    READ = "read on it"
    FILLER = "filled by them"
    THEN = "filled in that time"
    UNKNOWN = "a fill that does not say its source"
    NO_POSITION = "a fill that does not say its position"
    NO_NAME = "a fill that does not say who filled it"
    NOTICE = "named in the notice"
    MAYBE = "may be named: its record lacks what the notice asks"


class Still(StrEnum):
    """Whether a cylinder still holds the gas."""

    HOLDS = "holds it"
    MIXED = "topped off since"
    EMPTIED = "emptied since"
    OUT_OF_HAND = "may hold it"


class Suspect(Struct, frozen=True):
    """A cylinder to be found: why, what it holds, where it is, and whom to ring.

    `fills` are the suspect fills, newest last; `ring` is a reference, or empty where it is here.
    """

    id: str
    link: Link
    fills: tuple[LogLine, ...]
    still: Still | None
    contents: Contents
    status: Status
    place: str
    ring: str
    held: bool


class SuspectBank(Struct, frozen=True):
    """A bank that holds gas that is recalled, or may.

    Attributes:
        name: its label.
        share: how much of what it holds now, above 0 and up to 1; None where nobody knows.
        origins: when that was pumped, oldest first.
        shows: what it should show now.
        held: it is out of use already.
        clears: what opens it again.
    """

    name: str
    share: float | None
    origins: tuple[BankOrigin, ...]
    shows: GaugePressure | None
    held: bool
    clears: str


class Asked(Struct, frozen=True):
    """What a recall of fills takes; what is said besides narrows it.

    Attributes:
        source: a bank's or a compressor's label; an empty text for the compressor without a label,
            or any of several; None where no source is asked for.
        gauge: a gauge, by its label.
        person: the initials of who filled.
        since: the first day that counts, where it is known better than the records say.
        until: the last one.
    """

    source: str | None = None
    gauge: str = ""
    person: str = ""
    since: dt.date | None = None
    until: dt.date | None = None

    @property
    def of_gas(self) -> bool:
        """Whether the gas is what is recalled, and not how it was read or by whom it was filled."""
        return not self.gauge and not self.person


class Recall(Struct, frozen=True):
    """What is recalled and the cylinders it touches.

    `since` is the first day that counts, None for the whole log; `why_since` says what it rests on.
    `banks` may hold the gas; `gas` is its source, or empty where no gas is recalled.
    """

    what: str
    since: dt.date | None
    why_since: str
    suspects: tuple[Suspect, ...]
    through: tuple[str, ...] = ()
    banks: tuple[SuspectBank, ...] = ()
    until: dt.date | None = None
    gas: str = ""

    @property
    def here(self) -> tuple[Suspect, ...]:
        """Those that are on the premises."""
        return tuple(s for s in self.suspects if not s.ring)

    @property
    def away(self) -> tuple[Suspect, ...]:
        """Those whom somebody must be rung for."""
        return tuple(s for s in self.suspects if s.ring)


def failed_test(book: Book) -> AirTest | None:
    """The newest air test, where it failed or was over its limits."""
    tests = _tests(book)
    return tests[-1] if tests and not _is_good(book, tests[-1]) else None


def _tests(book: Book) -> list[AirTest]:
    return list(that_stand(book.station.air_tests)) if book.station else []


def _is_good(book: Book, test: AirTest) -> bool:
    return air_judge(book).passes(test)


def source_of_test(book: Book, test: AirTest) -> str:
    """What a failed sample speaks against: the bank that it was drawn from, else the compressor,
    behind which everything lies, as of a sample of a whip, or of two banks at once."""
    known = {name.casefold(): name for name in reversed(gas_labels(book))}
    places = sampled_at(book.station, test) if book.station else frozenset()
    named = [known.get(place) for place in places]
    return (named[0] if len(named) == 1 else None) or compressor_of(book)


def compressor_of(book: Book) -> str:
    """The compressor's label, or an empty text: of several, too."""
    compressor = book.station.only_compressor if book.station else None
    return (compressor.name or "") if compressor else ""


def _pumps(book: Book) -> tuple[str, ...]:
    """The labels of compressors and boosters."""
    station = book.station
    if station is None:
        return ()
    fed = station.every_fed
    return (*(c.name or "" for c in station.every_compressor), *(each.name for each in fed))


def _meant(book: Book, source: str | None) -> frozenset[str]:
    """The compressors that a source is, by their names in small letters: an empty text is any; none
    where it is something else."""
    own = own_names(book.station) if book.station else frozenset[str]()
    if source is None:
        return frozenset()
    return own & {source.casefold()} if source else own


def last_good_test(book: Book, source: str, before: dt.date) -> AirTest | None:
    """The newest good test of a source on or before a day.

    A test that names no source speaks of the compressor. A good test of the compressor clears no
    bank: what was stored before it is still in there.
    """
    good = [
        t for t in _tests(book) if t.on <= before and _is_good(book, t) and _is_of(book, t, source)
    ]
    return good[-1] if good else None


def _is_of(book: Book, test: AirTest, source: str) -> bool:
    """Whether a sample was drawn at a source, and nowhere else."""
    places = sampled_at(book.station, test) if book.station else frozenset()
    return places == {source.casefold() or "compressor"} or places == {source.casefold()}


def gas_labels(book: Book) -> tuple[str, ...]:
    """Every label gas can come from: compressors, boosters and banks, and what the log names
    besides."""
    known = [*_pumps(book), *_banks_of(book)]
    named = {name for said in set(Log.of(book.log).column("source_")) for name in _names(said)}
    return tuple(dict.fromkeys(n for n in (*known, *sorted(named)) if n))


def _names(source: str | None) -> tuple[str, ...]:
    """The banks or the compressor that a line's source names."""
    return taken_here(source or "")


def _named_by(book: Book, said: str | None) -> tuple[str, ...]:
    """What a line's source names, and the parts of the station in it: `C1 outlet` is C1."""
    here = "+".join(_names(said))
    parts = parts_named(book.station, here) if book.station else frozenset[str]()
    return (*_names(said), *sorted(parts))


def _is_strange(book: Book, said: str | None) -> bool:
    """Whether a line leaves open what it was filled from: it names nothing, or no source here."""
    if by_others(said or ""):
        return False
    known = {name.casefold() for name in (*_pumps(book), *_banks_of(book))} | {COMPRESSOR}
    named = _named_by(book, said)
    if book.station and unfed(book.station) & {n.casefold() for n in named}:
        return True
    return not any(
        n.casefold() in known or n in book.cylinders or n in book.every_set for n in named
    )


def _banks_of(book: Book) -> tuple[str, ...]:
    return tuple(b.name for b in (book.station.banks if book.station else ()))


def _same(one: str, other: str) -> bool:
    return one.casefold() == other.casefold()


def by_source(book: Book, source: str, today: dt.date, since: dt.date | None = None) -> Recall:
    """Every cylinder filled from a bank or the compressor since the source's last good test.

    Args:
        book: the records.
        source: a bank's or the compressor's label; an empty text for the unnamed compressor.
        today: the day of the recall.
        since: the first day that counts, where it is known better than the tests say.

    A bank's gas came from the compressor, so a recall of the compressor takes in every bank. The
    day of the last good test counts as well: the log cannot tell what came before the sample.
    """
    return by_fills(book, Asked(source, since=since), today)


def by_fills(book: Book, asked: Asked, today: dt.date) -> Recall:
    """Every cylinder filled from a source, read on a gauge, filled by a person, in a time: each
    that is asked for narrows the others. What a line does not say is never left out for it."""
    since, why = _begins(book, asked, today)
    source = asked.source or ""
    banks = _banks_behind(book, source, since) if asked.source is not None else ()
    judges = list(_judges(book, asked, banks))
    places = places_of(book)
    acts, times = (places.log.column(name) for name in ("act", "at"))
    columns = [places.log.column(name) for name in ("source_", "position", "by")]
    links = {
        said: _least_sure([judge(*said) for judge in judges])
        for said in set(zip(*columns, strict=True))
    }
    found: dict[str, list[tuple[LogLine, Link]]] = {}
    for id_, each in places.by_id.items():
        for i in each:
            link = links[columns[0][i], columns[1][i], columns[2][i]]
            if link and acts[i] is LogAct.FILL and _within(times[i].date(), since, asked.until):
                for member in went_into(book, id_, times[i]):
                    found.setdefault(member, []).append((places.log[i], link))
    suspects = [_suspect(book, id_, fills) for id_, fills in found.items()]
    held = tuple(_suspect_banks(book, asked, since, today)) if asked.of_gas else ()
    every = "the compressors" if len(_meant(book, "")) > 1 else "the compressor"
    label = "" if asked.source is None else source or every
    named = [label, f"gauge {asked.gauge}" if asked.gauge else ""]
    named += [f"filled by {asked.person}" if asked.person else ""]
    what = ", ".join(filter(None, named)) or "every fill"
    gas = label or "every source" if asked.of_gas else ""
    return Recall(what, since, why, _in_order(suspects), tuple(banks), held, asked.until, gas)


def _within(day: dt.date, since: dt.date | None, until: dt.date | None) -> bool:
    return (since is None or day >= since) and (until is None or day <= until)


_Judge = Callable[[str | None, str | None, str | None], Link | None]
"""What ties a fill to what is asked for, by its source, its position and who filled it."""


def _judges(book: Book, asked: Asked, banks: tuple[str, ...]) -> Iterator[_Judge]:
    if asked.source is not None:
        source = asked.source

        def by_its_source(said: str | None, _: str | None, __: str | None) -> Link | None:
            strange = Link.UNKNOWN if _is_strange(book, said) else None
            return _link(_named_by(book, said), source, banks, _meant(book, source)) or strange

        yield by_its_source
    if asked.gauge:
        gauge = gauge_called(book, asked.gauge)
        yield lambda source, position, _: _read_on(book, gauge, source, position)
    if asked.person:
        yield lambda _, __, by: _filled_by(asked.person, by)


def _least_sure(links: list[Link | None]) -> Link | None:
    """What ties a fill to all that is asked for: the least sure of what does."""
    if None in links:
        return None
    order = list(Link)
    return max((n for n in links if n), key=order.index, default=Link.THEN)


def _filled_by(person: str, by: str | None) -> Link | None:
    if not by:
        return Link.NO_NAME
    known = [by, *re.findall(r"\w+", by)]
    return Link.FILLER if any(_same(person, name) for name in known) else None


def _read_on(
    book: Book, gauge: Gauge | None, source: str | None, position: str | None
) -> Link | None:
    """Whether a fill was read on a gauge. The log names none, so that the master gauge, and one of
    which nobody says where it is, touch every fill."""
    if gauge is None or book.station is None or gauge.master or not gauge.position:
        return Link.READ
    if any(_same(gauge.position, name) for name in _banks_of(book)):
        named = any(_same(gauge.position, n) for n in _named_by(book, source))
        return Link.READ if named else Link.UNKNOWN if _is_strange(book, source) else None
    parts = parts_named(book.station, position or "")
    if gauge.position.casefold() in parts:
        return Link.READ
    return None if parts else Link.NO_POSITION


def gauge_called(book: Book, name: str) -> Gauge | None:
    """The gauge of a label, however it is written."""
    gauges = book.station.gauges if book.station else ()
    return next((g for g in gauges if _same(g.name, name)), None)


def people_in_log(book: Book) -> tuple[str, ...]:
    """Everybody who is said to have filled."""
    return tuple(sorted({by for by in Log.of(book.log).column("by") if by}))


def _begins(book: Book, asked: Asked, today: dt.date) -> tuple[dt.date | None, str]:
    """From when on fills count: the latest of what each that is asked for says, and why."""
    if asked.since is not None:
        return asked.since, "as asked"
    found: list[tuple[dt.date | None, str]] = []
    if asked.source is not None:
        found.append(_since(book, asked.source, today))
    if asked.gauge:
        found.append(_true_since(book, asked.gauge, today))
    if not found:
        return None, "the whole log counts"
    return max(found, key=lambda each: each[0] or dt.date.min)


def _true_since(book: Book, name: str, today: dt.date) -> tuple[dt.date | None, str]:
    """The last check that found a gauge true."""
    gauge, said = gauge_called(book, name), book.station.gauge_error if book.station else None
    most = min(said or GAUGE_ERROR_AT_MOST, GAUGE_ERROR_AT_MOST)
    true = [
        check.on
        for check in that_stand(gauge.checked if gauge else ())
        if check.on <= today and abs(check.reads.pa - check.true.pa) <= most.pa
    ]
    if not true:
        return None, "no check that found it true is on record: the whole log counts"
    return true[-1], f"its last check that found it true was on {true[-1]}"


def _suspect_banks(
    book: Book, asked: Asked, since: dt.date | None, today: dt.date
) -> Iterator[SuspectBank]:
    """The banks with gas of a source, or of a time, in them, unless they were sampled since."""
    station, judge = book.station, air_judge(book)
    if station is None:
        return
    source = asked.source
    pumps = _meant(book, source)
    of_compressor = bool(pumps) or (source is not None and _same(source, compressor_of(book)))
    several = len(_meant(book, "")) > 1
    boosters = {each.name.casefold() for each in station.every_fed}
    booster = boosters & {(source or "").casefold()}
    failed = [t for t in _tests(book) if t.on <= today and not _is_good(book, t)]
    failed = [t for t in failed if source is None or _speaks_against(book, t, source)]
    failed = [t for t in failed if since is None or t.on >= since]
    again = _good_again(book, source or "", failed) if of_compressor else dt.date.max
    until = min(asked.until or dt.date.max, again)

    def is_of_it(origin: BankOrigin) -> bool:
        elsewhere = by_others(origin.source) and not taken_here(origin.source)
        begun, ended = origin.since or dt.date.min, since is None or origin.on >= since
        if booster:
            return ended and bool(parts_named(station, origin.source) & booster)
        mine = not (of_compressor and elsewhere)
        if of_compressor and several:
            mine = may_be_of(station, origin.source, pumps)
        return ended and begun <= until and mine

    for bank in station.banks:
        itself = source is not None and _same(bank.name, source)
        fills_it = (of_compressor and not _is_pure(bank)) or bool(booster)
        if not (itself or source is None or fills_it):
            continue
        own = frozenset({bank.name.casefold()})
        good = [
            t.on
            for t in _tests(book)
            if t.on <= today
            and sampled_at(station, t) == own
            and is_good(judge, station, t, failed)
            and all(t.on > f.on or sampled_at(station, f) != own for f in failed)
        ]
        sampled, air = max(good, default=None), air_of(book, bank)
        origins = tuple(
            o
            for o in air.origins
            if (sampled is None or o.on >= sampled) and (itself or is_of_it(o))
        )
        if origins or (sampled is None and not air.is_known and not booster):
            share = air.share(origins.__contains__) if air.is_known else None
            held = any(each.name == bank.name for each in banks_held(book, today))
            opens = what_opens(book, today)
            yield SuspectBank(bank.name, share, origins, air.shows, held, opens)


def _is_pure(bank: Bank) -> bool:
    """Whether a bank holds oxygen or helium, which no compressor of air gives."""
    return bank.gas is not None and bank.gas.oxygen_percent + bank.gas.helium_percent > 99


def _good_again(book: Book, source: str, failed: list[AirTest]) -> dt.date:
    """The last day before which a source's gas is suspect: that of its first good sample after all
    that failed."""
    judge, last = air_judge(book), max((t.on for t in failed), default=dt.date.max)
    good = (
        t.on
        for t in _tests(book)
        if book.station is not None
        and t.on > last
        and _is_of(book, t, source)
        and is_good(judge, book.station, t, failed)
    )
    return next(good, dt.date.max)


def _since(book: Book, source: str, today: dt.date) -> tuple[dt.date | None, str]:
    failed = [t for t in _tests(book) if t.on <= today and not _is_good(book, t)]
    mine = [t for t in failed if _speaks_against(book, t, source)]
    before = mine[-1].on if mine else today
    good = last_good_test(book, source, before)
    if good is None:
        return None, "no good test of it is on record: the whole log counts"
    by = f" by {good.by}" if good.by else ""
    return good.on, f"its last good test{by} was on {good.on}"


def _speaks_against(book: Book, test: AirTest, source: str) -> bool:
    """Whether a failed sample speaks against a source: one that was drawn nobody knows behind which
    of several compressors speaks against each."""
    of = source_of_test(book, test)
    return _same(of, source) or (not of and bool(_meant(book, source)))


def _banks_behind(book: Book, source: str, since: dt.date | None) -> tuple[str, ...]:
    """The banks that a source fills: all of them for the compressor, none for a bank; for one of
    several those that may hold what it pumped since a day."""
    banks, pumps = _banks_of(book), _meant(book, source)
    station = book.station
    if any(_same(source, name) for name in banks) or station is None:
        return ()
    if not pumps:
        return banks if _same(source, compressor_of(book)) else ()
    if pumps == own_names(station):
        return banks
    first = since or dt.date.min
    return tuple(b.name for b in station.banks if may_hold(station, b, pumps, first))


def _link(
    names: tuple[str, ...], source: str, banks: tuple[str, ...], pumps: Set[str]
) -> Link | None:
    if any(_same(n, source) or n.casefold() in pumps for n in names):
        return Link.DIRECT
    return Link.BANK if any(_same(n, b) for n in names for b in banks) else None


def _suspect(book: Book, id_: str, fills: Iterable[tuple[LogLine, Link]]) -> Suspect:
    order = list(Link)
    link = min((link for _, link in fills), key=order.index)
    lines = tuple(sorted((line for line, _ in fills), key=lambda n: n.at))
    return _placed(book, id_, link, lines, _still(book, id_, lines))


def _still(book: Book, id_: str, fills: tuple[LogLine, ...]) -> Still:
    """Whether the gas is still inside: emptied only where the log says so after the last one."""
    held = contents_of(book, id_)
    if is_empty(held.pressure):
        return Still.EMPTIED
    later = [n for n in lines_about(book, id_) if n.at > fills[-1].at]
    if any(n.act is not LogAct.FILL and is_empty(n.to) for n in later):
        return Still.EMPTIED
    if any(n.act is LogAct.FILL and is_empty(n.from_) for n in later):
        return Still.EMPTIED
    into = (n for n in lines_into(book, id_) if n.at > fills[-1].at)
    if any(n.act is LogAct.FILL for n in into):
        return Still.MIXED
    return Still.HOLDS


def _placed(
    book: Book, id_: str, link: Link, fills: tuple[LogLine, ...], still: Still | None
) -> Suspect:
    cylinder = book.cylinders.get(id_)
    status = status_of(book, cylinder) if cylinder else Status.HELD
    place, ring = _where(book, cylinder) if cylinder else ("its file cannot be read", "")
    if ring and still is Still.HOLDS:
        still = Still.OUT_OF_HAND
    held = cylinder is not None and bool(still_open(cylinder.held))
    return Suspect(id_, link, fills, still, contents_of(book, id_), status, place, ring, held)


def _where(book: Book, cylinder: Cylinder) -> tuple[str, str]:
    """Where a cylinder is now, and the reference to ring where it is not here."""
    for name, rental in out_as(book, cylinder):
        as_set = f" in {name}" if name != cylinder.id else ""
        return f"out{as_set} since {rental.on}", rental.to
    sold = standing(cylinder.handed_over)
    if sold:
        return f"sold {sold[-1].on}", sold[-1].to
    away = still_open(cylinder.sent)
    if away:
        if away[-1].for_ is SentFor.SUPPLIER:
            return f"returned to its supplier {away[-1].on}", away[-1].to
        return f"away for {away[-1].for_}", away[-1].to
    if cylinder.use is Use.CUSTOMER:
        return _customers(cylinder)
    return cylinder.place or "here", ""


def _customers(cylinder: Cylinder) -> tuple[str, str]:
    """A customer's cylinder is here while work on it is not collected, else with its owner."""
    jobs = open_jobs(cylinder)
    if jobs:
        ready = all(state_of(j) is JobState.READY for j in jobs)
        return ("here, awaiting collection" if ready else "here, for work"), ""
    return "with its owner", cylinder.owner or _latest_reference(cylinder) or "owner not recorded"


def _latest_reference(cylinder: Cylinder) -> str:
    return next((j.reference for j in reversed(standing(cylinder.jobs)) if j.reference), "")


def _in_order(suspects: Iterable[Suspect]) -> tuple[Suspect, ...]:
    """Those to be rung for first, then those here, by id."""
    return tuple(sorted(suspects, key=lambda s: (not s.ring, s.still is Still.EMPTIED, s.id)))


def by_notice(book: Book, row: WatchRow, what: str) -> Recall:
    """Every cylinder that a maker's notice names, or may name, whatever became of it."""
    found = [
        _placed(book, cylinder.id, link, (), None)
        for cylinder in book.cylinders.values()
        if (link := _named(row, cylinder)) is not None
    ]
    return Recall(what, None, "", _in_order(found))


def _named(row: WatchRow, cylinder: Cylinder) -> Link | None:
    """Whether a notice names a cylinder. What its record does not say is held against it."""
    if is_watched(row, cylinder):
        return Link.NOTICE
    unknown: dict[str, tuple[str, ...] | None] = {}
    if made_of(cylinder) is None:
        unknown |= {"made_from": None, "made_before": None}
    if cylinder.maker is None:
        unknown |= {"maker": (), "not_maker": ()}
    if cylinder.made_in is None:
        unknown |= {"made_in": (), "not_made_in": ()}
    if not cylinder.specification:
        unknown |= {"specification": ()}
    relaxed = replace(row, **unknown)
    return Link.MAYBE if unknown and is_watched(relaxed, cylinder) else None


def notice_of(book: Book, id_: str) -> WatchRow | None:
    """A watch row in force, by its id."""
    return next((w for w in rules_of(book).watch if w.id == id_), None)
