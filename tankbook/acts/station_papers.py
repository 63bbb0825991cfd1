"""What is decided of a bank: that it has no period, how a look at it ended, and how an examination
under a scheme."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from msgspec.structs import replace

from tankbook.acts.at_station import (
    STATION_FILE,
    BankName,
    Fail,
    Seen,
    act_at,
    begun,
    begun_at,
    place_of,
)
from tankbook.acts.common import line_reasons, refusal, signer_reasons, text_reasons
from tankbook.acts.options import Arg, At, Flag, Opt
from tankbook.acts.papers import Paper, with_paper
from tankbook.acts.station_holds import let_go_late, let_go_said
from tankbook.acts.valve import worker_reasons
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.kinds import EMPTY, NoEnd
from tankbook.records.station import (
    Bank,
    BankCleaned,
    BankLooked,
    Examined,
    NoPeriod,
    Reading,
    that_stand,
)
from tankbook.records.words import Grade, TestResult
from tankbook.rules.bank_held import banks_held, why_not_cleaned
from tankbook.rules.bank_pressure import not_looked_at, why_not_passed
from tankbook.rules.cleanliness import is_for_oxygen
from tankbook.rules.out_of_use import Out, PartSort, StationPart, out_of_use
from tankbook.rules.schedule import why_odd_without_period, why_undecided
from tankbook.rules.source_grade import grade_on
from tankbook.units import GaugePressure, PartialDate


def no_period(
    book: Book,
    name: BankName,
    *,
    why: Annotated[str, Opt("GROUND", "On what ground it has none.")],
    document: Annotated[str, Opt("WHERE", "Where the paper is.")] = "",
    until: Annotated[
        PartialDate | None, Opt("DATE", "When it is decided again; of a month, its end.")
    ] = None,
    specification: Annotated[str, Opt("TEXT", "What the bank is made to: ASME VIII-1.")] = "",
    certificate: Paper = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record the decision that a bank has no period from test to test, as an ASME vessel has none:
    who decided it, and on what ground. A test that failed still counts."""
    reasons = signer_reasons(book, by, on)
    reasons += text_reasons(why=why, document=document, specification=specification)
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    place = place_of(draft.record.banks, name, "bank")
    entry = NoPeriod(
        on=on, by=by, why=why, document=document or None, until=until, certificate=certificate
    )
    wrong = why_undecided(entry, book.settings.people)
    reasons += [f"that {name} has no period {wrong}"] if wrong else []
    if isinstance(place, str) or reasons:
        return refusal([*([place] if isinstance(place, str) else ()), *reasons])
    bank = draft.record.banks[place]
    if any((d.on, d.why, d.until) == (on, why, until) for d in that_stand(bank.no_period)):
        return refusal([f"that {bank.name} has no period is already on record, of {on}"])
    was = bank.period
    if was is not NoEnd.NONE:
        draft = draft.set(("banks", place, "period"), NoEnd.NONE)
    if specification:
        draft = draft.set(("banks", place, "specification"), specification)
    draft = draft.enter(("banks", place, "no_period"), entry)
    again = f"; decided again by {until}" if until else ""
    paper = f" ({document})" if document else ""
    sentence = f"{bank.name} has no period, decided by {by}: {why}{paper}{again}"
    sentence = with_paper(sentence, certificate)
    notes = [f"its period of {was} no longer counts"] if was and was is not NoEnd.NONE else []
    if odd := why_odd_without_period(specification or bank.specification):
        notes.append(f"WARNING: {odd}")
    if not (document or certificate):
        way = f"{bank.name}.no_period {on} --set document=WHERE --why WHY"
        notes.append(f"say where the paper is: `tankbook correct station {way}`")
    return act_at(book, "station no-period", sentence, draft, on, notes)


def bank_looked_at(
    book: Book,
    name: BankName,
    *,
    decided: Annotated[str, Opt("WHAT", "What was found, and decided.")],
    unfit: Annotated[bool, Flag("It is not to be used: it stays out.", "--unfit")] = False,
    by: str,
    on: dt.date,
    at: At = None,
) -> Act | Refusal:
    """Record that somebody competent looked at a bank that was read far above its mark, or that an
    incident names, and what they decided. A relief valve is tried as well: `tankbook station
    relief`."""
    reasons = signer_reasons(book, by, on) + line_reasons(decided=decided)
    begins = begun_at(book, "banks", name, "bank", reasons)
    if isinstance(begins, Refusal):
        return begins
    draft, place = begins
    bank = draft.record.banks[place]
    high = not_looked_at(book, bank)
    aside = [h.since for h in banks_held(book, on) if h.name == bank.name]
    days = [*([high.on] if high and high.on <= on else []), *aside]
    entry = BankLooked(
        on=on,
        at=at.replace(second=0, microsecond=0) if at else None,
        by=by,
        after=max(days, default=None),
        decided=decided,
        result=TestResult.FAIL if unfit else TestResult.PASS,
    )
    wrong = "" if unfit else why_not_passed(book, entry)
    reasons += [f"it does not let {bank.name} be used again: {wrong}"] if wrong else []
    if any(entry == replace(each, source=entry.source) for each in that_stand(bank.looked)):
        reasons.append(f"that look at {bank.name} is already on record")
    if reasons:
        return refusal(reasons)
    draft = draft.enter(("banks", place, "looked"), entry)
    said = f"Looked at {bank.name}: {decided}" + "; it is UNFIT" * unfit
    said += f" (after {high.reads} on {high.on})" if high else ""
    left = [o for o in out_of_use(replace(book, station=draft.record), on) if _is_of(o, bank)]
    notes = [f"{bank.name} is still out of use: {o.reason.text}; {o.reason.mend}" for o in left]
    return act_at(book, "station bank-look", said, draft, on, notes, fact=unfit)


def bank_cleaned(
    book: Book,
    name: BankName,
    *,
    method: Annotated[str, Opt("TEXT", "How: 'detergent, hot water, dried'.")] = "",
    by: str,
    on: dt.date,
    at: At = None,
) -> Act | Refusal:
    """Record that a bank was opened, looked inside and cleaned, for oxygen where that is its grade:
    what soiled it before no longer counts. It is opened empty: it is read as 0 with it."""
    reasons = worker_reasons(book, by, on) + text_reasons(method=method)
    begins = begun_at(book, "banks", name, "bank", reasons)
    if isinstance(begins, Refusal):
        return begins
    draft, place = begins
    bank, minute = draft.record.banks[place], at.replace(second=0, microsecond=0) if at else None
    days = {r.on for r in that_stand(bank.raised)} | {r.on for r in that_stand(bank.readings)}
    if minute is None and on in days:
        line = f"`tankbook station bank-clean {bank.name} --on {on} --at HH:MM`"
        reasons.append(f"{bank.name} was read or raised that day: {line} says which was first")
    if minute is not None and any((r.on, r.at) == (on, minute) for r in that_stand(bank.raised)):
        reasons.append(f"{bank.name} was raised in that minute: --at HH:MM says which was first")
    entry = BankCleaned(on=on, at=minute, by=by, method=method or None)
    if any(entry == replace(each, source=entry.source) for each in that_stand(bank.cleaned)):
        reasons.append(f"that cleaning of {bank.name} is already on record")
    if reasons:
        return refusal(dict.fromkeys(reasons))
    draft = draft.enter(("banks", place, "cleaned"), entry)
    shown = bank.working_pressure or next((r.pressure for r in bank.readings), EMPTY)
    empty = GaugePressure.of(0, shown.unit)
    draft = draft.enter(
        ("banks", place, "readings"), Reading(on=on, pressure=empty, at=minute, by=by)
    )
    then = replace(book, station=draft.record)
    if late := let_go_late(book, then, by=by, on=on):
        return refusal(late)
    wrong = why_not_cleaned(book, entry)
    notes = [f"WARNING: it does not count: {wrong}"] if wrong else []
    notes += let_go_said(book, then, on)
    found = grade_on(replace(book, station=draft.record), bank.name.casefold(), on)
    notes += [f"WARNING: it is not fit for oxygen: {found.why}; {found.mend}"] if found.why else []
    rich = bank.grade is Grade.OXYGEN or is_for_oxygen(method)
    rich = rich or (bank.gas is not None and not bank.gas.is_air)
    if rich and bank.grade is not Grade.OXYGEN:  # a bank of air need not be
        notes.append(f"{bank.name} is not said to be for that: `grade: oxygen` in {STATION_FILE}")
    how = f": {method}" if method else ""
    sentence = f"Cleaned bank {bank.name}{' for oxygen' if rich else ''}, by {by}{how}"
    return act_at(book, "station bank-clean", sentence, draft, on, notes)


def _is_of(out: Out, bank: Bank) -> bool:
    return StationPart(PartSort.BANK, bank.name) in out.parts


def examined(
    book: Book,
    name: Annotated[str, Arg("SCHEME", "The written scheme, by its label.")],
    *,
    by: Annotated[str, Opt("EXAMINER", "Who examined it: the competent person.")],
    next_: Annotated[
        PartialDate | None,
        Opt("DATE", "By when it is examined again, as the report says: 2028-03.", "--next"),
    ] = None,
    failed: Fail = "",
    report: Annotated[str, Opt("WHERE", "Where the report is.")] = "",
    note: Seen = "",
    certificate: Paper = None,
    on: Annotated[dt.date | None, Opt("DATE", "When it was examined.")] = None,
    today: dt.date,
) -> Act | Refusal:
    """Record an examination under a written scheme. What failed is out of use until a later one
    passes."""
    day = on or today
    reasons = line_reasons(by=by) + text_reasons(fail=failed, report=report, note=note)
    if day > today:
        reasons.append(f"{day} lies in the future: today is {today}")
    if not failed and next_ is None:
        reasons.append("by when it is examined again is not said: give --next")
    if next_ is not None and next_.last <= day:
        reasons.append(f"--next {next_} is no later than the examination of {day}")
    if failed and note:
        reasons.append("what was found stands in --fail: leave --note out")
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    schemes = draft.record.schemes
    place = place_of(schemes, name, "written scheme")
    if isinstance(place, str):
        mend = f"; write it in {STATION_FILE}: `schemes: [{{name: WS1, of: [B1]}}]`"
        return refusal([place + mend, *reasons])
    scheme = schemes[place]
    if any(e.on == day for e in that_stand(scheme.examined)):
        reasons.append(
            f"an examination of {day} is already on record; if that is wrong, "
            f"`tankbook correct station {scheme.name}.examined {day}` strikes it out"
        )
    if reasons:
        return refusal(reasons)
    entry = Examined(
        on=day,
        by=by,
        result=TestResult.FAIL if failed else TestResult.PASS,
        next_=next_,
        report=report or None,
        certificate=certificate,
        note=failed or note or None,
    )
    draft = draft.enter(("schemes", place, "examined"), entry)
    of = f" of {', '.join(scheme.of)}" if scheme.of else ""
    said = f"FAILED: {failed}" if failed else f"passed, next by {next_}"
    sentence = f"Examination under {scheme.name}{of} {day} by {by}: {said}"
    sentence = with_paper(sentence, certificate)
    notes = ["shut it off: it is not used until an examination passes"] if failed else []
    return act_at(book, "station examined", sentence, draft, today, notes, fact=bool(failed))
