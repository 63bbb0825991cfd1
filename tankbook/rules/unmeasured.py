"""What an air test leaves out: limits that nobody held the air against, told wherever it is."""

from __future__ import annotations

from tankbook.records.book import Book
from tankbook.records.station import AirTest, Station, that_stand
from tankbook.records.words import TestResult
from tankbook.rules.air import ODOUR, AirJudge, air_judge, counting_air_tests, no_odour, smells


def not_measured(judge: AirJudge, test: AirTest) -> tuple[str, ...]:
    """What an air test does not say of air that its limits limit, as an air test calls it; an odour
    too, which no standard lets through, where nobody asked: `not tested`, `n/a`, or nothing."""
    known = [ODOUR] if test.standard and judge.rows(test.standard) else []
    left = [name for name in known if not no_odour(test) and not smells(test)]
    return (*judge.unmeasured(test), *left)


def said_unmeasured(judge: AirJudge, station: Station | None) -> tuple[str, ...]:
    """The same of the samples that the air passes by today, each named once; where several count,
    beside the source that it was drawn at: `odour (C2)`."""
    counting = [
        t
        for t in (counting_air_tests(station) if station else ())
        if t.result is TestResult.PASS and not judge.is_stale(t)
    ]
    of = {id(t): f" ({t.source_})" if t.source_ and len(counting) > 1 else "" for t in counting}
    found = [f"{name}{of[id(t)]}" for t in counting for name in not_measured(judge, t)]
    return tuple(dict.fromkeys(found))


def newest_unmeasured(book: Book) -> tuple[str, ...]:
    """The same of the newest air test, as `not_measured`; of none nothing."""
    tests = that_stand(book.station.air_tests) if book.station else ()
    return not_measured(air_judge(book), tests[-1]) if tests else ()
