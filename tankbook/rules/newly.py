"""What this version refuses that the one before did not, for the day a ledger is taken over."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.life import verdict
from tankbook.records.node import Finding, Severity
from tankbook.records.words import InspectionResult, TestResult
from tankbook.rules.answers import Reason
from tankbook.rules.checks import CHECKS
from tankbook.rules.gate import may_fill
from tankbook.rules.signing import SEEN_STICKER, bench_of, counts
from tankbook.rules.standing import is_full

VERSION = "0.2"
"""The version whose refusals are new."""

_BY_ROWS = frozenset(
    {
        "suspected-crack",
        "over-heated",
        "over-heated-steel",
        "outlet-below",
        "manifold-rating-below",
        "isolator-shut",
        "disc-none",
        "insert-rating-below",
    }
)
"""Codes of conditions that no earlier version knew, or asked of one side of a set."""

_ROWS = frozenset(
    {
        "us.requalification.un-underwater",
        "us.ended.9791",
        "bench.permit.period-too-long",
        "bench.permit.test-too-low",
        "bench.permit.test-too-high",
        "bench.permit.renewal",
        "us.relief-device",
    }
)
"""Rows that no earlier version had, or that only warned."""


_BROKEN = frozenset({"empty-value", "forbidden-character"})
"""What keeps a file from being read now and did not before."""


_SAID = {
    "empty-value": "A key that is there says something.",
    "forbidden-character": "A file holds no characters that cannot be seen.",
    "damage-noted": "Damage noted at a return is named by the inspection that passes it.",
}
"""What is asked where no check of that code says it."""


class Refused(NamedTuple):
    """What is refused, what is said of it and how it is mended."""

    id: str
    """The cylinder or set; empty where it is every cylinder."""
    text: str
    mend: str


@dataclass(frozen=True, slots=True)
class Newly:
    """Cylinders that are refused for one thing that was not refused before, and how to mend it."""

    code: str
    about: str
    cylinders: tuple[Refused, ...]


def newly_refused(book: Book, today: dt.date) -> tuple[Newly, ...]:
    """Everything that only this version refuses, by what for, the most frequent first."""
    found: dict[str, list[Refused]] = {}
    for code, refused in chain(_at_the_station(book, today), _unread(book), _cards(book, today)):
        found.setdefault(code, []).append(refused)
    groups = (Newly(code, _about(code), tuple(each)) for code, each in found.items())
    return tuple(sorted(groups, key=lambda group: (-len(group.cylinders), group.code)))


def _cards(book: Book, today: dt.date) -> Iterator[tuple[str, Refused]]:
    for card in book.cylinders.values():
        refusals = may_fill(book, card.id, today, station=False).refusals
        if all(_is_new(book, card, r) for r in refusals):
            yield from ((r.code, Refused(card.id, r.text, r.mend)) for r in refusals)


def _at_the_station(book: Book, today: dt.date) -> Iterator[tuple[str, Refused]]:
    """What the whole station is newly refused for, whatever is filled there."""
    card = next(iter(book.cylinders.values()), None)
    if card is None:
        return
    own = {(r.code, r.text) for r in may_fill(book, card.id, today, station=False).refusals}
    whole = [r for r in may_fill(book, card.id, today).refusals if (r.code, r.text) not in own]
    if all(_is_new(book, card, r) for r in whole):
        yield from ((r.code, Refused("", r.text, r.mend)) for r in whole)


def _unread(book: Book) -> Iterator[tuple[str, Refused]]:
    """Files that were read before."""
    for id_, faults in book.broken.items():
        if all(fault.code in _BROKEN for fault in faults):
            yield from ((f.code, Refused(id_, f"{f.where}: {f.text}", f.mend)) for f in faults)
    shared: dict[str, list[Finding]] = {}
    for each in book.findings:
        own = each.where.path.startswith(("cylinders/", "sets/"))
        if each.severity is Severity.FAULT and not own:
            shared.setdefault(each.where.path, []).append(each)
    for found in shared.values():
        if all(fault.code in _BROKEN for fault in found):
            yield from ((f.code, Refused("", f"{f.where}: {f.text}", f.mend)) for f in found)


def _about(code: str) -> str:
    check = CHECKS.get(code)
    return check.doc if check else _SAID.get(code, "")


def _is_new(book: Book, card: Cylinder, reason: Reason) -> bool:
    """Whether the version before gave no such reason."""
    check = CHECKS.get(reason.code)
    if check is not None and check.since == VERSION:
        return True
    if reason.row is not None and reason.row.id in _ROWS:
        return True
    return reason.code in _BY_ROWS or any(_passed_before(book, card, reason.code))


def _passed_before(book: Book, card: Cylinder, code: str) -> Iterator[bool]:
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
    if code == "inspection-not-passed":
        entries = standing(card.inspected)
        yield verdict(entries[-1]) is InspectionResult.PASS
    if code == "test-failed":
        tests = standing(card.requalified)
        yield tests[-1].result is TestResult.PASS
    if code.startswith("visual-"):
        bench = bench_of(book)
        yield any(is_full(book, i.checklist) and not counts(bench, i) for i in looks)
    if code.startswith("visual-") or code == "standing-awaiting-inspection":
        lists = (book.checklists.get(i.checklist) for i in looks)
        yield any(each.full_ and not each.full for each in lists if each is not None)
