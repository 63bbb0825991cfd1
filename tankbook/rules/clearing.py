"""What tells against a cylinder, and whether a later entry answers it.

An answer names what it answers, weighs at least as much, and is signed by somebody who may: a pass
on a lesser checklist, a sticker seen, or a pass that says nothing of it clears nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import (
    Entry,
    Held,
    Inspected,
    Rejected,
    Rented,
    Requalified,
    StepFinding,
    standing,
)
from tankbook.records.kinds import Adverse
from tankbook.records.life import verdict
from tankbook.records.words import InspectionResult, Material, Method, Seen, StepResult, TestResult
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.left_out import left_out
from tankbook.rules.letting_go import Suspicion, lets_go, speaks_for
from tankbook.rules.remark_words import not_read
from tankbook.rules.signing import FULL, INSIDE, OUTSIDE, SigningRules
from tankbook.rules.tested import PRESSURE_TESTS, DaySpan, came_since, possible_days
from tankbook.rules.wording import (
    as_written,
    denies_cracks,
    first_of,
    not_passed,
    says_no_proof,
    says_not_made,
    sets_aside,
    speaks_of,
    spoken_of,
    unharmed,
    unread_words,
    unsettled,
)
from tankbook.units import PartialDate
from tankbook.units.patterns import pattern

CRACK = "crack"
"""A checklist step whose name holds this looks for cracks."""

_MEASURED = (
    *("expansion*", "condemned by", "condemned at", "wall too thin", "thin wall", "below minimum"),
    *(
        "minimum wall",
        "at test pressure",
        "through wall",
        "dehnung",
        "stretched",
        "through the wall",
        "burst at",
    ),
)
"""Words of what only a test can measure."""
_TESTS = (
    *("hydro*", "pressure test*", "proof test*", "eddy current", "ultrasonic", "volumetric"),
    *("water jacket", "requalif*", "retest*", "test house", "the test", "tüv", "druckprüfung*"),
    *("eddy", "wiederholungsprüfung*", "prüfung", "épreuve*", "prueba*", "requalification"),
    *("collaudo", "keuring", "herkeuring"),
)
_SIGNS = pattern(r"\b(?:EC|VE|UT|NDT)\b")
"""Tests by their letters, in capitals: `they've` is none."""
_RAN_OUT = (
    *("abgelehnt", "nicht bestanden", "durchgefallen", "non superato", "échec", "échoué"),
    *("no superado", "no superada", "no pasó", "niet geslaagd", "afgekeurd", "bocciato"),
)
"""Words of a test, and more of one that was not passed."""


# --- what tells against it -----------------------------------------------------------------------


class Against(Struct, frozen=True):
    """Something that tells against a cylinder until it is answered."""

    what: Adverse
    on: PartialDate
    text: str
    entry: Entry
    finding: StepFinding | None = None

    @property
    def names(self) -> tuple[Adverse, ...]:
        """The words by which an answer may name it."""
        found = Adverse.HEAT if self.text.startswith("heat") else Adverse.SUSPECTED_CRACK
        return tuple(dict.fromkeys((self.what, found)))


JUDGED_ALONE = frozenset({Seen.CRACK, Seen.SUSPECTED_CRACK, Seen.HEAT})
"""Findings that tell against a cylinder whatever the inspection came to, and are answered by
themselves."""


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
    of_cracks = CRACK in found.step.casefold() and found.result is not StepResult.PASS
    if of_cracks and not (found.result is StepResult.NOTE and denies_cracks(found.note or "")):
        return Seen.CRACK if found.result is StepResult.REJECT else Seen.SUSPECTED_CRACK
    return None


def texts_against(
    bench: SigningRules, card: Cylinder, rentals: Iterable[Rented]
) -> Iterator[Against]:
    """Holds let go again and damage at a return whose words speak of a crack, fire or a bulge, or
    of a failed test; and holds let go again that speak of what may give way."""
    for hold in standing(card.held):
        if hold.released is None:
            continue
        said = tuple(dict.fromkeys(_AS_SAID[k] for k in kinds_said(bench, hold.why, hold.note)))
        yield from (Against(Adverse.HELD, hold.on, text, hold) for text in said)
        if not said and any(_speaks_of_failed_test(text) for text in hold.said):
            yield Against(Adverse.HELD, hold.on, "test said", hold)
        elif not said and any(says_giving_way(text) for text in hold.said):
            yield Against(Adverse.HELD, hold.on, _GIVING_WAY, hold)
        elif not said and is_let_go_unread(bench, hold):
            yield Against(Adverse.HELD, hold.on, _UNREAD, hold)
    for rental in rentals:
        if rental.void is None and rental.back is not None:
            on = PartialDate.of(rental.back)
            said = _as_said(bench, rental.damage)
            if not said and _speaks_of_failed_test(rental.damage or ""):
                said = ("test said",)
            yield from (Against(Adverse.DAMAGE, on, text, rental) for text in said)


_GIVING_WAY = "giving way said"
"""Of a hold that speaks of a leak of the shell or a bent neck; damage is among `open_damage`."""

_UNREAD = "unread said"
"""Of a hold of which nobody reads here why it was set aside."""


def is_let_go_unread(bench: SigningRules, hold: Held) -> bool:
    """Whether a hold was let go for a reason that nobody reads here: in letters of no list, or in
    words of which none is known and whoever let it go does not say what it was."""
    if any(unread_words(text) for text in hold.said):
        return True
    known = bench.rows and not hold.recall  # without the words of findings nobody can tell
    unread = known and not_read(hold.why, bench.rows, bench.people)
    # that nobody says why is a fault by itself
    return bool(unread) and hold.released_why is not None and not tells(hold.released_why)


def tells(why: str) -> bool:
    """Whether why something was let go says what it was, in letters that are read here."""
    return not (says_no_proof(why) or unread_words(why))


_AS_SAID = {
    Seen.CRACK: "suspected",
    Seen.SUSPECTED_CRACK: "suspected",
    Seen.HEAT: "heat said",
    Seen.BULGE: "bulge said",
}


def _as_said(bench: SigningRules, text: str | None) -> tuple[str, ...]:
    return tuple(dict.fromkeys(_AS_SAID[kind] for kind in kinds_said(bench, text)))


def kinds_said(bench: SigningRules, *texts: str | None) -> tuple[Seen, ...]:
    """All that is never accepted and some texts speak of: on the cylinder itself, and not a
    fitting. Where there was fire, it does not matter what burnt."""
    said = [text for text in texts if text]
    rows = (row for row in bench.grave if any(spoken_of(text, row) for text in said))
    return tuple(dict.fromkeys(row.what for row in rows))


SAID_OF = {
    "cracked": "a crack was found on {on}",
    "suspected": "a crack is suspected since {on}",
    "over-heated": "it was over-heated by {on}",
    "over-heated-steel": "it was over-heated by {on}",
    "heat-said": "its {what} of {on} speaks of fire or heat",
    "bulge-said": "its {what} of {on} speaks of a bulge",
    "test-said": "its {what} of {on} speaks of a failed test",
    "giving-way-said": "its {what} of {on} speaks of what may give way",
    "unread-said": "why it was set aside on {on} nobody reads here, and it was let go",
}
"""How the gate tells of each state of `open_findings`."""


def open_findings(
    bench: SigningRules, card: Cylinder, rentals: Iterable[Rented] = ()
) -> Iterator[tuple[Against, str]]:
    """The cracks, heat and bulges that nothing answers, each with `cracked`, `suspected`,
    `over-heated`, `over-heated-steel`, `heat-said`, `bulge-said`, `test-said`, `giving-way-said`
    or `unread-said`.

    A crack is never answered, nor heat that an inspection found on anything but steel; what may
    give way, and what nobody reads, by a look inside or a pressure test, as a refusal for it is;
    all else is by what a requalifier wrote of it.
    """
    every = [*findings_against(card), *texts_against(bench, card, rentals)]
    for each in every:
        if each.text == "crack":
            yield each, "cracked"
        elif each.text == "heat" and card.material is not Material.STEEL:
            yield each, "over-heated"
        elif each.text in {_GIVING_WAY, _UNREAD}:
            if not _proved_since(bench, card, each.what, each.on, named=False):
                yield each, each.text.replace(" ", "-")
        elif not any(
            _written_answer(bench, card, each, every, r) for r in standing(card.requalified)
        ):
            yield each, "over-heated-steel" if each.text == "heat" else each.text.replace(" ", "-")


def _proved_since(
    bench: SigningRules, card: Cylinder, what: Adverse, on: PartialDate, *, named: bool
) -> bool:
    """Whether a look inside or a pressure test passed it after something that may give way was
    said of it: one that names that; unless `named` is asked for, any of a later day."""

    def meant(later: Inspected | Requalified) -> bool:
        return names(later, what, on) or (not named and later.on.first > on.last)

    return any(
        _passes(bench, i, INSIDE) and i.on.first >= on.first and meant(i)
        for i in standing(card.inspected)
    ) or any(
        t.method in PRESSURE_TESTS
        and not _undone(t.note or "")
        and _passed_since(bench, card, t, [DaySpan.of(on)])
        and meant(t)
        for t in standing(card.requalified)
    )


_SUSPECTED = {
    "suspected": Suspicion.CRACK,
    "heat": Suspicion.HEAT,
    "heat said": Suspicion.HEAT,
    "bulge said": Suspicion.BULGE,
}
_OF_KIND = {
    Seen.CRACK: Suspicion.CRACK,
    Seen.SUSPECTED_CRACK: Suspicion.CRACK,
    Seen.HEAT: Suspicion.HEAT,
    Seen.BULGE: Suspicion.BULGE,
}


def is_of_the_outside(test: Requalified) -> bool:
    """Whether a test house's look says that it was of the outside alone, or left something out."""
    said = f"{test.note or ''}\n{test.finding or ''}"
    return test.method is Method.VISUAL and bool(left_out(said))


def _lets_all_go(card: Cylinder, test: Requalified, kinds: Iterable[Seen | None]) -> bool:
    """Whether a test's finding answers each kind of what is never accepted."""
    return all(_lets_go_of(card, test, _OF_KIND[kind]) for kind in kinds if kind in _OF_KIND)


def _lets_go_of(card: Cylinder, test: Requalified, of: Suspicion) -> bool:
    """Whether a test's finding lets go what is suspected. Of what is no steel it speaks of the heat
    itself: a pressure test that passed says nothing of an alloy that heat has softened."""
    said = test.finding or ""
    softens = of is Suspicion.HEAT and card.material is not Material.STEEL
    return lets_go(said, of) and (not softens or speaks_for(said, of))


_STILL = (
    *("indication*", "signal*", "anzeige*", "line still", "line remain*", "still there"),
    *("could not reach", "not all threads", "second opinion", "instrument broken"),
    *(
        "retest needed",
        "no eddy current",
        "no test",
        "niet getest",
        "non contrôlé",
        "nicht geprüft",
    ),
)
"""Words of a note that leaves a suspicion where it was; denied, they say nothing (own list)."""


def _undone(note: str) -> str:
    """The words by which a note takes back what the finding beside it says; else an empty text."""
    return unsettled(note) or sets_aside(note) or first_of(note, _STILL)


def _written_answer(
    bench: SigningRules, card: Cylinder, each: Against, every: Sequence[Against], later: Requalified
) -> bool:
    of = _SUSPECTED.get(each.text)
    others = [o.on for o in every if o.text == each.text]
    looked = later.method is Method.VISUAL  # what it looked for it says
    return (
        (of is Suspicion.CRACK or later.method in PRESSURE_TESTS)
        and not (looked and of and not speaks_for(later.finding or "", of))
        and not is_of_the_outside(later)
        and not _undone(later.note or "")
        and _passed_since(bench, card, later, [DaySpan.of(each.on)])
        and (of is None or _lets_go_of(card, later, of))
        and any(names(later, what, each.on, others) for what in each.names)
    )


def names(
    entry: Inspected | Requalified,
    what: Adverse,
    on: PartialDate,
    others: Iterable[PartialDate] = (),
) -> bool:
    """Whether an entry says that it answers another, by its word and its day or month.

    A month names what is of a day only where it can mean no other (`others`: the days of all that
    the word could name).
    """
    said = [c.on for c in entry.clears if c.what is what]
    days = [*others]
    return any(on == c or (c.meets(on) and sum(c.meets(o) for o in days) <= 1) for c in said)


def day_wanted(card: Cylinder, words: Iterable[Adverse], on: PartialDate) -> str:
    """What to add to how an entry is answered: the day of a passed test that names it, where the
    test may have been before it by what its month and the journeys say; else nothing."""
    said = [*words]
    for test in standing(card.requalified):
        days = possible_days(card, test)
        unsure = bool(days) and days[0].first < days[-1].last
        named = test.result is TestResult.PASS and any(names(test, word, on) for word in said)
        if named and unsure and not came_since(days, [DaySpan.of(on)]):
            return (
                f"; where its test of {test.on} came after that, write the day of the test"
                " (`tested:`, or `on:` by day), and the journey to it"
            )
    return ""


def _stands_after(entries: Sequence[Entry], later: Entry, bad: Entry) -> bool:
    """Whether an entry comes after another: what may be of one day as it is written; one of a
    month that names the other's day came after that."""
    order = [id(e) for e in entries]
    clears = later.clears if isinstance(later, Inspected | Requalified) else ()
    names_day = later.on != bad.on and any(c.on == bad.on for c in clears)
    after = later.on.first > bad.on.last or order.index(id(later)) > order.index(id(bad))
    return after or names_day


# --- inspections, tests and damage ---------------------------------------------------------------


def open_inspection(bench: SigningRules, card: Cylinder) -> Inspected | None:
    """The newest inspection that did not pass and that nothing answers."""
    left = open_inspections(bench, card)
    return left[-1] if left else None


def open_inspections(bench: SigningRules, card: Cylinder) -> list[Inspected]:
    """The inspections that did not pass and that nothing answers, oldest first."""
    bad = [i for i in standing(card.inspected) if verdict(i) is not InspectionResult.PASS]
    return [i for i in bad if not inspection_answered(bench, card, i, bad)]


def answered_by_test(bench: SigningRules, card: Cylinder, on: PartialDate) -> str:
    """How to say that a pressure test on file, of a later day, answers an inspection of a day that
    did not pass: the first that answers nothing yet; an empty text where there is none."""
    later = [
        t
        for t in standing(card.requalified)
        if t.result is TestResult.PASS
        and t.method in PRESSURE_TESTS
        and t.on.first > on.last
        and not t.clears
    ]
    if not later:
        return ""
    test = min(later, key=lambda t: t.on.first)
    by = "" if bench.is_requalifiers(test) else "--set by=WHO "
    return (
        f"where whoever made the test of {test.on} looked at that: `tankbook correct {card.id} "
        f"requalified {test.on} {by}--set clears='[inspected {on}]' --why WHY`"
    )


def inspection_answered(
    bench: SigningRules, card: Cylinder, bad: Inspected, every: Sequence[Inspected]
) -> bool:
    """Whether a later inspection as full, a test house's look, or a pressure test names one that
    did not pass (`every`: all that did not). What is never accepted takes a test."""
    words = (Adverse.INSPECTED, Adverse.HELD, Adverse.REJECTED)
    days = [i.on for i in every]
    weight = bench.weight(bad.checklist) or FULL
    looks = standing(card.inspected)
    for later in () if is_grave(bench, bad) else looks:
        passes = later is not bad and _passes(bench, later, weight)
        named = any(names(later, word, bad.on, days) for word in words)
        if passes and named and later.on.first >= bad.on.first and _stands_after(looks, later, bad):
            return True
    grave = set(_grave_kinds(bench, bad))
    suspected = {Seen.SUSPECTED_CRACK} if _is_suspected_only(bad) else set()
    enough = {*PRESSURE_TESTS, *([Method.EDDY_CURRENT] if suspected else [])}
    never = {f.what for f in bad.findings} & {*_OF_KIND}
    enough |= set() if never or is_grave(bench, bad) else {Method.VISUAL}
    return any(
        later.method in enough
        and not is_of_the_outside(later)
        and _passed_since(bench, card, later, [DaySpan.of(bad.on)])
        and any(names(later, word, bad.on, days) for word in words)
        and _lets_all_go(
            card, later, grave | (set() if later.method in PRESSURE_TESTS else suspected)
        )
        for later in standing(card.requalified)
    )


def _is_suspected_only(bad: Inspected) -> bool:
    """Whether an inspection did not pass for a suspected crack alone, which an eddy-current test
    looks at."""
    passed = {StepResult.PASS, StepResult.NOTE}
    failing = [f.what for f in bad.findings if f.result not in passed]
    return bool(failing) and set(failing) == {Seen.SUSPECTED_CRACK}


def is_grave(bench: SigningRules, bad: Inspected) -> bool:
    """Whether an inspection found, or its words speak of, what is never accepted and no look of
    one's own answers. Cracks and heat that it found are answered by themselves."""
    failed = any(_speaks_of_failed_test(note) for note in _notes_of(bad))
    return failed or bool(set(_grave_kinds(bench, bad)))


def _grave_kinds(bench: SigningRules, bad: Inspected) -> Iterator[Seen]:
    never = {row.what for row in bench.grave} - JUDGED_ALONE
    yield from (f.what for f in bad.findings if f.what is not None and f.what in never)
    yield from kinds_said(bench, *_notes_of(bad))


def _notes_of(bad: Inspected) -> list[str]:
    return [n for n in (bad.note, *(f.note for f in bad.findings if f.what is None)) if n]


def _passes(bench: SigningRules, entry: Inspected, weight: int) -> bool:
    """A pass, without a finding that says otherwise, on a checklist that weighs enough, signed."""
    good = verdict(entry) is InspectionResult.PASS
    return good and bench.weight(entry.checklist) >= weight and bench.signed(entry)


def open_test(bench: SigningRules, card: Cylinder) -> Requalified | None:
    """The newest failed test that no later test names and passes."""
    left = open_tests(bench, card)
    return left[-1] if left else None


def open_tests(bench: SigningRules, card: Cylinder) -> list[Requalified]:
    """The failed tests that no later test names and passes, oldest first."""
    tests = standing(card.requalified)
    failed = [t for t in tests if t.result is TestResult.FAIL]
    days = [t.on for t in failed]
    return [
        t
        for t in failed
        if not any(
            _test_answered(bench, card, t, later, days) and _stands_after(tests, later, t)
            for later in tests
        )
    ]


def _passed_since(
    bench: SigningRules, card: Cylinder, later: Requalified, since: Sequence[DaySpan]
) -> bool:
    """Whether a requalifier passed it, on no day that can lie before those of another."""
    note = later.note or ""
    return (
        later.result is TestResult.PASS
        and not (says_not_made(note) or kinds_said(bench, note))
        and bench.is_requalifiers(later)
        and came_since(possible_days(card, later), since)
    )


def _test_answered(
    bench: SigningRules,
    card: Cylinder,
    failed: Requalified,
    later: Requalified,
    days: Sequence[PartialDate],
) -> bool:
    pressed = later.method in PRESSURE_TESTS
    kinds = kinds_said(bench, failed.note, failed.finding)
    measured = any(first_of(text, _MEASURED) for text in (failed.note, failed.finding) if text)
    grave = measured or {_OF_KIND[kind] for kind in kinds} - {Suspicion.CRACK}
    same = later.method is failed.method and not (grave and not pressed)
    fuller = pressed and failed.method is Method.VISUAL
    return (
        (same or fuller)
        and not is_of_the_outside(later)
        and later is not failed
        and _passed_since(
            bench, card, later, possible_days(card, failed) or [DaySpan.of(failed.on)]
        )
        and any(names(later, w, failed.on, days) for w in (Adverse.REQUALIFIED, Adverse.REJECTED))
        and _lets_all_go(card, later, kinds)
    )


def rejection_answered(bench: SigningRules, card: Cylinder, rejected: Rejected) -> bool:
    """Whether a later pressure test names a rejection and passes; or, where no failed test lies
    behind it, a test house's look, or an inspection as full as the one that rejected."""
    test_alone = rejection_takes_a_test(bench, card, rejected)
    looks = [i for i in standing(card.inspected) if i.on.meets(rejected.on)]
    bad = [i for i in looks if verdict(i) is not InspectionResult.PASS]
    weight = max((bench.weight(i.checklist) for i in bad), default=FULL) or FULL
    words = (Adverse.REJECTED, Adverse.REQUALIFIED, Adverse.INSPECTED)
    days = [r.on for r in standing(card.rejected)]
    tests = any(
        (t.method in PRESSURE_TESTS or (t.method is Method.VISUAL and not test_alone))
        and not is_of_the_outside(t)
        and _passed_since(bench, card, t, [DaySpan.of(rejected.on)])
        and any(names(t, word, rejected.on, days) for word in words)
        and _lets_all_go(card, t, kinds_said(bench, rejected.why))
        for t in standing(card.requalified)
    )
    return tests or (
        not test_alone
        and any(
            _passes(bench, i, weight)
            and i.on.first >= rejected.on.first
            and any(names(i, word, rejected.on, days) for word in words)
            for i in standing(card.inspected)
        )
    )


def rejection_takes_a_test(bench: SigningRules, card: Cylinder, rejected: Rejected) -> bool:
    """Whether no look answers a rejection: a failed test lies behind it, or it speaks of one, or of
    what is never accepted."""
    failed = any(
        t.result is TestResult.FAIL and t.on.meets(rejected.on) for t in standing(card.requalified)
    )
    said = bool(kinds_said(bench, rejected.why)) or _speaks_of_failed_test(rejected.why)
    return failed or said


def rejection_takes_a_finding(bench: SigningRules, rejected: Rejected) -> bool:
    """Whether a rejection speaks of what only a requalifier's written finding answers."""
    return bool(kinds_said(bench, rejected.why))


def rejection_wants(bench: SigningRules, card: Cylinder, rejected: Rejected) -> str:
    """What answers a rejection, for people."""
    says = f"that passes and says `clears: [rejected {rejected.on}]`"
    if not rejection_takes_a_test(bench, card, rejected):
        return f"a pressure test, a test house's visual, or an inspection as full {says}"
    wanted = finding_wanted(card, kinds_said(bench, rejected.why))
    return f"a requalifier decides: a pressure test {says}{wanted}"


def finding_wanted(card: Cylinder, kinds: Iterable[Seen]) -> str:
    """What a requalifier's finding has to say of what is never accepted, after what the test says;
    empty where it speaks of nothing such."""
    every = list(dict.fromkeys(_OF_KIND[kind] for kind in kinds))
    if not every:
        return ""
    if len(every) > 1:  # a good word is said of what is named beside it alone
        words = f"of each, as `{', '.join(_NONE[of] for of in every)}`"
    elif every == [Suspicion.CRACK]:
        words = "such as `no crack` or `a tool mark`"
    elif every == [Suspicion.HEAT] and card.material is not Material.STEEL:
        words = "as `no heat damage`"
    else:
        words = "that it passed"
    return f", and `finding:` in plain words alone {words}; the rest goes in `note:`"


_NONE = {
    Suspicion.CRACK: "no crack",
    Suspicion.HEAT: "no heat damage",
    Suspicion.BULGE: "no bulge",
}


def _speaks_of_failed_test(text: str) -> bool:
    """Whether a text says that a test was failed, or gives what only a test can measure."""
    if first_of(text, _MEASURED):
        return True
    of_test = _SIGNS.search(text) or any(as_written(word).search(text) for word in _TESTS)
    return bool(of_test) and bool(not_passed(text) or first_of(text, _RAN_OUT))


def _is_inside(bench: SigningRules, text: str | None) -> bool:
    return any(speaks_of(text or "", word) for row in bench.inside for word in row.words)


def open_damage(
    bench: SigningRules, card: Cylinder, rentals: Iterable[Rented]
) -> Iterator[tuple[Rented, PartialDate]]:
    """Damage noted at a return that no inspection names and passes: of the outside, or of the
    inside where that is what it speaks of; of what may give way, a look inside or a pressure test.
    A crack, fire or a bulge is among `open_findings`."""
    for rental in rentals:
        if rental.void is None and rental.back and not unharmed(rental.damage or ""):
            on = PartialDate.of(rental.back)
            weight = INSIDE if _is_inside(bench, rental.damage) else OUTSIDE
            test_said = _speaks_of_failed_test(rental.damage or "")
            if test_said or kinds_said(bench, rental.damage):
                continue
            if says_giving_way(rental.damage or ""):
                if not _proved_since(bench, card, Adverse.DAMAGE, on, named=True):
                    yield rental, on
            elif not any(
                _passes(bench, i, weight)
                and i.on.first >= rental.back
                and names(i, Adverse.DAMAGE, on)
                for i in standing(card.inspected)
            ):
                yield rental, on
