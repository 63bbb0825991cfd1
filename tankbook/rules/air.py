"""Air tests: which of them count, and what is wrong with the air they measured."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

from tankbook.records.book import Book
from tankbook.records.rulerow import AirLimits, Obligation, RuleRow
from tankbook.records.station import AirTest, Station, that_stand
from tankbook.records.words import TestResult
from tankbook.rules.inforce import InForce, rules_of
from tankbook.units import Concentration, Percent


def sources_of(station: Station) -> frozenset[str]:
    """Where air can be drawn: the compressor and the banks, in small letters."""
    names = {b.name.casefold() for b in station.banks}
    if station.compressor and station.compressor.name:
        names.add(station.compressor.name.casefold())
    return frozenset(names)


def drawn_at(station: Station, test: AirTest) -> str:
    """Where a sample was drawn, in small letters: at the compressor where the test names none."""
    compressor = station.compressor.name if station.compressor else None
    return (test.source_ or compressor or "").casefold()


def counting_air_tests(station: Station) -> list[AirTest]:
    """The newest air test of each compressor or bank sampled; of two on one day, the failed one.

    A test drawn at something the station does not have counts for nothing, unless it failed.
    """
    known, newest = sources_of(station), dict[str, AirTest]()
    for test in that_stand(station.air_tests):
        source = drawn_at(station, test)
        if source and known and source not in known and test.result is TestResult.PASS:
            continue
        before = newest.get(source)
        if before is None or _counts_over(test, before):
            newest[source] = test
    return list(newest.values())


def _counts_over(test: AirTest, known: AirTest) -> bool:
    if test.on != known.on:
        return test.on > known.on
    return test.result is TestResult.FAIL or known.result is not TestResult.FAIL


@dataclass(frozen=True, slots=True)
class AirJudge:
    """Holds what was measured against the rows in force."""

    rules: InForce

    def rows(self, standard: str) -> list[RuleRow]:
        """The rows that give the limits of a standard."""
        rows = self.rules.rows[Obligation.AIR_LIMITS]
        return [r for r in rows if r.applies_to and r.applies_to.standard == standard]

    def wrong(self, station: Station) -> Iterator[str]:
        """What is wrong with the air by the tests that count, if anything."""
        for test in counting_air_tests(station):
            of = f" ({test.source_})" if test.source_ else ""
            if test.result is TestResult.FAIL:
                yield f"the air test of {test.on}{of} failed"
            over = self.over(test)
            if over:
                yield f"the air test of {test.on}{of} is over its limits: {', '.join(over)}"

    def over(self, test: AirTest) -> list[str]:
        """The measured values of an air test that break the limits of its standard."""
        rows = self.rows(test.standard) if test.standard else []
        return [text for row in rows if row.limits for text in _over(test, row.limits)]

    def gaps(self, test: AirTest) -> Iterator[str]:
        """What an air test measured that no rule row in force can judge."""
        if test.standard and not self.rows(test.standard):
            yield f"no rule row in force gives the air limits of {test.standard}"
        values = (test.co, test.co2, test.oil, test.hydrocarbons, test.water, test.oxygen)
        if test.standard is None and any(v is not None for v in values):
            yield f"the air test of {test.on} gives values and names no standard to judge them by"
        for row in self.rows(test.standard) if test.standard else ():
            for name, got, most in _measured(test, row.limits) if row.limits else ():
                if got is not None and most is not None and got.unit != most.unit:
                    yield f"{name} {got} cannot be held against its limit of {most}"

    def not_for_diving(self, test: AirTest) -> bool:
        """Whether its standard is for air that nobody breathes under water."""
        rows = self.rows(test.standard) if test.standard else []
        return bool(rows) and not any(row.for_diving for row in rows)

    def left_unmeasured(self, station: Station, test: AirTest) -> Iterator[str]:
        """What a failed test before this one, at the same source, was over on and this one leaves
        out, or still has above the limits that failed it."""
        failed = self._failed_before(station, test)
        now = _values_of(test)
        for name, standard in failed.items():
            if name not in now:
                yield f"did not measure {name}, which failed before it"
            elif standard and any(
                text.split(" ")[0] == name for text in self.over(replace(test, standard=standard))
            ):
                yield f"has {name} still above {standard}, by which it failed"

    def _failed_before(self, station: Station, test: AirTest) -> dict[str, str | None]:
        """What tests of the same source before this one failed on and none passed since, each with
        the standard that it failed."""
        source = drawn_at(station, test)
        failed: dict[str, str | None] = {}
        for each in that_stand(station.air_tests):
            if each.on >= test.on or drawn_at(station, each) != source:
                continue
            over = {text.split(" ")[0] for text in self.over(each)}
            over |= {ODOUR} if smells(each) else set()
            if each.result is TestResult.FAIL and not over:
                over = _values_of(each)  # which of them failed it does not say
            if each.result is TestResult.PASS and not over:
                failed = {n: s for n, s in failed.items() if n not in _values_of(each)}
            failed |= dict.fromkeys(sorted(over), each.standard)
        return failed


ODOUR = "odour"
_NO_ODOUR = re.compile(
    r"\W*(?:(?:none|no|nil|nothing|not)\b(?:\W+(?:objectionable|noticeable|perceptible|detectable"
    r"|detected|noticed|found|noted|smell|odou?r)s?\b)*|n/?[ad]|n\.d\.?|normal|ok|okay|acceptable"
    r"|od(?:ou|o)r(?:less|[ -]free)|free of odou?r|keine?r?(?: geruch)?|geruch(?:los|frei)|-+)?\W*",
    re.IGNORECASE,
)
"""How laboratories write that there is none."""


def smells(test: AirTest) -> bool:
    """Whether an air test tells an odour."""
    return _NO_ODOUR.fullmatch(test.odour or "") is None


def _values_of(test: AirTest) -> set[str]:
    """What an air test measured."""
    found = {n for n, got, _ in _measured(test, AirLimits()) if got is not None}
    found |= {"oxygen"} if test.oxygen is not None else set()
    return found | ({ODOUR} if test.odour and not smells(test) else set())


def air_judge(book: Book) -> AirJudge:
    """The judge by the rules in force for a ledger."""
    return AirJudge(rules_of(book))


def _measured(
    test: AirTest, limits: AirLimits
) -> tuple[tuple[str, Concentration | None, Concentration | None], ...]:
    return (
        ("CO", test.co, limits.co),
        ("CO2", test.co2, limits.co2),
        ("oil", test.oil, limits.oil),
        ("hydrocarbons", test.hydrocarbons, limits.hydrocarbons),
        ("water", test.water, limits.water),
    )


def _over(test: AirTest, limits: AirLimits) -> Iterator[str]:
    for name, got, most in _measured(test, limits):
        if got is not None and most is not None and got.unit == most.unit and got > most:
            yield f"{name} {got} (limit {most})"
    if test.oxygen is not None and not _within(test.oxygen, limits):
        yield f"oxygen {test.oxygen}"


def _within(oxygen: Percent, limits: AirLimits) -> bool:
    least, most = limits.oxygen_from, limits.oxygen_to
    return (least is None or oxygen >= least) and (most is None or oxygen <= most)
