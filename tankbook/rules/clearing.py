"""What tells against a cylinder, and whether a later entry answers it.

An answer names what it answers, weighs at least as much, and is signed by somebody who may: a pass
on a lesser checklist, a sticker seen, or a pass that says nothing of it clears nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import (
    Entry,
    Inspected,
    Rejected,
    Rented,
    Requalified,
    StepFinding,
    standing,
)
from tankbook.records.kinds import Adverse
from tankbook.records.life import verdict
from tankbook.records.settings import Person
from tankbook.records.words import (
    Group,
    InspectionResult,
    Material,
    Method,
    Seen,
    Skill,
    StepResult,
    TestResult,
)
from tankbook.rules.signing import why_not
from tankbook.rules.standing import SEEN_STICKER
from tankbook.rules.tested import PRESSURE_TESTS, is_due_stamp
from tankbook.units import PartialDate

CRACK = "crack"
"""A checklist step whose name holds this looks for cracks."""

_FULL, _INSIDE, _OUTSIDE, _NOTHING = 3, 2, 1, 0

_NOBODY = frozenset({"nobody", "unknown", "none", "na", "n", "a", "tba", "tbd", "us", "self", "me"})
"""Words in the place of a name that name nobody outside."""

_NO_FINDING = frozenset({"", "na", "none", "nil", "pending", "unknown", "tba", "tbd", "seebelow"})
"""Words in the place of a finding that find nothing."""


@dataclass(frozen=True, slots=True)
class Bench:
    """What an answer is weighed by: the checklists, and who is certified."""

    checklists: Mapping[str, Checklist]
    people: Mapping[str, Person]
    here: frozenset[str] = frozenset()
    """What the ledger itself is called, in plain letters."""

    def weight(self, checklist: str) -> int:
        """How much of a cylinder a checklist looks at: nothing, outside, inside, all."""
        known = self.checklists.get(checklist)
        if known is None or checklist == SEEN_STICKER:
            return _NOTHING
        if known.full:
            return _FULL
        if known.inside:
            return _INSIDE
        outside = any(step.group is Group.OUTSIDE for step in known.steps)
        return _OUTSIDE if outside else _NOTHING

    def is_full(self, entry: Inspected) -> bool:
        """Whether an inspection looked at all of a cylinder."""
        return self.weight(entry.checklist) == _FULL

    def signed(self, entry: Inspected) -> bool:
        """Whether whoever inspected was certified that day, where that is kept."""
        return not why_not(self.people, entry.by, Skill.INSPECTOR, entry.on)

    def is_requalifiers(self, entry: Requalified) -> bool:
        """Whether an outside body signed: somebody who is named, and none of the ledger's own
        people in whatever letters."""
        words = re.findall(r"[^\W_]+", (entry.by or "").casefold())
        own = {initials.casefold() for initials in self.people}
        nobody = not words or _NOBODY.issuperset(words)
        return not (nobody or own & {*words, "".join(words)} or plain(entry.by) in self.here)


def counts(bench: Bench, entry: Inspected) -> bool:
    """Whether a passed inspection is evidence of its passing: by a checklist that is known, signed
    by somebody certified. Another shop's sticker is evidence of that shop's."""
    if entry.result is not InspectionResult.PASS or entry.void is not None:
        return False
    if entry.checklist == SEEN_STICKER:
        return True
    return bench.weight(entry.checklist) > _NOTHING and bench.signed(entry)


# --- what tells against it -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Against:
    """Something that tells against a cylinder until it is answered."""

    what: Adverse
    on: PartialDate
    text: str
    entry: Entry
    finding: StepFinding | None = None


def findings_against(card: Cylinder) -> Iterator[Against]:
    """The cracks, suspected cracks and heat that inspections found, oldest first."""
    for entry in standing(card.inspected):
        for found in entry.findings:
            kind = seen_as(found)
            if kind is Seen.CRACK:
                yield Against(Adverse.SUSPECTED_CRACK, entry.on, "crack", entry, found)
            elif kind is Seen.SUSPECTED_CRACK:
                yield Against(Adverse.SUSPECTED_CRACK, entry.on, "suspected", entry, found)
            elif kind is Seen.HEAT:
                yield Against(Adverse.HEAT, entry.on, "heat", entry, found)


def seen_as(found: StepFinding) -> Seen | None:
    """What a finding is: as it says, whatever its step came to, else by the step that looks for
    cracks."""
    if found.what is not None:
        return found.what
    if CRACK in found.step.casefold() and found.result is not StepResult.PASS:
        return Seen.CRACK if found.result is StepResult.REJECT else Seen.SUSPECTED_CRACK
    return None


def open_findings(bench: Bench, card: Cylinder) -> Iterator[tuple[Against, str]]:
    """The cracks and heat that nothing answers, each with `cracked`, `suspected` or `heat`.

    A crack is never answered, nor heat on anything but steel; a suspected crack and heated steel
    are by what a requalifier wrote of them.
    """
    for each in findings_against(card):
        if each.text == "crack":
            yield each, "cracked"
        elif each.text == "heat" and card.material is not Material.STEEL:
            yield each, "over-heated"
        elif not any(_written_answer(bench, card, each, r) for r in standing(card.requalified)):
            yield each, "suspected" if each.text == "suspected" else "over-heated-steel"


def _written_answer(bench: Bench, card: Cylinder, each: Against, later: Requalified) -> bool:
    pressure = each.what is not Adverse.HEAT or later.method in PRESSURE_TESTS
    return (
        later.result is TestResult.PASS
        and pressure
        and bench.is_requalifiers(later)
        and plain(later.finding) not in _NO_FINDING
        and not speaks_of(later.finding or "", CRACK)
        and not is_due_stamp(card, later)
        and later.on.last >= each.on.first
        and names(later, each.what, each.on)
    )


_DENYING = ["no", "not", "not a", "without", "free of", "no sign of", "no visible", "suspected"]
_DENIED = "".join(rf"(?<!\b{word} )" for word in _DENYING)


def speaks_of(text: str, word: str) -> str:
    """The word by which a text speaks of something, or an empty text; `no crack` speaks of none."""
    found = re.search(rf"{_DENIED}\b{re.escape(word)}\w*", text, re.IGNORECASE)
    return found[0] if found else ""


def plain(text: str | None) -> str:
    """A text in small letters and digits alone."""
    return "".join(re.findall(r"[^\W_]+", (text or "").casefold()))


def names(entry: Inspected | Requalified, what: Adverse, on: PartialDate) -> bool:
    """Whether an entry says that it answers another, by its word and its day or month."""
    return any(c.what is what and c.on.meets(on) for c in entry.clears)


# --- inspections, tests and damage ---------------------------------------------------------------


def open_inspection(bench: Bench, card: Cylinder) -> Inspected | None:
    """The newest inspection that did not pass and that nothing answers."""
    bad = [i for i in standing(card.inspected) if verdict(i) is not InspectionResult.PASS]
    left = [i for i in bad if not _inspection_answered(bench, card, i)]
    return left[-1] if left else None


def _inspection_answered(bench: Bench, card: Cylinder, bad: Inspected) -> bool:
    words = (Adverse.INSPECTED, Adverse.HELD, Adverse.REJECTED)
    weight = bench.weight(bad.checklist) or _FULL
    for later in standing(card.inspected):
        passes = later is not bad and _passes(bench, later, weight)
        named = any(names(later, word, bad.on) for word in words)
        if passes and named and later.on.first >= bad.on.first:
            return True
    return any(
        later.result is TestResult.PASS
        and later.method in PRESSURE_TESTS
        and bench.is_requalifiers(later)
        and later.on.last >= bad.on.first
        and any(names(later, word, bad.on) for word in words)
        for later in standing(card.requalified)
    )


def _passes(bench: Bench, entry: Inspected, weight: int) -> bool:
    """A pass, without a finding that says otherwise, on a checklist that weighs enough, signed."""
    good = verdict(entry) is InspectionResult.PASS
    return good and bench.weight(entry.checklist) >= weight and bench.signed(entry)


def open_test(bench: Bench, card: Cylinder) -> Requalified | None:
    """The newest failed test that no later test names and passes."""
    tests = standing(card.requalified)
    left = [
        t
        for t in tests
        if t.result is TestResult.FAIL
        and not any(_test_answered(bench, card, t, later) for later in tests)
    ]
    return left[-1] if left else None


def _test_answered(bench: Bench, card: Cylinder, failed: Requalified, later: Requalified) -> bool:
    same = later.method is failed.method
    fuller = later.method in PRESSURE_TESTS and failed.method is Method.VISUAL
    return (
        later.result is TestResult.PASS
        and (same or fuller)
        and bench.is_requalifiers(later)
        and not is_due_stamp(card, later)
        and later.on.first > failed.on.last
        and names(later, Adverse.REQUALIFIED, failed.on)
    )


def rejection_answered(bench: Bench, card: Cylinder, rejected: Rejected) -> bool:
    """Whether a later test names a rejection and passes; or, where no failed test lies behind it,
    an inspection as full as the one that rejected."""
    failed = any(
        t.result is TestResult.FAIL and t.on.meets(rejected.on) for t in standing(card.requalified)
    )
    looks = [i for i in standing(card.inspected) if i.on.meets(rejected.on)]
    bad = [i for i in looks if verdict(i) is not InspectionResult.PASS]
    weight = max((bench.weight(i.checklist) for i in bad), default=_FULL) or _FULL
    words = (Adverse.REJECTED, Adverse.REQUALIFIED, Adverse.INSPECTED)
    tests = any(
        t.result is TestResult.PASS
        and t.method in PRESSURE_TESTS
        and bench.is_requalifiers(t)
        and not is_due_stamp(card, t)
        and t.on.last >= rejected.on.first
        and any(names(t, word, rejected.on) for word in words)
        for t in standing(card.requalified)
    )
    return tests or (
        not failed
        and any(
            _passes(bench, i, weight)
            and i.on.first >= rejected.on.first
            and any(names(i, word, rejected.on) for word in words)
            for i in standing(card.inspected)
        )
    )


def open_damage(
    bench: Bench, card: Cylinder, rentals: Iterable[Rented]
) -> Iterator[tuple[Rented, PartialDate]]:
    """Damage noted at a return that no inspection of the outside names and passes."""
    for rental in rentals:
        if rental.void is None and rental.back and rental.damage:
            on = PartialDate.of(rental.back)
            if not any(
                _passes(bench, i, _OUTSIDE)
                and i.on.first >= rental.back
                and names(i, Adverse.DAMAGE, on)
                for i in standing(card.inspected)
            ):
                yield rental, on
