"""Air tests: which of them count, and what is wrong with the air they measured."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Set
from functools import lru_cache, wraps
from typing import NamedTuple, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.log import each_named
from tankbook.records.naming import named_among
from tankbook.records.rulerow import AirLimits, Obligation, RuleRow
from tankbook.records.station import COMPRESSOR, AirTest, Bank, Station, that_stand
from tankbook.records.words import TestResult
from tankbook.rules.inforce import InForce, rules_of
from tankbook.units import Concentration, GaugePressure, PartialDate, Percent, Period
from tankbook.units.lexicon import Lexicon, words_in
from tankbook.units.patterns import pattern

# --- when a sample was drawn ---------------------------------------------------------------------


class Drawn(NamedTuple):
    """The first and the last moment at which a sample can have been drawn: one, where its hour is
    known; else the whole of its day, so that what was pumped that day is of before it or of after.
    """

    first: dt.datetime
    last: dt.datetime


def day_of(day: dt.date) -> Drawn:
    """The beginning and the end of a day."""
    return Drawn(dt.datetime.combine(day, dt.time.min), dt.datetime.combine(day, dt.time.max))


NEVER = Drawn(day_of(dt.date.min).last, day_of(dt.date.min).last)
"""What stands for a sample that there is not, before all others."""


def drawn(test: AirTest) -> Drawn:
    """When a sample was drawn."""
    at = test.at and dt.datetime.combine(test.on, test.at)
    return Drawn(at, at) if at else day_of(test.on)


def is_after(test: AirTest, other: AirTest) -> bool:
    """Whether a sample was drawn after another: on a later day, or on its day at a later hour,
    where both hours are known."""
    if test.on != other.on:
        return test.on > other.on
    return test.at is not None and other.at is not None and test.at > other.at


# --- where a sample was drawn --------------------------------------------------------------------

_OUTLETS = ("whip", "position", "panel")
_KINDS = frozenset({"compressor", "bank", "filter", *_OUTLETS})
_FILLING = frozenset(
    "+ & / , ( ) and at from of after via the fill filling outlet sample port storage".split()
)
"""What may stand beside the names of parts where a sample was drawn."""


_ANY = "any compressor"
"""What a text names that says `compressor`, or a filter, where the station has several."""


T = TypeVar("T")


def _once_per_station(work: Callable[[Station], T]) -> Callable[[Station], T]:
    """Remember what is worked out from each of the last few stations, known by its identity: to
    compare two of them takes longer than most of the work."""
    known: dict[int, tuple[Station, T]] = {}

    @wraps(work)
    def remembered(station: Station) -> T:
        entry = known.get(id(station))
        if entry is None:
            if len(known) >= _STATIONS:
                known.clear()
            entry = known[id(station)] = station, work(station)
        return entry[1]

    return remembered


_STATIONS = 64


@_once_per_station
def own_names(station: Station) -> frozenset[str]:
    """The compressors by their labels, one without a label as `compressor`, in small letters."""
    return frozenset((c.name or COMPRESSOR).casefold() for c in station.every_compressor)


@_once_per_station
def sources_of(station: Station) -> frozenset[str]:
    """Where gas comes from: the compressors that have a label and the banks, in small letters."""
    names = {b.name.casefold() for b in station.banks}
    return frozenset(names | {c.name.casefold() for c in station.every_compressor if c.name})


def sampled_at(station: Station, test: AirTest) -> frozenset[str]:
    """Where a sample was drawn, in small letters: at the compressor where the test names nothing,
    and of several at all of them, as nobody knows which.

    `B1+B2`, `bank B1` and `C1 outlet` are told by the parts they name, `compressor` by its label,
    and so is a filter, which lies behind it; a booster is told with what it takes from. What names
    no part of the station, or more than parts, is a place of its own.
    """
    own = own_names(station)
    text = _plain(test.source_ or (next(iter(own), "") if len(own) < 2 else COMPRESSOR))
    parts, known = _read(station, text)
    return parts if known and parts else frozenset({text})


def parts_named(station: Station, text: str) -> frozenset[str]:
    """The parts of the station that a text names, in small letters, whatever else it says."""
    return _read(station, _plain(text))[0] - (_KINDS - own_names(station))


def speaks_of(station: Station, test: AirTest, name: str) -> bool:
    """Whether a sample tells of one compressor, by its name in small letters, and of no other
    source: what was drawn of two at once, or nobody knows of which, says of neither that its air
    is good."""
    return sampled_at(station, test) & (own_names(station) | sources_of(station)) == {name}


_ELSEWHERE = pattern(r"\s*elsewhere\b", re.IGNORECASE)


def taken_here(source: str) -> tuple[str, ...]:
    """What a fill's source names but for what others filled (`elsewhere: WHERE`), part by part."""
    return tuple(n for n in each_named(source) if not _ELSEWHERE.match(n))


def by_others(source: str) -> bool:
    """Whether a fill's source names what others filled (`elsewhere: WHERE`)."""
    return any(_ELSEWHERE.match(n) for n in each_named(source))


def of_others_alone(source: str) -> bool:
    """Whether all that a fill came from is what others filled (`elsewhere: WHERE`)."""
    return by_others(source) and not taken_here(source)


def named_as_others(station: Station, source: str) -> tuple[str, ...]:
    """The parts of the station that a source names as what others filled, in small letters: by
    their labels, or by what says nothing besides (`elsewhere: bank 1`)."""
    found = set[str]()
    for each in (n for n in each_named(source) if _ELSEWHERE.match(n)):
        where = _plain(_ELSEWHERE.sub("", each).lstrip(" :,"))
        parts, alone = _read(station, where)
        found |= parts if alone else set()
        found |= {
            n for n in sources_of(station) if re.search(rf"(?<!\w){re.escape(n)}(?!\w)", where)
        }
    return tuple(sorted(found))


_SAY = Lexicon("sources")


def names_no_other(source: str, ledger: str) -> tuple[str, ...]:
    """What a source says of a place where others filled that names none but this one: by the name
    of the ledger, by `ours` or `here`, or by a bank or a compressor that is nobody's.

    Args:
        source: as a fill or a raising gives it.
        ledger: the name of the ledger.
    """
    places = _SAY.words("own place", "nameless place")
    nameless = places | _SAY.words("beside these")
    own = tuple(w for w in words_in(ledger) if w not in nameless)
    found = list[str]()
    for each in (n for n in each_named(source) if _ELSEWHERE.match(n)):
        written = re.findall(r"[^\W_]+", _ELSEWHERE.sub("", each.replace("-", "")))
        said = [w.casefold() for w in written]
        rest = _without_run(said, own)
        whole = len(rest) < len(said) or not places.isdisjoint(rest)
        if whole and all(w in nameless or w.isdecimal() for w in rest):
            found.append(each)
            continue
        # a name beside it may be of whose it is: `Weir, who are here this week`
        named = any(w[0].isupper() and w.casefold() not in nameless for w in written)
        if not named and not _SAY.words("surely own").isdisjoint(said):
            found.append(each)
    return tuple(found)


def _without_run(said: list[str], run: tuple[str, ...]) -> list[str]:
    """Words without some that stand together in that order."""
    for at in range(len(said) - len(run) + 1) if run else ():
        if tuple(said[at : at + len(run)]) == run:
            return said[:at] + said[at + len(run) :]
    return said


def names_parts_alone(station: Station, text: str) -> bool:
    """Whether a text names parts of the station and says nothing besides."""
    return _read(station, _plain(text))[1]


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _read(station: Station, text: str) -> tuple[frozenset[str], bool]:
    """The parts that a text names, by their labels where it gives any, and whether it says nothing
    besides."""
    if text == "banks":
        return _banks_of_air(station), True
    parts, known = _read_by(_names_of(station), text)
    if _ANY in parts:  # `compressor C2` is C2
        own = own_names(station)
        parts = parts - {_ANY} | (frozenset() if parts & own else own)
    return _with_feeds(station, parts), known


def _with_feeds(station: Station, parts: frozenset[str]) -> frozenset[str]:
    """Parts, and what those among them take from that are fed, one behind another."""
    feeds = _feeds(station)
    if parts.isdisjoint(feeds):
        return parts
    found, left = set(parts), list(parts)
    own, known = own_names(station), sources_of(station)
    while left:
        for name in feeds.get(left.pop(), ()):
            fed = {name} if name in known | feeds.keys() else own if name == COMPRESSOR else ()
            left += [each for each in fed if each not in found]
            found.update(fed)
    return frozenset(found)


@_once_per_station
def _feeds(station: Station) -> dict[str, tuple[str, ...]]:
    """What each booster, membrane and blender takes from, all by their names in small letters."""
    feeds = {b.name.casefold(): tuple(n.casefold() for n in b.from_) for b in station.boosters}
    for source in station.sources:
        made = station.compressor_called(source.of)
        feeds[source.name.casefold()] = ((made.name or COMPRESSOR).casefold(),) if made else ()
    return feeds


def told_by(station: Station, text: str) -> frozenset[str]:
    """The parts that say how clean a gas is that a text names: of what a compressor feeds, itself,
    and not that compressor."""
    parts = parts_named(station, text)
    for source in station.sources:
        made = station.compressor_called(source.of)
        if source.name.casefold() in parts and made is not None:
            parts -= {(made.name or COMPRESSOR).casefold()}
    return parts


def unfed(station: Station) -> frozenset[str]:
    """The boosters, membranes and blenders of which nobody knows all that they take from."""
    feeds = _feeds(station)
    if not feeds:
        return frozenset()
    known = (
        sources_of(station) | own_names(station) | ({COMPRESSOR} if own_names(station) else set())
    )
    fed = set[str]()
    for _ in feeds:
        fed |= {n for n, each in feeds.items() if each and all(e in known | fed for e in each)}
    return frozenset(feeds.keys() - fed)


@lru_cache(maxsize=8192)
def _read_by(parts_of: _Names, text: str) -> tuple[frozenset[str], bool]:
    kinds = _kinds(parts_of)
    words = _word(parts_of).findall(text)
    found = [w for w in words if w not in _FILLING or w in kinds]
    known = all(w in kinds or w.removesuffix("s") in _KINDS for w in found)
    parts = frozenset(kinds[w] or w for w in found if w in kinds)
    return frozenset(p for p in parts if p not in _KINDS) or parts, known


@lru_cache(maxsize=64)
def _word(parts_of: _Names) -> re.Pattern[str]:
    """The names that something may be called by, the longest first, or any other word."""
    names = sorted(_kinds(parts_of), key=len, reverse=True)
    return re.compile("|".join([*(rf"(?<!\w){re.escape(n)}(?!\w)" for n in names), r"\w+|\S"]))


def _number(name: str) -> str:
    """The number of a label of letters and a number, or an empty text."""
    match = re.fullmatch(r"[^\W\d]*(\d+)", name)
    return match[1] if match else ""


def _banks_of_air(station: Station) -> frozenset[str]:
    banks = frozenset(b.name.casefold() for b in station.banks)
    return banks - _holds_no_air(station) or banks


class _Names(NamedTuple):
    """What the parts of a station are called; `own` is empty where it has no compressor, and
    `_ANY` of several. A filter stands beside the compressor that it lies behind."""

    own: str
    compressor: tuple[str, ...]
    bank: tuple[str, ...]
    whip: tuple[str, ...]
    position: tuple[str, ...]
    booster: tuple[str, ...]
    filters: tuple[tuple[str, str], ...]


@_once_per_station
def _names_of(station: Station) -> _Names:
    every = station.every_compressor
    own = _ANY if len(every) > 1 else next(iter(own_names(station)), "")
    behind = ((f.name, station.compressor_called(f.of) if f.of else None) for f in station.filters)
    return _Names(
        own,
        tuple(c.name for c in every if c.name),
        tuple(b.name for b in station.banks),
        tuple(w.name for w in station.whips),
        tuple(p.name for p in station.positions),
        tuple(each.name for each in station.every_fed),
        tuple((n, c.name.casefold() if c and c.name else own) for n, c in behind),
    )


@lru_cache(maxsize=64)
def _kinds(parts_of: _Names) -> dict[str, str]:
    """What a sample may be said to be drawn at, with the part that is meant by it where that is
    called otherwise: the only part of its kind, or of its number (`whip 1` is `W1`)."""
    parts = {kind: getattr(parts_of, kind) for kind in ("compressor", "bank", "whip", "position")}
    parts |= {"booster": parts_of.booster} if parts_of.booster else {}
    found = {name.casefold(): of for name, of in parts_of.filters} if parts_of.own else {}
    found |= {"filter": parts_of.own} if found else {}
    found |= {"panel": ""} | ({COMPRESSOR: ""} if parts_of.own else {})
    found |= {COMPRESSOR: _ANY} if parts_of.own == _ANY else {}
    for kind, names in parts.items():
        found |= {name.casefold(): "" for name in names}
        numbers = [_number(name) for name in names]
        for name, number in zip(names, numbers, strict=True):
            letters = name.casefold().removesuffix(number)
            if number and letters:  # `C-1` and `C 1` are `C1`
                for sign in (" ", "-", "_", ".", "#", "0", "-0"):
                    found.setdefault(f"{letters}{sign}{number}", name.casefold())
            if number and numbers.count(number) == 1:
                found.setdefault(f"{kind} {number}", name.casefold())
        if len(names) == 1 or (names and kind in _OUTLETS):
            found[kind] = names[0].casefold() if len(names) == 1 else ""
    return found


def every_label(station: Station) -> tuple[str, ...]:
    """The labels of all that a station's gas comes from or goes through."""
    parts = _names_of(station)
    filters = (name for name, _ in parts.filters)
    places = (*parts.whip, *parts.position, *filters)
    return (*own_names(station), *parts.bank, *parts.booster, *places)


def drawn_here(station: Station, test: AirTest) -> bool:
    """Whether a sample was drawn at parts that the station has, where it names any sources."""
    if not test.source_ or not sources_of(station):
        return True
    return sampled_at(station, test) <= _kinds(_names_of(station)).keys()


def _holds_no_air(station: Station) -> frozenset[str]:
    return frozenset(b.name.casefold() for b in station.banks if b.gas and not b.gas.is_air)


def counting_air_tests(station: Station) -> list[AirTest]:
    """The newest air test of each place sampled; of two on one day, the failed one, unless the
    hours of both say that the other was drawn after it.

    A test drawn at something the station does not have counts for nothing, unless it failed. One
    that failed counts until a later one passes at that place again: of `B1+B2` at each of them, and
    of a place that is gone at the compressor and every bank of air.
    """
    newest = _newest_by_place(station)
    counting = [(p, t) for p, t in newest.items() if not _is_reopened(station, p, t, newest)]
    return [t for _, t in counting if t.result is TestResult.FAIL or drawn_here(station, t)]


def _passed_elsewhere(station: Station) -> Iterator[AirTest]:
    """The newest tests that passed at what is no more here, or is called otherwise now: what they
    measured was measured, until all that air comes from was sampled since."""
    newest = _newest_by_place(station)
    for place, test in newest.items():
        gone = test.result is TestResult.PASS and not drawn_here(station, test)
        if gone and not _stands_sampled(station, place, test, newest):
            yield test


def _is_reopened(
    station: Station, place: frozenset[str], test: AirTest, newest: dict[frozenset[str], AirTest]
) -> bool:
    """Whether the parts that stand for a place all passed after it failed there."""
    return test.result is TestResult.FAIL and _stands_sampled(station, place, test, newest)


def _stands_sampled(
    station: Station, place: frozenset[str], test: AirTest, newest: dict[frozenset[str], AirTest]
) -> bool:
    """Whether there are parts that stand for a place, and all of them passed after a test of it."""
    parts = _stand_for(station, place)
    later = (newest.get(frozenset({part})) for part in parts)
    passed = (t and is_after(t, test) and t.result is TestResult.PASS for t in later)
    return bool(parts) and all(passed)


def _answers(station: Station, place: frozenset[str]) -> list[AirTest]:
    """The tests that speak for a place now, where it may be that it is open again by them."""
    newest = _newest_by_place(station)
    own = newest[place]
    if own.result is not TestResult.FAIL:
        return [own] if drawn_here(station, own) else []
    stand = _stand_for(station, place) if _is_reopened(station, place, own, newest) else ()
    return [newest[frozenset({part})] for part in stand]


def _stand_for(station: Station, place: frozenset[str]) -> frozenset[str]:
    """The parts that, sampled one by one, stand for a place: those it names, and for one that is
    gone all that air comes from."""
    if place <= _kinds(_names_of(station)).keys():
        return place if len(place) > 1 else frozenset()
    # a compressor without a name is one of them
    every = sources_of(station) | own_names(station)
    return every - _holds_no_air(station)


def samples_of_air(station: Station) -> list[AirTest]:
    """The counting air tests that meet the period of the station: a sample of a bank that holds
    something else does so only where there is neither a compressor nor a bank of air."""
    other, counting = _holds_no_air(station), counting_air_tests(station)
    if not station.every_compressor and not sources_of(station) - other:
        return counting
    return [t for t in counting if not sampled_at(station, t) <= other]


def _newest_of(tests: list[AirTest]) -> AirTest:
    """The test of a place that counts: the last that failed, where none that passed was surely
    drawn after it; else the last."""
    passed = [t for t in tests if t.result is not TestResult.FAIL]
    failed = [t for t in tests if t not in passed]
    stand = [t for t in failed if not any(is_after(p, t) for p in passed)]
    return max(reversed(stand or tests), key=lambda t: drawn(t).last)


class AirJudge(Struct, frozen=True):
    """Holds what was measured at a station against the rows in force.

    Attributes:
        rules: the rows.
        station: where it was drawn.
        of_blend: it was drawn of a gas that something was added to: how much oxygen there is says
            nothing of the air in it, wherever that is judged.
    """

    rules: InForce
    station: Station | None = None
    of_blend: bool = False

    def rows(self, standard: str | None) -> list[RuleRow]:
        """The rows that give the limits of a standard; for None those of every sample."""
        rows = self.rules.rows[Obligation.AIR_LIMITS]
        name = standard.casefold() if standard else None
        return [r for r in rows if _standard_of(r) == name]

    def _limits(self, test: AirTest) -> Iterator[tuple[AirLimits, str]]:
        """The limits that a sample is held to, with what they are called: those of its standard,
        and those of every sample here, whatever it was tested to."""
        named = self._breathed(test) or self._named(test)
        yield from self._limits_of(test, named)

    def _named(self, test: AirTest) -> list[RuleRow]:
        return self.rows(test.standard) if test.standard else []

    def _breathed(self, test: AirTest) -> list[RuleRow]:
        """The rows that say whether air may be breathed that was held to limits for oxygen use
        alone: those of the standard that other samples here name, else of every one for diving;
        none of a sample that was held to a standard for breathing."""
        if not is_for_oxygen_use(test.standard):
            return []
        return [r for s in self._own_standards() or self.to_breathe for r in self.rows(s)]

    def _own_standards(self) -> tuple[str, ...]:
        """The standard for breathing that the newest sample here names which names one."""
        tests = that_stand(self.station.air_tests) if self.station else ()
        named = (t.standard for t in reversed(tests) if t.standard)
        known = {s.casefold() for s in self.to_breathe}
        return next(((s,) for s in named if s.casefold() in known), ())

    def _limits_of(self, test: AirTest, named: list[RuleRow]) -> Iterator[tuple[AirLimits, str]]:
        here = [r for r in self.rows(None) if r.since is None or r.since.first <= test.on]
        here = [] if self.is_stale(test, elsewhere=True) else here
        yield from ((self._for(test, row.limits), "limit") for row in named if row.limits)
        yield from ((self._for(test, row.limits), "limit here") for row in here if row.limits)

    def is_stale(self, test: AirTest, *, elsewhere: bool = False) -> bool:
        """Whether a later sample was drawn here when the time of this one, by every row in force,
        was up, and each source that this one was drawn at was sampled alone since: what it left
        out, or what its own standard let through, is not asked any more.

        `elsewhere`: one that was drawn at no source tells of them all.
        """
        held_to = self.time_up(test.on)
        if self.station is None or held_to is None:
            return False
        later = (t for t in reversed(that_stand(self.station.air_tests)) if t.on > held_to)
        up = any(drawn_here(self.station, t) for t in later)
        return up and self._is_answered(self.station, test, elsewhere)

    def time_up(self, since: dt.date) -> dt.date | None:
        """The last day of the time of an air test, by every row in force, from a day; None where
        none says how long it is."""
        rows = self.rules.rows[Obligation.AIR_TEST]
        periods = [r.period for r in rows if isinstance(r.period, Period)]
        return max((PartialDate.of(since).plus(each).last for each in periods), default=None)

    @staticmethod
    def _is_answered(station: Station, test: AirTest, elsewhere: bool) -> bool:
        """Whether each source that a sample was drawn at was sampled alone since, and passed; of
        one that was drawn at no source each source of air (`elsewhere`), or none."""
        sources = sources_of(station) | own_names(station)
        later = [t for t in that_stand(station.air_tests) if t.on > test.on]
        passed = {sampled_at(station, t) for t in later if t.result is TestResult.PASS}
        drawn = sampled_at(station, test) & sources
        drawn = drawn or (sources - _holds_no_air(station) if elsewhere else drawn)
        return all(frozenset({part}) in passed for part in drawn)

    def _for(self, test: AirTest, limits: AirLimits) -> AirLimits:
        """The limits for where a sample was drawn: of water by what its banks are filled to, and
        no upper one of oxygen in a bank that held something else than air then, or who knows what.
        """
        if self.of_blend:
            limits = replace(limits, oxygen_from=None, oxygen_to=None)
        if self.station is not None and self.station.sources:
            made = {s.name.casefold() for s in self.station.sources}
            if sampled_at(self.station, test) & made:  # it is enriched
                limits = replace(limits, oxygen_to=None)
        banks = self._banks_of(test)
        waters = [limits.water_at(_stored_at(bank)) for bank in banks]
        known = [w for w in waters if w is not None]
        alike = len(known) == len(banks) and len({w.unit for w in known}) == 1
        least = min(known) if alike else limits.water
        air = any(_held_air(bank, test.on) for bank in banks)
        if not banks or air:
            return replace(limits, water=least)
        # what is blended from air has no less, but for what is blended with helium
        lowest = limits.oxygen_from
        if any(b.gas and lowest and b.gas.oxygen_percent < lowest.percent for b in banks):
            lowest = None
        return replace(limits, water=least, oxygen_from=lowest, oxygen_to=None)

    def is_of_blend(self, test: AirTest) -> bool:
        """Whether a sample was drawn at banks alone that held something else than air then."""
        banks = self._banks_of(test)
        return bool(banks) and not any(_held_air(bank, test.on) for bank in banks)

    def _banks_of(self, test: AirTest) -> list[Bank]:
        """The banks that a sample was drawn at; none where it was drawn at anything else too."""
        if self.station is None:
            return []
        places = sampled_at(self.station, test)
        banks = [b for b in self.station.banks if b.name.casefold() in places]
        return banks if len(banks) == len(places) else []

    @property
    def standards(self) -> tuple[str, ...]:
        """The standards of which a row in force gives limits for air that is dived with."""
        rows = self.rules.rows[Obligation.AIR_LIMITS]
        known = {r.applies_to.standard for r in rows if r.applies_to and r.applies_to.standard}
        return tuple(sorted(s for s in known if all(r.for_diving for r in self.rows(s))))

    @property
    def to_breathe(self) -> tuple[str, ...]:
        """As `standards`, without the one that is for oxygen use."""
        return tuple(s for s in self.standards if not is_for_oxygen_use(s))

    def breathed_by(self, named: Set[str]) -> Set[str]:
        """The standards that say what may be breathed where samples name some: one for oxygen use
        alone says nothing of that."""
        left = {s for s in named if not is_for_oxygen_use(s)}
        return left or (named and {*(self._own_standards() or self.to_breathe)})

    def wrong(self, station: Station) -> Iterator[str]:
        """What is wrong with the air by the tests that count, if anything."""
        yield from (text for _, text in self.wrong_tests(station))

    def wrong_tests(self, station: Station) -> Iterator[tuple[AirTest, str]]:
        """As `wrong`, each beside the test that says so."""
        for test in [*counting_air_tests(station), *_passed_elsewhere(station)]:
            of = f" ({test.source_})" if test.source_ else ""
            if test.result is TestResult.FAIL:
                yield test, f"the air test of {test.on}{of} failed"
            over = self.over(test)
            if over:
                yield test, f"the air test of {test.on}{of} is over its limits: {', '.join(over)}"
            if self.passes(test):
                for left in self.left_unmeasured(station, test):
                    yield test, f"the air test of {test.on}{of} {left}"

    def over(self, test: AirTest) -> list[str]:
        """The measured values of an air test that break the limits of its standard, or those of
        every sample here, and an odour, which no standard lets through (`smells`); each is named
        once. Of one that was held to a standard for oxygen use it is what may not be breathed."""
        return self._over(test, self._limits(test))

    def over_for_oxygen(self, test: AirTest) -> list[str]:
        """As `over`, by the limits for oxygen use, whatever a sample was held to."""
        return self._over(test, self._limits_of(test, self.rows(OXYGEN_USE)))

    def fails_oxygen_alone(self, test: AirTest) -> list[str]:
        """What a sample that was held to a standard for oxygen use is over in by that, where it may
        be breathed all the same; else nothing."""
        if not is_for_oxygen_use(test.standard) or self.over(test):
            return []
        return self.over_for_oxygen(test)

    def _over(self, test: AirTest, limited: Iterator[tuple[AirLimits, str]]) -> list[str]:
        found: dict[str, str] = {}
        for limits, called in limited:
            for name, text in _over(test, limits, called):
                found.setdefault(name, text)
        if smells(test):
            found[ODOUR] = f"{ODOUR} `{_odour_of(test)}`, which is not known to say none"
            if tells_odour(test):
                found[ODOUR] = f"{ODOUR} `{_odour_of(test)}`"
        return list(found.values())

    def passes(self, test: AirTest) -> bool:
        """Whether the laboratory passed it, and what it measured is within the limits."""
        return test.result is TestResult.PASS and not self.over(test)

    def unmeasured(self, test: AirTest) -> list[str]:
        """What a limit is given for, and an air test leaves out, or gives in a unit that can be
        held against none of them."""
        return [*self._unmeasured(test).values()]

    def _unmeasured(self, test: AirTest) -> dict[str, str]:
        """As `unmeasured`, by what an air test calls it."""
        limits = [each for each, _ in self._limits_of(test, self._named(test))]
        if self._own_standards() and self.fails_oxygen_alone(test):  # it is air to breathe by these
            limits += [each for each, _ in self._limits(test)]
        missing = dict.fromkeys(n for each in limits for n in each.limited)
        pairs = [pair for each in limits for pair in _measured(test, each)]
        known = {n for n, got, most in pairs if got and most and not _differ(got, most)}
        known |= {OXYGEN} if test.oxygen is not None else set()
        units = {n: f"{n} in {most.unit}" for n, got, most in pairs if _differ(got, most) and most}
        return {name: units.get(name, name) for name in missing if name not in known}

    def gaps(self, test: AirTest) -> Iterator[str]:
        """What an air test measured that no rule row in force can judge."""
        if test.standard and not self.rows(test.standard):
            yield f"no rule row in force gives the air limits of {test.standard}"
        values = (test.co, test.co2, test.oil, test.hydrocarbons, test.water, test.oxygen)
        if test.standard is None and any(v is not None for v in values):
            yield f"the air test of {test.on} gives values and names no standard to judge them by"
        for row in self.rows(test.standard) if test.standard else ():
            for name, got, most in _measured(test, row.limits) if row.limits else ():
                if _differ(got, most):
                    yield f"{name} {got} cannot be held against its limit of {most}"

    def not_for_diving(self, test: AirTest) -> bool:
        """Whether its standard is for air that nobody breathes under water: no further row of that
        standard makes it so."""
        rows = self.rows(test.standard) if test.standard else []
        return not all(row.for_diving for row in rows)

    def opens(self, station: Station, test: AirTest) -> bool:
        """Whether nothing at all stands against a test that passed: what it measured is within
        limits for diving that are known, and all that failed before it was measured again."""
        sound = self.passes(test)
        unjudged = self.not_for_diving(test) or any(self.gaps(test))
        return sound and not unjudged and not any(self.left_unmeasured(station, test))

    def good_before(
        self, station: Station, part: str, day: dt.date, of: Set[str] = frozenset()
    ) -> Drawn:
        """When the last sample before a day was drawn that says that the air of a part, by its name
        in small letters, was good in all of what was bad later (`of`, as `measured_in` names it);
        `NEVER` where there is none.

        Of one of several compressors it was drawn at no other source: what was drawn at `C2+B1`, or
        behind several compressors, says of neither that its air is good. One that leaves out what
        had failed says nothing.
        """
        own, found = own_names(station), [NEVER]
        for test in that_stand(station.air_tests):
            places = sampled_at(station, test)
            if test.on >= day or part not in places or not self.passes(test):
                continue
            if not is_word_for(test, of):
                continue
            several = len(own) > 1 and (part in own or len(places & own) > 1)
            if several and not speaks_of(station, test, part):
                continue
            if not any(self.left_unmeasured(station, test)):
                found.append(drawn(test))
        return Drawn(max(d.first for d in found), max(d.last for d in found))

    def answered_on(self, station: Station, failed: AirTest) -> dt.date | None:
        """The first day on which the station was open again where a test failed, by the tests that
        it had by then; None where nothing answered it."""
        answer = self.answer(station, failed)
        return answer.last.date() if answer else None

    def answer(self, station: Station, failed: AirTest) -> Drawn | None:
        """When the sample was drawn that opened the station again where a test failed, of several
        the last; None where nothing answered it."""
        tests, place = that_stand(station.air_tests), sampled_at(station, failed)
        parts = _stand_for(station, place)
        later = [(t.on, sampled_at(station, t)) for t in tests if is_after(t, failed)]
        for day in sorted({on for on, at in later if at == place or at <= parts}):
            then = replace(station, air_tests=tuple(t for t in tests if t.on <= day))
            answers = _answers(then, place)
            if answers and all(self.opens(then, t) for t in answers):
                each = [drawn(t) for t in answers]
                return Drawn(max(d.first for d in each), max(d.last for d in each))
        return None

    def failed_on(self, test: AirTest) -> frozenset[str]:
        """What an air test failed on, as `measured_in` names it: what is over its limits, and an
        odour; none where it does not say."""
        return _named_in(self.over(test))

    def may_have_failed_on(self, test: AirTest) -> frozenset[str]:
        """As `failed_on`; one that failed and does not say on what may have failed on all that its
        limits limit, that it measured, and on an odour; where no limits are known of its standard,
        on what those of any standard for diving limit."""
        found = self.failed_on(test) or _named_in(self.fails_oxygen_alone(test))
        if found or test.result is not TestResult.FAIL:
            return found
        limits = [each for each, _ in self._limits(test)]
        limits = limits or [r.limits for s in self.standards for r in self.rows(s) if r.limits]
        limited = {name for each in limits for name in each.limited}
        return frozenset(limited | _values_of(test) | {ODOUR})

    def left_unmeasured(self, station: Station, test: AirTest) -> Iterator[str]:
        """What a failed test before this one, of the same place, was over on and this one leaves
        out, or still has above the limits that failed it; of one that does not say what failed, all
        that it may have been."""
        said, unsaid, wrong = dict[str, None](), dict[str, None](), dict[str, None]()
        for name, failed in self._failed_before(station, test):
            text = self._unsettled(test, name, failed.standard)
            if text != name:
                wrong |= {text: None} if text else {}
            elif self.failed_on(failed):
                said[name] = None
            else:
                unsaid[name] = None
        yield from wrong
        for name in said:
            yield f"did not measure {name}, which failed before it"
        if left := [name for name in unsaid if name not in said]:
            names = ", ".join(left)
            yield f"did not measure {names}: what failed before it is not said, and may be that"

    def _unsettled(self, test: AirTest, name: str, standard: str | None) -> str:
        """Why a test that passed does not settle what failed before it: the name of that where it
        is not measured; what is wrong where it is; empty where it settles it."""
        if name not in _values_of(test):
            return name
        held = replace(test, standard=standard or test.standard)
        if name in (units := self._unmeasured(held)):
            return f"did not measure {units[name]}, which failed before it"
        if any(text.split(" ")[0] == name for text in self.over(held)):
            return f"has {name} still above {held.standard}, by which it failed"
        return ""

    def _failed_before(self, station: Station, test: AirTest) -> list[tuple[str, AirTest]]:
        """What tests before this one failed on, or may have, and none of its place settled since,
        each with the one that failed: those of its place, and those whose place it stands for."""
        place, newest = sampled_at(station, test), _newest_by_place(station)
        open_: list[tuple[str, AirTest]] = []
        for each in sorted(that_stand(station.air_tests), key=lambda t: drawn(t).first):
            of = sampled_at(station, each)
            part = place <= _stand_for(station, of) and newest[of].result is TestResult.FAIL
            if not is_after(test, each) or not (of == place or part):
                continue
            wrong = self.may_have_failed_on(each)
            if each.result is TestResult.PASS and not self.over(each):
                open_ = [
                    (n, t)
                    for n, t in open_
                    if not is_after(each, t) or self._unsettled(each, n, t.standard)
                ]
            open_ += [(name, each) for name in sorted(wrong)]
        return open_


def _named_in(over: list[str]) -> frozenset[str]:
    return frozenset(text.split(" ")[0] for text in over)


OXYGEN_USE = "oxygen-compatible"
"""The standard whose rows say what air may be mixed with oxygen, as an air test names it: one over
its limits may be breathed where it is within those for breathing."""


def is_for_oxygen_use(standard: str | None) -> bool:
    """Whether a standard says what air may be mixed with oxygen, and not what may be breathed."""
    return standard is not None and standard.casefold() == OXYGEN_USE


def _standard_of(row: RuleRow) -> str | None:
    named = row.applies_to.standard if row.applies_to else None
    return named.casefold() if named else None


def _newest_by_place(station: Station) -> dict[frozenset[str], AirTest]:
    of = dict[frozenset[str], list[AirTest]]()
    for test in that_stand(station.air_tests):
        of.setdefault(sampled_at(station, test), []).append(test)
    return {place: _newest_of(tests) for place, tests in of.items()}


def unsure_after(station: Station, failed: AirTest) -> tuple[AirTest, ...]:
    """What passed on the day of a sample that failed, at a place that may answer it, and may be of
    before it or of after: the hour of one of them is not known."""
    place = sampled_at(station, failed)
    parts = {frozenset({p}) for p in _stand_for(station, place)} | {place}
    return tuple(
        t
        for t in that_stand(station.air_tests)
        if t.on == failed.on
        and t.result is TestResult.PASS
        and sampled_at(station, t) in parts
        and (t.at is None or failed.at is None)
    )


def which_was_later(station: Station, failed: AirTest) -> str:
    """That a sample of the day of one that failed passed, and nobody says which was drawn later,
    with what says it; empty where there is none such."""
    unsure = unsure_after(station, failed)
    if not unsure:
        return ""
    ways = " and ".join(
        f"`tankbook correct station air-tests {named_among(station.air_tests, t)} --set at=HH:MM"
        " --why WHY`"
        for t in (failed, *unsure)
        if t.at is None
    )
    return (
        f"one of {failed.on} passed, and nobody says that it was drawn after the one that failed:"
        f" it reopens nothing before both hours are on record, by {ways}"
    )


# --- odour ---------------------------------------------------------------------------------------

ODOUR, OXYGEN = "odour", "oxygen"
_ODOURS = Lexicon("odours")


def _clauses(text: str) -> list[str]:
    """The clauses of what is said of an odour."""
    parts = re.split(r"[,;()!]|\.(?:\s|$)|\s[-\N{EN DASH}\N{EM DASH}]+\s", text)
    return [" ".join(p.split()) for p in parts if p.strip()]


def no_odour(test: AirTest) -> bool:
    """Whether an air test says that there is no odour: every clause of it is known to say so."""
    whole, none = _odour_of(test), _ODOURS.shape("none")
    said = [whole] if none.fullmatch(whole) else _clauses(whole)
    return bool(said) and all(none.fullmatch(clause) for clause in said)


def smells(test: AirTest) -> bool:
    """Whether an air test tells an odour, or says of it what is not known to mean none: either has
    failed, since nobody may take for none what nobody can read."""
    return not _ODOURS.shape("not asked").fullmatch(_odour_of(test)) and not no_odour(test)


def tells_odour(test: AirTest) -> bool:
    """Whether an air test tells an odour by a word that is known to name one, or how strong."""
    return smells(test) and _ODOURS.holds("told", _odour_of(test))


def _odour_of(test: AirTest) -> str:
    return " ".join((test.odour or "").split())


def _values_of(test: AirTest) -> set[str]:
    """What an air test measured."""
    found = {n for n, got, _ in _measured(test, AirLimits()) if got is not None}
    found |= {OXYGEN} if test.oxygen is not None else set()
    return found | ({ODOUR} if no_odour(test) else set())


def measured_in(test: AirTest) -> frozenset[str]:
    """What an air test measured, an odour that was not there too."""
    return frozenset(_values_of(test))


CO = "CO"
"""What an air test calls carbon monoxide."""


def is_word_for(test: AirTest, names: Set[str]) -> bool:
    """Whether a sample that passed says that some values were good, as `measured_in` names them: it
    measured them, or nothing at all, so that it is the laboratory's word for its whole standard."""
    got = measured_in(test)
    return not got or names <= got


def air_judge(book: Book) -> AirJudge:
    """The judge by the rules in force for a ledger."""
    return AirJudge(rules_of(book), book.station)


def _held_air(bank: Bank, on: dt.date) -> bool:
    """Whether a bank held air on a day, by what its label says and since when."""
    known = bank.since is None or bank.since <= on
    return known and (bank.gas is None or bank.gas.is_air)


def _stored_at(bank: Bank) -> GaugePressure | None:
    """How far a bank is filled: to its mark, else as it was read highest."""
    read = [r.pressure for r in that_stand(bank.readings)]
    return bank.working_pressure or max(read, default=None)


def _measured(
    test: AirTest, limits: AirLimits
) -> tuple[tuple[str, Concentration | None, Concentration | None], ...]:
    return (
        (CO, test.co, limits.co_beside(test.co)),
        ("CO2", test.co2, limits.co2),
        ("oil", test.oil, limits.oil),
        ("hydrocarbons", test.hydrocarbons, limits.hydrocarbons),
        ("water", test.water, limits.water),
    )


def _differ(got: Concentration | None, most: Concentration | None) -> bool:
    """Whether one is by volume and the other by mass: they have no common measure."""
    return got is not None and most is not None and got.unit != most.unit


def _over(test: AirTest, limits: AirLimits, called: str) -> Iterator[tuple[str, str]]:
    for name, got, most in _measured(test, limits):
        if got is not None and most is not None and got.unit == most.unit and got > most:
            yield name, f"{name} {got} ({called} {most})"
    if test.oxygen is not None and not _within(test.oxygen, limits):
        yield OXYGEN, f"oxygen {test.oxygen}"


def _within(oxygen: Percent, limits: AirLimits) -> bool:
    least, most = limits.oxygen_from, limits.oxygen_to
    return (least is None or oxygen >= least) and (most is None or oxygen <= most)
