"""How clean the air of a source is on a day: whether what is said to be oxygen-compatible is so.

`grade: oxygen` is what the station says of a source. It counts while nothing speaks against it: a
filter past its life, a sample with more oil or hydrocarbons than the rows allow of
oxygen-compatible air. What speaks against it holds from the last sample that was good in that to
the next one. A bank that was raised from ordinary air, or from what nobody says, is fit again once
it was cleaned, or a sample of what went in shows that it was clean. Of a membrane or a blender it
counts only where a filter and a sample show it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.kinds import EMPTY, is_empty
from tankbook.records.station import (
    COMPRESSOR,
    AirTest,
    Bank,
    Compressor,
    Filter,
    Raised,
    Station,
    that_stand,
)
from tankbook.records.words import Grade, TestResult
from tankbook.rules import meter
from tankbook.rules.air import (
    AirJudge,
    air_judge,
    by_others,
    is_after,
    own_names,
    sampled_at,
    told_by,
)
from tankbook.rules.bad_air import holds_pure
from tankbook.rules.bank_air import rises_unrecorded
from tankbook.rules.bank_given import gases_put, parts_of
from tankbook.rules.bank_held import why_not_cleaned
from tankbook.rules.cleanliness import is_for_oxygen
from tankbook.rules.services import PURE_OXYGEN

_SOIL = {"oil": "oil", "hydrocarbons": "hydrocarbons"}
"""What makes air unfit to be mixed with oxygen, as an air test calls it and as its key is."""


class SourceGrade(Struct, frozen=True):
    """How clean the air of a source is; `why` is said where it is not what the station says, and
    `mend` what makes it so again."""

    grade: Grade | None
    why: str = ""
    mend: str = ""


NOT_SAID = SourceGrade(None)


class _By(Struct, frozen=True):
    """A day, or a moment of it, by which something has to have been."""

    on: dt.date
    at: dt.time | None = None

    def is_after(self, on: dt.date, at: dt.time | None) -> bool:
        """Whether something was by then: of the day of a moment, what its hour says."""
        if on != self.on or self.at is None:
            return on <= self.on
        return at is not None and at <= self.at


@once_per_book
def grade_on(book: Book, name: str, on: dt.date, at: dt.time | None = None) -> SourceGrade:
    """The grade of a bank, a compressor, a booster or another source, by its name in small letters,
    on a day, or at a time of it; of none where the station says none, or has none of that name."""
    return _grade(book, name, _By(on, at), frozenset())


def _grade(book: Book, name: str, by: _By, asked: frozenset[str]) -> SourceGrade:
    station = book.station
    if station is None or name in asked:
        return NOT_SAID
    said, made, bank = _said(station, name)
    if said is not Grade.OXYGEN:
        return SourceGrade(said)
    if why := next(iter(_whys(book, station, made, name, by.on)), ""):
        return SourceGrade(Grade.BREATHING, why)
    if bank is not None:
        found = [*_raised(book, station, bank, by, asked | {name})]
        return min(found, key=lambda each: each.grade is None, default=SourceGrade(said))
    if name in {s.name.casefold() for s in station.sources}:
        lacking = lacks_proof(book, name, by.on)
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
        next_day = test.on + dt.timedelta(days=1)
        # of the day of both it stays in doubt
        later = (max(t.on, next_day) for t in answers if is_after(t, test))
        yield before, test, min(later, default=dt.date.max)


def _is_bad(judge: AirJudge, test: AirTest) -> bool:
    """Whether a sample has too much of what soils, or failed and does not say on what."""
    over = [*judge.over(test), *judge.over_for_oxygen(test)]
    unsaid = test.result is TestResult.FAIL and not over
    return bool(_wrong(judge, test)) or unsaid


def _wrong(judge: AirJudge, test: AirTest) -> set[str]:
    over = [*judge.over(test), *judge.over_for_oxygen(test)]
    return {text.split(" ")[0] for text in over} & _SOIL.keys()


def _what(judge: AirJudge, test: AirTest) -> str:
    over = [*judge.over_for_oxygen(test), *judge.over(test)]
    said = [text for text in over if text.split(" ")[0] in _SOIL]
    return said[0] if said else "failed, and does not say on what"


def _is_clean(judge: AirJudge, test: AirTest, wrong: set[str]) -> bool:
    """Whether a sample measured some things, and found little enough of each."""
    measured = {name for name in wrong if getattr(test, _SOIL[name]) is not None}
    measured |= {"hydrocarbons"} if test.oil is not None and len(wrong) > 1 else set()
    return not _is_bad(judge, test) and measured >= wrong


def _raised(
    book: Book, station: Station, bank: Bank, by: _By, asked: frozenset[str]
) -> Iterator[SourceGrade]:
    """What went into a bank that is not known to be fit to be mixed with oxygen, and was neither
    answered by a cleaning nor by a sample of it: what is ordinary air, and what nobody says of."""
    cleaning = f"have it cleaned: `tankbook station bank-clean {bank.name}`"
    record = f"record what it was raised from: `tankbook station raise {bank.name} --source NAME`"
    for raised in that_stand(bank.raised):
        if not by.is_after(raised.on, raised.at) or _is_answered(book, station, bank, raised, by):
            continue
        for label, found in _given(book, station, raised, asked):
            if found.grade is not Grade.OXYGEN:
                why = f" ({found.why})" if found.why else ""
                text = f"it was raised from {label} on {raised.on}{why}"
                yield SourceGrade(found.grade, text, cleaning)
    if not holds_pure(bank):
        begins_unsaid = {r.on for r in that_stand(bank.raised) if r.from_ is None}
        for since, on in ((low.on, high.on) for low, high in rises_unrecorded(bank)):
            if any(since <= day <= on for day in begins_unsaid):
                continue  # that may have been the whole of it
            rise = Raised(source=bank.source, on=on, to=EMPTY)
            if by.is_after(on, None) and not _is_answered(book, station, bank, rise, by):
                text = f"it rose between {since} and {on}, and no raising says from what"
                yield SourceGrade(None, text, f"{record}; or {cleaning}")


def _given(
    book: Book, station: Station, raised: Raised, asked: frozenset[str]
) -> Iterator[tuple[str, SourceGrade]]:
    """How clean what a raising put in was, part by part of its source. What holds no air is fit
    whatever it came from; air is ordinary unless its source is said to be of oxygen grade."""
    every = [c.name or COMPRESSOR for c in station.every_compressor]
    for name in parts_of(raised) or [""]:
        puts = [*gases_put(book, station, replace(raised, source_=name or None))]
        gases = [put.gas for put in puts]
        if gases and all(gas is not None and _is_pure(gas) for gas in gases):
            continue
        parts = frozenset[str]() if by_others(name) else told_by(station, name)
        parts = frozenset(each.casefold() for each in every) if not name else parts
        if not parts:
            if not is_for_oxygen(name):
                yield name or "what nobody says", SourceGrade(None, _NOT_SAID)
            continue
        for part in sorted(parts - asked):  # what gives to itself says nothing new
            found = _grade(book, part, _By(raised.on, raised.at), asked)
            if found.grade is None and not found.why:
                air = all(gas is not None and gas.is_air for gas in gases)
                booster = part in {b.name.casefold() for b in station.boosters}
                made = part in {s.name.casefold() for s in station.sources}
                plain = air and not booster and not made
                found = SourceGrade(Grade.BREATHING if plain else None, "it is given no grade")
            yield part.upper(), found


_NOT_SAID = "nobody says that it was oxygen-compatible"


def _is_pure(gas: Gas) -> bool:
    return gas.oxygen_percent >= PURE_OXYGEN or gas.helium_percent >= PURE_OXYGEN


def _is_answered(book: Book, station: Station, bank: Bank, raised: Raised, by: _By) -> bool:
    """Whether a bank was cleaned after something went into it, by a moment; or sampled on a later
    day, before it was emptied of that, and the sample measured oil and found little enough."""
    for each in that_stand(bank.cleaned):
        if why_not_cleaned(book, each):
            continue
        later = each.on > raised.on
        if each.on == raised.on and each.at and raised.at:
            later = each.at > raised.at
        if later and by.is_after(each.on, each.at):
            return True
    judge, itself = air_judge(book), {bank.name.casefold()}
    left = min(_emptied_after(bank, raised), default=dt.date.max)
    return any(
        raised.on < t.on <= min(by.on, left)
        and sampled_at(station, t) == itself
        and _is_clean(judge, t, {"oil"})
        for t in that_stand(station.air_tests)
    )


def _emptied_after(bank: Bank, raised: Raised) -> Iterator[dt.date]:
    """The days on which a bank was empty after a raising, or may have been."""
    began = [(r.on, r.at) for r in that_stand(bank.raised) if is_empty(r.from_) and r != raised]
    read = [(r.on, r.at) for r in that_stand(bank.readings) if is_empty(r.pressure)]
    for on, at in (*began, *read):
        later = on > raised.on
        if on == raised.on and at is not None and raised.at is not None:
            later = at > raised.at
        if later:
            yield on


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
