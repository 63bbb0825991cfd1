"""An air test against the limits of its standard: a failed one closes the station."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from msgspec.structs import replace

from tankbook.acts.at_station import act_at, begun, minute_of
from tankbook.acts.common import line_reasons, refusal, ticked
from tankbook.acts.options import Opt
from tankbook.acts.papers import Paper, with_paper
from tankbook.acts.station_holds import let_go
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.naming import named_among
from tankbook.records.station import COMPRESSOR, AirTest, Station, that_stand
from tankbook.records.words import LogAct, TestResult
from tankbook.rules.air import (
    air_judge,
    is_after,
    measured_in,
    own_names,
    sampled_at,
    smells,
    tells_odour,
    which_was_later,
)
from tankbook.rules.carbon_monoxide import co_alarms
from tankbook.rules.fill_history import lines_by_cylinder
from tankbook.rules.unmeasured import not_measured
from tankbook.units import Concentration, Percent
from tankbook.units.nouns import counted


def sampled(
    book: Book,
    *,
    by: Annotated[str, Opt("LABORATORY", "Laboratory, or initials.")],
    standard: Annotated[
        str,
        Opt(
            "NAME", "Whose limits count, such as cga-grade-e; those of the last test, if not said."
        ),
    ] = "",
    result: Annotated[
        TestResult | None,
        Opt(
            "pass|fail",
            "The laboratory's word; else the limits judge, given every value they limit.",
        ),
    ] = None,
    source: Annotated[str, Opt("NAME", "Where it was drawn: a part, `panel` or B1+B2.")] = "",
    oxygen: Annotated[Percent | None, Opt("PERCENT", "Oxygen: 20.9.")] = None,
    co: Annotated[Concentration | None, Opt("VALUE", "Carbon monoxide: 1ppm.")] = None,
    co2: Annotated[Concentration | None, Opt("VALUE", "Carbon dioxide: 420ppm.")] = None,
    oil: Annotated[Concentration | None, Opt("VALUE", "Oil and particulates: 0.1mg/m3.")] = None,
    hydrocarbons: Annotated[
        Concentration | None, Opt("VALUE", "Hydrocarbons as methane: 3ppm.")
    ] = None,
    water: Annotated[Concentration | None, Opt("VALUE", "Water: 18mg/m3.")] = None,
    odour: Annotated[str, Opt("TEXT", "Odour: none; one that is told has failed.")] = "",
    certificate: Paper = None,
    on: Annotated[dt.date | None, Opt("DATE", "When the sample was drawn.")] = None,
    at: Annotated[
        dt.time | None, Opt("HH:MM", "At what time, where anything was pumped that day.", "--at")
    ] = None,
    today: dt.date,
) -> Act | Refusal:
    """Record an air test against the limits of a standard; a failed one closes the station."""
    measured = AirTest(
        on=on or today,
        at=minute_of(at),
        by=by,
        standard=standard or None,
        result=result or TestResult.PASS,
        source_=source or None,
        odour=odour or None,
        oxygen=oxygen,
        co=co,
        co2=co2,
        oil=oil,
        hydrocarbons=hydrocarbons,
        water=water,
        certificate=certificate,
    )
    return air_test(book, measured, result, today)


def air_test(
    book: Book, measured: AirTest, said: TestResult | None, today: dt.date
) -> Act | Refusal:
    """Record an air test. One over the limits has failed, whatever the laboratory says.

    Args:
        book: the records.
        measured: the test; its `result` does not matter, and where it names no standard the one of
            the newest test counts.
        said: the laboratory's word; None to judge by the limits alone, which takes every value
            that they limit.
        today: today's date.
    """
    reasons = line_reasons(by=measured.by or "")
    if measured.on > today:
        reasons.append(f"{measured.on} lies in the future: today is {today}")
    draft = begun(book, reasons)
    if isinstance(draft, Refusal):
        return draft
    earlier = that_stand(draft.record.air_tests)
    standard = measured.standard or next(
        (t.standard for t in reversed(earlier) if t.standard), None
    )
    test = replace(measured, standard=standard)
    judge = air_judge(book)
    if standard is None or not judge.rows(standard):
        known = ", ".join(judge.standards)
        what = f"no limits are known of {standard}" if standard else "no standard is named"
        return refusal([*reasons, f"{what}: give --standard, one of {known}"])
    reasons += judge.gaps(test)
    if said is not TestResult.FAIL and smells(test) and not tells_odour(test):
        reasons.append(
            f"--odour: {ticked(test.odour or '')} is not known to say that there is none, nor what"
            " it smelt of: `--odour none` where there was none, `--odour 'not tested'` where nobody"
            " asked; where there was one, it failed: give --result fail"
        )
    over, missing = judge.over(test), judge.unmeasured(test)
    if said is None and missing and not over:
        reasons.append(
            f"not measured: {', '.join(missing)}; give the laboratory's word with --result"
        )
    same = (t for t in earlier if t.on == test.on and t.source_ == test.source_)
    same = (t for t in same if test.at is None or t.at is None or t.at == test.at)
    alike = [t for t in same if measured_in(test) <= measured_in(t)]  # a fuller paper is another
    if alike:
        ways = [] if test.at else ["--at HH:MM of this one"]
        ways += [
            f"`tankbook correct station air-tests {named_among(draft.record.air_tests, t)} --set"
            " at=HH:MM --why WHY`"
            for t in alike
            if t.at is None
        ]
        another = f"; if this is another, say when each was drawn: {' and '.join(ways)}"
        reasons.append(f"an air test of {test.on} is already on record{another * bool(ways)}")
    if reasons:
        return refusal(reasons)
    failed = bool(over) or said is TestResult.FAIL
    station, notes = draft.record, list[str]()
    behind = sampled_at(station, test) & own_names(station)
    if len(behind) > 1:
        labels = ", ".join(c.name or COMPRESSOR for c in station.every_compressor)
        which = f"which compressor's air it was is not said: --source {labels}"
        if not failed:
            return refusal([f"{which}; one after the other, a sample of each"])
        notes.append(f"{which}; it tells against each of them")
    test = replace(test, result=TestResult.FAIL if failed else TestResult.PASS)
    draft = draft.enter("air_tests", test)
    if late := _lets_go_late(book, replace(book, station=draft.record), test, today):
        return refusal(late)
    left = not_measured(judge, test)
    notes += [] if over or not left else [f"not measured: {', '.join(left)}"]
    if ordinary := judge.fails_oxygen_alone(test):
        notes.append(
            f"over the limits of {standard}: {', '.join(ordinary)}; it is within those for"
            " breathing; too much oil or hydrocarbons in it make it ordinary air, which keeps no"
            " cylinder and no bank clean for oxygen"
        )
        if failed:
            notes.append(
                "that failed oxygen use alone, and the laboratory's word closes the station: where"
                " it meant no more than that, `tankbook correct station air-tests"
                f" {named_among(draft.record.air_tests, test)} --set result=pass --why WHY`"
            )
    if over and said is TestResult.PASS:
        notes.append(f"the laboratory passed it; it is over the limits of {standard}")
    if failed and not ordinary and not judge.failed_on(test):
        wrong = ", ".join(sorted(judge.may_have_failed_on(test)))
        notes.append(
            f"it does not say what failed: the one that reopens measures {wrong}; where the"
            " laboratory says it, enter its values"
        )
    if failed:
        passed = [t for t in earlier if t.result is TestResult.PASS]
        if len(station.every_compressor) > 1:
            places = sampled_at(station, test)
            passed = [t for t in passed if sampled_at(station, t) & places]
        notes += _to_trace(book, passed, test.on)
    # what passed and leaves out what had failed is recorded, and reopens nothing
    half = [] if failed else list(judge.left_unmeasured(draft.record, test))
    notes += [
        f"it {left}: it reopens nothing; have it measured, to the same standard" for left in half
    ]
    notes += _of_one_day(draft.record, test, [t for t in earlier if not judge.passes(t)])
    then = [t for t in earlier if not judge.passes(t) and not judge.answer(station, t)]
    if test.at is None and any(judge.answer(draft.record, t) for t in then):
        notes.append(
            "it answers what failed, and nobody says at what hour it was drawn: what is pumped on"
            f" {test.on} may be of before it; say so with --at HH:MM, of this one `tankbook correct"
            f" station air-tests {named_among(draft.record.air_tests, test)} --set at=HH:MM --why"
            " WHY`"
        )
    return act_at(
        book,
        "station air-test",
        _sentence(test, over, ordinary=bool(ordinary)),
        draft,
        today,
        notes,
    )


def _of_one_day(station: Station, test: AirTest, failed: list[AirTest]) -> list[str]:
    """Why a sample that passed reopens nothing where another of its day and place failed."""
    places = sampled_at(station, test)
    of_day = [t for t in failed if t.on == test.on and sampled_at(station, t) & places]
    if test.result is TestResult.FAIL or all(is_after(test, t) for t in of_day):
        return []
    said = (which_was_later(station, t) for t in of_day)
    return [
        next(
            filter(None, said),
            f"one of {test.on} that failed was not drawn before it: this one reopens nothing; a"
            " later one does",
        )
    ]


def _lets_go_late(book: Book, after: Book, test: AirTest, today: dt.date) -> list[str]:
    """Why a sample of before something bad that is on record already is not entered by word alone
    where it lets go what is held for that: whoever wants that gas back could write it."""
    tests = that_stand(book.station.air_tests) if book.station else ()
    failed = [t.on for t in tests if not air_judge(book).passes(t) and is_after(t, test)]
    known = failed + [a.reading.on for a in co_alarms(book) if a.reading.on > test.on]
    if not known or test.certificate is not None:
        return []
    return [
        f"it was drawn before {max(known)}, when the air was bad, by an entry that is there"
        f" already, and {gone}: the laboratory's paper says it, --certificate FILE"
        for gone in let_go(book, after, today)
    ]


def _sentence(test: AirTest, over: list[str], *, ordinary: bool = False) -> str:
    passed = test.result is TestResult.PASS
    hour = f" {test.at:%H:%M}" if test.at else ""
    how = ("passed for breathing" if ordinary else "passed") if passed else "FAILED"
    said = f"Air test {how} ({test.on}{hour},"
    said = f"{said} {test.by}, {test.standard})"
    said = f"{said}: {', '.join(over)}" if over else said
    return with_paper(said, test.certificate)


def _to_trace(book: Book, passed: list[AirTest], on: dt.date) -> list[str]:
    """How much was filled since the last test that passed: all of it is suspect."""
    since = passed[-1].on if passed else None
    fills = sum(
        line.act is LogAct.FILL and (since is None or line.at.date() >= since)
        for lines in lines_by_cylinder(book).values()
        for line in lines
    )
    if not fills:
        return []
    when = f"since the last good test of {since}" if since else "and no test passed before"
    told = counted(fills, "fill was", "fills were")
    return [f"{told} logged {when}: find them, and hold what still holds that air"]
