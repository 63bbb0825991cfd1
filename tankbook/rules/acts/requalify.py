"""Recording what a requalifier found: passed, or failed and rejected until it is condemned."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Rejected, Requalified, standing
from tankbook.records.marks import read_marks
from tankbook.records.words import Material, Method, StampMeans, Status, TestResult, Use
from tankbook.rules.acts.common import (
    Draft,
    cylinders_of,
    edits_of,
    line_reasons,
    named,
    refusal,
)
from tankbook.rules.expansion import expansion_limit, is_over, kept_share
from tankbook.rules.standing import status_of
from tankbook.rules.tested import PRESSURE_TESTS, made_of
from tankbook.units import GaugePressure, PartialDate, Volume


@dataclass(frozen=True, slots=True)
class Test:
    """What a requalifier's paper says of a batch.

    `expansions` gives total and permanent expansion by id, `failures` why a cylinder failed for
    anything but its expansion. `star` and `plus` are read off the stamp as well.
    """

    __test__ = False  # not a test class for pytest

    on: PartialDate
    method: Method
    by: str
    plus: bool = False
    stamp: str = ""
    test_pressure: GaugePressure | None = None
    expansions: Mapping[str, tuple[Volume, Volume]] = field(default_factory=dict)
    failures: Mapping[str, str] = field(default_factory=dict)


def requalify(book: Book, ids: Iterable[str], test: Test, today: dt.date) -> Act | Refusal:
    """Record a test of one cylinder or a batch.

    A cylinder whose permanent expansion is over its limit has failed, whatever the paper says. One
    that failed is rejected; that it is condemned is for the requalifier to say (`condemn`).
    """
    cylinders, reasons = cylinders_of(book, ids)
    reasons += [*line_reasons(by=test.by), *_test_reasons(book, test, today)]
    reasons += _strangers(test, cylinders)
    found = [_Case(book, c, test) for c in cylinders]
    reasons += [r for case in found for r in case.reasons()]
    if reasons:
        return refusal(reasons)
    drafts = [case.draft() for case in found]
    failed = [case for case in found if case.failure]
    notes = [n for case in found for n in case.notes()]
    ids = tuple(c.id for c in cylinders)
    sentence = _sentence(found, failed, test)
    return Act("requalify", ids, sentence, edits_of(drafts), tuple(notes))


def _sentence(found: list[_Case], failed: list[_Case], test: Test) -> str:
    passed = [c.cylinder.id for c in found if not c.failure]
    parts = [f"FAILED {named(c.cylinder.id for c in failed)}, now rejected"] if failed else []
    parts += [f"passed {named(passed)}"] if passed else []
    return f"{test.method.capitalize()} test {test.on} by {test.by}: {'; '.join(parts)}"


def _test_reasons(book: Book, test: Test, today: dt.date) -> Iterator[str]:
    """What is wrong with the paper itself."""
    if test.by in book.settings.people:
        yield f"{test.by} is one of the ledger's people: name the requalifier, by its RIN"
    if test.on.first > today:
        yield f"{test.on} lies in the future: today is {today}"
    if test.stamp and test.plus and "+" not in test.stamp:
        yield f"the stamp {test.stamp!r} carries no plus, and --plus says so"
    stamped = read_marks(test.stamp).retests if test.stamp else ()
    if len(stamped) == 1 and stamped[0].when.date is not None:
        when = stamped[0].when.date
        if (when.year, when.month) != (test.on.year, test.on.month):
            yield f"the stamp {test.stamp!r} says {when}, and --on says {test.on}"
        if stamped[0].rin and stamped[0].rin.casefold() != test.by.casefold():
            yield f"the stamp {test.stamp!r} carries {stamped[0].rin}, and --by says {test.by}"


def _strangers(test: Test, cylinders: list[Cylinder]) -> Iterator[str]:
    known = {c.id for c in cylinders}
    for id_ in dict.fromkeys([*test.expansions, *test.failures]):
        if id_ not in known:
            yield f"{id_} is given a result and is not in the batch"


@dataclass(frozen=True, slots=True)
class _Case:
    """One cylinder of a batch."""

    book: Book
    cylinder: Cylinder
    test: Test

    @property
    def entry(self) -> Requalified:
        total, permanent = self.test.expansions.get(self.cylinder.id, (None, None))
        failed = bool(self.failure)
        return Requalified(
            on=self.test.on,
            by=self.test.by,
            method=self.test.method,
            result=TestResult.FAIL if failed else TestResult.PASS,
            # a failed cylinder is not stamped
            stamp=None if failed else self.test.stamp or None,
            plus=self.plus,
            star="*" in self.test.stamp and not failed,
            test_pressure=self.test.test_pressure,
            total_expansion=total,
            permanent_expansion=permanent,
        )

    @property
    def plus(self) -> bool:
        return (self.test.plus or "+" in self.test.stamp) and not self.failure

    @property
    def failure(self) -> str:
        """Why it failed, or an empty text."""
        return self.test.failures.get(self.cylinder.id, "") or self.over_expanded

    @property
    def over_expanded(self) -> str:
        """That it kept more of its expansion than it may, or an empty text."""
        limit = expansion_limit(self.book, self.cylinder)
        share = self._share
        if limit is None or share is None or not is_over(share, limit):
            return ""
        said = f"permanent expansion {share:.1f} % of total, over the limit of {limit.share}"
        return f"{said} ({limit.citation})"

    @property
    def _share(self) -> float | None:
        total, permanent = self.test.expansions.get(self.cylinder.id, (None, None))
        if total is None or permanent is None:
            return None
        return kept_share(
            Requalified(
                on=self.test.on,
                method=self.test.method,
                total_expansion=total,
                permanent_expansion=permanent,
            )
        )

    def reasons(self) -> Iterator[str]:
        """Why this cylinder's result cannot be recorded so."""
        c, test = self.cylinder, self.test
        if status_of(self.book, c) in {Status.CONDEMNED, Status.SOLD}:
            yield f"{c.id} is {status_of(self.book, c)}"
        made = made_of(c)
        if made and test.on.last < made.first:
            yield f"{c.id} was made {made}, after {test.on}"
        for r in standing(c.requalified):
            if (r.on, r.method) == (test.on, test.method):
                yield f"{c.id}: a {r.method} test of {r.on} is already on record (by {r.by})"
        if self.plus and c.material is Material.ALUMINIUM:
            yield f"{c.id} is aluminium: a plus mark never goes on it; read the stamp again"
        if c.id in test.failures and not test.failures[c.id].strip():
            yield f"{c.id}: say why it failed"
        yield from self._expansion_reasons()

    def _expansion_reasons(self) -> Iterator[str]:
        if self.cylinder.id not in self.test.expansions:
            return
        total, permanent = self.test.expansions[self.cylinder.id]
        method = self.test.method
        if method not in PRESSURE_TESTS:
            yield f"{self.cylinder.id}: no expansion is measured by a test of method {method}"
        if not total.litres or permanent > total:
            yield (
                f"{self.cylinder.id}: permanent expansion {permanent} of a total of {total} "
                "cannot be; read the paper again"
            )

    def draft(self) -> Draft:
        """The cylinder with its test, and rejected where it failed."""
        draft = Draft(self.cylinder).enter("requalified", self.entry)
        if not self.failure:
            return draft.stand(self.book)
        rejected = Rejected(
            on=self.test.on,
            by=self.test.by,
            why=f"failed its {self.test.method} test: {self.failure}",
        )
        return draft.enter("rejected", rejected).stand(self.book)

    def notes(self) -> Iterator[str]:
        """What to know and what follows."""
        c = self.cylinder
        if self.failure:
            owned = c.owner or c.use is Use.CUSTOMER
            tell = f"; tell its owner in writing (`tankbook reject {c.id} --told letter`)"
            yield (
                f"{c.id} FAILED: {self.failure}. It is rejected until its requalifier condemns it "
                f"(`tankbook condemn {c.id} --by {self.test.by}`){tell if owned else ''}"
            )
            return
        if c.id in self.test.expansions and expansion_limit(self.book, c) is None:
            yield f"{c.id}: no rule row in force limits its permanent expansion: it was not checked"
        if status_of(self.book, c) is Status.REJECTED:
            yield f"{c.id} was rejected and passed: `tankbook release {c.id}` lifts the rejection"
        if self.entry.star:
            yield f"{c.id}: a star lengthens nothing here: the ordinary period is counted"
        if c.stamp_means is StampMeans.NEXT_DUE:
            yield f"{c.id}: its stamps say when the next test is due; --on is that date"
