"""Recall: every cylinder that took gas from a source since its last good test, or that a maker's
notice names; what it holds, where it is now and whom to ring.

Nothing is left out for want of a record: where a fill does not say its source, it is listed too.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
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
from tankbook.records.station import AirTest, that_stand
from tankbook.records.words import JobState, LogAct, Status, Use
from tankbook.rules.air import air_judge, by_others, parts_named, sampled_at, taken_here
from tankbook.rules.answers import Contents
from tankbook.rules.fill_history import (
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


class Link(StrEnum):
    """How a cylinder is tied to what is recalled."""

    DIRECT = "filled from it"
    BANK = "filled from a bank that it fills"
    UNKNOWN = "a fill that does not say its source"
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


class Recall(Struct, frozen=True):
    """What is recalled and the cylinders it touches.

    `since` is the first day that counts, None for the whole log; `why_since` says what it rests on.
    """

    what: str
    since: dt.date | None
    why_since: str
    suspects: tuple[Suspect, ...]
    through: tuple[str, ...] = ()

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
    known = {name.casefold(): name for name in gas_labels(book)}
    places = sampled_at(book.station, test) if book.station else frozenset()
    named = [known.get(place) for place in places]
    return (named[0] if len(named) == 1 else None) or compressor_of(book)


def compressor_of(book: Book) -> str:
    """The compressor's label, or an empty text."""
    compressor = book.station.compressor if book.station else None
    return (compressor.name or "") if compressor else ""


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
    """Every label gas can come from: compressor and banks, and what the log names besides."""
    known = [compressor_of(book), *_banks_of(book)]
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
    known = {name.casefold() for name in (compressor_of(book), *_banks_of(book))} | {"compressor"}
    named = _named_by(book, said)
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
    why = "as asked"
    if since is None:
        since, why = _since(book, source, today)
    banks = _banks_behind(book, source)
    places = places_of(book)
    acts, sources, times = (places.log.column(name) for name in ("act", "source_", "at"))
    links = {
        said: _link(_named_by(book, said), source, banks)
        or (Link.UNKNOWN if _is_strange(book, said) else None)
        for said in set(sources)
    }
    found: dict[str, list[tuple[LogLine, Link]]] = {}
    for id_, each in places.by_id.items():
        for i in each:
            link = links[sources[i]] if acts[i] is LogAct.FILL else None
            if link and (since is None or times[i].date() >= since):
                for member in went_into(book, id_, times[i]):
                    found.setdefault(member, []).append((places.log[i], link))
    suspects = [_suspect(book, id_, fills) for id_, fills in found.items()]
    label = source or "the compressor"
    return Recall(label, since, why, _in_order(suspects), tuple(banks))


def _since(book: Book, source: str, today: dt.date) -> tuple[dt.date | None, str]:
    failed = [t for t in _tests(book) if t.on <= today and not _is_good(book, t)]
    mine = [t for t in failed if _same(source_of_test(book, t), source)]
    before = mine[-1].on if mine else today
    good = last_good_test(book, source, before)
    if good is None:
        return None, "no good test of it is on record: the whole log counts"
    by = f" by {good.by}" if good.by else ""
    return good.on, f"its last good test{by} was on {good.on}"


def _banks_behind(book: Book, source: str) -> tuple[str, ...]:
    """The banks that a source fills: all of them for the compressor, none for a bank."""
    banks = _banks_of(book)
    is_bank = any(_same(source, name) for name in banks)
    return () if is_bank or not _same(source, compressor_of(book)) else banks


def _link(names: tuple[str, ...], source: str, banks: tuple[str, ...]) -> Link | None:
    if any(_same(n, source) for n in names):
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
