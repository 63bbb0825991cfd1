"""What can be wrong with the records of the fill station."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence

from tankbook.records.entries import Void
from tankbook.records.fields import Record
from tankbook.records.life import tells_against
from tankbook.records.naming import named_among
from tankbook.records.settings import People
from tankbook.records.station import (
    COMPRESSOR,
    AirTest,
    Bank,
    Raised,
    Station,
    certificates_of,
    new_since,
    that_stand,
)
from tankbook.records.words import Grade, TestResult
from tankbook.rules import meter
from tankbook.rules.air import (
    ODOUR,
    AirJudge,
    by_others,
    counting_air_tests,
    drawn_here,
    sampled_at,
    smells,
    unfed,
)
from tankbook.rules.bank_gas import GasUnsure
from tankbook.rules.checks.declared import ADVICE, FAULT, WARN, Says, on_station
from tankbook.rules.gauges import is_over_mark
from tankbook.rules.inforce import InForce
from tankbook.rules.mended import Mending
from tankbook.rules.mixed import is_always
from tankbook.rules.relief import protectable
from tankbook.rules.schedule import (
    newest_decision,
    strike_decision,
    why_odd_without_period,
    why_undecided,
)
from tankbook.rules.signing import why_not_certified
from tankbook.rules.unmeasured import not_measured
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
        [u.name for u in station.upkeep],
        [i.name for i in station.instruments],
    )
    for names in kinds:  # whoever names one writes it in any capitals
        small = [name.casefold() for name in names]
        for name in sorted({n for n in names if small.count(n.casefold()) > 1}):
            text = f"two parts of the station are called {name}"
            yield Says(station.source.at(), text, "give one another name")


@on_station("part-unknown", WARN, since="0.2")
def parts_that_are_named_are_there(station: Station) -> Iterator[Says]:
    """What a part says of others names parts that the station has."""
    banks = [b.name for b in station.banks]
    places = [p.name for p in station.positions]
    whips = [w.name for w in station.whips]
    pumps = station.every_compressor
    made = [*(c.name or "" for c in pumps), COMPRESSOR] if pumps else []
    made += [s.name for s in station.sources]
    fed_by = [*banks, *made, *(b.name for b in station.boosters)]
    named: list[tuple[Record, str, str, list[str]]] = []
    named += [(p, "whip", p.whip, whips) for p in station.positions if p.whip]
    named += [(g, "position", g.position, banks + places) for g in station.gauges if g.position]
    gauges = [g.name for g in station.gauges]
    named += [(m, "gauge", m.gauge, gauges) for m in that_stand(station.masters)]
    every = [*protectable(station)]
    named += [(v, "protects", name, every) for v in station.relief_valves for name in v.protects]
    named += [(b, "from", name, fed_by) for b in station.boosters for name in b.from_]
    named += [(f, "of", f.of, made) for f in station.filters if f.of]
    own = [*(c.name or COMPRESSOR for c in pumps)]
    named += [(s, "of", s.of, own) for s in station.sources if s.of]
    named += [(s, "of", name, every) for s in station.schemes for name in s.of]
    upkept = own + [b.name for b in station.boosters] + [i.name for i in station.instruments]
    named += [(u, "of", u.of, upkept) for u in station.upkeep if u.of]
    for part, key, name, there in named:
        if name.casefold() not in {each.casefold() for each in there}:
            text = f"the {part.title} {getattr(part, 'name', '')} says `{key}: {name}`, and the"
            text += " station has none of that name"
            mend = ", ".join(filter(None, there)) or "what the station has"
            yield Says(part.source.at(key), text, f"write one of {mend}")
    if len(pumps) > 1:
        for each in station.filters:
            if not each.of:
                text = f"the filter {each.name} does not say which of the compressors it is of"
                yield Says(each.source.at(), text, "add `of:`, the compressor by its label")
        for work in station.upkeep:
            if not work.of and (work.hours or work.what.tells_moisture):
                text = f"the upkeep {work.name} does not say which of the compressors it is of"
                yield Says(work.source.at(), text, "add `of:`, the compressor by its label")


@on_station("upkeep-no-interval", WARN, since="0.2")
def upkeep_has_an_interval(station: Station) -> Iterator[Says]:
    """Upkeep says after how long, or after how many running hours, it is done again."""
    for part in station.upkeep:
        if part.every is None and part.hours is None:
            text = f"the upkeep {part.name} does not say how often it is done"
            mend = "add `every:` or `hours:`, as its maker or the station says"
            yield Says(part.source.at(), text, mend)


@on_station("compressor-called", FAULT, since="0.2")
def pumps_are_told_apart(station: Station) -> Iterator[Says]:
    """Where the station has several compressors, or boosters, each has a label that nothing else
    of it has: what is pumped, sampled and run by one is told from that of another by it alone."""
    pumps = station.every_compressor
    every = (*station.every_pump, *station.sources)
    if len(pumps) < 2 and not station.every_fed:
        return
    names = [each.name or "" for each in every] + [b.name for b in station.banks]
    names += [p.name for p in station.positions] + [w.name for w in station.whips]
    taken = [name.casefold() for name in (*names, *(f.name for f in station.filters))]
    mend = "give each compressor and booster a label of its own, as in `name: C2`"
    for each in every:
        name = (each.name or "").casefold()
        if not name and len(pumps) > 1:
            yield Says(each.source.at(), "one of several compressors has no label", mend)
        elif name in _NO_LABEL or "+" in name or by_others(name):
            yield Says(each.source.at("name"), f"`{each.name}` tells no {each.title} apart", mend)
        elif name and taken.count(name) > 1 and (len(pumps) > 1 or each not in pumps):
            text = f"two parts of the station are called {each.name}"
            yield Says(each.source.at("name"), text, mend)


_NO_LABEL = frozenset(
    {COMPRESSOR, "booster", "bank", "banks", "filter", "panel", "whip", "position", "regulator"}
)
"""What a part is called by its kind."""


@on_station("oxygen-air-unproved", ADVICE, since="0.2")
def oxygen_air_is_proved(station: Station, unproved: Sequence[tuple[str, str]]) -> Iterator[Says]:
    """What is said to give oxygen-compatible air was sampled for oil, and has a filter."""
    for name, lacking in unproved:
        text = f"{name} is said to give oxygen-compatible air, and nothing shows it: {lacking}"
        mend = "record its filter and a sample that measured oil; or take `grade: oxygen` away"
        yield Says(station.source.at(), text, mend)


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


@on_station("repair-unproven", WARN, since="0.2")
def repairs_are_signed(station: Station, people: People) -> Iterator[Says]:
    """That a part which holds pressure holds again after it failed is said by somebody certified;
    till then it stays out of use. What was repaired had failed, written down or not."""
    parts: list[tuple[str, str, Mending, PartialDate | None]] = []
    for whip in station.whips:
        holds = Mending(people, hose=True, checked=whip.checked)
        parts.append((f"whip {whip.name}", " --new", holds, new_since(whip)))
    for valve in station.relief_valves:
        holds = Mending(people, hose=False, checked=valve.checked)
        parts.append((f"relief {valve.name}", " --new --set-at PRESSURE", holds, new_since(valve)))
    for position in station.positions:
        holds = Mending(people, hose=False, checked=position.checked)
        parts.append((f"position {position.name}", "", holds, None))
    if (regulator := station.regulator) is not None:
        holds = Mending(people, hose=False, checked=regulator.checked)
        parts.append(("regulator", " --new", holds, new_since(regulator)))
    for part, new, holds, fitted in parts:
        for failed, check, why in holds.unproven():
            text = f"{part} failed on {failed.on}, and that it was repaired ({check.repaired})"
            text += f" does not count: {why}"
            line = f"`tankbook station {part}"
            mend = f"somebody certified says it: {line} --repaired WHAT --by INITIALS`"
            mend += f"; or a new one: {line}{new}`" if new else ""
            yield Says(check.source.at("repaired"), text, mend)
        if (alone := holds.unproven_alone(fitted)) is not None:
            text = f"{part} was repaired on {alone.on} ({alone.repaired}), nothing says what failed"
            text += f", and that it holds is said by nobody: {holds.why_not_alone(alone)}"
            line = f"`tankbook station {part}"
            mend = f"write what failed: {line} --fail WHAT --on {alone.on}`"
            mend += f"; or somebody certified looks at it: {line} --note WHAT --by INITIALS`"
            mend += f"; or a new one: {line}{new}`" if new else ""
            yield Says(alone.source.at("repaired"), text, mend)


@on_station("bank-no-paper", ADVICE, since="0.2")
def no_period_has_its_paper(station: Station) -> Iterator[Says]:
    """The paper that a bank has no period by is named; and a bank that has one needs no decision
    that it has none."""
    for bank in station.banks:
        decided = newest_decision(bank)
        if decided is None:
            continue
        if decided.certificate is None and names_no_paper(decided.document or ""):
            text = f"that {bank.name} has no period was decided without a paper"
            yield Says(decided.source.at("why"), text, "say where it is: `document:`")
        if odd := why_odd_without_period(bank.specification):
            text = f"that {bank.name} has no period: {odd}"
            strike = strike_decision(bank, decided)
            yield Says(decided.source.at("why"), text, f"see that it says so; else {strike}", WARN)
        if isinstance(bank.period, Period):
            text = f"{bank.name} has a period of {bank.period}, and it was decided that it has none"
            strike = strike_decision(bank, decided)
            mend = f"{strike}, or write `period: none`; till then the period counts"
            yield Says(bank.source.at("period"), text, mend)


@on_station("certificate-changed", WARN, since="0.2")
def papers_are_as_recorded(station: Station, papers: Mapping[str, str]) -> Iterator[Says]:
    """A file of the ledger that a certificate names is the one that was recorded."""
    for paper in certificates_of(station):
        now = papers.get(paper.name)
        if now is None or now == paper.sha256:
            continue
        what = f"has the SHA-256 {now[:12]}... now" if now else "is gone or cannot be read"
        text = f"the certificate {paper.name} was recorded as {paper.sha256[:12]}..., and {what}"
        mend = "put the paper back as it was, or strike the entry out and record it with its own"
        yield Says(paper.source.at("sha256"), text, mend)


@on_station("bank-over", WARN)
def banks_within_pressure(station: Station, rules: InForce) -> Iterator[Says]:
    """A bank was not read above its working pressure; while its newest reading says so, that is
    told with every answer. By how much puts it out of use, a rule row says."""
    for bank in station.banks:
        readings = that_stand(bank.readings)
        for reading in readings:
            if bank.working_pressure and reading.pressure > bank.working_pressure:
                text = f"{bank.name} read {reading.pressure}, above its {bank.working_pressure}"
                mend = "bleed it and read it again; see what its relief valve does"
                out = is_over_mark(station, bank, reading.pressure, rules)
                past = None if reading is readings[-1] and not out else ADVICE
                yield Says(reading.source.at("pressure"), text, mend, past)


@on_station("bank-gas-unsure", ADVICE, since="0.2")
def banks_hold_what_they_say(
    station: Station, gases_unsure: Sequence[tuple[Bank, GasUnsure]]
) -> Iterator[Says]:
    """No other gas went into a bank since it was analysed, nor was it analysed as another. What
    follows from it a rule row says, with every answer."""
    for bank, unsure in gases_unsure:
        text = f"{bank.name} is on record with {unsure.gas} and {unsure.how}"
        yield Says(bank.source.at("gas"), text, unsure.opens)


@on_station("raised-from-nothing", WARN, since="0.2")
def raised_from_what_is_there(
    station: Station, raised_from_nothing: Sequence[tuple[Bank, Raised, str]]
) -> Iterator[Says]:
    """What a bank was raised from is a part of the station, a cylinder of the ledger, a gas, or
    says where others filled."""
    for bank, raised, part in raised_from_nothing:
        text = f"{bank.name} was raised on {raised.on} from {part}, which is nothing here"
        mend = "write a bank, a compressor, a cylinder by its id, or `elsewhere: WHERE`"
        yield Says(raised.source.at("source"), text, mend)


@on_station("raised-beyond-reach", ADVICE, since="0.2")
def raised_as_far_as_it_reaches(
    station: Station, raised_beyond: Sequence[tuple[Bank, Raised, str]]
) -> Iterator[Says]:
    """No bank was raised higher than what it was raised from reaches: else something else put it
    there, or it was misread."""
    for bank, raised, why in raised_beyond:
        text = f"{bank.name} was not raised to {raised.to} on {raised.on} by that: {why}"
        mend = "name the booster with the source (`BO1+B2`), or set it right: `tankbook correct"
        yield Says(raised.source.at("to"), text, f"{mend} station {bank.name}.raised {raised.on}`")


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


@on_station("air-test-half", ADVICE, since="0.2")
def reopened_on_what_failed(station: Station, air: AirJudge) -> Iterator[Says]:
    """A test that passed measured what the one before it failed on: else it reopens nothing, and
    what it is of stays out as by the one that failed."""
    for test in counting_air_tests(station):
        if test.result is TestResult.FAIL:
            continue
        for wrong in air.left_unmeasured(station, test):
            text = f"the air test of {test.on} {wrong}"
            mend = "have it measured, to the same standard"
            yield Says(test.source.at("result"), text, mend)


@on_station("air-unmeasured", WARN, since="0.2")
def passed_air_was_measured(station: Station, air: AirJudge) -> Iterator[Says]:
    """A test that passed gives a value for everything that its limits limit, and names them."""
    counting = counting_air_tests(station)
    for test in counting:
        if test.result is not TestResult.PASS or air.is_stale(test):
            continue
        # whether there was an odour many papers do not say: told wherever the test is, warned of
        # where somebody wrote that nobody asked
        asked = [ODOUR] if test.odour is None else []
        missing = [name for name in not_measured(air, test) if name not in asked]
        of = f" ({test.source_})" if test.source_ and len(counting) > 1 else ""
        if missing:
            text = f"the air test of {test.on}{of} passed, and gives no {', '.join(missing)}"
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
        begun = on.first if isinstance(on, PartialDate) else on or void.on
        if bad and void.is_before(begun) and begun <= today:
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
    again = "read it again; else set it right: `tankbook correct station"
    every = station.every_compressor
    for pump in station.every_pump:
        of = "" if pump is station.only_compressor else f" of {pump.name or COMPRESSOR}"
        for before, now in meter.fallen(meter.readings(pump)):
            named = "reads" if now.instead_of is None else "instead_of"
            text = f"the hour meter{of} read {meter.shown_then(now)} on {now.on}, after"
            own = "" if pump is station.only_compressor else f"{pump.name}."
            way = f"{own}hours {named_among(pump.hours, now)} --set {named}=HOURS --why WHY`"
            mend = f"{again} {way}; a new meter: `instead_of:` says what the old one showed last"
            yield Says(now.source.at(named), f"{text} {before.reads}", mend)
    for made in every or (None,):
        for kept in meter.filters_of(station, made):
            for change in that_stand(kept.changed):
                how = meter.against(station, made, change)
                if how:
                    text = f"a filter was changed at {change.at} on {change.on}; the hour meter"
                    named = f"{kept.name}.changed {named_among(kept.changed, change)}"
                    mend = f"{again} {named} --set at=HOURS --why WHY`"
                    yield Says(change.source.at("at"), f"{text} showed {how}", mend)
    for part in station.upkeep:
        whose = meter.pump_of_upkeep(station, part)
        for done, sight in meter.upkeep_seen(part) if whose is not None else ():
            how = meter.against(station, whose, sight)
            if how:
                text = f"upkeep {part.name} was done at {done.at} on {done.on}; the hour meter"
                named = f"{part.name}.done {named_among(part.done, done)}"
                mend = f"{again} {named} --set at=HOURS --why WHY`"
                yield Says(done.source.at("at"), f"{text} showed {how}", mend)


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
        only = station.only_compressor
        where = only.source.at("hours") if only else station.source.at()
        yield Says(where, meter_unread, "`tankbook station hours` records a reading")


@on_station("meter-stale", WARN, since="0.2")
def meter_is_read(station: Station, meter_stale: str) -> Iterator[Says]:
    """The hour meter is read as often as it usually is while the compressor is used: what falls due
    by its hours does not come nearer else."""
    if meter_stale:
        yield Says(station.source.at(), meter_stale, "`tankbook station hours` records a reading")


@on_station("booster-fed", WARN, since="0.2")
def boosters_are_fed(station: Station) -> Iterator[Says]:
    """A booster takes from something besides itself and others that take from it, and from what
    holds a gas that it drives."""
    banks = {b.name.casefold(): b for b in station.banks}
    loose = unfed(station)
    boosters = {b.name.casefold(): b for b in station.boosters}
    for booster in station.boosters:
        named = [name.casefold() for name in booster.from_]
        where = booster.source.at("from")
        if booster.name.casefold() in named:
            text = f"the booster {booster.name} says that it takes from itself"
            yield Says(where, text, "write what it takes from")
        elif named and booster.name.casefold() in loose and all(n in boosters for n in named):
            text = f"the booster {booster.name} takes from {', '.join(booster.from_)}, and nothing"
            yield Says(where, f"{text} feeds those", "write what they take from")
        for bank in (banks[name] for name in named if name in banks):
            gas = bank.gas
            if booster.drives and gas is not None and gas not in booster.drives:
                text = f"the booster {booster.name} takes from {bank.name}, which holds {gas}, and"
                text += f" drives {', '.join(map(str, booster.drives))}"
                yield Says(where, text, "write what it may drive, or what it takes from")


@on_station("booster-grade", WARN, since="0.2")
def boosters_are_graded(station: Station, rules: InForce) -> Iterator[Says]:
    """A booster that drives a gas rich in oxygen is not said to be for breathing air alone."""
    for booster in station.boosters:
        rich = [g for g in booster.drives if g.oxygen_percent > rules.clean_above.percent]
        if rich and booster.grade is Grade.BREATHING:
            text = f"the booster {booster.name} is said to drive {rich[0]}, and is not for oxygen"
            mend = "take the gas away, or write `grade: oxygen` where it is clean and fit for it"
            yield Says(booster.source.at("grade"), f"{text} (`grade: breathing`)", mend)
