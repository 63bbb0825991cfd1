"""What tells against a cylinder, and whether a later entry answers it.

An answer names what it answers, weighs at least as much, and is signed by somebody who may: a pass
on a lesser checklist, a sticker seen, or a pass that says nothing of it clears nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache

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
from tankbook.records.words import (
    InspectionResult,
    Material,
    Method,
    Seen,
    StepResult,
    TestResult,
)
from tankbook.rules.signing import FULL, OUTSIDE, Bench, plain
from tankbook.rules.tested import PRESSURE_TESTS, tested_on
from tankbook.units import PartialDate

CRACK = "crack"
"""A checklist step whose name holds this looks for cracks."""

_NO_FINDING = frozenset(
    {"", "na", "none", "nil", "pending", "unknown", "tba", "tbd", "seebelow", "no", "not", "yes"}
)
"""Words in the place of a finding that find nothing."""


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
        pressure
        and _passed_since(bench, card, later, each.on)
        and plain(later.finding) not in _NO_FINDING
        and not says_it_failed(later.finding or "")
        and names(later, each.what, each.on)
    )


_DENYING = frozenset(
    {"no", "not", "nor", "never", "without", "free", "kein", "keine", "keinen", "keiner", "ohne"}
    | {"sans", "pas", "sin", "ningun", "ninguna", "senza", "nessun", "nessuna", "geen", "zonder"}
)
"""Words that deny what follows them in a clause."""

_STRESSING = re.compile(
    r"\b(?:no doubt|not (?:only|just|without|tested|checked|inspected|examined|looked))\b",
    re.IGNORECASE,
)
_LISTED = re.compile(
    r"\b(?:no|without|free of)((?: \w+){1,2}(?:, ?\w+(?: \w+)?)*,? (?:or|nor) )", re.IGNORECASE
)
_CLAUSE = re.compile(r"[.;:!?()\n,]|\bbut\b|\bthough\b", re.IGNORECASE)
_DENIED_AFTER = re.compile(
    r"\W+(?:(?:was|were|is|are|could|has been|have been)\s+)?(?:none|nil|absent|excluded|ruled out|"
    r"(?:not|never)\s+(?:be\s+)?(?:found|seen|confirmed|present|visible|detected))\b",
    re.IGNORECASE,
)
_NEAR = 4
"""A denying word counts for so many words after it."""


def speaks_of(text: str, word: str) -> str:
    """The word by which a text speaks of something, or an empty text; `no crack` speaks of none.

    A word counts as it stands and with the endings of a plural or a verb; `bulg*` with any.
    """
    text = _LISTED.sub(lambda m: " no " + m[1].replace(",", " no"), text)  # `no dent, pit or rust`
    for found in _as_written(word).finditer(text):
        clause = _CLAUSE.split(_STRESSING.sub("", text[: found.start()]))[-1]
        before = re.findall(r"[^\W_]+", clause.casefold())[-_NEAR:]
        if not _DENYING.intersection(before) and not _DENIED_AFTER.match(text, found.end()):
            return found[0]
    return ""


@cache
def _as_written(word: str) -> re.Pattern[str]:
    stem = re.escape(word.removesuffix("*"))
    ends = r"\w*" if word.endswith("*") else rf"(?:{stem[-1]}?(?:e?s|e?d|e?n|ing|y))?\b"
    return re.compile(rf"\b{stem}{ends}", re.IGNORECASE)


_CRACKED = ("crack*", "hairline*", "fissur*", "fractur*", "riss", "anriss*", "grieta*")
_FAILED = ("confirm*", "fail*", "reject*", "condemn*", "scrap*", "unsafe", "unsound", "bestätig*")
"""Words of a crack, and of a test that was not passed, as requalifiers write them (memory)."""

_SUSPECTED = re.compile(r"\b(?:suspected|alleged|supposed|possible)\s+crack\w*", re.IGNORECASE)
_NOT_LOOKED_AT = re.compile(
    r"\bnot\s+(?:(?:been|yet|fully|be)\s+)*"
    r"(?:inspect|test|examin|look|check|assess|evaluat|done|possible)\w*"
    r"|\b(?:no|without)\s+(?:a\s+)?(?:crack\s+)?(?:test|inspection|check|look|examination)\b"
    r"|\b(?:could not|unable|pending|awaiting|to be)\b",
    re.IGNORECASE,
)


def fails(text: str) -> str:
    """The word by which a text says that something was not passed, or an empty text."""
    return next(filter(None, (speaks_of(text, w) for w in ("fail*", "reject*", "condemn*"))), "")


def says_it_failed(text: str) -> str:
    """The words by which what a requalifier wrote says that a cylinder did not pass, or that nobody
    looked; or an empty text. To name what was suspected says neither."""
    unlooked = _NOT_LOOKED_AT.search(text)
    if unlooked:
        return unlooked[0]
    failed = (speaks_of(text, word) for word in _FAILED)
    return says_cracked(text) or next(filter(None, failed), "")


def says_cracked(text: str) -> str:
    """The word by which a requalifier says that there is a crack, or an empty text."""
    rest = _SUSPECTED.sub("it", text)
    return next(filter(None, (speaks_of(rest, word) for word in _CRACKED)), "")


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
    weight = bench.weight(bad.checklist) or FULL
    for later in standing(card.inspected):
        passes = later is not bad and _passes(bench, later, weight)
        named = any(names(later, word, bad.on) for word in words)
        if passes and named and later.on.first >= bad.on.first:
            return True
    return any(
        later.method in PRESSURE_TESTS
        and _passed_since(bench, card, later, bad.on)
        and any(names(later, word, bad.on) for word in words)
        for later in standing(card.requalified)
    )


def _passes(bench: Bench, entry: Inspected, weight: int) -> bool:
    """A pass, without a finding that says otherwise, on a checklist that weighs enough, signed."""
    good = verdict(entry) is InspectionResult.PASS
    return good and bench.weight(entry.checklist) >= weight and bench.signed(entry)


def open_test(bench: Bench, card: Cylinder) -> Requalified | None:
    """The newest failed test that no later test names and passes."""
    left = open_tests(bench, card)
    return left[-1] if left else None


def open_tests(bench: Bench, card: Cylinder) -> list[Requalified]:
    """The failed tests that no later test names and passes, oldest first."""
    tests = standing(card.requalified)
    return [
        t
        for t in tests
        if t.result is TestResult.FAIL
        and not any(_test_answered(bench, card, t, later) for later in tests)
    ]


def _passed_since(bench: Bench, card: Cylinder, later: Requalified, on: PartialDate) -> bool:
    """Whether a requalifier passed it, on a day that is known and not before another."""
    done = tested_on(card, later)
    return (
        later.result is TestResult.PASS
        and bench.is_requalifiers(later)
        and done is not None
        and done.last >= on.first
    )


def _test_answered(bench: Bench, card: Cylinder, failed: Requalified, later: Requalified) -> bool:
    same = later.method is failed.method
    fuller = later.method in PRESSURE_TESTS and failed.method is Method.VISUAL
    return (
        (same or fuller)
        and later is not failed
        and _passed_since(bench, card, later, failed.on)
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
    weight = max((bench.weight(i.checklist) for i in bad), default=FULL) or FULL
    words = (Adverse.REJECTED, Adverse.REQUALIFIED, Adverse.INSPECTED)
    tests = any(
        t.method in PRESSURE_TESTS
        and _passed_since(bench, card, t, rejected.on)
        and any(names(t, word, rejected.on) for word in words)
        for t in standing(card.requalified)
    )
    return tests or (
        not (failed or is_grave(bench, rejected.why))
        and any(
            _passes(bench, i, weight)
            and i.on.first >= rejected.on.first
            and any(names(i, word, rejected.on) for word in words)
            for i in standing(card.inspected)
        )
    )


_FITTING = re.compile(
    r"\b(?:valve|hand ?wheel|knob|boot|net|mesh|label|handle|dust cap)\b", re.IGNORECASE
)
_SHELL = re.compile(r"\b(?:neck|shoulder|crown|body|wall|base|thread|cylinder|tank)", re.IGNORECASE)


def is_grave(bench: Bench, text: str) -> bool:
    """Whether a text speaks of what is never accepted, on the cylinder itself and not a fitting."""
    spoken = any(speaks_of(text, word) for word in bench.grave)
    return spoken and not (_FITTING.search(text) and not _SHELL.search(text))


def open_damage(
    bench: Bench, card: Cylinder, rentals: Iterable[Rented]
) -> Iterator[tuple[Rented, PartialDate]]:
    """Damage noted at a return that no inspection names and passes: of the outside, or of all of it
    where it speaks of a crack or of fire."""
    for rental in rentals:
        if rental.void is None and rental.back and rental.damage:
            on = PartialDate.of(rental.back)
            weight = FULL if is_grave(bench, rental.damage) else OUTSIDE
            if not any(
                _passes(bench, i, weight)
                and i.on.first >= rental.back
                and names(i, Adverse.DAMAGE, on)
                for i in standing(card.inspected)
            ):
                yield rental, on
