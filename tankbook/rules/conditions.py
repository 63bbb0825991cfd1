"""The conditions at the fill station: what is the case with a cylinder, before any rule is read.

Each condition names the question (an obligation) and the state in which it is asked; what follows
from it is for the rule rows to say.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from itertools import islice

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.counter import RefusedStranger
from tankbook.records.cylinder import Cylinder, stays_with_owner
from tankbook.records.entries import Cleaned, Entry, Held, Inspected, Refused, Rented, standing
from tankbook.records.kinds import Adverse, holds_gas, is_empty
from tankbook.records.life import still_open
from tankbook.records.log import LogLine, each_named
from tankbook.records.marked import WordSays
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.station import Bank
from tankbook.records.valve import ValveWork, lubricants_since
from tankbook.records.words import (
    Grade,
    LogAct,
    Material,
    Method,
    PartChecked,
    Seen,
    Service,
    Skill,
    Status,
    ValvePosition,
)
from tankbook.rules.air import names_parts_alone, parts_named, taken_here, told_by
from tankbook.rules.cleanliness import (
    OXYGEN_SAFE,
    is_for_oxygen,
    is_oxygen,
    is_plain_air,
    may_have_soiled,
    of_inside,
    speaks_of_oil,
    speaks_of_unclean,
)
from tankbook.rules.clearing import (
    SAID_OF,
    day_wanted,
    finding_wanted,
    open_damage,
    open_findings,
    rejection_answered,
    rejection_wants,
)
from tankbook.rules.counter import (
    WHAT_TO_DO,
    found_answered,
    kinds_of,
    leaks_still,
    names_what_never,
    passed_that_day,
    refusal_name,
    refused_before,
    said_of_refused,
    said_of_stolen,
    stolen_as,
    unread_in,
    worked_that_day,
)
from tankbook.rules.fill_history import (
    begun_empty,
    contents_of,
    lines_about,
    lines_into,
    read_empty,
    rentals_of,
    sets_with,
    standings,
    why_kept,
)
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.inforce import CylinderFacts, normal, rules_of
from tankbook.rules.mixed import gives_pure_oxygen
from tankbook.rules.remark_words import IN_DOUBT, LOOKED_AT, Misgiving, marks_unread
from tankbook.rules.remarks import remarks_open, wanted
from tankbook.rules.services import (
    AS_OXYGEN,
    PURE_OXYGEN,
    RICH,
    analysis_tolerance,
    has_no_air,
    serves,
    service_for,
)
from tankbook.rules.signing import are_kept, bench_of, is_outside, looks, names_nobody, why_not
from tankbook.rules.source_grade import grade_on
from tankbook.rules.stamped import countries_named, marks_of, plain_letters, said_by, words_that
from tankbook.rules.status import (
    ENTRY_LISTS,
    KEEPING,
    came_home,
    is_inside,
    looked_inside_since,
    looks_elsewhere,
    stands_for_a_look,
    status_of,
)
from tankbook.rules.tested import DaySpan, possible_days
from tankbook.rules.threads import is_inch, is_unnamed, stated, threads_match
from tankbook.rules.wording import in_doubt, not_passed, spoken_of, unread_words
from tankbook.units import PartialDate, time_of_day


class Condition(Struct, frozen=True):
    """What is the case, the question it raises, and its state."""

    question: Obligation
    state: str
    code: str
    text: str
    mend: str = ""


def of_cylinder(book: Book, facts: CylinderFacts, gas: Gas, today: dt.date) -> Iterator[Condition]:
    """Every condition of a cylinder that a rule must speak to before it is filled."""
    cylinder = facts.cylinder
    yield from _standing(book, cylinder)
    yield from _kept_besides(book, cylinder)
    yield from _at_the_counter(book, cylinder)
    yield from _found(book, cylinder)
    yield from _noted(book, cylinder)
    yield from _unread(cylinder)
    yield from _permit(facts, today)
    yield from _alloy(facts)
    yield from _threads(book, facts)
    yield from _back_from_test(cylinder)
    yield from _returned(book, cylinder)
    yield from _damage(book, cylinder)
    yield from _service(book, cylinder, gas)
    yield from islice(_unclean(book, cylinder, gas, today), 1)


def _standing(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    status = status_of(book, cylinder)
    if status is Status.IN_SERVICE:
        for rental in still_open(rentals_of(book, cylinder.id)):
            text = f"it is out in doubles, to {rental.to} since {rental.on}"
            yield Condition(Obligation.STANDING, Status.OUT, f"standing-{Status.OUT}", text)
        return
    why = why_kept(book, cylinder, status)
    text = f"it is {status.in_words}: {why}" if why else f"it is {status.in_words}"
    mend = _look_again(book, cylinder) if status is Status.AWAITING_INSPECTION else ""
    mend = _lift(book, cylinder) if status is Status.REJECTED else mend
    yield Condition(Obligation.STANDING, status, f"standing-{status}", text, mend)


def _at_the_counter(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    """What the counter's file says of its serial."""
    for entry in stolen_as(book, cylinder):
        text = said_of_stolen(entry, cylinder)
        yield Condition(Obligation.STANDING, "stolen", "recorded-stolen", text, WHAT_TO_DO)
    for refused in refused_before(book, cylinder):
        text, mend = said_of_refused(refused), "see that what was wrong then was put right"
        state = "refused-before"
        found, leaks = _causes(book, refused, cylinder)
        if found:
            state = "refused-found"
            mend = f"{_passes_later(book, refused, cylinder)}; {_of_other(refused)}"
            if word := unread_in(book, refused, cylinder):
                what = f"{cylinder.id if isinstance(refused, Refused) else 'counter'} refused"
                say = f"`tankbook correct {what} {refused.on} --set reasons=TEXT --why WHY`"
                how = "in letters that are not read" if unread_words(word) else "not understood"
                unread = f"`{word[:60]}` is {how} here"
                mend = f"{unread}: say what it means: {say}; {mend}"
            yield Condition(Obligation.STANDING, state, state, text, mend)
        if leaks:
            state = "refused-leak"
            mend = f"{_seen_to_later(book, refused, cylinder)}; {_of_other(refused)}"
        if leaks or not found:
            yield Condition(Obligation.STANDING, state, state, text, mend)


def _causes(
    book: Book, refused: RefusedStranger | Refused, cylinder: Cylinder
) -> tuple[bool, bool]:
    """Whether a refusal names what none is accepted of, and a leak that may be the valve's, that
    nothing answers: each has an answer of its own."""
    names = names_what_never(book, refused, cylinder)
    found = names and not found_answered(book, refused, cylinder)
    return found, leaks_still(book, refused, cylinder)


def _passes_later(book: Book, refused: RefusedStranger | Refused, cylinder: Cylinder) -> str:
    """What answers a refusal for what none is accepted; where a look of its day may have, how to
    say so."""
    if kinds := kinds_of(book, refused, cylinder):
        name = refusal_name(kinds)
        return (
            f"a requalifier decides: a pressure test says `clears: [{name} {refused.on}]`"
            f"{finding_wanted(cylinder, kinds)}{day_wanted(cylinder, [name], refused.on)}"
        )
    look = passed_that_day(book, refused, cylinder)
    if look is None:
        return (
            "a look inside that passes it later, of that day by the hours of both (`--at`), or a "
            "test of a later day answers that"
        )
    said = _hours_of(refused, cylinder, look)
    return f"it passed a look inside that day: if that came later, say the hours: {said}"


def _seen_to_later(book: Book, refused: RefusedStranger | Refused, cylinder: Cylinder) -> str:
    """What answers a refusal for a leak of the valve; where work of its day may have, how to say
    so."""
    work = worked_that_day(refused, cylinder)
    if work is None:
        did = f"once its valve was seen to: `tankbook valve {cylinder.id} --did serviced`, or"
        did += " changed, that day with the hour (`--at`)"
        if names_what_never(book, refused, cylinder):
            return f"{did}; what passes its shell says nothing of its valve"
        return (
            f"{did}; a look inside or a test that passes it on a later day will do, or a look from"
            " outside that says `valve tried under pressure, tight` (--note)"
        )
    said = _hours_of(refused, cylinder, work)
    return f"its valve was {work.did} that day: if that came later, say the hours: {said}"


def _hours_of(
    refused: RefusedStranger | Refused, cylinder: Cylinder, answer: Inspected | ValveWork
) -> str:
    """How to say the hours of a refusal and of what may answer it, where they lack."""
    what = f"{cylinder.id} refused" if isinstance(refused, Refused) else "counter refused"
    lacking = [f"{what} {refused.on}"] if refused.at is None else []
    name = "inspected" if isinstance(answer, Inspected) else "valve_work"
    lacking += [f"{cylinder.id} {name} {answer.on}"] if answer.at is None else []
    return " and ".join(f"`tankbook correct {each} --set at=HH:MM --why WHY`" for each in lacking)


def _of_other(refused: RefusedStranger | Refused) -> str:
    """What to do about a refusal of another cylinder: what is true of another stays on record."""
    if isinstance(refused, Refused):
        return f"a refusal of another is struck out, {_OTHER_WORDS}"
    told = f"`tankbook correct counter refused {refused.on} --set maker=NAME`"
    return f"of another one of its serial, say the makers of both: {told}"


def _lift(book: Book, cylinder: Cylinder) -> str:
    """What lifts the oldest rejection that stands; empty where it is only a status."""
    bench = bench_of(book)
    for entry in still_open(cylinder.rejected):
        lift = f"`tankbook release {cylinder.id} --why WHY`"
        if rejection_answered(bench, cylinder, entry):
            return f"its rejection of {entry.on} is answered: {lift} lifts it"
        wanted = rejection_wants(bench, cylinder, entry)
        return f"{wanted}{day_wanted(cylinder, [Adverse.REJECTED], entry.on)}; then {lift}"
    return ""


def _look_again(book: Book, cylinder: Cylinder) -> str:
    """What to do before it goes into use; and where a look of the day it came home may have been
    before that."""
    for day, sure in came_home(cylinder):
        since = looked_inside_since(book, cylinder, day, sure=sure)
        if not since and _looked_that_day(book, cylinder, day):
            return _says_so(day)
    id_ = cylinder.id
    elsewhere = f"`tankbook done-elsewhere {id_}`"
    return f"inspect it by a full checklist: `tankbook inspect {id_}`; by another shop: {elsewhere}"


def _kept_besides(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    """What else keeps it back beside the gravest: who mends that alone is refused again; and where
    it is besides."""
    status, found = status_of(book, cylinder), standings(book, cylinder)
    for state in () if status is Status.CONDEMNED else KEEPING:  # nothing is left to mend
        if state in found and state is not status:
            why = why_kept(book, cylinder, state)
            text = f"it is {state.in_words} as well{f': {why}' if why else ''}"
            mend = _lift(book, cylinder) if state is Status.REJECTED else ""
            yield Condition(Obligation.STANDING, state, f"standing-{state}", text, mend)
    for away in found:
        if away.away and away is not status and status is not Status.IN_SERVICE:
            rentals = still_open(rentals_of(book, cylinder.id)) if away is Status.OUT else ()
            to = f", to {rentals[-1].to} since {rentals[-1].on}" if rentals else ""
            text = f"it is {away.in_words} as well{to}, and not back"
            yield Condition(Obligation.STANDING, away, f"standing-{away}", text)


_FINDINGS = {
    "cracked": (Obligation.NECK_CRACK, "neck-crack", ""),
    "suspected": (
        Obligation.NECK_CRACK,
        "suspected-crack",
        "a requalifier decides: the test says `clears: [{what} {on}]` and `finding:` in plain "
        "words alone, such as `no crack` or `a tool mark`; the rest goes in `note:`",
    ),
    "over-heated": (Obligation.DAMAGE, "over-heated", ""),
    "over-heated-steel": (
        Obligation.DAMAGE,
        "over-heated-steel",
        "a requalifier decides: a pressure test says `clears: [heat {on}]` and `finding:` in plain "
        "words alone that it passed; the rest goes in `note:`",
    ),
    "heat-said": (
        Obligation.DAMAGE,
        "over-heated",
        "a requalifier decides: a pressure test says `clears: [{what} {on}]` and `finding:` in "
        "plain words alone that it passed, of aluminium and composite `no heat damage` as well; "
        "the rest goes in `note:`",
    ),
    "bulge-said": (
        Obligation.DAMAGE,
        "bulged",
        "a requalifier decides: a pressure test says `clears: [{what} {on}]` and `finding:` in "
        "plain words alone that it passed; the rest goes in `note:`",
    ),
    "test-said": (
        Obligation.DAMAGE,
        "test-spoken-of",
        "a pressure test that passes says `clears: [{what} {on}]`",
    ),
    "giving-way-said": (
        Obligation.DAMAGE,
        "giving-way-spoken-of",
        "a look inside or a pressure test that passes it on a later day answers that; one of that "
        "day says `clears: [{what} {on}]`",
    ),
    "unread-said": (
        Obligation.DAMAGE,
        "let-go-not-read",
        "say what it means in words that are read here (`tankbook correct CARD held {on} --set "
        "why=TEXT --why WHY`), and what was found as it was let go (`--set released_why=TEXT`); a "
        "look inside or a pressure test that passes it on a later day answers it too, one of that "
        "day says `clears: [{what} {on}]`",
    ),
}
"""Of each state the question, the code and what answers it."""


_ROW_OF = {"heat-said": "over-heated-steel"}
_ROW_OF |= dict.fromkeys(("bulge-said", "test-said", "giving-way-said", "unread-said"), "noted")
"""What is only said is judged by the row for what a requalifier may answer."""


_OTHER_WORDS = "words that mean something else are set right: `tankbook correct`"
"""What lets go what only the words of an entry tell of, where they never told of it."""


def _found(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    """Cracks, suspected cracks and heat that nothing has answered."""
    told = set()
    rentals = rentals_of(book, cylinder.id)
    for against, state in open_findings(bench_of(book), cylinder, rentals):
        if state not in told:
            told.add(state)
            question, code, mend = _FINDINGS[state]
            on = against.on
            row = _ROW_OF.get(state, state)
            text, mend = (t.format(on=on, what=against.what) for t in (SAID_OF[state], mend))
            mend = mend.replace("correct CARD", f"correct {cylinder.id}")
            mend += day_wanted(cylinder, against.names, on) if mend else ""
            if isinstance(against.entry, Held | Rented):  # its words are all that tells of it
                mend += f"; {_OTHER_WORDS}"
            yield Condition(question, row, code, text, mend)


def _noted(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    """What is noted anywhere that puts its gas or its shell in doubt, and that nothing answers:
    each by itself, so that who strikes out one lets no other go."""
    for each in remarks_open(book, cylinder):
        of_shell = each.doubt not in {Misgiving.SOILED, Misgiving.GAS}
        state = "noted-shell" if of_shell else "noted-gas"
        text = f"{each.where} says `{each.text[:60]}`, {LOOKED_AT if of_shell else IN_DOUBT}"
        mend = f"{wanted(each.doubt)}; {_OTHER_WORDS}"
        if each.on is None:  # nobody knows what came after it
            id_ = each.where.removeprefix("the note of ")
            id_ = cylinder.id if id_ == "its card" else id_
            how = f"`tankbook correct {id_} note --set note='YYYY-MM-DD: TEXT' --why WHY`"
            mend = (
                f"write its day before it ({how}), and then: {wanted(each.doubt)}; {_OTHER_WORDS}"
            )
        yield Condition(Obligation.STANDING, state, state, text, mend)


def _unread(cylinder: Cylinder) -> Iterator[Condition]:
    """Marks that cannot be read, where the card says so in their place: as a note that does."""
    if marks_unread(cylinder.marks or ""):
        text = f"its marks say `{(cylinder.marks or '')[:60]}`, {LOOKED_AT}"
        mend = "have them read, and write what is stamped into `marks:`; what nobody can read, a "
        mend += "requalifier decides on"
        yield Condition(Obligation.STANDING, "noted-shell", "noted-shell", text, mend)


def _permit(facts: CylinderFacts, today: dt.date) -> Iterator[Condition]:
    if not facts.permit:
        return
    permit = facts.cylinder.permit
    missing = {
        "missing-period": permit.period if permit else None,
        "missing-test-pressure": permit.test_pressure if permit else None,
        "missing-life-end": permit.life_ends if permit else None,
    }
    for state, value in missing.items():
        if value is None:
            what = state.removeprefix("missing-").replace("-", " ")
            text = f"its permit's {what} is not recorded"
            mend = "copy it from the special permit or design approval into `permit:`"
            yield Condition(Obligation.PERMIT, state, f"permit-{state}", text, mend)

    ends = permit.life_ends if permit else None
    if isinstance(ends, PartialDate) and ends.last < today:
        text = f"its service life ended {ends.last:%b %Y}: it is never filled again"
        yield Condition(Obligation.PERMIT, "past-life-end", "permit-past-life-end", text)


def _alloy(facts: CylinderFacts) -> Iterator[Condition]:
    if facts.material is None and not facts.permit:
        text = "its material is not recorded"
        yield Condition(Obligation.ALLOY, "unknown", "material-unknown", text)
    if facts.material is Material.ALUMINIUM and facts.alloy is None:
        yield _alloy_unknown(facts)


def _alloy_unknown(facts: CylinderFacts) -> Condition:
    """No alloy: where the card lacks what the watch rows ask for, that is what to record."""
    cylinder = facts.cylinder
    missing = [] if cylinder.maker else ["maker"]
    missing += [] if facts.made else ["date of making"]
    text = "its alloy is not recorded, and no watch row in force speaks of its maker and date"
    mend = "record `alloy:` from the maker's papers, or have it identified"
    if missing and cylinder.alloy is None:
        text = f"its alloy is not recorded, nor its {' and its '.join(missing)}, which may tell it"
        what = " and ".join(f"its {each}" for each in missing)
        mend = f"read {what} off the shoulder and record that; else have the alloy identified"
    return Condition(Obligation.ALLOY, "unknown", "alloy-unknown", text, mend)


def _threads(book: Book, facts: CylinderFacts) -> Iterator[Condition]:
    cylinder = facts.cylinder
    typed = {
        "neck": cylinder.neck_thread,
        "valve": cylinder.valve.thread if cylinder.valve else None,
    }
    neck, valve = map(stated, typed.values())
    crown = next(filter(stated, marks_of(cylinder).threads), None)
    both = neck or crown, valve
    if None not in both and not threads_match(both[0] or "", both[1] or ""):
        text = f"neck thread {both[0]} and valve thread {valve} differ"
        yield Condition(Obligation.THREAD_MATCH, "differ", "thread-differ", text)
    elif any(map(is_unnamed, typed.values())):
        which = [f"{n} thread `{t}`" for n, t in typed.items() if is_unnamed(t)]
        yield Condition(Obligation.THREAD_MATCH, "unknown", "thread-unnamed", *unnamed(which))
    elif neck is None or valve is None:
        # who fitted another valve had it in hand, and can say what is marked on it
        fitted = any(work.is_other for work in standing(cylinder.valve_work))
        walk_in = stays_with_owner(cylinder) and not (fitted and valve is None)
        if walk_in and None not in both:  # its crown and its valve settle it
            return
        which = [n for n, v in (("neck", neck), ("valve", valve)) if v is None]
        walk_in = walk_in and not _may_be_metric(book, facts, both[0], valve)
        state = "unread" if walk_in else "unknown"
        text = f"its {' and '.join(which)} thread is not recorded"
        mend = "read the marks on the crown and on the valve body; at the next look, the threads"
        yield Condition(Obligation.THREAD_MATCH, state, f"thread-{state}", text, mend)


def unnamed(which: Sequence[str]) -> tuple[str, str]:
    """What is said of threads that are written down and name none, and how to mend it."""
    name = "name no thread" if len(which) > 1 else "names no thread"
    mend = "write its size with its kind, as `3/4-14 NPSM` or `M25x2`, or its code"
    return f"its {' and '.join(which)} {name}", mend


_HOME = frozenset({"DOT", "ICC", "TC", "CTC"})
"""Families of marks whose cylinders have inch threads as a rule (common practice, no source)."""

_HOME_COUNTRIES = frozenset({"us", "usa", "united states", "ca", "canada"})


def _may_be_metric(book: Book, facts: CylinderFacts, neck: str | None, valve: str | None) -> bool:
    """Whether a metric valve may sit in an inch neck, or the other way, where one is not read.

    A valve that shows a code was chosen for a neck, but a metric one for none of an inch cylinder;
    one that shows none, on a cylinder from abroad or with a metric mark, was not told apart by
    anybody.
    """
    families = {family(s) for s in facts.specifications}
    made_in = (facts.cylinder.made_in or "").casefold()
    abroad = not families & _HOME or bool(families - _HOME - {""})
    abroad = abroad or (bool(made_in) and made_in not in _HOME_COUNTRIES)
    abroad = abroad or _stamped_abroad(book, facts.cylinder)
    if valve is not None:
        return not abroad and not is_inch(valve)
    return abroad or (neck is not None and not is_inch(neck))


def _stamped_abroad(book: Book, cylinder: Cylinder) -> bool:
    """Whether its shoulder names a country where cylinders have metric threads."""
    marks, words = marks_of(cylinder), book.mark_words
    countries = [row.words for row in words if row.says is WordSays.COUNTRY]
    every = {plain_letters(word) for each in countries for word in each}
    named = countries_named(cylinder, marks, words_that(words, WordSays.NOTHING), every)
    home = [c for c in countries if _HOME_COUNTRIES & {word.casefold() for word in c}]
    made_in = re.findall(r"\bMADE IN ([^\W\d_]{3,})", marks.line, re.IGNORECASE)
    known = {plain_letters(w) for c in home for word in c for w in word.split()}
    return any(said_by(named, each) for each in countries if each not in home) or any(
        plain_letters(word) not in known for word in made_in
    )


def _back_from_test(cylinder: Cylinder) -> Iterator[Condition]:
    for entry in standing(cylinder.sent):
        if entry.is_bare:
            text = f"back from {entry.for_} on {entry.back}, not yet dried and refitted"
            yield Condition(Obligation.REFIT, "not-refitted", "not-refitted", text)


def _returned(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    for on, state, sure, how in _came_back(book, cylinder):
        if not looked_inside_since(book, cylinder, on, sure=sure):
            text = f"it {how} on {on} and has not been looked inside since"
            mend = _says_so(on)
            if not _looked_that_day(book, cylinder, on):
                id_ = cylinder.id
                there = f"by another shop: `tankbook done-elsewhere {id_}`"
                mend = f"look inside: `tankbook inspect {id_}`; {there}"
            yield Condition(Obligation.RETURNED, state, f"returned-{state}", text, mend)
            return


def _says_so(day: dt.date) -> str:
    return f"look inside; a look of that day that came after it says `clears: [returned {day}]`"


def _looked_that_day(book: Book, cylinder: Cylinder, day: dt.date) -> bool:
    inside = (i for i in looks(book, cylinder) if is_inside(book, i.checklist))
    return any(i.on.meets(PartialDate.of(day)) for i in inside)


def _came_back(book: Book, cylinder: Cylinder) -> list[tuple[dt.date, str, bool, str]]:
    """When it came back, or was found, in a way that asks for a look inside, whether a look of that
    day surely came after it, and how, as a clause. What is read empty on the day it came back came
    back so."""
    found: list[tuple[dt.date, str, bool, str]] = []
    home = {each.back for each in standing(cylinder.sent) if each.back is not None}
    for rental in rentals_of(book, cylinder.id):
        if rental.void is not None or rental.back is None:
            continue
        away = rental.on.last < rental.back
        home.add(rental.back)
        if rental.valve is ValvePosition.OPEN:
            found.append((rental.back, "valve-open", away, "came back with its valve open"))
        elif is_empty(rental.pressure):
            found.append((rental.back, "empty", away, _EMPTY_BACK))
    for day, sure in read_empty(book, cylinder.id):
        found.append((day, "empty", sure, _EMPTY_BACK if day in home else "was read empty"))
    found += [(day, "empty", True, "was found empty") for day in begun_empty(book, cylinder)]
    for on in _wet(book, cylinder):
        how = "was tested with water" + ("" if on.day else f" in {on}, counted")
        found.append((on.first, "empty", True, how))
    return sorted(found)


_EMPTY_BACK = "came back empty"

_WITH_WATER = frozenset({Method.HYDROSTATIC, Method.PROOF})


def _wet(book: Book, cylinder: Cylinder) -> Iterator[PartialDate]:
    """The days or months in which a cylinder that was kept here was tested with water, after which
    nobody looked inside or filled it. What was sent away for it asks for that as it comes back;
    nobody knows who looked inside a customer's own, or before it was kept here."""
    if stays_with_owner(cylinder):
        return
    lines = lines_about(book, cylinder.id)
    inside = [i.on for i in looks(book, cylinder) if is_inside(book, i.checklist)]
    inside += [each.on for each in looks_elsewhere(book, cylinder)]
    for test in standing(cylinder.requalified):
        on = test.tested or test.on
        looked = PartChecked.INSIDE in test.checked or stands_for_a_look(book, test)
        if (
            test.method not in _WITH_WATER
            or looked
            or any(each.last >= on.first for each in inside)
        ):
            continue
        kept = any(line.at.date() < on.first for line in lines)
        filled = any(n.act is LogAct.FILL and n.at.date() > on.first for n in lines)
        away = (s for s in standing(cylinder.sent) if s.on.first <= on.last)
        if kept and not filled and not any(s.back is None or s.back >= on.first for s in away):
            yield on


def in_doubt_on(book: Book, cylinder: Cylinder, day: dt.date) -> bool:
    """Whether it came back on a day so that a look of that day must say that it came after it."""
    back = [(on, sure) for on, _, sure, _ in _came_back(book, cylinder)]
    return any(on == day and not sure for on, sure in [*back, *came_home(cylinder)])


def _damage(book: Book, cylinder: Cylinder) -> Iterator[Condition]:
    rentals = rentals_of(book, cylinder.id)
    for rental, on in open_damage(bench_of(book), cylinder, rentals):
        text = f"damage noted at return on {on}: {rental.damage}"
        what = "an inspection that passes it says its day"
        if says_giving_way(rental.damage or ""):
            what = "a look inside, or a pressure test, that passes it says its day"
        mend = f"{what} and `clears: [damage {on}]`"
        yield Condition(Obligation.DAMAGE, "noted", "damage-noted", text, mend)
        return


def _service(book: Book, cylinder: Cylinder, gas: Gas) -> Iterator[Condition]:
    wanted = service_for(gas)
    if gas.oxygen_percent == 0:
        text = f"{gas} holds no oxygen: nobody can breathe it"
        mend = "a blend is logged as one fill of what was analysed"
        yield Condition(Obligation.GAS_SERVICE, "not-for-gas", "gas-not-for-service", text, mend)
    if wanted is not Service.AIR:
        if cylinder.service is None:
            text = f"what it is cleaned and labelled for is not recorded, and {gas} is wanted"
            yield Condition(Obligation.GAS_SERVICE, "unknown", "gas-service-unknown", text)
        elif not serves(cylinder.service, wanted):
            text = f"it is labelled for {cylinder.service}, and {gas} is wanted"
            blends = cylinder.service is Service.NITROX  # which serves all but oxygen
            mend = "a blend is logged as one fill of what was analysed" if blends else ""
            yield Condition(
                Obligation.GAS_SERVICE, "not-for-gas", "gas-not-for-service", text, mend
            )
    held = contents_of(book, cylinder.id)
    if held.gas is not None and held.gas != gas:
        text = f"it holds {held.gas}, and {gas} is wanted: topping up gives neither"
        mend = "drain it; or blend it, analyse, and log the fill with `--o2` and `--analysed-by`"
        yield Condition(Obligation.GAS_SERVICE, "contents-differ", "contents-differ", text, mend)


def _unclean(
    book: Book, cylinder: Cylinder, gas: Gas, today: dt.date, called: str = ""
) -> Iterator[Condition]:
    """What speaks against its being clean enough for a gas, or for what that is `called`; the first
    of it is told."""
    cleaned = cylinder.cleanings
    if gas.oxygen_percent <= rules_of(book).clean_above.percent:
        if gas.is_air and is_kept_clean(cylinder):
            yield from _filled_with_air(book, cylinder, today)
        return
    wanted, every = service_for(gas), cleaned
    cleaned = tuple(c for c in every if serves(c.to, wanted))
    yield from _not_signed(book, cleaned)
    if not cleaned:
        text = f"{called or gas} needs an oxygen-clean cylinder, and no cleaning is on record"
        yield Condition(Obligation.OXYGEN_CLEAN, "never", "oxygen-clean-never", text)
        return
    until = clean_until(cleaned)
    if until is not None and until.last < today:
        text = f"its cleaning of {cleaned[-1].on} for {cleaned[-1].to} held until {until}"
        mend = f"clean it again and record it: `tankbook clean {cylinder.id}`"
        yield Condition(Obligation.OXYGEN_CLEAN, "lapsed", "oxygen-clean-lapsed", text, mend)
    for again in _for_less_since(every, cleaned[-1], wanted):
        text = f"it was cleaned again on {again.on}, and for {again.to} alone"
        mend = f"clean it for {wanted} and record it; or strike that entry out if it is wrong"
        yield Condition(Obligation.OXYGEN_CLEAN, "lost", "oxygen-clean-lost", text, mend)
    fills = [n for n in lines_into(book, cylinder.id) if _is_since(n, cleaned[-1])]
    yield from _lost_since(book, cylinder, cleaned[-1], fills)
    yield from _unsure_since(book, cylinder, cleaned[-1], fills, wanted)


def _filled_with_air(book: Book, cylinder: Cylinder, today: dt.date) -> Iterator[Condition]:
    """What is told of a cylinder kept clean that air is to go into: that this ends it; or that it
    is not clean any more, as its tag says. One that is for air has nothing to lose by then."""
    found = _against_clean(book, cylinder, today)
    if found is not None and found.state != "unsure":
        if not _is_for_air(cylinder):
            text = f"it is labelled for {cylinder.service} and not clean: {found.text}"
            yield Condition(Obligation.OXYGEN_CLEAN, "ordinary-air", NOT_CLEAN, text, found.mend)
        return
    text = "an ordinary air fill ends its oxygen-clean state: use oxygen-grade air"
    if found is not None:
        text += f" (it is in doubt already: {found.text})"
    yield Condition(Obligation.OXYGEN_CLEAN, "ordinary-air", ENDS_CLEAN, text)


def _not_signed(book: Book, cleaned: Sequence[Cleaned]) -> Iterator[Condition]:
    """Why the newest of some cleanings counts for nothing: nobody certified signed it, or its note
    takes it back."""
    people = book.settings.people
    unsigned = [
        (c, why)
        for c in cleaned[-1:]
        if are_kept(people, Skill.O2_CLEANER)
        and not is_outside(people, c.by)
        and (why := why_not(people, c.by, Skill.O2_CLEANER, c.on))
    ]
    unsigned += [(c, f"{c.by} is nobody's name") for c in cleaned[-1:] if names_nobody(c.by)]
    unsigned += [
        (c, f"its note says {said}")
        for c in cleaned[-1:]
        if c.note and (said := not_passed(c.note) or in_doubt(c.note))
    ]
    for entry, why in unsigned:
        text = f"it was cleaned on {entry.on}, and {why}"
        mend = "let somebody certified clean it, and record that"
        yield Condition(Obligation.OXYGEN_CLEAN, "never", "oxygen-clean-never", text, mend)


def _lost_since(
    book: Book, cylinder: Cylinder, cleaned: Cleaned, fills: Sequence[LogLine]
) -> Iterator[Condition]:
    """What a cylinder met since it was cleaned that ends its clean state."""
    soiled = next(_soiled(book, cylinder, cleaned.on), "")
    if soiled:
        mend = (
            f"{_clean_again(cylinder, cleaned)}; of a test and a cleaning of one month, write the"
            " days; of a lubricant, what it is: `oxygen-compatible`; a note of long ago is reworded"
        )
        yield Condition(Obligation.OXYGEN_CLEAN, "lost", "oxygen-clean-lost", soiled, mend)
    spoilt = [n for n in fills if ordinary_air(book, n)]
    if spoilt:
        text = f"its oxygen-clean state was lost by an ordinary air fill on {spoilt[0].at.date()}"
        if why := why_ordinary(book, spoilt[0]):
            text += f": {why}"
        mend = _clean_again(cylinder, cleaned)
        day = spoilt[0].at.date()
        if cleaned.at is None and cleaned.on == PartialDate.of(day):
            line = f"tankbook clean {cylinder.id} --to {cleaned.to} --bled heard --on {day}"
            mend += f"; where it was cleaned after that fill, its hour says so: `{line} --at HH:MM`"
        yield Condition(Obligation.OXYGEN_CLEAN, "lost", "oxygen-clean-lost", text, mend)


def _clean_again(cylinder: Cylinder, cleaned: Cleaned) -> str:
    """How what is not clean any more is clean again, for what it was."""
    return f"clean it again and record it: `tankbook clean {cylinder.id} --to {cleaned.to}`"


def _unsure_since(
    book: Book, cylinder: Cylinder, cleaned: Cleaned, fills: Sequence[LogLine], wanted: Service
) -> Iterator[Condition]:
    """What leaves open whether a cylinder is clean still."""
    held = contents_of(book, cylinder.id)
    full = holds_gas(held.pressure)
    # what nobody knows may be ordinary air; a customer's own is filled by others every day
    if held.gas is None and held.fills and full and not stays_with_owner(cylinder):
        text = "what it holds nobody knows: it may have been made of ordinary air"
        mend = _clean_again(cylinder, cleaned)
        yield Condition(Obligation.OXYGEN_CLEAN, "unsure", "oxygen-clean-unsure", text, mend)
    for whose, said in _met_since(cylinder, cleaned, wanted):
        text = f"whether it is clean is not said: {whose} says `{said[:60]}`"
        mend = "look inside and clean it; or say in that note that it is oxygen-compatible"
        yield Condition(Obligation.OXYGEN_CLEAN, "unsure", "oxygen-clean-unsure", text, mend)
    unsure = [n for n in fills if _is_unsure(book, n)]
    if unsure:
        first, why = unsure[0], why_ordinary(book, unsure[0])
        text = f"its {first.gas} of {first.at.date()} may have been made of ordinary air"
        source = first.source_
        ours = source and book.station and names_parts_alone(book.station, source)
        mend = f"give {source} a `grade:` in station.yaml" if ours else "clean it again: record it"
        text += f" ({why})" if why else ""
        mend = f"record what shows how clean {source} is" if ours and why else mend
        yield Condition(Obligation.OXYGEN_CLEAN, "unsure", "oxygen-clean-unsure", text, mend)


ENDS_CLEAN = "ends-oxygen-clean"
NOT_CLEAN = "not-oxygen-clean"


def of_source(book: Book, cylinder: Cylinder, line: LogLine) -> Iterator[Condition]:
    """What a fill from the source that its line names would do to a cylinder that is kept clean:
    end that, where its air is ordinary, or perhaps, where nobody says how clean it is. Pure oxygen
    that is blended goes into nothing that is not clean, however little it is."""
    if not has_no_air(line.gas) and gives_pure_oxygen(book, line.source_ or ""):
        yield from _unclean(book, cylinder, Gas.of(RICH), line.at.date(), "pure oxygen")
    if not is_clean_still(book, cylinder, line.at.date()):
        return
    why, mixture = why_ordinary(book, line), line.gas is not None and not line.gas.is_air
    rich = _tops_rich_gas(book, cylinder, line)
    if rich and any(grade is not Grade.OXYGEN for grade in _grades(book, line) or [None]):
        why = why or f"{line.source_} is of no oxygen grade"
        text = f"{rich} is topped with ordinary air ({why})"
        mend = "top off with air or nitrox of oxygen grade"
        yield Condition(Obligation.OXYGEN_CLEAN, "lost", "oxygen-clean-lost", text, mend)
    elif ordinary_air(book, line) and (why or mixture):  # of plain air it is told in any case
        why = why or f"{line.source_} is of no oxygen grade"
        text = f"it is ordinary air ({why}): it ends its oxygen-clean state"
        mend = "fill it from another source that is of oxygen grade"
        yield Condition(Obligation.OXYGEN_CLEAN, "ordinary-air", ENDS_CLEAN, text, mend)
    elif _is_unsure(book, line):
        text = f"whether {line.source_} gives clean air is not recorded: it may be ordinary air"
        mend = "fill it from another source that is of oxygen grade"
        if line.source_ and book.station and names_parts_alone(book.station, line.source_):
            mend = f"give {line.source_} a `grade:` in station.yaml, or fill it from another source"
        yield Condition(Obligation.OXYGEN_CLEAN, "unsure", "oxygen-clean-unsure", text, mend)


def _tops_rich_gas(book: Book, cylinder: Cylinder, line: LogLine) -> str:
    """What gas rich in oxygen a fill tops off with leaner gas, as a blend does: pure oxygen of a
    bank that it names with another source, or what is in the cylinder on record, rich and richer
    than what it becomes. What is blended so burns what an ordinary compressor leaves in its air.
    Empty where it tops none."""
    if has_no_air(line.gas):
        return ""
    if len(taken_here(line.source_ or "")) > 1 and gives_pure_oxygen(book, line.source_ or ""):
        return "oxygen"
    held = contents_of(book, cylinder.id)
    becomes = line.gas.oxygen_percent if line.gas is not None else 0.0
    if held.gas is None or not holds_gas(held.pressure) or not line.source_:
        return ""
    within = held.gas.oxygen_percent - analysis_tolerance(rules_of(book))
    return str(held.gas) if held.gas.oxygen_percent > RICH and within > becomes else ""


def cleaned_for(book: Book, cylinder: Cylinder, today: dt.date) -> str:
    """What may be said of a cylinder on a label: the service on its card, where its cleanings bear
    it out; else that it is labelled for that and not clean. One that is for air, or of no service
    on record, is told to be clean for more as long as its cleaning stands. Empty where neither is
    recorded."""
    service = cylinder.service
    found = _against_clean(book, cylinder, today)
    doubt = ", in doubt" if found is not None and found.state == "unsure" else ""
    if _is_for_air(cylinder):
        if not is_clean_still(book, cylinder, today):
            return service.value if service else ""
        return f"{FOR_AIR}, though cleaned for {cylinder.cleanings[-1].to}{doubt}"
    if found is None or doubt:
        return f"{service}{doubt}"
    return f"NOT CLEAN, labelled {service}"


FOR_AIR = "AIR ONLY"
"""How a label begins of what is for air."""


def _is_for_air(cylinder: Cylinder) -> bool:
    """Whether its card names no service that asks for a clean cylinder."""
    return cylinder.service is None or cylinder.service is Service.AIR


def _against_clean(book: Book, cylinder: Cylinder, today: dt.date) -> Condition | None:
    """What speaks against its being clean for the service on its card; of one that is for air, for
    what it was cleaned for last, if that was for more."""
    wanted = cylinder.service
    if _is_for_air(cylinder):
        wanted = cylinder.cleanings[-1].to if is_kept_clean(cylinder) else None
    if wanted is None:
        return None
    gas = Gas.of(100 if wanted is Service.OXYGEN else AS_OXYGEN - 1)
    return next(_unclean(book, cylinder, gas, today), None)


def is_clean_still(book: Book, cylinder: Cylinder, today: dt.date) -> bool:
    """Whether a cylinder that is kept clean has a clean state to lose yet, if only a doubtful
    one."""
    found = _against_clean(book, cylinder, today)
    return is_kept_clean(cylinder) and (found is None or found.state == "unsure")


def is_kept_clean(cylinder: Cylinder) -> bool:
    """Whether a cylinder is clean for more than air by its newest cleaning, whatever came into it
    since."""
    newest = cylinder.cleanings[-1:]
    return bool(newest) and newest[0].to is not Service.AIR


def _for_less_since(
    every: Sequence[Cleaned], newest: Cleaned, wanted: Service
) -> Iterator[Cleaned]:
    """The cleanings that serve less than is wanted, and came after the newest that serves it, or
    may have: what a cylinder is clean for, the last one says. Of one day their hours tell, or else
    the order in which they were recorded."""
    for place, each in enumerate(every):
        if serves(each.to, wanted):
            continue
        later = each.on.last > newest.on.first
        if each.on == newest.on and each.on.day is not None:
            later = place > every.index(newest)
            if each.at is not None and newest.at is not None and each.at != newest.at:
                later = each.at > newest.at
        if later:
            yield each


def clean_until(cleaned: Sequence[Cleaned]) -> PartialDate | None:
    """Until when the newest of some cleanings that stand holds, where that is said; of several that
    may be the newest, the first of their ends. One for air alone keeps nothing clean."""
    if not cleaned or cleaned[-1].to is Service.AIR:
        return None
    said = (c.until for c in cleaned if c.on.meets(cleaned[-1].on))
    return min(filter(None, said), key=lambda until: until.last, default=None)


def _is_since(line: LogLine, cleaned: Cleaned) -> bool:
    """Whether a line is of a time since a cleaning, which may say its hour; else of that day on."""
    day, first = line.at.date(), cleaned.on.first
    if day == first and cleaned.on.day is not None and cleaned.at is not None:
        return time_of_day(line.at) >= cleaned.at
    return day >= first


def _met_since(cylinder: Cylinder, cleaned: Cleaned, wanted: Service) -> Iterator[tuple[str, str]]:
    """What holds that were let go and work on the valve since a cleaning say in words that may be
    of what is no longer clean; and work for which the valve was off, where nobody says that what
    went on again is clean for a service (common practice, no source)."""
    told: list[tuple[Entry, str, str | None]] = [
        *((h, "why", h.why) for h in standing(cylinder.held)),
        *((h, "note", h.note) for h in standing(cylinder.held)),
        *((s, "note", s.note) for s in cylinder.valve_services),
    ]
    for entry, name, said in told:
        if said and _came_after_or_may(entry.on, cleaned.on) and may_have_soiled(said):
            yield f"the `{name}` of its entry of {entry.on}", said
    for work in standing(cylinder.valve_work):
        after = _came_after_or_may(work.on, cleaned.on) or _is_later(work, cleaned)
        if work.is_off and after and not _is_clean(work, wanted):
            yield f"its valve work of {work.on}", work.did


def _is_later(work: ValveWork, cleaned: Cleaned) -> bool:
    """Whether work of the day of a cleaning came after it, as the times of both say."""
    timed = work.at is not None and cleaned.at is not None and work.at > cleaned.at
    return timed and work.on == cleaned.on


def _is_clean(work: ValveWork, wanted: Service) -> bool:
    """Whether somebody says that what went on at some work is clean for a service: the valve; of
    one that went on again, its lubricant; or all of it in words."""
    if work.clean_for is not None:
        return serves(work.clean_for, wanted)
    again = not work.is_other and work.lubricant is not None and is_for_oxygen(work.lubricant)
    return again or (work.note is not None and is_for_oxygen(work.note))


_WET = frozenset({Seen.SALT_WATER, Seen.MOISTURE, Seen.ODOUR})
_BY_WATER = frozenset({Method.HYDROSTATIC, Method.PROOF})
"""Tests that fill a cylinder with water (common practice, no source)."""


def _soiled(book: Book, cylinder: Cylinder, cleaned: PartialDate) -> Iterator[str]:
    """What a cylinder that was cleaned for oxygen met since: the water of a test, what was found
    inside, oil or grease (common practice, no source)."""
    lost = "its oxygen-clean state was lost"
    for test in standing(cylinder.requalified):
        days = possible_days(cylinder, test) or (DaySpan.of(test.on),)
        # a test of the month of a cleaning may have come after it, but where a journey says not
        if test.method in _BY_WATER and days[-1].last > cleaned.first:
            yield f"{lost} by the water of its test of {test.tested or test.on}"
    for lubricant in lubricants_since(cylinder.valve_, cylinder.valve_work, cleaned):
        if not is_for_oxygen(lubricant):
            yield f"its lubricant is {lubricant}, which is not said to be {OXYGEN_SAFE}"
    looks = [i for i in standing(cylinder.inspected) if i.on.last > cleaned.first]
    for look in looks:
        for found in look.findings:
            if found.what in _WET:
                yield f"{lost} by the {found.what.replace('-', ' ')} found on {look.on}"
    wet = [row for row in book.finding_rows if row.what in _WET]
    for whose, note in _told_since(book, cylinder, cleaned):
        if word := speaks_of_oil(note):
            yield f"{whose} speaks of {word}, and not that it is {OXYGEN_SAFE}"
        inner = of_inside(note)
        word = speaks_of_unclean(note) or next(filter(None, (spoken_of(inner, r) for r in wet)), "")
        if word:
            yield f"{lost}: {whose} speaks of {word}"


_TOLD = ("note", "why", "damage", "finding", "o_rings")
"""The keys in which somebody says what a cylinder met; why it was let go says what was done."""


def _told_since(book: Book, cylinder: Cylinder, cleaned: PartialDate) -> Iterator[tuple[str, str]]:
    """What was written of a cylinder since it was cleaned, each with where; of what is of one
    month with the cleaning, what came after it is not known, and counts."""
    services = cylinder.valve_.serviced if cylinder.valve_ else ()
    entries: list[Entry] = [*services, *rentals_of(book, cylinder.id)]
    for name in ENTRY_LISTS:
        entries += () if name in {"cleaned", "rented"} else getattr(cylinder, name)
    for entry in entries:
        day = (entry.back and PartialDate.of(entry.back)) if isinstance(entry, Rented) else None
        on = day or entry.on
        if entry.void is not None or not _came_after_or_may(on, cleaned):
            continue
        found = getattr(entry, "findings", ())
        said = [(key, getattr(entry, key, None)) for key in _TOLD]
        said += [("note", each.note) for each in found]
        yield from ((f"the `{key}` of its entry of {on}", text) for key, text in said if text)
    for line in lines_into(book, cylinder.id):
        if line.note and _came_after_or_may(PartialDate.of(line.at.date()), cleaned):
            yield f"the note of a {line.act} of {line.at.date()}", line.note
    if cylinder.note:
        yield "its card", cylinder.note
    for name in sets_with(book).get(cylinder.id, ()):
        if book.sets[name].note:
            yield f"the `note` of {name}", book.sets[name].note or ""


def _came_after_or_may(on: PartialDate, cleaned: PartialDate) -> bool:
    """Whether something came after a cleaning, or may have: of two days the later, of two months
    that are one, either; on the day of the cleaning itself, before it."""
    return on.last > cleaned.first


def ordinary_air(book: Book, line: LogLine) -> bool:
    """Whether a fill used air that is known not to be of oxygen grade, or is plain air.

    Pure oxygen holds no air. A mixture says by its sources: one of breathing grade makes it
    ordinary. Plain air is ordinary unless every source is marked `grade: oxygen`.
    """
    if line.act is not LogAct.FILL or (line.gas and line.gas.oxygen_percent >= PURE_OXYGEN):
        return False
    grades = _grades(book, line)
    if line.gas is not None and not line.gas.is_air:
        return Grade.BREATHING in grades
    return not grades or any(g is not Grade.OXYGEN for g in grades)


def why_ordinary(book: Book, line: LogLine) -> str:
    """Why the air of a fill is not what the station says of its sources: `M1: filter F2 was past
    its life`; empty where it is."""
    if book.station is None:
        return ""
    for name in taken_here(line.source_ or ""):
        for part in sorted(told_by(book.station, name)):
            if why := grade_on(book, part, line.at.date(), time_of_day(line.at)).why:
                return f"{part.upper()}: {why}"
    return ""


def _is_unsure(book: Book, line: LogLine) -> bool:
    """A mixture of which no source says how clean its air was."""
    mixture = line.act is LogAct.FILL and line.gas is not None and not line.gas.is_air
    pure = line.gas is not None and line.gas.oxygen_percent >= PURE_OXYGEN
    return mixture and not pure and any(g is None for g in _grades(book, line) or [None])


def _grades(book: Book, line: LogLine) -> list[Grade | None]:
    """The grade of each source that a fill names; None where it is not recorded."""
    station = book.station
    if station is None:
        return []
    air = line.gas is None or line.gas.is_air
    # what a bank of another gas gave is no air, however clean it is
    other = {b.name.casefold() for b in station.banks if air and _is_other(b)}
    names = each_named(line.source_)
    parts = [n for name in names for n in told_by(station, name)]
    found = [
        None if n in other else grade_on(book, n, line.at.date(), time_of_day(line.at)).grade
        for n in parts
    ]
    strange = [n for n in names if not parts_named(station, n) or not names_parts_alone(station, n)]
    # air that nobody says more of is ordinary where nothing of the station is for oxygen
    of_air = [b.grade for b in station.banks if not _is_other(b)]
    of_air += [c.grade for c in station.every_compressor]
    strange = [n for n in strange if not is_oxygen(n)]
    plain = Grade.OXYGEN not in of_air and any(map(is_plain_air, strange))
    return [*found, *([Grade.BREATHING if plain else None] if strange else [])]


def _is_other(bank: Bank) -> bool:
    """Whether a bank holds another gas than air."""
    return bank.gas is not None and not bank.gas.is_air


def missing_mark(facts: CylinderFacts, row: RuleRow) -> str:
    """What a mark-required row finds missing, or an empty text."""
    if "any" in row.needs:
        return "" if facts.specifications else "its specification is not recorded"
    if any(family(s) in row.needs for s in facts.specifications):
        return ""
    marks = ", ".join(row.needs)
    named = ", ".join(facts.specifications) or "no specification"
    return f"it carries none of the marks {marks} ({named})"


def family(specification: str) -> str:
    """The mark family of a specification: DOT, TC, UN, ISO, EN ...

    `UN` before a design standard is the packaging mark; before a number (`UN 1002`) it names the
    gas and marks nothing.
    """
    head, _, rest = normal(specification).partition("-")
    return "" if head == "UN" and not rest.startswith(("ISO", "EN")) else head
