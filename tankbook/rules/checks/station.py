"""What can be wrong with the records of the fill station."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from tankbook.records.entries import Void
from tankbook.records.fields import Record
from tankbook.records.life import tells_against
from tankbook.records.settings import People
from tankbook.records.station import AirTest, Station, that_stand
from tankbook.records.words import TestResult
from tankbook.rules import meter
from tankbook.rules.air import AirJudge, counting_air_tests, drawn_here, sampled_at, smells
from tankbook.rules.checks.declared import ADVICE, FAULT, WARN, Says, on_station
from tankbook.rules.mixed import is_always
from tankbook.rules.schedule import newest_decision, why_undecided
from tankbook.rules.signing import why_not_certified
from tankbook.rules.wording import names_no_paper, says_nothing
from tankbook.units import PartialDate, Period


@on_station("name-twice", FAULT, since="0.2")
def names_are_unique(station: Station) -> Iterator[Says]:
    """No two parts of the station have one name."""
    kinds = (
        [b.name for b in station.banks] + [p.name for p in station.positions],
        [f.name for f in station.filters],
        [w.name for w in station.whips],
        [a.name for a in station.adaptors],
        [v.name for v in station.relief_valves],
        [g.name for g in station.gauges],
        [s.name for s in station.schemes],
    )
    for names in kinds:
        for name in sorted({n for n in names if names.count(n) > 1}):
            text = f"two parts of the station are called {name}"
            yield Says(station.source.at(), text, "give one another name")


@on_station("part-unknown", WARN, since="0.2")
def parts_that_are_named_are_there(station: Station) -> Iterator[Says]:
    """What a part says of others names parts that the station has."""
    banks = [b.name for b in station.banks]
    places = [p.name for p in station.positions]
    whips = [w.name for w in station.whips]
    made = [station.compressor.name or "", "compressor"] if station.compressor else []
    named: list[tuple[Record, str, str, list[str]]] = []
    named += [(p, "whip", p.whip, whips) for p in station.positions if p.whip]
    named += [(g, "position", g.position, banks + places) for g in station.gauges if g.position]
    every = [*banks, *places, *whips, *made, "panel", "regulator"]
    named += [(v, "protects", name, every) for v in station.relief_valves for name in v.protects]
    named += [(s, "of", name, every) for s in station.schemes for name in s.of]
    for part, key, name, there in named:
        if name.casefold() not in {each.casefold() for each in there}:
            text = f"the {part.title} {getattr(part, 'name', '')} says `{key}: {name}`, and the"
            text += " station has none of that name"
            yield Says(part.source.at(key), text, f"write one of {', '.join(filter(None, there))}")


@on_station("bank-no-period", FAULT, since="0.2")
def no_period_was_decided(station: Station, people: People) -> Iterator[Says]:
    """That a bank has no period was decided by somebody, on some ground, and not for no time."""
    for bank in station.banks:
        decided = newest_decision(bank)
        wrong = why_undecided(decided, people) if decided else ""
        if decided and wrong:
            text = f"that {bank.name} has no period {wrong}"
            mend = f"`tankbook station no-period {bank.name} --why GROUND --document WHERE`"
            yield Says(decided.source.at("why"), text, f"decide it: {mend}")


@on_station("bank-no-paper", ADVICE, since="0.2")
def no_period_has_its_paper(station: Station) -> Iterator[Says]:
    """The paper that a bank has no period by is named; and a bank that has one needs no decision
    that it has none."""
    for bank in station.banks:
        decided = newest_decision(bank)
        if decided is None:
            continue
        if names_no_paper(decided.document or ""):
            text = f"that {bank.name} has no period was decided without a paper"
            yield Says(decided.source.at("why"), text, "say where it is: `document:`")
        if isinstance(bank.period, Period):
            text = f"{bank.name} has a period of {bank.period}, and it was decided that it has none"
            mend = "strike the decision out, or write `period: none`; till then the period counts"
            yield Says(bank.source.at("period"), text, mend)


@on_station("bank-over", WARN)
def banks_within_pressure(station: Station) -> Iterator[Says]:
    """A bank was not read above its working pressure; while its newest reading says so, that is
    told with every answer."""
    for bank in station.banks:
        readings = that_stand(bank.readings)
        for reading in readings:
            if bank.working_pressure and reading.pressure > bank.working_pressure:
                text = f"{bank.name} read {reading.pressure}, above its {bank.working_pressure}"
                mend = "bleed it and read it again; see what its relief valve does"
                past = None if reading is readings[-1] else ADVICE
                yield Says(reading.source.at("pressure"), text, mend, past)


@on_station("bank-gas-undated", ADVICE, since="0.2")
def gases_have_a_day(station: Station) -> Iterator[Says]:
    """A bank of nitrox, or of a mix with helium, says since when it holds that: without it nobody
    can tell what a fill from it was made of."""
    for bank in station.banks:
        if bank.gas is not None and bank.since is None and not is_always(bank.gas):
            text = f"{bank.name} holds {bank.gas}, and nothing says since when: a fill from it that"
            text += " is called otherwise is told, and not refused"
            yield Says(bank.source.at("gas"), text, "add `since:`, the day it was filled with that")


@on_station("air-limits-unknown", FAULT)
def air_can_be_judged(station: Station, air: AirJudge) -> Iterator[Says]:
    """What an air test measured can be held against limits."""
    mend = f"name a standard that a rule row gives: {', '.join(air.standards) or 'there is none'}"
    for test in counting_air_tests(station):
        for gap in air.gaps(test):
            yield Says(test.source.at("standard"), gap, mend)


@on_station("air-source-unknown", FAULT, since="0.2")
def air_was_drawn_here(station: Station, of_cylinders: Sequence[AirTest]) -> Iterator[Says]:
    """An air test names parts that the station has: compressor, banks, whips, positions, panel; or
    a cylinder that was filled here.

    One that is older than another test is past, and counts for nothing; where it failed, or was
    over its limits, it refuses by itself until it is answered.
    """
    tests = that_stand(station.air_tests)
    newest = max((t.on for t in tests if drawn_here(station, t)), default=dt.date.min)
    for test in tests:
        if not drawn_here(station, test) and test not in of_cylinders:
            text = f"the air test of {test.on} was drawn at {test.source_}, which is no part here"
            mend = "name the part it was drawn at: a compressor, bank, whip, position or `panel`"
            past = ADVICE if test.on < newest else None
            yield Says(test.source.at("source"), text, mend, past)


@on_station("air-not-for-diving", FAULT, since="0.2")
def air_is_for_diving(station: Station, air: AirJudge) -> Iterator[Says]:
    """The air was tested to a standard for breathing under water."""
    for test in counting_air_tests(station):
        if air.not_for_diving(test):
            text = f"the air test of {test.on} is to {test.standard}, which is not for diving"
            mend = "have the air tested to a standard for diving; `tankbook rules` lists them"
            yield Says(test.source.at("standard"), text, mend)


@on_station("air-test-half", FAULT, since="0.2", adverse=True)
def reopened_on_what_failed(station: Station, air: AirJudge) -> Iterator[Says]:
    """A test that reopens a station measured what the one before it failed on."""
    for test in counting_air_tests(station):
        if test.result is TestResult.FAIL:
            continue
        for wrong in air.left_unmeasured(station, test):
            text = f"the air test of {test.on} {wrong}"
            yield Says(test.source.at("result"), text, "have it measured, to the same standard")


@on_station("air-unmeasured", WARN, since="0.2")
def passed_air_was_measured(station: Station, air: AirJudge) -> Iterator[Says]:
    """A test that passed gives a value for everything that its limits limit, and names them."""
    for test in counting_air_tests(station):
        if test.result is not TestResult.PASS or air.is_stale(test):
            continue
        missing = air.unmeasured(test)
        if missing:
            text = f"the air test of {test.on} passed, and gives no {', '.join(missing)}"
            mend = "enter what the laboratory's report says of each; ask for those it leaves out"
            yield Says(test.source.at("result"), text, mend)
        elif test.standard is None and not any(air.gaps(test)):
            text = f"the air test of {test.on} passed, and says neither by what limits nor what"
            text += " was measured"
            yield Says(test.source.at("result"), text, "enter the report's standard and values")


@on_station("bank-sampled-otherwise", WARN, since="0.2")
def banks_hold_their_gas(station: Station, tolerance: float) -> Iterator[Says]:
    """The newest sample of a bank that holds no air has the oxygen of its gas."""
    for bank in station.banks:
        gas, newest = bank.gas, None
        for test in counting_air_tests(station):
            known = bank.since is None or bank.since <= test.on
            if known and sampled_at(station, test) == {bank.name.casefold()} and test.oxygen:
                newest = test
        if newest is None or gas is None or gas.is_air or newest.oxygen is None:
            continue
        if abs(newest.oxygen.percent - gas.oxygen_percent) > tolerance:
            text = f"{bank.name} is said to hold {gas}, and its sample of {newest.on} has"
            mend = "write the gas that it holds, and since when; analyse what is filled from it"
            yield Says(newest.source.at("oxygen"), f"{text} {newest.oxygen} oxygen", mend)


@on_station("air-smells", WARN, since="0.2")
def passed_air_smells_of_nothing(station: Station) -> Iterator[Says]:
    """Air that passed has no odour, by words that are known to say so."""
    for test in counting_air_tests(station):
        if test.result is TestResult.PASS and smells(test):
            text = f"the air test of {test.on} passed, and its odour is `{test.odour}`"
            mend = (
                "write `none` where there is none, and leave it out where nobody asked; else find"
                " its source, and have the air tested again"
            )
            yield Says(test.source.at("odour"), text, mend)


@on_station("station-struck-out", FAULT, since="0.2")
def strikes_are_signed(
    station: Station, air: AirJudge, people: People, today: dt.date
) -> Iterator[Says]:
    """Whoever struck out an entry of the station is known, and certified if it told against it."""
    for entry in _entries(station):
        void = getattr(entry, "void", None)
        if not isinstance(void, Void):
            continue
        bad = tells_against(entry) or (isinstance(entry, AirTest) and bool(air.over(entry)))
        unknown = f"{void.by} is not among the people of tankbook.yaml"
        wrong = unknown if people and void.by not in people else ""
        wrong = why_not_certified(people, void.by, void.on) if bad else wrong
        on = getattr(entry, "on", None)
        if void.on < (on.first if isinstance(on, PartialDate) else on or void.on) <= today:
            wrong = f"it is dated {void.on}, before the entry"
        if wrong:
            text = f"the {entry.title} of {on} is struck out, and {wrong}"
            mend = "let somebody certified strike it out, or take `void:` away"
            yield Says(void.source.at("by"), text, mend)
        if says_nothing(void.why):
            text = f"the {entry.title} of {on} is struck out for `{void.why}`, which is no reason"
            yield Says(void.source.at("why"), text, "say why in words, or take `void:` away")


def _entries(record: Record) -> Iterator[Record]:
    """Every record within a record."""
    for attribute in type(record).declared:
        value = getattr(record, attribute)
        for each in value if isinstance(value, tuple) else (value,):
            if isinstance(each, Record) and not isinstance(each, Void):
                yield each
                yield from _entries(each)


@on_station("meter-backward", FAULT, since="0.2")
def meter_runs_forward(station: Station) -> Iterator[Says]:
    """The hour meter never reads less than it did, at a filter change or between them."""
    hours = meter.readings(station.compressor)
    again = "read it again; `tankbook correct station`"
    for before, now in meter.fallen(hours):
        named = "reads" if now.instead_of is None else "instead_of"
        text = f"the hour meter read {meter.shown_then(now)} on {now.on}, after {before.reads}"
        mend = f"{again}; a new meter: `instead_of:` says what the old one showed last"
        yield Says(now.source.at(named), text, mend)
    for change in meter.changes(station):
        how = meter.against(station, change)
        if how:
            text = (
                f"a filter was changed at {change.at} on {change.on}; the hour meter showed {how}"
            )
            yield Says(change.source.at("at"), text, again)


@on_station("fitted-ahead", FAULT, since="0.2")
def whips_are_fitted(station: Station, latest_day: dt.date) -> Iterator[Says]:
    """A whip was fitted by now."""
    for whip in station.whips:
        if whip.fitted is not None and whip.fitted.first > latest_day:
            text = f"the whip {whip.name} is fitted {whip.fitted}, which is yet to come"
            yield Says(whip.source.at("fitted"), text, "write when it was new")


@on_station("meter-unread", FAULT, since="0.2")
def meter_was_read(station: Station, meter_unread: str) -> Iterator[Says]:
    """The hour meter was read since the last filter change, so that the filters age."""
    if meter_unread:
        where = station.compressor.source.at("hours") if station.compressor else station.source.at()
        yield Says(where, meter_unread, "`tankbook station hours` records a reading")
