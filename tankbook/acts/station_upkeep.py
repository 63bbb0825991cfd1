"""Upkeep of the fill station: readings, hours, filters, checks of its parts, tests of its banks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Annotated

from msgspec.structs import replace

from tankbook.acts.at_station import (
    STATION_FILE,
    BankName,
    Fail,
    Name,
    act_at,
    begun,
    begun_at,
    minute_of,
    place_of,
    pump_of,
    way_to,
)
from tankbook.acts.common import (
    happened_reasons,
    line_reasons,
    refusal,
    signer_reasons,
    text_reasons,
    uncertified,
)
from tankbook.acts.log_line import source_reasons
from tankbook.acts.options import Arg, At, Opt
from tankbook.acts.papers import Paper, with_paper
from tankbook.acts.station_holds import let_go_late, let_go_said
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import standing
from tankbook.records.naming import named_among
from tankbook.records.station import (
    COMPRESSOR,
    Bank,
    BankAnalysis,
    BankTest,
    Booster,
    Compressor,
    FilterChange,
    Hours,
    Raised,
    Reading,
    Station,
    that_stand,
)
from tankbook.records.words import METHOD_TWINS, Grade, InstrumentKind, Method, TestResult
from tankbook.rules import meter as hour_meter
from tankbook.rules.air import own_names, parts_named, taken_here
from tankbook.rules.bad_air import cylinders_called
from tankbook.rules.bank_analysed import counted
from tankbook.rules.bank_gas import gas_unsure
from tankbook.rules.gauges import is_far_over_mark, is_over_mark
from tankbook.rules.inforce import rules_of
from tankbook.rules.leaving import raised_while_shut
from tankbook.rules.out_of_use import PartSort, out_of_use
from tankbook.rules.schedule import newest_decision, strike_decision
from tankbook.rules.source_grade import grade_on
from tankbook.rules.source_range import beyond_reach
from tankbook.units import GaugePressure, PartialDate, Percent, Period, RunningTime


def read_banks(
    book: Book,
    readings: Mapping[str, GaugePressure],
    *,
    by: str,
    on: dt.date,
    at: dt.time | None = None,
    happened: str = "",
) -> Act | Refusal:
    """Gauge readings of banks, taken on the master gauge, at a time where that is known; one far
    above what a bank is marked for with what `happened`."""
    reasons = signer_reasons(book, by, on) + happened_reasons(happened)
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    notes: list[str] = []
    said: list[str] = []
    for name, pressure in readings.items():
        place = place_of(station.banks, name, "bank")
        if isinstance(place, str):
            reasons.append(place)
            continue
        bank = station.banks[place]
        asked, told = _over_pressure(book, station, bank, pressure, happened)
        note = happened if told and happened else None
        entry = Reading(on=on, pressure=pressure, at=minute_of(at), by=by, note=note)
        draft = draft.enter(("banks", place, "readings"), entry)
        reasons += asked
        notes += told
        said.append(f"{bank.name} {pressure}")
    if reasons:
        return refusal(reasons)
    then = replace(book, station=draft.record)
    if late := let_go_late(book, then, by=by, on=on):
        return refusal(late)
    notes += let_go_said(book, then, on)
    sentence = f"Read {', '.join(said)}"
    return act_at(book, "station read", sentence, draft, on, notes)


def _over_pressure(
    book: Book, station: Station, bank: Bank, pressure: GaugePressure, happened: str
) -> tuple[list[str], list[str]]:
    """Why a pressure of a bank is asked about again, and what is told of it: above its mark it is
    bled down, and far above it was mostly misread."""
    most = bank.working_pressure
    if most is None or pressure <= most:
        return [], []
    reads = f"{bank.name} reads {pressure}, above its marked {most}"
    if not happened and is_far_over_mark(bank, pressure, rules_of(book)):
        return [
            f"{reads} by so much that it was mostly misread: read it again; where it does stand"
            " there, --happened WHY records it, and it is out of use"
        ], []
    out = is_over_mark(station, bank, pressure, rules_of(book))
    told = "; it is out of use until it is read lower" * out
    if out and is_far_over_mark(bank, pressure, rules_of(book)):
        told += ", and somebody competent looked at it (`tankbook station bank-look`)"
    return [], [f"{reads}: bleed it down{told}"]


def meter(
    book: Book,
    reads: Annotated[RunningTime, Arg("HOURS", "What the meter shows: 412.5.")],
    *,
    of: Annotated[
        str, Opt("NAME", "The compressor or booster; may be left out where only one is.")
    ] = "",
    instead_of: Annotated[
        RunningTime | None, Opt("HOURS", "A new meter: what the old one showed last.")
    ] = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record the hour meter of a compressor or a booster."""
    reasons = signer_reasons(book, by, on)
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    pump = pump_of(station, of, "--of")
    if isinstance(pump, str):
        return refusal([pump, *reasons])
    reasons += _meter_reasons(pump, reads if instead_of is None else instead_of)
    if reasons:
        return refusal(reasons)
    entry = Hours(on=on, reads=reads, instead_of=instead_of, by=by)
    draft = draft.enter((*way_to(station, pump), "hours"), entry)
    then = replace(book, station=draft.record)
    if late := let_go_late(book, then, by=by, on=on, every=True):
        return refusal(late)
    notes = filter_notes(draft.record)
    if instead_of is None:
        notes = [*_ahead_of_meter(station, pump, entry), *notes]
    named = "" if pump is station.only_compressor else f" of {pump.name}"
    said = f"Hour meter{named} reads {reads}"
    if instead_of is not None:
        said = f"New hour meter{named}, reads {reads}; the old one read {instead_of}"
    return act_at(book, "station hours", said, draft, on, notes)


def _meter_reasons(pump: Compressor | Booster, reads: RunningTime) -> list[str]:
    last = hour_meter.newest(pump)
    if last is not None and hour_meter.is_less(reads, last.reads):
        return [
            f"the meter read {last.reads} on {last.on} and does not run back; if that was wrong, "
            "strike it out with `tankbook correct station hours`; a new meter: "
            "`tankbook station hours --instead-of` says what the old one read"
        ]
    return []


def _ahead_of_meter(station: Station, pump: Compressor | Booster, read: Hours) -> Iterator[str]:
    """That the meter shows less than upkeep of that day says that it showed: of one day nobody
    knows which was first. What an earlier day says the meter cannot undercut."""
    for part, seen in hour_meter.upkept_by(station, pump):
        if seen.on == read.on and hour_meter.is_less(read.reads, seen.at):
            yield (
                f"WARNING: upkeep {part.name} says that the meter showed {seen.at} that day, which"
                " is more: read it again; else set right what was wrong: `tankbook correct station"
                f" {part.name}.done {seen.on} --set at=HOURS --why WHY`"
            )


def filter_notes(station: Station) -> list[str]:
    """Each filter with the hours it has left, as the meter of its compressor stands."""
    notes = []
    for each in station.filters:
        made = hour_meter.compressor_of(station, each)
        hours, changes = hour_meter.readings(made), that_stand(each.changed)
        if hours and each.life and changes:
            fitted = max(hour_meter.counted_at(hours, c) for c in changes)
            run = max(ran for _, ran in hour_meter.shown(station, made)) - fitted
            left = each.life.hours - run
            notes.append(
                f"filter {each.name}: {left:g} h of {each.life} left"
                if left >= 0
                else f"filter {each.name} is {-left:g} h past its life of {each.life}: change it"
            )
    return notes


def change_filter(
    book: Book,
    name: Name,
    at: Annotated[
        RunningTime | None, Opt("HOURS", "What the hour meter shows; today's reading, if not said.")
    ] = None,
    *,
    hour: Annotated[
        dt.time | None, Opt("HH:MM", "At what time of the day; asked of a day of an alarm.")
    ] = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record a new filter element."""
    reasons = signer_reasons(book, by, on)
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    station = draft.record
    place = place_of(station.filters, name, "filter")
    made = None
    if isinstance(place, int):
        made = hour_meter.compressor_of(station, station.filters[place])
        if made is None and station.every_compressor:
            label = station.filters[place].name
            reasons.append(
                f"which compressor {label} is of is not recorded: write `of:` into {STATION_FILE}"
            )
    last = hour_meter.newest(made)
    if at is None and last is not None and last.on == on:
        at = last.reads
    if at is None:
        known = f" (last read {last.reads} on {last.on})" if last else ""
        reasons.append(f"what the hour meter shows is not said: give --at{known}")
    elif made is not None:
        reasons += _meter_reasons(made, at)
    if isinstance(place, str):
        reasons.append(place)
    if reasons or isinstance(place, str) or at is None:
        return refusal(reasons)
    stale = last is None or last.reads < at or last.on < on
    if made is not None and stale:
        draft = draft.enter((*way_to(station, made), "hours"), Hours(on=on, reads=at, by=by))
    draft = draft.enter(
        ("filters", place, "changed"), FilterChange(on=on, at=at, hour=minute_of(hour), by=by)
    )
    sentence = f"Changed filter {station.filters[place].name} at {at}"
    return act_at(book, "station filter", sentence, draft, on, filter_notes(draft.record))


def bank_tested(
    book: Book,
    name: Name,
    *,
    on: Annotated[PartialDate, Opt("MONTH", "Month or day of the test: 2026-10.")],
    by: Annotated[str, Opt("RIN", "The requalifier, by its RIN.")],
    method: Annotated[
        Method, Opt("METHOD", "As of `requalify`.", twins=METHOD_TWINS)
    ] = Method.HYDROSTATIC,
    period: Annotated[
        Period | None, Opt("PERIOD", "Time from test to test, as its papers say: 10y.")
    ] = None,
    stamp: Annotated[str, Opt("TEXT", "The stamp.")] = "",
    failed: Fail = "",
    certificate: Paper = None,
    today: dt.date,
) -> Act | Refusal:
    """Record the periodic test of a bank, and its period where that is new."""
    reasons = line_reasons(by=by) + text_reasons(fail=failed)
    if by in book.settings.people:
        reasons.append(f"{by} is one of the ledger's people: name the requalifier, by its RIN")
    if on.first > today:
        reasons.append(f"{on} lies in the future: today is {today}")
    begins = begun_at(book, "banks", name, "bank", reasons)
    if isinstance(begins, Refusal):
        return begins
    draft, place = begins
    station = draft.record
    bank = station.banks[place]
    result = TestResult.FAIL if failed else TestResult.PASS
    # one that failed and one that passed are two facts of a day: the failure counts
    again = any(
        (r.on, r.method, r.result) == (on, method, result) for r in standing(bank.requalified)
    )
    renewed = period is not None and period != bank.period
    if again and not renewed:
        reasons.append(f"a {method} test of {bank.name} of {on} is already on record")
    if reasons:
        return refusal(reasons)
    entry = BankTest(
        on=on,
        by=by,
        method=method,
        stamp=stamp or None,
        result=result,
        note=failed or None,
        certificate=certificate,
    )
    said = f"FAILED: {failed}" if failed else "passed"
    notes = [f"shut {bank.name} off: it holds gas no more"] if failed else []
    if again:
        notes.append(f"that test of {on} is on record already, and stays as it is")
    else:
        draft = draft.enter(("banks", place, "requalified"), entry)
    if period is not None and renewed:
        draft = draft.set(("banks", place, "period"), period)
        notes += [_period_replaced(bank)] if bank.period else []
    elif bank.period is None and newest_decision(bank) is None and not station.schemes:
        notes.append(f"when {bank.name} is due again is not known: --period says it")
    sentence = f"{method.capitalize()} test of bank {bank.name} {on} by {by}: {said}"
    if again:
        sentence = f"Bank {bank.name} is to be tested every {period}"
    sentence = with_paper(sentence, certificate)
    return act_at(book, "station bank-test", sentence, draft, today, notes)


def _period_replaced(bank: Bank) -> str:
    """That what was recorded of a bank's period counts no more, and how it is struck out."""
    decided = newest_decision(bank)
    if isinstance(bank.period, Period) or decided is None:
        return f"its period of {bank.period} no longer counts"
    return (
        f"that it has no period, as {decided.by} decided on {decided.on}, no longer counts: "
        f"{strike_decision(bank, decided)}"
    )


def raise_bank(
    book: Book,
    name: BankName,
    *,
    to: Annotated[GaugePressure, Opt("PRESSURE", "What it shows now.")],
    from_: Annotated[
        GaugePressure | None, Opt("PRESSURE", "What it showed before.", "--from")
    ] = None,
    hours: Annotated[
        RunningTime | None, Opt("HOURS", "What the compressor's hour meter shows.")
    ] = None,
    source: Annotated[
        str,
        Opt("NAME", "From what: the compressor, where only one is; a bank, `elsewhere: WHERE`."),
    ] = "",
    happened: Annotated[
        str,
        Opt(
            "WHY",
            "It does stand so far above its mark, or holds gas that is asked about, and why.",
            "--happened",
        ),
    ] = "",
    by: str,
    on: dt.date,
    at: At = None,
) -> Act | Refusal:
    """Record that a bank was pumped; its reading and the hour meter's are entered as well."""
    reasons = signer_reasons(book, by, on) + happened_reasons(happened)
    reasons += line_reasons(source=source) if source else []
    begins = begun(book, reasons)
    if isinstance(begins, Refusal):
        return begins
    station = begins.record
    place = place_of(station.banks, name, "bank")
    if isinstance(place, str):
        return refusal([place, *reasons])
    bank = station.banks[place]
    reasons += raise_reasons(book, station, bank, source, from_, to)
    pump = station.only_compressor or _pump_named(station, parts_named(station, source))
    if hours is not None and pump is None:
        reasons.append("whose hour meter shows that is not said: --source, the compressor's label")
    elif hours is not None and pump is not None:
        reasons += _meter_reasons(pump, hours)
    minute = minute_of(at)
    if any((r.on, r.to, r.at) == (on, to, minute) for r in that_stand(bank.raised)):
        reasons.append(f"that {bank.name} was raised to {to} then is already on record")
    if minute is not None and any((c.on, c.at) == (on, minute) for c in that_stand(bank.cleaned)):
        reasons.append(f"{bank.name} was cleaned in that minute: --at HH:MM says which was first")
    asked, notes = _over_pressure(book, station, bank, to, happened)
    if uncertified(book, by, on):
        for text in dict.fromkeys(raised_while_shut(book.as_known_on(on), source, on)):
            fact = f"{text}; where it was done already, --happened WHY records it"
            asked += [] if happened else [fact]
            notes.append(f"WARNING: {text}")
    if reasons or asked:
        return refusal([*reasons, *asked])
    note = happened if notes and happened else None
    notes += _of_machines_out(book, station, source, on)
    entry = Raised(on=on, to=to, from_=from_, at=minute, hours=hours, source_=source or None, by=by)
    draft = begins.enter(("banks", place, "raised"), entry)
    reading = Reading(on=on, pressure=to, at=minute, by=by, note=note)
    draft = draft.enter(("banks", place, "readings"), reading)
    if hours is not None and pump is not None:
        draft = draft.enter((*way_to(station, pump), "hours"), Hours(on=on, reads=hours, by=by))
        notes += filter_notes(draft.record)
    if beyond := beyond_reach(book, station, bank, source, to, on):
        notes.append(
            f"WARNING: it was not raised to {to} by that: {beyond}. Read it again; name the booster"
            f" with the source (`BO1+B2`), or set it right: `tankbook correct station"
            f" {bank.name}.raised {on}`"
        )
    givers = [n for n in taken_here(source) if cylinders_called(book, n)]
    notes += [f"log what {each} shows now (`tankbook reading`)" for each in givers]
    after = replace(book, station=draft.record)
    if late := let_go_late(book, after, by=by, on=on):
        return refusal(late)
    notes += let_go_said(book, after, on)
    notes += _gas_notes(after, draft.record.banks[place])
    notes += _soil_notes(after, draft.record.banks[place], on)
    begun_at = f" from {from_}" if from_ else ""
    sentence = f"Raised {bank.name}{begun_at} to {to}{f', from {source}' if source else ''}"
    return act_at(book, "station raise", sentence, draft, on, notes)


def _of_machines_out(book: Book, station: Station, source: str, on: dt.date) -> Iterator[str]:
    """That a compressor or a booster that gave is out of use: for an incident, a check that it
    failed, upkeep that lapsed."""
    named = parts_named(station, source) if source else own_names(station)
    for each in out_of_use(book.as_known_on(on), on):
        if each.part.kind not in (PartSort.COMPRESSOR, PartSort.BOOSTER):
            continue
        if (each.part.name or COMPRESSOR).casefold() in named:
            yield f"WARNING: {each.reason.text}; {each.reason.mend}"


def raise_reasons(
    book: Book,
    station: Station,
    bank: Bank,
    source: str,
    from_: GaugePressure | None,
    to: GaugePressure,
) -> list[str]:
    """Why a bank cannot have been raised so."""
    reasons = list(source_reasons(book, source))
    if from_ is not None and from_ >= to:
        reasons.append(f"it was not pumped from {from_} to {to}: say from less to more")
    named, every = parts_named(station, source), station.every_compressor
    if len(named & own_names(station)) > 1 if source else len(every) > 1:
        pumps = ", ".join(each.name or COMPRESSOR for each in every)
        reasons.append(f"which compressor raised it is not said: --source {pumps}")
    if bank.name.casefold() in named:
        reasons.append(f"{bank.name} is not filled from itself")
    return reasons


def analysis_reasons(oxygen: Percent, helium: Percent | None) -> list[str]:
    """Why an analyser cannot have shown this."""
    whole = oxygen.percent + (helium.percent if helium else 0)
    return ["oxygen and helium are more than 100 % together"] if whole > 100 else []


def _gas_notes(book: Book, bank: Bank) -> list[str]:
    """What is to be done where it is not known any more what a bank holds."""
    unsure = gas_unsure(book, bank)
    if unsure is None:
        return []
    what = f"{bank.name} is on record with {unsure.gas} and {unsure.how}"
    does = "fill nothing from it until that is answered: " if unsure.sure else ""
    return [f"WARNING: {what}: {does}{unsure.opens}"]


def _soil_notes(book: Book, bank: Bank, on: dt.date) -> list[str]:
    """What is to be done where a bank that is said to be clean for oxygen no longer is."""
    found = grade_on(book, bank.name.casefold(), on)
    if bank.grade is not Grade.OXYGEN or found.grade is Grade.OXYGEN:
        return []
    sure = "is no longer" if found.grade else "may no longer be"
    return [f"WARNING: {bank.name} {sure} fit to be mixed with oxygen: {found.why}; {found.mend}"]


def _denied_notes(book: Book, bank: Bank, entry: BankAnalysis) -> Iterator[str]:
    """That what was just analysed answers nothing yet."""
    for each in counted(book, bank).denied:
        if replace(each.analysis, source=entry.source) == entry:
            was = each.before
            before = f"that of {was.on}, {was.figures}, and " if was else ""
            yield f"it answers nothing yet: {before}what went in make {each.made}"


def analyse(
    book: Book,
    name: BankName,
    *,
    oxygen: Annotated[Percent, Opt("PERCENT", "Oxygen: 32.1.")],
    helium: Annotated[Percent | None, Opt("PERCENT", "Helium, where it may hold some.")] = None,
    analyser: Annotated[str, Opt("NAME", "The analyser, by its label.", "--with")] = "",
    by: str,
    on: dt.date,
    at: At = None,
) -> Act | Refusal:
    """Record what an analyser shows of the gas in a bank; a sample of its air is an air test."""
    reasons = signer_reasons(book, by, on)
    begins = begun_at(book, "banks", name, "bank", reasons)
    if isinstance(begins, Refusal):
        return begins
    draft, place = begins
    reasons += analysis_reasons(oxygen, helium)
    kept = [i for i in draft.record.instruments if i.kind is InstrumentKind.OXYGEN_ANALYSER]
    which = place_of(kept, analyser, "oxygen analyser") if analyser else None
    reasons += [which] if isinstance(which, str) else []
    label = kept[which].name if isinstance(which, int) else None
    bank, minute = draft.record.banks[place], minute_of(at)
    entry = BankAnalysis(on=on, at=minute, oxygen=oxygen, helium=helium, with_=label, by=by)
    if any(entry == replace(a, source=entry.source) for a in that_stand(bank.analysed)):
        reasons.append(f"that analysis of {bank.name} is already on record")
    if reasons:
        return refusal(reasons)
    draft = draft.enter(("banks", place, "analysed"), entry)
    after = replace(book, station=draft.record)
    notes = [
        *_denied_notes(after, draft.record.banks[place], entry),
        *_gas_notes(after, draft.record.banks[place]),
    ]
    then = [r for r in that_stand(bank.raised) if r.on == on]
    if not any("--at HH:MM" in note for note in notes):
        notes += _hour_notes(bank, then, entry)
    if late := let_go_late(book, after, by=by, on=on):
        return refusal(late)
    notes += let_go_said(book, after, on)
    said = f"Analysed {bank.name}: {entry.figures}"
    return act_at(book, "station analyse", said, draft, on, notes)


def _hour_notes(bank: Bank, then: list[Raised], entry: BankAnalysis) -> Iterator[str]:
    """What says of an analysis of the day of raisings that it came after them."""
    if then and entry.at is None:
        values = f"--oxygen {entry.oxygen.percent:g}"
        values += f" --helium {entry.helium.percent:g}" if entry.helium else ""
        line = f"`tankbook station analyse {bank.name} {values} --on {entry.on} --at HH:MM`"
        yield f"{bank.name} was raised that day: {line} says that it was analysed after it"
    elif untold := [r for r in then if r.at is None]:
        lines = [
            f"`tankbook correct station {bank.name}.raised {named_among(bank.raised, r)}"
            " --set at=HH:MM --why WHY`"
            for r in untold
        ]
        yield f"{bank.name} was raised that day, nobody says at what hour: {' and '.join(lines)}"


def _pump_named(station: Station, named: frozenset[str]) -> Compressor | None:
    """The compressor that a source names, where it names one."""
    found = [c for c in station.every_compressor if (c.name or COMPRESSOR).casefold() in named]
    return found[0] if len(found) == 1 else None
