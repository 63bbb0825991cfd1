"""How clean the air of a source is on a day: whether what is said to be oxygen-compatible is so.

`grade: oxygen` is what the station says of a source. It counts while nothing speaks against it: a
filter past its life, a sample with more oil or hydrocarbons than the rows allow of
oxygen-compatible air, a bank that was raised from ordinary air. What speaks against it holds from
the last sample that was good in that to the next one. Of a membrane or a blender it counts only
where a filter and a sample show it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.station import (
    COMPRESSOR,
    AirTest,
    Bank,
    Compressor,
    Filter,
    Station,
    that_stand,
)
from tankbook.records.words import Grade, TestResult
from tankbook.rules import meter
from tankbook.rules.air import AirJudge, air_judge, own_names, parts_named, sampled_at, taken_here

STANDARD = "oxygen-compatible"
"""The standard whose rows say what oil such air may hold, as an air test names it."""

_SOIL = {"oil": "oil", "hydrocarbons": "hydrocarbons"}
"""What makes air unfit to be mixed with oxygen, as an air test calls it and as its key is."""


class SourceGrade(Struct, frozen=True):
    """How clean the air of a source is; `why` is said where it is not what the station says."""

    grade: Grade | None
    why: str = ""


NOT_SAID = SourceGrade(None)


@once_per_book
def grade_on(book: Book, name: str, on: dt.date) -> SourceGrade:
    """The grade of a bank, a compressor, a booster or another source, by its name in small letters,
    on a day; of none where the station says none, or has none of that name."""
    return _grade(book, name, on, frozenset())


def _grade(book: Book, name: str, on: dt.date, asked: frozenset[str]) -> SourceGrade:
    station = book.station
    if station is None or name in asked:
        return NOT_SAID
    said, made, bank = _said(station, name)
    if said is not Grade.OXYGEN:
        return SourceGrade(said)
    whys = _whys(book, station, made, name, on)
    if bank is not None:
        whys = (*whys, *_raised(book, station, bank, on, asked | {name}))
    if why := next(iter(whys), ""):
        return SourceGrade(Grade.BREATHING, why)
    if name in {s.name.casefold() for s in station.sources}:
        lacking = lacks_proof(book, name, on)
        return SourceGrade(None, f"nothing shows it: {lacking}") if lacking else SourceGrade(said)
    return SourceGrade(said)


def _said(station: Station, name: str) -> tuple[Grade | None, Compressor | None, Bank | None]:
    """What the station says of a source, the compressor whose air it is, and the bank that it is.
    What is fed by a compressor and says no grade is of its grade."""
    for bank in station.banks:
        if bank.name.casefold() == name:
            return bank.grade, None, bank
    for compressor in station.every_compressor:
        if (compressor.name or COMPRESSOR).casefold() == name:
            return compressor.grade, compressor, None
    for booster in station.boosters:
        if booster.name.casefold() == name:
            return booster.grade, None, None
    for source in station.sources:
        if source.name.casefold() == name:
            made = station.compressor_called(source.of)
            if made is None:  # nothing could speak against it
                return None if source.grade is Grade.OXYGEN else source.grade, None, None
            return source.grade or made.grade, made, None
    return None, None, None


def _whys(
    book: Book, station: Station, made: Compressor | None, name: str, on: dt.date
) -> tuple[str, ...]:
    """What its filters and samples say against it on a day."""
    found = [f"filter {f.name} was past its life" for f in _spent(station, made, on)]
    for begun, bad, ended in _spells(book, name):
        if begun < on < ended:
            text = f"its sample of {bad.on} has {_what(air_judge(book), bad)}"
            found.append(text)
    return tuple(found)


def _spent(station: Station, made: Compressor | None, on: dt.date) -> Iterator[Filter]:
    """The filters of a compressor that were past their lives on a day, as its meter was read."""
    hours = meter.readings(made)
    for part in meter.filters_of(station, made) if made else ():
        fitted = [c for c in that_stand(part.changed) if c.on <= on]
        if part.life is None or not fitted or not hours:
            continue
        begun = max(meter.counted_at(hours, c) for c in fitted)
        ran = max((ran for day, ran in meter.shown(station, made) if day <= on), default=begun)
        if ran - begun > part.life.hours:
            yield part


@once_per_book
def _spells(book: Book, name: str) -> tuple[tuple[dt.date, AirTest, dt.date], ...]:
    """Each sample that speaks against a source, from the last that was good in what it is bad in
    to the next one."""
    return tuple(_spells_of(book, book.station, name)) if book.station else ()


def _spells_of(
    book: Book, station: Station, name: str
) -> Iterator[tuple[dt.date, AirTest, dt.date]]:
    _, made, _ = _said(station, name)
    judge, behind = air_judge(book), {name}
    behind |= {(made.name or COMPRESSOR).casefold()} if made else set()
    mine = [(t, sampled_at(station, t)) for t in that_stand(station.air_tests)]
    mine = [(t, at) for t, at in mine if at & behind]
    good = [t for t, at in mine if at <= behind or at & own_names(station) <= behind]
    for test, _ in mine:
        if not _is_bad(judge, test):
            continue
        wrong = _wrong(judge, test) or set(_SOIL)
        answers = [t for t in good if _is_clean(judge, t, wrong)]
        before = max((t.on for t in answers if t.on < test.on), default=dt.date.min)
        yield before, test, min((t.on for t in answers if t.on > test.on), default=dt.date.max)


def _is_bad(judge: AirJudge, test: AirTest) -> bool:
    """Whether a sample has too much of what soils, or failed and does not say on what."""
    unsaid = test.result is TestResult.FAIL and not judge.over(test)
    return bool(_wrong(judge, test)) or unsaid


def _wrong(judge: AirJudge, test: AirTest) -> set[str]:
    over = [*judge.over(test), *judge.over(replace(test, standard=STANDARD))]
    return {text.split(" ")[0] for text in over} & _SOIL.keys()


def _what(judge: AirJudge, test: AirTest) -> str:
    over = [*judge.over(replace(test, standard=STANDARD)), *judge.over(test)]
    said = [text for text in over if text.split(" ")[0] in _SOIL]
    return said[0] if said else "failed, and does not say on what"


def _is_clean(judge: AirJudge, test: AirTest, wrong: set[str]) -> bool:
    """Whether a sample measured some things, and found little enough of each."""
    measured = {name for name in wrong if getattr(test, _SOIL[name]) is not None}
    measured |= {"hydrocarbons"} if test.oil is not None and len(wrong) > 1 else set()
    return not _is_bad(judge, test) and measured >= wrong


def _raised(
    book: Book, station: Station, bank: Bank, on: dt.date, asked: frozenset[str]
) -> Iterator[str]:
    """That a bank was raised from what is ordinary air, as said, and not sampled well since."""
    judge, itself = air_judge(book), {bank.name.casefold()}
    clean = [
        t.on
        for t in that_stand(station.air_tests)
        if t.on <= on and sampled_at(station, t) == itself and _is_clean(judge, t, {"oil"})
    ]
    since = max(clean, default=dt.date.min)
    for raised in that_stand(bank.raised):
        if not since < raised.on <= on:
            continue
        for said in taken_here(raised.source_ or ""):
            for part in sorted(told_by(station, said)):
                found = _grade(book, part, raised.on, asked)
                if found.grade is Grade.BREATHING:
                    why = f" ({found.why})" if found.why else ""
                    yield f"it was raised from {part.upper()} on {raised.on}{why}"


def graded_on(book: Book, today: dt.date) -> Iterator[tuple[str, SourceGrade]]:
    """What makes gas of a compressor's air, the pumps that are said to give oxygen-compatible air,
    and the banks that no longer hold it, by their labels, each with how clean its air is today."""
    station = book.station
    if station is None:
        return
    labels = [c.name or COMPRESSOR for c in station.every_compressor]
    labels += [each.name for each in station.every_fed]
    made, banks = {s.name for s in station.sources}, [b.name for b in station.banks]
    for label in (*labels, *banks):
        found = grade_on(book, label.casefold(), today)
        clean = found.grade is Grade.OXYGEN and label not in banks  # that stands beside its gas
        if clean or found.why or label in made:
            yield label, found


def told_by(station: Station, text: str) -> frozenset[str]:
    """The parts that say how clean a gas is that a text names: of what a compressor feeds, itself,
    and not that compressor."""
    parts = parts_named(station, text)
    for source in station.sources:
        made = station.compressor_called(source.of)
        if source.name.casefold() in parts and made is not None:
            parts -= {(made.name or COMPRESSOR).casefold()}
    return parts


def unproved(book: Book) -> Iterator[tuple[str, str]]:
    """The compressors and what they feed that are said to give oxygen-compatible air, by their
    labels, each with what nothing on record shows of it."""
    station = book.station
    if station is None:
        return
    labels = [c.name or COMPRESSOR for c in station.every_compressor]
    for label in (*labels, *(s.name for s in station.sources)):
        if _said(station, label.casefold())[0] is Grade.OXYGEN:
            lacking = lacks_proof(book, label.casefold(), dt.date.max)
            if lacking:
                yield label, lacking


@once_per_book
def lacks_proof(book: Book, name: str, on: dt.date) -> str:
    """What would show that a compressor, or what it feeds, gives oxygen-compatible air, and is not
    on record by a day: a sample of it that measured oil, and found little enough, and a filter."""
    station = book.station
    if station is None:
        return ""
    _, made, _ = _said(station, name)
    judge, behind = air_judge(book), {name}
    behind |= {(made.name or COMPRESSOR).casefold()} if made else set()
    sampled = any(
        t.on <= on and sampled_at(station, t) <= behind and _is_clean(judge, t, {"oil"})
        for t in that_stand(station.air_tests)
    )
    lacking = [] if sampled else ["a sample that measured oil"]
    lacking += [] if made and meter.filters_of(station, made) else ["a filter of its own"]
    return " and ".join(lacking)
