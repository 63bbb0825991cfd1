"""What this version refuses that the one before did not, for the day a ledger is taken over."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Set
from itertools import chain
from typing import NamedTuple

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.life import verdict
from tankbook.records.node import Finding, Severity
from tankbook.records.rulerow import Obligation
from tankbook.records.station import that_stand
from tankbook.records.words import InspectionResult, Status, TestResult
from tankbook.rules.answers import Reason
from tankbook.rules.checks import CHECKS
from tankbook.rules.fill_history import contents_of, rentals_of, sets_with
from tankbook.rules.gate import may_fill
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.signing import SEEN_STICKER, bench_of, counts_as_passed
from tankbook.rules.status import is_full_inspection
from tankbook.rules.threads import threads_match

VERSION = "0.2"
"""The version whose refusals are new."""

_BY_ROWS = frozenset(
    "suspected-crack over-heated over-heated-steel outlet-below outlet-ceiling outlet-unknown"
    " insert-rating-below insert-rating-unread insert-unrecorded manifold-rating-below"
    " manifold-rating-unread valve-rating-unread isolator-shut doubles-both-fill disc-none disc-low"
    " relief-device gauge-ceiling oxygen-clean-unsure oxygen-clean-lapsed thread-unnamed"
    " refused-found refused-leak giving-way-spoken-of noted-shell noted-gas let-go-not-read"
    " serial-not-read".split()
)
"""Codes of conditions that no earlier version knew, or asked of one side of a set."""

_ROWS = frozenset(
    "us.requalification.un-underwater us.ended.9791 us.relief-device us.test-pressure.foreign"
    " us.fill-limit.un us.hot-limit us.hot-limit.un bench.permit.period-too-long"
    " bench.permit.test-too-low bench.permit.test-too-high bench.permit.renewal bench.analysis"
    " bench.neck-crack.suspected bench.damage.over-heated bench.damage.over-heated-steel"
    " bench.gauge-ceiling bench.bank-hold.other-gas bench.bank-hold.over-mark"
    " bench.bank-hold.over-pressed bench.relief-check.did-not-lift".split()
)
"""Rows that no earlier version had, or that only warned."""

_SEE_MORE = frozenset(
    "in-the-future permit-bounds permit-test-pressure fill-limit test-pressure expansion status"
    " material-differs disc-above-test-pressure disc-too-low unknown-cylinder-in-log".split()
)
"""Codes of what earlier versions asked as well, of less than now or in other words."""

_READ = ("marks-", "stamp-")
"""How the codes of what is held against a shoulder begin: more of it is read now."""

_COMES_HOME = f"standing-{Status.OUT}"
"""What ends by itself: what is refused beside it is found when the cylinder is back."""

_OTHER_SIDE = "doubles-other-side"

_DATED_ANEW = frozenset({"stamp-date", "marks-retest"})
"""What dates a test by its stamp, where an earlier version took what was typed."""


_BROKEN = frozenset({"empty-value", "forbidden-character"})
"""What keeps a file from being read now and did not before."""


_SAID = {
    "serial-not-read": "A cylinder that is filled has a serial number that was read.",
    "empty-value": "A key that is there says something.",
    "forbidden-character": "A file holds no characters that cannot be seen.",
    "recalled": "What an ended permit's notice asks for is on record, with the paper.",
    "isolator-shut": "A side of a set whose isolator is shut is read and filled by itself.",
    "damage-noted": "Damage noted at a return is named by the inspection that passes it.",
}
"""What is asked where no check of that code says it."""


class NewRefusal(NamedTuple):
    """What is refused, what is said of it and how it is mended."""

    id: str
    """The cylinder or set; empty where it is every cylinder."""
    text: str
    mend: str


class Newly(Struct, frozen=True):
    """Cylinders that are refused for one thing that was not refused before, and how to mend it."""

    code: str
    about: str
    cylinders: tuple[NewRefusal, ...]
    perhaps: bool = False
    """The version before asked of the same, of less or in other words: it may have refused these
    cylinders."""


def newly_refused(book: Book, today: dt.date) -> tuple[Newly, ...]:
    """Everything that only this version refuses, by what for, the most frequent first."""
    found: dict[tuple[str, bool], list[NewRefusal]] = {}
    for code, refused in chain(_at_the_station(book, today), _unread(book)):
        found.setdefault((code, False), []).append(refused)
    for code, refused, perhaps in _cards(book, today):
        found.setdefault((code, perhaps), []).append(refused)
    groups = (Newly(code, _about(code), tuple(each), sure) for (code, sure), each in found.items())
    return tuple(sorted(groups, key=lambda g: (g.perhaps, -len(g.cylinders), g.code)))


def _cards(book: Book, today: dt.date) -> Iterator[tuple[str, NewRefusal, bool]]:
    for card in book.cylinders.values():
        refusals = _refusals(book, card, today)
        codes = {r.code for r in refusals}
        wider = [r for r in refusals if _sees_more(card, r.code)]
        perhaps = bool(wider)
        if all(_is_new(book, card, r, codes, today) for r in refusals if r not in wider):
            yield from ((r.code, NewRefusal(card.id, r.text, r.mend), perhaps) for r in refusals)


def _sees_more(card: Cylinder, code: str) -> bool:
    """Whether a refusal is for what the version before asked as well, of less or in other words: it
    is not known whether it refused this cylinder for it."""
    check = CHECKS.get(code)
    read = code.startswith(_READ) and check is not None and not check.since
    # a permit no longer switches the rows of a plain specification off
    dated = code.startswith((Obligation.REQUALIFICATION, Obligation.EDDY_CURRENT, "thread-"))
    return read or code in _SEE_MORE or (card.permit is not None and dated)


def _refusals(book: Book, card: Cylinder, today: dt.date) -> list[Reason]:
    """Why a cylinder is refused, once it is home, for what it holds: it would be topped up."""
    gas = contents_of(book, card.id).gas
    found = may_fill(book, card.id, today, gas, station=False).refusals
    return [r for r in found if r.code != _COMES_HOME]


def _all_new(book: Book, card: Cylinder, refusals: Iterable[Reason], today: dt.date) -> bool:
    codes = {r.code for r in refusals}
    return all(_is_new(book, card, r, codes, today) for r in refusals)


def _is_news(book: Book, card: Cylinder, today: dt.date) -> bool:
    """Whether a side of a set is refused for nothing, but for its other side, that is not new."""
    found = _refusals(book, card, today)
    return _all_new(book, card, [r for r in found if r.code != _OTHER_SIDE], today)


def _others(book: Book, card: Cylinder) -> Iterator[Cylinder]:
    """The other sides of the sets that a cylinder is in, as far as they can be read."""
    for name in sets_with(book).get(card.id, ()):
        for id_ in book.sets[name].cylinders:
            if id_ != card.id and id_ in book.cylinders:
                yield book.cylinders[id_]


def _at_the_station(book: Book, today: dt.date) -> Iterator[tuple[str, NewRefusal]]:
    """What the whole station is newly refused for, whatever is filled there."""
    card = next(iter(book.cylinders.values()), None)
    if card is None:
        return
    own = {(r.code, r.text) for r in may_fill(book, card.id, today, station=False).refusals}
    whole = [r for r in may_fill(book, card.id, today).refusals if (r.code, r.text) not in own]
    if _all_new(book, card, whole, today):
        yield from ((r.code, NewRefusal("", r.text, r.mend)) for r in whole)


def _unread(book: Book) -> Iterator[tuple[str, NewRefusal]]:
    """Files that were read before."""
    for id_, faults in book.broken.items():
        if all(fault.code in _BROKEN for fault in faults):
            yield from ((f.code, NewRefusal(id_, f"{f.where}: {f.text}", f.mend)) for f in faults)
    shared: dict[str, list[Finding]] = {}
    for each in book.findings:
        own = each.where.path.startswith(("cylinders/", "sets/"))
        if each.severity is Severity.FAULT and not own:
            shared.setdefault(each.where.path, []).append(each)
    for found in shared.values():
        if all(fault.code in _BROKEN for fault in found):
            yield from ((f.code, NewRefusal("", f"{f.where}: {f.text}", f.mend)) for f in found)


def _about(code: str) -> str:
    check = CHECKS.get(code)
    return check.doc if check else _SAID.get(code, "")


def _is_new(book: Book, card: Cylinder, reason: Reason, codes: Set[str], today: dt.date) -> bool:
    """Whether the version before gave no such reason, or not among such others (`codes`)."""
    check, code = CHECKS.get(reason.code), reason.code
    if check is not None and check.since == VERSION:
        return True
    if (reason.row is not None and reason.row.id in _ROWS) or code in _BY_ROWS:
        return True
    if code.startswith(("standing-", "inspection-")) and "in-the-future" in codes:
        return True  # what lay ahead was left out
    if code == _OTHER_SIDE:
        return all(_is_news(book, other, today) for other in _others(book, card))
    if code == "recalled":
        return _is_of_new_notice(book, card, reason)
    if code.startswith(f"{Obligation.REQUALIFICATION}-") and codes & _DATED_ANEW:
        return True
    if code == f"{Obligation.AIR_TEST}-failed":
        tests = that_stand(book.station.air_tests) if book.station else ()
        return bool(tests) and tests[-1].result is TestResult.PASS
    return any(_passed_before(book, card, code, codes))


def _is_of_new_notice(book: Book, card: Cylinder, reason: Reason) -> bool:
    """Whether the notice that a refusal tells of is one that only warned before."""
    rows = facts_of(card, rules_of(book)).recalls
    return any(row.id in _ROWS and row.recall and row.recall in reason.text for row in rows)


def _passed_before(book: Book, card: Cylinder, code: str, codes: Set[str]) -> Iterator[bool]:
    """What the version before let pass: a later look or test answered, whether it named or not, and
    whoever signed it."""
    looks = [
        i
        for i in standing(card.inspected)
        if i.result is InspectionResult.PASS and i.checklist != SEEN_STICKER
    ]
    if code == "damage-noted":
        yield bool(looks) and looks[-1].on.first >= max(
            (r.back for r in card.rented if r.back and r.damage), default=dt.date.max
        )
    if code == "thread-differ":
        neck, valve = card.neck_thread, card.valve.thread if card.valve else None
        yield neck is None or valve is None or threads_match(neck, valve)
    if code.startswith("returned-"):
        home = [r.back for r in rentals_of(book, card.id) if r.back]
        yield bool(looks and home) and looks[-1].on.last >= max(home)
    if code == "standing-awaiting-inspection":  # what was typed counted, and any look did
        typed = card.status if card.status is not Status.AWAITING_INSPECTION else None
        yield typed is not None or (card.status is None and bool(standing(card.inspected)))
    if code == "inspection-not-passed":
        entries = standing(card.inspected)
        yield verdict(entries[-1]) is InspectionResult.PASS
    if code == "test-failed" or (code.endswith("-overdue") and "test-failed" in codes):
        tests = standing(card.requalified)
        yield bool(tests) and tests[-1].result is TestResult.PASS
    if code.startswith("visual-"):
        bench = bench_of(book)
        yield any(
            is_full_inspection(book, i.checklist) and not counts_as_passed(bench, i) for i in looks
        )
    if code.startswith("visual-"):
        lists = (book.checklists.get(i.checklist) for i in looks)
        yield any(each.full_ and not each.full for each in lists if each is not None)
