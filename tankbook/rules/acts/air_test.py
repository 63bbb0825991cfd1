"""An air test against the limits of its standard: a failed one closes the station."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.rulerow import AirLimits, Obligation
from tankbook.records.station import AirTest, that_stand
from tankbook.records.words import Act as LogAct
from tankbook.records.words import TestResult
from tankbook.rules.acts.at_station import StationDraft, act_of, begun
from tankbook.rules.acts.common import line_reasons, refusal
from tankbook.rules.air import air_judge
from tankbook.rules.contents import lines_by_cylinder
from tankbook.rules.inforce import rules_of

MEASURED = {
    "co": "CO",
    "co2": "CO2",
    "oil": "oil",
    "hydrocarbons": "hydrocarbons",
    "water": "water",
}
"""The contaminants an air test measures, by their keys."""


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
    station = begun(book)
    reasons = line_reasons(by=measured.by or "")
    if measured.on > today:
        reasons.append(f"{measured.on} lies in the future: today is {today}")
    if isinstance(station, list):
        return refusal([*station, *reasons])
    earlier = that_stand(station.air_tests)
    standard = measured.standard or next(
        (t.standard for t in reversed(earlier) if t.standard), None
    )
    test = replace(measured, standard=standard)
    limits = limits_of(book, standard)
    if not limits:
        known = ", ".join(standards(book))
        what = f"no limits are known of {standard}" if standard else "no standard is named"
        return refusal([*reasons, f"{what}: give --standard, one of {known}"])
    reasons += _unlike_units(test, limits)
    over, missing = air_judge(book).over(test), list(_unmeasured(test, limits))
    if said is None and missing and not over:
        reasons.append(
            f"not measured: {', '.join(missing)}; give the laboratory's word with --result"
        )
    if any(t.on == test.on and t.source_ == test.source_ for t in earlier):
        reasons.append(f"an air test of {test.on} is already on record")
    if reasons:
        return refusal(reasons)
    failed = bool(over) or said is TestResult.FAIL
    test = replace(test, result=TestResult.FAIL if failed else TestResult.PASS)
    draft = StationDraft(station).enter(("air_tests",), test)
    notes = [] if over or not missing else [f"not measured: {', '.join(missing)}"]
    if over and said is TestResult.PASS:
        notes.append(f"the laboratory passed it; it is over the limits of {standard}")
    if failed:
        notes += _to_trace(book, [t for t in earlier if t.result is TestResult.PASS], test.on)
    return act_of(book, "air-test", _sentence(test, over), draft, today, notes)


def _sentence(test: AirTest, over: list[str]) -> str:
    passed = test.result is TestResult.PASS
    said = f"Air test {'passed' if passed else 'FAILED'} ({test.on}, {test.by}, {test.standard})"
    return f"{said}: {', '.join(over)}" if over else said


def limits_of(book: Book, standard: str | None) -> list[AirLimits]:
    """The limits that the rows in force give for a standard."""
    return [
        row.limits
        for row in rules_of(book).rows[Obligation.AIR_LIMITS]
        if row.limits and row.applies_to and row.applies_to.standard == standard
    ]


def standards(book: Book) -> tuple[str, ...]:
    """The standards whose limits the rows in force know."""
    rows = rules_of(book).rows[Obligation.AIR_LIMITS]
    names = (row.applies_to.standard for row in rows if row.applies_to)
    return tuple(sorted({name for name in names if name}))


def _unlike_units(test: AirTest, limits: list[AirLimits]) -> Iterator[str]:
    """Values that cannot be compared with their limit: by volume against by mass."""
    for key, called in MEASURED.items():
        got = getattr(test, key)
        for each in limits:
            most = each.co_beside(got) if key == "co" else getattr(each, key)
            if got is not None and most is not None and got.unit != most.unit:
                yield f"{called} is given in {got.unit} and limited in {most.unit} ({most})"


def _unmeasured(test: AirTest, limits: list[AirLimits]) -> Iterator[str]:
    for key, called in MEASURED.items():
        if getattr(test, key) is None and any(getattr(each, key) is not None for each in limits):
            yield called
    if test.oxygen is None and any(each.oxygen_from or each.oxygen_to for each in limits):
        yield "oxygen"


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
    counted = "1 fill was" if fills == 1 else f"{fills} fills were"
    return [f"{counted} logged {when}: find them, and hold what still holds that air"]
