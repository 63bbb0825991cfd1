"""Recording what a requalifier found: passed, or failed and rejected until it is condemned."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct, field

from tankbook.acts.common import (
    Draft,
    act_of,
    cylinders_of,
    line_reasons,
    named,
    refusal,
    text_reasons,
)
from tankbook.acts.open_against import Open, asked_of_test, cleared, named_in, open_against, way_out
from tankbook.acts.soundness import SLIPS, after, sound
from tankbook.acts.station_holds import holds_bad_air, let_go_said, test_lets_go_late
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Rejected, Requalified, standing
from tankbook.records.fields import TEXT
from tankbook.records.kinds import Adverse, is_empty
from tankbook.records.marks import read_stamp
from tankbook.records.words import (
    LogAct,
    Material,
    Method,
    PartChecked,
    StampMeans,
    Status,
    TestResult,
)
from tankbook.rules.expansion import expansion_limit, is_over, kept_share
from tankbook.rules.fill_history import OPENED_FOR, contents_of, lines_about, looks_inside
from tankbook.rules.status import status_of
from tankbook.rules.tested import PRESSURE_TESTS, made_of
from tankbook.units import GaugePressure, PartialDate, Volume


class Test(Struct, frozen=True):
    """What a requalifier's paper says of a batch.

    `expansions` gives total and permanent expansion by id, `failures` why a cylinder failed for
    anything but its expansion. `star` and `plus` are read off the stamp as well. `clears` names by
    id what a pass answers, as typed (`none` says that it answers nothing); `findings` holds what
    the requalifier wrote. Where one of the ledger's people records what they were shown, `seen_by`
    are their initials, `checked` and `paper` what they were shown, and `note` what they say of it.
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
    clears: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    findings: Mapping[str, str] = field(default_factory=dict)
    seen_by: str = ""
    checked: tuple[PartChecked, ...] = ()
    paper: str = ""
    note: str = ""

    @property
    def who_and_when(self) -> tuple[str, str]:
        """The options that say who tested and when: of a test that was seen, those are its own."""
        return ("--who", "--done") if self.seen_by else ("--by", "--on")


HINTS = {
    "marks-retest": "give the stamp of the test as it is read with --stamp",
    "stamp-method": "read the stamp again; where it tells of two tests, give each its own part",
}
STAMP_SLIPS = SLIPS | {"marks-retest", "stamp-by", "stamp-date", "stamp-method", "stamp-plus"}

NOTHING = "none"
"""Said in the place of a name: the test answers nothing that is open."""


def requalify(book: Book, ids: Iterable[str], test: Test, today: dt.date) -> Act | Refusal:
    """Record a test of one cylinder or a batch.

    A pass says which failed test or rejection it answers, where one is open. A cylinder whose
    permanent expansion is over its limit has failed, whatever the paper says. One that failed is
    rejected; that it is condemned is for the requalifier to say (`condemn`).
    """
    cylinders, reasons = cylinders_of(book, ids)
    told = tested(book, cylinders, test, today)
    reasons += told.reasons
    if reasons:
        return refusal(reasons)
    tested_, notes = [c.id for c in cylinders], told.notes
    if holds_bad_air(book, tested_):
        then = after(book, told.drafts)
        if late := test_lets_go_late(book, then, tested_, test.on, by="", on=today):
            return refusal(late)
        notes = [*let_go_said(book, then, today, tested_), *notes]
    act = act_of("requalify", told.drafts, told.sentence, notes)
    return sound(book, act, told.drafts, today, fact=True, slips=STAMP_SLIPS, hints=HINTS)


class Tested(Struct, frozen=True):
    """What a test comes to: what is wrong with it as told, or the cards with it."""

    reasons: list[str]
    drafts: list[Draft[Cylinder]]
    sentence: str
    notes: list[str]


def tested(book: Book, cylinders: list[Cylinder], test: Test, today: dt.date) -> Tested:
    """A test of some cylinders, as their cards will have it."""
    means_due = any(c.stamp_means is StampMeans.NEXT_DUE for c in cylinders)
    reasons = [*line_reasons(by=test.by), *_test_reasons(book, test, today)]
    reasons += [] if means_due else _stamp_reasons(test)
    reasons += _strangers(test, cylinders)
    found = [_TestCase(book, c, test, today) for c in cylinders]
    reasons += [r for case in found for r in case.reasons()]
    if reasons:
        return Tested(reasons, [], "", [])
    drafts = [case.draft() for case in found]
    failed = [case for case in found if case.failure]
    notes = [n for case in found for n in case.notes()]
    return Tested([], drafts, _sentence(found, failed, test), notes)


def _sentence(found: list[_TestCase], failed: list[_TestCase], test: Test) -> str:
    passed = [c.cylinder.id for c in found if not c.failure]
    parts = [f"FAILED {named(c.cylinder.id for c in failed)}, now rejected"] if failed else []
    parts += [f"passed {named(passed)}"] if passed else []
    return f"{test.method.capitalize()} test {test.on} by {test.by}: {'; '.join(parts)}"


def _test_reasons(book: Book, test: Test, today: dt.date) -> Iterator[str]:
    """What is wrong with the paper itself."""
    who, _ = test.who_and_when
    if test.by in book.settings.people:
        yield f"{test.by} is one of the ledger's people: name the requalifier, by its RIN"
    if test.on.first > today:
        yield f"{test.on} lies in the future: today is {today}"
    if test.stamp and test.plus and "+" not in test.stamp:
        yield f"the stamp {test.stamp!r} carries no plus, and --plus says so"
    stamped = read_stamp(test.stamp).retest if test.stamp else None
    if stamped is not None and stamped.when.date is not None:
        rin = stamped.rin
        named = re.findall(r"(?<![\w-])([A-Z])[ -]?([0-9]{3})(?![\w-])", test.by.upper())
        if rin and named and rin not in map("".join, named):
            yield f"the stamp {test.stamp!r} carries {rin}, and {who} says {test.by}"


def _stamp_reasons(test: Test) -> Iterator[str]:
    _, done = test.who_and_when
    when = _stamped(test)
    if when is not None and (when.year, when.month) != _month(test.on):
        yield f"the stamp {test.stamp!r} says {when}, and {done} says {test.on}"


def _stamped(test: Test, made: PartialDate | None = None) -> PartialDate | None:
    """The month that its stamp says, where it says one: a retest's, of a cylinder made then."""
    stamped = read_stamp(test.stamp, made).retest if test.stamp else None
    return stamped.when.date if stamped is not None else None


def _month(on: PartialDate) -> tuple[int, int]:
    return on.year, on.month


def _strangers(test: Test, cylinders: list[Cylinder]) -> Iterator[str]:
    known = {c.id for c in cylinders}
    for id_ in dict.fromkeys([*test.expansions, *test.failures, *test.clears, *test.findings]):
        if id_ not in known:
            yield f"{id_} is given a result and is not in the batch"


def _may_be_before(filled: dt.date, on: PartialDate, card: Cylinder, method: Method) -> bool:
    """Whether a test of a month, of which no journey tells the day, may have emptied what was
    filled in that month."""
    away = any(s.back is None or s.back > filled for s in standing(card.sent))
    return on.day is None and on.first <= filled <= on.last and method in OPENED_FOR and not away


def rejected_on(book: Book, id_: str, on: PartialDate, today: dt.date) -> PartialDate:
    """When it was rejected elsewhere: with the test, or on the day it became known here where only
    the month of the test is, and it was filled in that month."""
    filled = any(
        n.act is LogAct.FILL and on.first <= n.at.date() and book.is_past(n.at, today)
        for n in lines_about(book, id_)
    )
    return PartialDate.of(today) if on.first != on.last and filled else on


class _TestCase(Struct, frozen=True):
    """One cylinder of a batch."""

    book: Book
    cylinder: Cylinder
    test: Test
    today: dt.date

    @property
    def entry(self) -> Requalified:
        total, permanent = self.test.expansions.get(self.cylinder.id, (None, None))
        failed = bool(self.failure)
        due = None if failed else self.due
        return Requalified(
            on=due or self.test.on,
            tested=self.test.on if due else None,
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
            clears=cleared(self.answers[0]),
            finding=self.test.findings.get(self.cylinder.id) or None,
            checked=self.test.checked,
            paper=self.test.paper or None,
            seen_by=self.test.seen_by or None,
            seen_on=self.today if self.test.seen_by else None,
            note=self.test.note or None,
        )

    @property
    def due(self) -> PartialDate | None:
        """When the next test is due, where its stamps say that and this one does."""
        stamped = _stamped(self.test, made_of(self.cylinder))
        means_due = self.cylinder.stamp_means is StampMeans.NEXT_DUE
        told = stamped is not None and (stamped.year, stamped.month) != _month(self.test.on)
        return stamped if means_due and told else None

    @property
    def opens(self) -> tuple[Open, ...]:
        """What stands open against it."""
        return open_against(self.book, self.cylinder)

    @property
    def answers(self) -> tuple[tuple[Open, ...], tuple[str, ...]]:
        """What the test names, and what is wrong with a name."""
        texts = self.test.clears.get(self.cylinder.id, ())
        return named_in((t for t in texts if t != NOTHING), self.opens)

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
        if c.stamp_means is StampMeans.NEXT_DUE and not self.failure and not test.stamp:
            yield f"{c.id}: its stamps say when the next test is due: give it as read with --stamp"
        made = made_of(c)
        if made and test.on.last < made.first:
            yield f"{c.id} was made {made}, after {test.on}"
        for r in standing(c.requalified):
            # one that failed and one that passed are two facts of a day: the failure counts
            same = (r.result is TestResult.FAIL) is bool(self.failure)
            if (r.on, r.method) == (test.on, test.method) and same:
                yield f"{c.id}: a {r.method} test of {r.on} is already on record (by {r.by})"
        if self.plus and c.material is Material.ALUMINIUM:
            yield f"{c.id} is aluminium: a plus mark never goes on it; read the stamp again"
        if c.id in test.failures and not test.failures[c.id].strip():
            yield f"{c.id}: say why it failed"
        yield from text_reasons(failed=test.failures.get(c.id), finding=test.findings.get(c.id))
        yield from self._expansion_reasons()
        yield from (self._failed_reasons() if self.failure else self._answer_reasons())

    def _failed_reasons(self) -> Iterator[str]:
        if self.test.clears.get(self.cylinder.id):
            yield f"{self.cylinder.id}: --clears goes with a pass: a failed test answers nothing"

    def _answer_reasons(self) -> Iterator[str]:
        """What is wrong with what a pass names, and that it names nothing where it must."""
        id_ = self.cylinder.id
        named, wrong = self.answers
        yield from (f"{id_}: {w}" for w in wrong)
        for each in named:
            if not each.by_test:
                yield f"{id_}: no test answers {each}: {self._way(each)}"
        asked = asked_of_test(self.opens, self.test.method, self.test.on)
        if asked and not self.test.clears.get(id_):
            add = " ".join(f'--clears "{o.name}"' for o in asked)
            listed = "; ".join(map(str, asked))
            yield (
                f"{id_}: {listed} is open: say that this test answers it with {add}, or with "
                f"--clears {NOTHING} that it does not"
            )
        if not wrong:
            yield from self._left_open(named)

    def _left_open(self, named: Iterable[Open]) -> Iterator[str]:
        """What a pass names and does not answer."""
        draft = Draft(self.cylinder).enter("requalified", self.entry)
        left = open_against(after(self.book, [draft]), draft.record)
        still = {
            (o.what, o.on)
            for o in left
            if not o.answered and (o.letter or o.what is not Adverse.HELD)
        }
        for each in named:
            if (each.what, each.on) in still and each.by_test:
                yield f"{self.cylinder.id}: this test does not answer {each}: {self._lacks(each)}"

    def _lacks(self, each: Open) -> str:
        """What is missing for a test to answer something."""
        if each.letter and not self.test.findings.get(self.cylinder.id):
            return "say with --finding what the requalifier wrote of it"
        if self.test.on.last < each.on.first:
            return "it came before that"
        if self.cylinder.stamp_means is StampMeans.NEXT_DUE:
            return "its stamps say when the next test is due, and not when this one was done"
        if not each.letter:
            return "it takes a test of the same kind"
        if self.test.method not in PRESSURE_TESTS and each.what is not Adverse.SUSPECTED_CRACK:
            return "it takes a pressure test"
        return (
            "its finding does not say in plain words alone, such as `no crack`, `a tool mark`, "
            "`passed` or, of heat in what is no steel, `no heat damage`, what it is of each thing "
            "that is spoken of; say the rest in a note"
        )

    def _way(self, each: Open) -> str:
        return way_out(self.cylinder.id, each)

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

    def draft(self) -> Draft[Cylinder]:
        """The cylinder with its test, and rejected where it failed."""
        draft = Draft(self.cylinder).enter("requalified", self.entry)
        if not self.failure:
            return draft.stand(self.book)
        rejected = Rejected(
            on=rejected_on(self.book, self.cylinder.id, self.test.on, self.today),
            by=self.test.by,
            why=f"failed its {self.test.method} test: {self.failure}"[: TEXT.limit],
        )
        return draft.enter("rejected", rejected).stand(self.book)

    def notes(self) -> Iterator[str]:
        """What to know and what follows."""
        c = self.cylinder
        if self.failure:
            owned = is_customers(c)
            tell = f"; tell its owner in writing (`tankbook reject {c.id} --told letter`)"
            yield (
                f"{c.id} FAILED: {self.failure}. It is rejected until its requalifier condemns it "
                f"(`tankbook condemn {c.id} --by {self.test.by}`){tell if owned else ''}"
            )
            return
        if c.id in self.test.expansions and expansion_limit(self.book, c) is None:
            yield f"{c.id}: no rule row in force limits its permanent expansion: it was not checked"
        draft = self.draft()
        for each in open_against(after(self.book, [draft]), draft.record):
            if each.answered:
                yield f"{c.id} was rejected and passed: {self._way(each)}"
            elif each.what is Adverse.HELD and each in self.answers[0]:
                yield f"{c.id} is still held ({each.text}): `tankbook release {c.id} --why WHY`"
            elif each.by_test or each.for_ever:
                yield f"{c.id}: still open: {each}: {self._way(each)}"
        held = contents_of(self.book, c.id)
        filled = None if is_empty(held.pressure) else held.filled_at
        if filled is not None and _may_be_before(filled.date(), self.test.on, c, self.test.method):
            yield (
                f"{c.id}: it was filled on {filled.date()}, and that is taken to be after it; "
                f"if the test came later, log that it is empty: `tankbook drain {c.id}`"
            )
        for look in looks_inside(self.book, c):
            day = look.on.first
            if _may_be_before(day, self.test.on, c, self.test.method):
                yield (
                    f"{c.id}: it was looked inside on {day}, and that is taken to be after it; if "
                    "the test came later, say its day: `--on YYYY-MM-DD`; else look inside again"
                )
        if self.entry.star:
            yield f"{c.id}: a star lengthens nothing here: the ordinary period is counted"
        if c.stamp_means is StampMeans.NEXT_DUE:
            on, tested, (_, done) = self.entry.on, self.entry.tested, self.test.who_and_when
            said = f"recorded as due {on}, tested {tested}" if tested else f"{done} is that date"
            yield f"{c.id}: its stamps say when the next test is due; {said}"
