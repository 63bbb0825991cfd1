"""Gas that a cylinder still holds from a source whose air was bad when it was filled."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.kinds import EMPTY
from tankbook.records.log import LogLine
from tankbook.records.station import AirTest, Station, that_stand
from tankbook.records.words import Act, TestResult
from tankbook.rules.air import air_judge
from tankbook.rules.contents import contents_of, let_out, lines_about


@dataclass(frozen=True, slots=True)
class BadAir:
    """Gas of a bad source that a cylinder holds.

    Attributes:
        line: the fill.
        failed: the air test that failed.
        certain: it was filled from that very source after the sample that failed.
        topped: it was filled again since, and not emptied before that.
    """

    line: LogLine
    failed: AirTest
    certain: bool
    topped: bool = False


@dataclass(frozen=True, slots=True)
class _Spell:
    """From a source's last good test, over one that failed, to its next good one."""

    source: str
    banks: frozenset[str]
    failed: AirTest
    since: dt.date
    until: dt.date

    def taints(self, line: LogLine) -> BadAir | None:
        """What a fill took of it. A source that is not said may be any; of what a bank held or
        nobody says, only what went in since the sample that failed is told: `recall` finds all."""
        day = line.at.date()
        if not self.since < day < self.until:
            return None
        names = {n for part in (line.source_ or "").split("+") if (n := part.strip().casefold())}
        if self.source in names:
            return BadAir(line, self.failed, certain=day > self.failed.on)
        may_be = not names or bool(names & self.banks)
        return BadAir(line, self.failed, False) if may_be and day >= self.failed.on else None


@once_per_book
def _spells(book: Book) -> tuple[_Spell, ...]:
    return tuple(_spells_of(book, book.station)) if book.station else ()


def _spells_of(book: Book, station: Station) -> Iterator[_Spell]:
    judge, tests = air_judge(book), that_stand(station.air_tests)
    good = [t for t in tests if t.result is TestResult.PASS and not judge.over(t)]
    compressor = ((station.compressor.name if station.compressor else None) or "").casefold()
    banks = frozenset(b.name.casefold() for b in station.banks)

    def of(test: AirTest) -> str:  # what is drawn anywhere but at a bank is the compressor's
        named = (test.source_ or "").casefold()
        return named if named in banks else compressor

    for failed in (t for t in tests if t not in good):
        source = of(failed)
        days = [t.on for t in good if of(t) == source]
        yield _Spell(
            source,
            frozenset() if source in banks else banks,
            failed,
            max((day for day in days if day < failed.on), default=dt.date.min),
            min((day for day in days if day > failed.on), default=dt.date.max),
        )


def bad_air_of(book: Book, card: Cylinder) -> BadAir | None:
    """The gas of a bad source that a cylinder holds: of its newest fill, or of one before it where
    that is certain; None where it holds none, or was emptied since."""
    held = contents_of(book, card.id).pressure
    if not _spells(book) or held is None or held < EMPTY:
        return None
    fills = _since_empty(book, card)
    for place, line in enumerate(reversed(fills)):
        found = [bad for spell in _spells(book) if (bad := spell.taints(line)) is not None]
        bad = max(found, key=lambda each: each.certain, default=None)
        if bad is not None and (bad.certain or not place):
            return BadAir(bad.line, bad.failed, bad.certain, topped=place > 0)
    return None


def _since_empty(book: Book, card: Cylinder) -> list[LogLine]:
    """The fills since it was last empty, or since work that lets the gas out, oldest first."""
    worked, fills = sorted(let_out(book, card)), list[LogLine]()
    for line in lines_about(book, card.id):
        day = line.at.date()
        fills = [n for n in fills if not any(n.at.date() < on <= day for on in worked)]
        if line.from_ is not None and line.from_ < EMPTY:
            fills = []
        fills += [line] if line.act is Act.FILL else []
        if line.to is not None and line.to < EMPTY:
            fills = []
    return fills
