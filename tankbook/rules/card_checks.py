"""What `validate` checks of one card by itself, and what the gate asks of it before a fill."""

from __future__ import annotations

from collections.abc import Iterator

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.node import Finding, Severity, Where
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.words import TestResult
from tankbook.rules.expansion import expansion_limit, is_over, kept_share
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.tested import PRESSURE_TESTS
from tankbook.units import GaugePressure


def _fault(where: Where, code: str, text: str, mend: str = "") -> Finding:
    return Finding(where, code, text, mend)


def _advice(where: Where, code: str, text: str, mend: str = "") -> Finding:
    return Finding(where, code, text, mend, Severity.ADVICE)


def test_pressure_of(book: Book, c: Cylinder) -> Iterator[Finding]:
    """As `test_pressure_fits`, of one cylinder."""
    if not (c.test_pressure and c.service_pressure):
        return
    facts = facts_of(c, rules_of(book))
    rows = rules_of(book).about(facts, Obligation.TEST_PRESSURE)
    if not rows and not facts.permit:
        text = f"no rule row in force says the test pressure of {', '.join(c.specification)}"
        yield _advice(c.source.at("test_pressure"), "no-rule", text, "it was not checked")
    for row in rows:
        yield from _test_pressure(c, c.test_pressure, c.service_pressure, row)


def _test_pressure(
    c: Cylinder, test: GaugePressure, service: GaugePressure, row: RuleRow
) -> Iterator[Finding]:
    wanted = service.psi * float(row.ratio) if row.ratio else 0.0
    wanted = max(wanted, row.at_least.psi) if row.at_least else wanted
    if not wanted or abs(test.psi - wanted) <= 0.01 * wanted:
        return
    should = GaugePressure.of(wanted, "psi").format(test.unit, 0)
    text = f"test pressure {test} does not fit {', '.join(c.specification)}"
    how = f"{row.ratio} of {service}" if row.ratio else "the least"
    mend = f"{how} is {should} ({row.citation})"
    yield _fault(c.source.at("test_pressure"), "test-pressure", text, mend)


def expansion_of(book: Book, c: Cylinder) -> Iterator[Finding]:
    """As `expansion_within`, of one cylinder."""
    limit = expansion_limit(book, c)
    tests = standing(c.requalified)
    if limit is None and any(r.permanent_expansion for r in tests):
        text = "no rule row in force limits its permanent expansion"
        yield _advice(c.source.at("requalified"), "no-rule", text, "it was not checked")
    for r in tests:
        share = kept_share(r)
        if limit is None or share is None or r.method not in PRESSURE_TESTS:
            continue
        where = r.source.at("permanent_expansion")
        if share > 100:
            text = "permanent expansion is larger than total expansion"
            yield _fault(where, "expansion", text)
        elif r.result is TestResult.PASS and is_over(share, limit):
            text = f"passed with {share:.1f} % permanent expansion; the limit is {limit.share}"
            yield _fault(where, "expansion", text)
