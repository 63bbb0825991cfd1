"""What can be wrong with one cylinder's card: with itself, its dates, its tests and its looks."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise

from msgspec.structs import replace

from tankbook.records.checklist import FULLY, Checklist
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Inspected, Rentals, Rented, Requalified, Sent, standing
from tankbook.records.fields import Record, RecordPlace
from tankbook.records.kinds import Adverse, NoEnd
from tankbook.records.life import (
    Ender,
    days_of,
    is_out_still,
    life_of,
    tells_against,
    verdict,
)
from tankbook.records.log import Lines
from tankbook.records.marked import Marks
from tankbook.records.naming import named_among
from tankbook.records.node import MappingNode
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.settings import People, Person
from tankbook.records.words import (
    ChecklistGroup,
    InspectionResult,
    LogAct,
    Material,
    Method,
    SentFor,
    Skill,
    Status,
    Sticker,
    TestResult,
)
from tankbook.rules.answers import WaterVolume
from tankbook.rules.checks.declared import ADVICE, FAULT, WARN, Says, on_cylinder, on_files
from tankbook.rules.clearing import (
    answered_by_test,
    day_wanted,
    is_grave,
    kinds_said,
    names,
    open_inspection,
    open_test,
    rejection_answered,
    rejection_takes_a_test,
    rejection_wants,
)
from tankbook.rules.conditions import unnamed
from tankbook.rules.expansion import ExpansionLimit, is_over, kept_share
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.hours import ToldOfHours
from tankbook.rules.inforce import CylinderFacts, InForce
from tankbook.rules.materials import material_named
from tankbook.rules.own_analysis import ANALYSE_TOGETHER, ReadOtherwise
from tankbook.rules.remark_words import marks_unread
from tankbook.rules.said_pressures import pressures_of_test
from tankbook.rules.signing import (
    NOTHING,
    SEEN_STICKER,
    SigningRules,
    are_kept,
    counts_as_passed,
    is_outside,
    names_no_tester,
    names_nobody,
    why_not,
    why_not_certified,
)
from tankbook.rules.spelling import any_fits, normal, permit_named
from tankbook.rules.status import ENTRY_LISTS
from tankbook.rules.tested import PRESSURE_TESTS, is_due_stamp, is_makers, passed
from tankbook.rules.threads import is_unnamed, stated, threads_match
from tankbook.rules.two_halves import Halves
from tankbook.rules.wording import names_no_paper, says_mistaken, share_kept
from tankbook.units import GaugePressure, PartialDate
from tankbook.units.dates import months_between
from tankbook.units.patterns import pattern

GAUGE_SHARE = 0.01
"""How far two readings of one stamped pressure may differ: rounding between psi and bar."""

A_HAIR = 1e-9
"""What a share that is right at its limit may be off by arithmetic alone."""


MOST_EXPANSION = 0.05
"""Share of its water volume that no cylinder grows by at its test pressure: aluminium and steel
yield at about 0.4 % strain (memory), which is 1.2 % of volume (own calculation)."""


def entries_of(card: Cylinder, rentals: Rentals = ()) -> Iterator[tuple[str, Entry]]:
    """Every dated entry of a cylinder with the list it stands in, struck out or not; the rentals of
    its sets among them where all are given."""
    for name in ENTRY_LISTS:
        for entry in rentals or card.rented if name == "rented" else getattr(card, name):
            yield name, entry


# --- where it stands, and its dates --------------------------------------------------------------


@on_cylinder("status", FAULT, since="0.2")
def status_agrees(card: Cylinder, worked_out: Status) -> Iterator[Says]:
    """A recorded status is what the entries say."""
    if card.status is not None and card.status is not worked_out:
        text = f"its status is {card.status}, but its entries say {worked_out}"
        mend = f"write `status: {worked_out}`, or the entry that is missing"
        if _kept_from_use(card.status) and not _kept_from_use(worked_out):
            # to write another status would take a warning away that may be true
            mend = f"write the entry that says why and since when it is {card.status}"
            mend += "; only if it never was, take `status:` out"
        yield Says(card.source.at("status"), text, mend)


def _kept_from_use(status: Status) -> bool:
    return status.closed or status is Status.HELD


@on_cylinder("before-made", FAULT)
def not_before_made(card: Cylinder, facts: CylinderFacts, rentals: Rentals) -> Iterator[Says]:
    """Nothing happened to a cylinder before it was made."""
    for name, entry in entries_of(card, rentals):
        if entry.void is None and facts.made and entry.on.last < facts.made.first:
            text = f"{name}: {entry.on} is before it was made ({facts.made})"
            yield Says(entry.source.at("on"), text, "read the stamps again")


@on_cylinder("ends-before-start", FAULT, since="0.2")
def ends_in_order(card: Cylinder, rentals: Rentals, people: People) -> Iterator[Says]:
    """What ended did not end before it began, and each of its days comes after the one before; a
    test house may fit the valve before the cylinder comes home."""
    for name, entry in entries_of(card, rentals):
        days = list(days_of(entry)) if entry.void is None else []
        for key, day in days:
            if day < entry.on.first:
                text = f"{name}: {key} {day} is before it began ({entry.on})"
                yield Says(entry.source.at(key), text, _SET_RIGHT)
        for (before, first), (key, day) in pairwise(days):
            there = isinstance(entry, Sent) and is_outside(people, entry.refitted_by)
            if day < first and not there:
                text = f"{name} {entry.on}: {key} {day} is before {before} {first}"
                yield Says(entry.source.at(key), text, _SET_RIGHT)
        if isinstance(entry, Sent) and [key for key, _ in days] == ["refitted"]:
            text = f"{name} {entry.on}: refitted {entry.refitted}, and it is not back"
            yield Says(entry.source.at("refitted"), text, "write `back:`, or take `refitted:` out")


_SET_RIGHT = "set the day right that is wrong (`tankbook correct`)"


def two_at_once(rentals: Rentals) -> Iterator[tuple[Rented, Rented]]:
    """Rentals of which the second began while the first was out. One may end and another begin on
    the same day; of a month only its last day is sure."""
    spans = [(r.on.last, r.back or dt.date.max, r) for r in standing(rentals)]
    spans.sort(key=lambda span: span[:2])
    for (begun, back, first), (begins, ends, second) in combinations(spans, 2):
        if begins < back and begun < ends:
            yield first, second


def says_two_at_once(id_: str, rentals: Rentals) -> Iterator[Says]:
    """That one cylinder or set was out twice at a time."""
    for first, second in two_at_once(rentals):
        until = f"back on {first.back}" if first.back else "not back"
        text = f"it went out on {second.on}, and what went out on {first.on} was {until}"
        mend = (
            "record the return, or set a day right; strike out what another went out on:"
            f" `tankbook correct {id_} rented {named_among(rentals, second)} --why WHY`"
        )
        yield Says(second.source.at("on"), text, mend)


@on_cylinder("rented-twice", FAULT, since="0.2")
def out_once_at_a_time(card: Cylinder) -> Iterator[Says]:
    """A cylinder is out once at a time: of two rentals one is another's, or a day is wrong."""
    yield from says_two_at_once(card.id, card.rented)


@on_cylinder("hours-at-odds", WARN, since="0.2")
def hours_can_be(card: Cylinder, odd_hours: Sequence[ToldOfHours]) -> Iterator[Says]:
    """What went out came back later than it left, by the hours of one day, and nobody had it in
    hand between."""
    yield from (Says(*each) for each in odd_hours)


@on_cylinder("rental-halves-differ", WARN, since="0.2")
def rentals_say_it_once(card: Cylinder, halves: Sequence[Halves]) -> Iterator[Says]:
    """What a rental wrote on the card and into the log says the same in both."""
    yield from (Says(each.where, each.text, each.mend) for each in halves)


def says_read_otherwise(found: ReadOtherwise | None) -> Iterator[Says]:
    """That what a user analysed is not of the gas on record."""
    if found is not None:
        mend = f"{ANALYSE_TOGETHER}; or set right what is wrong of that day (`tankbook correct`)"
        yield Says(found.where, found.text, mend)


@on_cylinder("own-analysis-differs", WARN, since="0.2")
def own_analysis_is_of_the_gas(
    card: Cylinder, own_analysis: ReadOtherwise | None
) -> Iterator[Says]:
    """What whoever took it analysed is of the gas that it holds by what is on record now."""
    yield from says_read_otherwise(own_analysis)


@on_cylinder("two-first-tests", FAULT, since="0.2")
def makers_first(card: Cylinder) -> Iterator[Says]:
    """A cylinder has one first test by its maker."""
    firsts = [r for r in standing(card.requalified) if is_makers(r)]
    for extra in firsts[1:]:
        yield Says(extra.source.at("by"), "a second first test by the maker")


# --- what it is ----------------------------------------------------------------------------------


@on_cylinder("material-differs", FAULT)
def material_fits(card: Cylinder, facts: CylinderFacts) -> Iterator[Says]:
    """Specification and material name one metal."""
    for specification in facts.specifications if facts.material else ():
        named = material_named(specification)
        if named is not None and named is not facts.material:
            text = f"{specification} is {named}, and its material is recorded as {facts.material}"
            yield Says(card.source.at("material"), text, "read the shoulder again")


@on_cylinder("thread-differ", FAULT)
def threads_agree(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """Neck and valve carry the same thread, on the card and on the crown."""
    valve_typed = card.valve.thread if card.valve else None
    crown = next(filter(stated, marks.threads), None)
    yield from _unlike([(stated(card.neck_thread) or crown, valve_typed, card.source)])


@on_cylinder("thread-read-differs", FAULT, since="0.2", adverse=True)
def threads_are_as_read(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """What the newest look read of neck and valve is one thread, and the one on the card."""
    valve_typed = card.valve.thread if card.valve else None
    crown = next(filter(stated, marks.threads), None)
    pairs: list[tuple[str | None, str | None, RecordPlace]] = []
    for look in _threads_read(card)[-1:]:
        as_read = None if _is_off_since(card, look) else look.valve_thread
        necks, valves = (look.neck_thread, card.neck_thread), (as_read, valve_typed)
        neck, valve = (next(filter(stated, each), None) for each in (necks, valves))
        pairs += [(neck or crown, valve, look.source), (*necks, look.source)]
    yield from _unlike(pairs)


def _is_off_since(card: Cylinder, look: Inspected) -> bool:
    """Whether the valve that a look read came off for another, whose thread is known."""
    others = [w for w in standing(card.valve_work) if w.is_other and w.on.first > look.on.last]
    return bool(others) and stated(others[-1].thread) is not None


def _unlike(pairs: Sequence[tuple[str | None, str | None, RecordPlace]]) -> Iterator[Says]:
    """The first of some pairs of threads that are not one."""
    for one, other, source in pairs:
        neck, valve = stated(one), stated(other)
        if neck and valve and not threads_match(neck, valve):
            text = f"neck thread {neck} and valve thread {valve} differ"
            mend = "take it out of use: a wrong valve can be shot out under pressure"
            yield Says(source.at("neck_thread"), text, mend)
            return


def _threads_read(card: Cylinder) -> list[Inspected]:
    """The inspections at which a thread was read, oldest first."""
    return [i for i in standing(card.inspected) if i.neck_thread or i.valve_thread]


@on_cylinder("thread-unnamed", FAULT, since="0.2")
def threads_are_named(card: Cylinder) -> Iterator[Says]:
    """What is written of a thread names one: a size without its kind does not."""
    read: list[tuple[str, str | None, Record, tuple[str, ...]]] = [
        ("neck", card.neck_thread, card, ("neck_thread",)),
        *([("valve", valve.thread, valve, ("thread",))] if (valve := card.valve) else []),
    ]
    for look in _threads_read(card)[-1:]:
        read.append(("neck", look.neck_thread, look, ("neck_thread",)))
        read.append(("valve", look.valve_thread, look, ("valve_thread",)))
    for name, thread, record, trail in read:
        if is_unnamed(thread):
            yield Says(record.source.at(*trail), *unnamed([f"{name} thread `{thread}`"]))


@on_cylinder("neck-read-otherwise", WARN, since="0.2")
def necks_do_not_change(card: Cylinder) -> Iterator[Says]:
    """Every inspection read the same neck thread."""
    read = [(i, i.neck_thread or "") for i in _threads_read(card) if stated(i.neck_thread)]
    for look, one in read[:-1]:
        newest, other = read[-1]
        if not threads_match(one, other):
            text = f"its neck thread was read as {one} on {look.on}, and as {other} on {newest.on}"
            yield Says(look.source.at("neck_thread"), text, "gauge it, and correct the wrong one")


@on_cylinder("alloy-against-notice", FAULT, since="0.2")
def alloy_fits_notices(card: Cylinder, facts: CylinderFacts) -> Iterator[Says]:
    """An alloy that a notice does not allow says how it is known."""
    if facts.alloy_against is not None:
        row = facts.alloy_against
        text = f"its alloy is typed as {card.alloy}, and {row.citation} takes it for {row.alloy}"
        mend = "write `alloy_known_from:`, such as the maker's letter, or have it identified"
        yield Says(card.source.at("alloy"), text, mend)


@on_cylinder("unknown-size", ADVICE)
def size_is_known(card: Cylinder, sizes: frozenset[str]) -> Iterator[Says]:
    """A trade size that is named exists."""
    if card.size and card.size not in sizes:
        mend = "give `water_volume:`, or add the size to `sizes:` in tankbook.yaml"
        yield Says(card.source.at("size"), f"`{card.size}` is no known trade size", mend)


@on_cylinder("permit", ADVICE)
def permit_is_whole(card: Cylinder, facts: CylinderFacts) -> Iterator[Says]:
    """A special-permit or composite cylinder carries what only its permit can say."""
    for name in ("period", "test_pressure", "life_ends") if facts.permit else ():
        if card.permit is None or getattr(card.permit, name) is None:
            where = card.permit.source.at() if card.permit else card.source.at("specification")
            text = f"permit: {name} is missing; it cannot be worked out"
            yield Says(where, text, "copy it from the permit; until then no fill")


@on_cylinder("permit-number", FAULT, since="0.2")
def permit_is_the_one_named(card: Cylinder) -> Iterator[Says]:
    """The permit on record is the one that its specification names."""
    written = card.permit.number if card.permit else None
    own = permit_named(written) if written else None
    named = [p for s in card.specification if (p := permit_named(s))]
    same = [p for p in named if own and p.authority == own.authority]
    if named and written and not own and not any(_bears(written, p.number) for p in named):
        text = f"its permit is {written}, and its specification says {named[0].text}"
        yield Says(card.source.at("permit"), text, "read the shoulder again")
    if named and own and not same:
        text = f"its permit is {own.text}, and its specification names {named[0].text} alone"
        mend = "read the shoulder again; where it carries both, name both in `specification:`"
        yield Says(card.source.at("permit"), text, mend)
    for each in named:
        if not each.number:
            text = f"its specification {each.text} is that of a permit, and gives no number"
            yield Says(card.source.at("specification"), text, "read the shoulder again")
    if own and same and own.number not in {p.number for p in same}:
        text = f"its permit is {own.text}, and its specification says {same[0].text}"
        yield Says(card.source.at("permit"), text, "read the shoulder again")


def _bears(written: str, number: str) -> bool:
    """Whether a number that names no authority is that of a permit."""
    return number.lstrip("0") in [each.lstrip("0") for each in re.findall(r"[0-9]+", written)]


# --- tests ---------------------------------------------------------------------------------------


@on_cylinder("no-rule", ADVICE)
def rules_speak_of_it(
    card: Cylinder, facts: CylinderFacts, rules: InForce, expansion: ExpansionLimit | None
) -> Iterator[Says]:
    """A test pressure and an expansion can be held against a rule."""
    rows = rules.about(facts, Obligation.TEST_PRESSURE)
    if card.test_pressure and card.service_pressure and not rows and not facts.permit:
        named = ", ".join(card.specification) or "a cylinder without a specification"
        text = f"no rule row in force says the test pressure of {named}"
        yield Says(card.source.at("test_pressure"), text, "it was not checked")
    measured = any(r.permanent_expansion for r in standing(card.requalified))
    if expansion is None and measured:
        text = "no rule row in force limits its permanent expansion"
        yield Says(card.source.at("requalified"), text, "it was not checked")


@on_cylinder("test-pressure", FAULT)
def test_pressure_fits(card: Cylinder, facts: CylinderFacts, rules: InForce) -> Iterator[Says]:
    """A test pressure is the specification's multiple of the service pressure."""
    test, service = card.test_pressure, card.service_pressure
    for row in rules.about(facts, Obligation.TEST_PRESSURE) if test and service else ():
        assert test is not None
        assert service is not None
        wanted = service.psi * float(row.ratio) if row.ratio else 0.0
        wanted = max(wanted, row.at_least.psi) if row.at_least else wanted
        # what is only usual is asked for at least; more than that was tested harder
        off = wanted - test.psi if row.gate is Gate.WARN else abs(test.psi - wanted)
        if wanted and off > (GAUGE_SHARE + A_HAIR) * wanted:
            should = GaugePressure.of(wanted, "psi").format(test.unit, 0)
            text = f"test pressure {test} does not fit {', '.join(card.specification)}"
            how = f"{row.ratio} of {service}" if row.ratio else "the least"
            mend = f"{how} is {should} ({row.citation})"
            told = WARN if row.gate is Gate.WARN else None
            yield Says(card.source.at("test_pressure"), text, mend, severity=told)


@on_cylinder("tested-differs", FAULT, since="0.2")
def tested_as_dated(card: Cylinder, latest_day: dt.date) -> Iterator[Says]:
    """A test is of the day it was done, where its stamp does not say when the next is due; and it
    was done by now."""
    for test in standing(card.requalified):
        done = test.tested
        if done is None:
            continue
        same = (done.year, done.month) == (test.on.year, test.on.month)
        if done.first > latest_day:
            text = f"it was tested {done}, which is yet to come"
            yield Says(test.source.at("tested"), text, "correct the date")
        elif not same and not is_due_stamp(card, test):
            text = f"its test of {test.on} was done {done}"
            mend = "one of the two; where the stamp is of the next test: `stamp_means: next-due`"
            yield Says(test.source.at("tested"), text, mend)


LONGEST_PERMIT = 480
"""Months after its making within which the life of a cylinder under a permit ends (memory)."""


@on_cylinder("permit-life", FAULT, since="0.2")
def permit_life_is_likely(card: Cylinder, facts: CylinderFacts) -> Iterator[Says]:
    """A permit's life does not end later than any does, and a composite's does."""
    ends = card.permit.life_ends if card.permit else None
    if ends is NoEnd.NONE and card.material is Material.COMPOSITE:
        text = "its permit is said to let it live for ever, and a composite's life ends"
        yield Says(card.source.at("permit"), text, "read the permit again", severity=WARN)
    if isinstance(ends, PartialDate) and facts.made is not None:
        months = months_between(facts.made, ends)
        if months > LONGEST_PERMIT:
            text = f"its permit lets it live {months // 12} years, until {ends}"
            yield Says(card.source.at("permit"), text, "read the permit again")


LONGEST_RENEWAL = 10
"""Years ahead until which a permit's renewal may hold (own bound; renewals run for a few years,
memory)."""


@on_cylinder("permit-renewal", FAULT, since="0.2")
def permit_renewals_are_likely(card: Cylinder, today: dt.date) -> Iterator[Says]:
    """A permit's renewal is on paper, and for no longer than any is."""
    until = card.permit.renewed_until if card.permit else None
    paper = (card.permit.paper or "") if card.permit else ""
    if until is not None and names_no_paper(paper):
        text = f"its permit is renewed until {until}, and the paper is not named"
        mend = "name the paper by its date or number: `paper:`; without it the permit has ended"
        yield Says(card.source.at("permit"), text, mend)
    if until is not None and until.year - today.year > LONGEST_RENEWAL:
        text = f"its permit is renewed until {until}, {until.year - today.year} years ahead"
        yield Says(card.source.at("permit"), text, "read the paper again")


@on_cylinder("made-differs", WARN, since="0.2")
def made_when_tested(card: Cylinder) -> Iterator[Says]:
    """A cylinder has its first test when it was made, or within a year or two."""
    first = next((r.on for r in standing(card.requalified) if is_makers(r)), None)
    if first is None or card.made is None:
        return
    if first.year - card.made.year > 2 or card.made.first > first.last:
        text = f"it was made {card.made}, and its maker first tested it {first}"
        yield Says(card.source.at("made"), text, "read the stamps again")


@on_cylinder("sticker-of-another", FAULT, since="0.2")
def own_looks_see_no_sticker(card: Cylinder, bench: SigningRules) -> Iterator[Says]:
    """A sticker that was only seen is another shop's, and no look of one's own."""
    for look in standing(card.inspected):
        if look.sticker is Sticker.SEEN and bench.weight(look.checklist) > NOTHING:
            text = f"its `{look.checklist}` of {look.on} says that a sticker was only seen"
            mend = (
                f"write `checklist: {SEEN_STICKER}` where it was, else what became of the sticker"
            )
            yield Says(look.source.at("sticker"), text, mend)


@on_cylinder("done-elsewhere", FAULT, since="0.2")
def told_of_others(
    card: Cylinder, bench: SigningRules, people: People, latest_day: dt.date
) -> Iterator[Says]:
    """What was done elsewhere says so as such, who did it, and which of the ledger's own saw that,
    not before it was done."""
    for look in standing(card.inspected):
        if look.is_reported and look.checklist != SEEN_STICKER:
            text = f"its `{look.checklist}` of {look.on} says what was seen of a look elsewhere"
            mend = f"write `checklist: {SEEN_STICKER}` where it was done elsewhere"
            yield Says(look.source.at("checklist"), text, mend)
        elif look.is_reported and not (look.by and bench.is_shop(look.by)):
            text = f"its visual of {look.on} was done elsewhere, and by nobody who is named"
            mend = "write whose sticker or paper it is: `by:`; a look of your own is another entry"
            yield Says(look.source.at("by"), text, mend)
        elif look.is_reported and verdict(look) is InspectionResult.PASS:
            said = [kind.called for kind in kinds_said(bench, look.note)]
            said += filter(None, [says_giving_way(look.note or "")])
            for word in said[:1]:
                text = f"its visual of {look.on} passed, and its note speaks of {word}"
                mend = "what did not pass is `result: reject`; else word it plainly: `no crack`"
                yield Says(look.source.at("note"), text, mend)
    for entry in (*standing(card.inspected), *standing(card.requalified)):
        who, seen = people.get(entry.seen_by or ""), entry.seen_on
        if seen is not None and (seen < entry.on.first or seen > latest_day):
            when = "in the future" if seen > latest_day else "before it was done"
            text = f"{entry.title} {entry.on}: it was seen on {seen}, {when}"
            yield Says(entry.source.at("seen_on"), text, "correct the date")
        elif entry.is_reported and not (entry.seen_by and seen):
            text = f"{entry.title} {entry.on}: it was done elsewhere, and who saw that, and when, "
            text += "is not said"
            yield Says(entry.source.at(), text, "write `seen_by:` and `seen_on:`", WARN)
        elif entry.seen_by and seen and people and (who is None or not _was_here(who, seen)):
            text = (
                f"{entry.title} {entry.on}: {entry.seen_by}, who saw it, was not among the people"
            )
            yield Says(entry.source.at("seen_by"), f"{text} of tankbook.yaml then", severity=WARN)


def _was_here(person: Person, day: dt.date) -> bool:
    return person.left is None or person.left.last >= day


@on_cylinder("sticker-voided", WARN, since="0.2", adverse=True)
def stickers_stand(card: Cylinder, is_cut: bool) -> Iterator[Says]:
    """The newest passed inspection did not lose its sticker. On a past day nobody can tell: that a
    sticker was voided has no day."""
    look = card.inspected[-1] if card.inspected and not is_cut else None
    voided = look is not None and look.void is None and look.sticker is Sticker.VOIDED
    if look is not None and voided and verdict(look) is InspectionResult.PASS:
        text = f"its inspection of {look.on} says pass, and its sticker is voided"
        mend = "inspect it again, or record why the sticker went"
        yield Says(look.source.at("sticker"), text, mend)


@on_cylinder("permit-bounds", FAULT, since="0.2")
def permit_is_within_bounds(card: Cylinder, permit_doubt: str) -> Iterator[Says]:
    """A permit prescribes a test pressure that the rules in force allow."""
    if permit_doubt:
        yield Says(card.source.at("permit"), permit_doubt, "read the permit and the shoulder again")


@on_cylinder("specifications-differ", FAULT, since="0.2")
def one_american_specification(card: Cylinder) -> Iterator[Says]:
    """A cylinder carries one specification of the US and Canada, whoever's letters stand before it;
    one that is never refilled (39: 49 CFR 178.65, memory) is none to fill."""
    kinds = {m[1]: s for s in card.specification if (m := _AMERICAN.fullmatch(normal(s)))}
    if len(kinds) > 1 or "39" in kinds:
        named = " and ".join(kinds.values())
        text = f"its specification is {named}, and no one cylinder is filled as that"
        yield Says(card.source.at("specification"), text, "read the shoulder again")


_AMERICAN = pattern(r"(?:DOT|ICC|CTC|TC|BTC|CRC)-(\d+[A-Z]*?)M?")
"""A specification of the US or Canada that is no permit; a metric mark of one is the same."""


@on_cylinder("specification-unknown", WARN, since="0.2")
def specifications_are_known(card: Cylinder, rules: InForce) -> Iterator[Says]:
    """Each specification is one that some rule in force speaks of."""
    rows = [row for each in rules.rows.values() for row in each if row.applies_to]
    patterns = tuple(p for row in rows if row.applies_to for p in row.applies_to.specification)
    for each in card.specification:
        if re.search(r"\d", each) is None or any_fits(patterns, (normal(each),)):
            continue
        text = f"no rule in force speaks of {each}, which its card lists"
        yield Says(card.source.at("specification"), text, "read the shoulder again")


@on_cylinder("permit-test-pressure", FAULT, since="0.2")
def permit_and_card_agree(card: Cylinder) -> Iterator[Says]:
    """The test pressure of the card is the one that its permit prescribes."""
    test, permit = card.test_pressure, card.permit.test_pressure if card.permit else None
    if test and permit and abs(test.pa - permit.pa) > (GAUGE_SHARE + A_HAIR) * permit.pa:
        text = f"its test pressure is {test}, and its permit's {permit}"
        yield Says(card.source.at("test_pressure"), text, "read shoulder and permit again")


MOST_OVER = 1.1
"""Share of its test pressure that a test goes to at most (memory)."""


@on_cylinder("tested-too-low", FAULT, adverse=True)
def tested_high_enough(card: Cylinder, test_pressure: GaugePressure | None) -> Iterator[Says]:
    """The newest passed pressure test reached the test pressure, within a gauge's 1 %."""
    tests = passed(card, PRESSURE_TESTS)
    typed = tests[-1].test_pressure if tests else None
    finding = (tests[-1].finding if tests else "") or ""
    told = [said.pressure for said in pressures_of_test(finding, card.service_pressure)]
    reached = min((*told, *((typed,) if typed else ())), key=lambda p: p.pa, default=None)
    key = "test_pressure" if reached == typed else "finding"
    if test_pressure and reached and reached.pa > (MOST_OVER + A_HAIR) * test_pressure.pa:
        text = f"its test of {tests[-1].on} reached {reached}; its test pressure is {test_pressure}"
        mend = "read the test sheet again; ask the requalifier what it stood"
        yield Says(tests[-1].source.at(key), text, mend, severity=WARN)
    if test_pressure and reached and reached.pa < (1 - GAUGE_SHARE - A_HAIR) * test_pressure.pa:
        text = f"its test of {tests[-1].on} reached {reached}; its test pressure is {test_pressure}"
        yield Says(tests[-1].source.at(key), text, "read the test sheet again")


@on_cylinder("expansion", FAULT, adverse=True)
def expansion_within(
    card: Cylinder, expansion: ExpansionLimit | None, expansion_beyond: ExpansionLimit | None
) -> Iterator[Says]:
    """A passed test kept its permanent expansion within the limit, and says both figures."""
    limits = [each for each in (expansion, expansion_beyond) if each is not None]
    expansion = min(limits, key=lambda each: each.share, default=None)
    for test in standing(card.requalified):
        if test.method not in PRESSURE_TESTS:
            continue
        said = share_kept(test.finding or "")
        if said is not None and test.result is TestResult.PASS and _over(said, expansion):
            text = f"passed, and its finding says {_told(said, expansion)} % permanent expansion"
            yield Says(test.source.at("finding"), text, "read the test sheet again")
        if (test.total_expansion is None) is not (test.permanent_expansion is None):
            text = "total and permanent expansion go together, and one of them is missing"
            yield _of_kept(test, text, "copy both from the test sheet")
        share = kept_share(test)
        if test.total_expansion is not None and not test.total_expansion.litres:
            text = "a total expansion of nothing, which no cylinder has under its test pressure"
            yield Says(test.source.at("total_expansion"), text, "copy it from the test sheet")
        elif share is not None and share > 100:
            yield _of_kept(test, "permanent expansion is larger than total expansion")
        elif share is not None and test.result is TestResult.PASS and _over(share, expansion):
            text = f"passed with {_told(share, expansion)} % permanent expansion"
            limit = f"; the limit is {expansion.share} ({expansion.citation})" if expansion else ""
            yield _of_kept(test, text + limit)


def _of_kept(test: Requalified, text: str, mend: str = "") -> Says:
    return Says(test.source.at("permanent_expansion"), text, mend)


def _told(share: float, limit: ExpansionLimit | None) -> str:
    """A share that is over its limit, in as many decimals as show that."""
    most = limit.share.percent if limit else 0.0
    return next((f"{share:.{n}f}" for n in range(1, 9) if round(share, n) > most), f"{share}")


def _over(share: float, limit: ExpansionLimit | None) -> bool:
    return limit is not None and is_over(share, limit)


@on_cylinder("expansion-unlikely", FAULT, since="0.2")
def expansion_is_of_a_cylinder(card: Cylinder, volume: WaterVolume | None) -> Iterator[Says]:
    """No cylinder grows by a large share of its volume: a point is misplaced, or a unit is."""
    for test in standing(card.requalified):
        total = test.total_expansion
        if total and volume and total.litres > MOST_EXPANSION * volume.volume.litres:
            text = f"a total expansion of {total} in {volume.volume}"
            yield Says(test.source.at("total_expansion"), text, "copy it from the test sheet again")


@on_cylinder("test-failed", FAULT, adverse=True)
def failed_tests_answered(
    card: Cylinder, bench: SigningRules, worked_out: Status
) -> Iterator[Says]:
    """A failed test keeps a cylinder out of service until a later pass names it."""
    failed = open_test(bench, card)
    if failed is not None and not _set_aside(worked_out):
        text = f"it failed its {failed.method} test of {failed.on}, and no later pass names that"
        mend = f"a requalifier decides; what answers it says `clears: [requalified {failed.on}]`"
        if any(names(t, Adverse.REQUALIFIED, failed.on) for t in standing(card.requalified)):
            text = (
                f"it failed its {failed.method} test of {failed.on}; what names that is no answer"
            )
            mend = f"a {failed.method} test by a requalifier, not before that day, answers it"
            mend += day_wanted(card, [Adverse.REQUALIFIED], failed.on)
        yield Says(failed.source.at("result"), text, mend)


@on_cylinder("plus-on-aluminium", FAULT, since="0.2")
def no_plus_on_aluminium(card: Cylinder) -> Iterator[Says]:
    """A plus mark never goes on aluminium."""
    for test in standing(card.requalified) if card.material is Material.ALUMINIUM else ():
        if test.plus:
            yield Says(
                test.source.at("plus"),
                "a plus mark on an aluminium cylinder",
                "read the stamp again",
            )


@on_cylinder("test-not-recorded", WARN, since="0.2", adverse=True)
def tests_come_home_with_it(card: Cylinder) -> Iterator[Says]:
    """A cylinder that came back from a requalifier has what was found there on record."""
    found = (*card.requalified, *card.rejected, *card.condemned)
    for sent in standing(card.sent):
        tested = any(entry.void is None and entry.on.last >= sent.on.first for entry in found)
        told = tested or sent.note is not None
        if sent.for_ is SentFor.REQUALIFICATION and sent.back is not None and not told:
            text = f"it was sent for requalification on {sent.on} and is back, and no test since is"
            mend = (
                f"record what {sent.to} found, a failed test too; or in its `note:` why nothing was"
            )
            yield Says(sent.source.at("back"), f"{text} on record", mend)


@on_cylinder("star", ADVICE)
def star_gives_nothing(card: Cylinder) -> Iterator[Says]:
    """A star gives a breathing cylinder nothing."""
    for test in standing(card.requalified):
        if test.star:
            text = "a star lengthens nothing here: the ordinary period is counted"
            yield Says(test.source.at("star"), text)


@on_cylinder("eddy-on-6061", ADVICE)
def eddy_only_where_due(card: Cylinder) -> Iterator[Says]:
    """An eddy-current test is no duty of 6061 and may mislead there."""
    for test in standing(card.requalified) if (card.alloy or "").startswith("6061") else ():
        if test.method is Method.EDDY_CURRENT:
            yield Says(
                test.source.at("method"), "an eddy-current test on 6061: no rule asks for it"
            )


# --- inspections ---------------------------------------------------------------------------------


@on_cylinder("inspection-not-passed", FAULT, adverse=True)
def bad_looks_answered(card: Cylinder, bench: SigningRules, worked_out: Status) -> Iterator[Says]:
    """An inspection that did not pass keeps a cylinder out of service until a pass names it."""
    bad = open_inspection(bench, card)
    if bad is not None and not _set_aside(worked_out):
        text = f"its inspection of {bad.on} says {verdict(bad)}, and no later pass names that"
        mend = (
            "an inspection as full that passes, or a pressure test, says"
            f" `clears: [inspected {bad.on}]`"
        )
        if is_grave(bench, bad):
            text = f"its inspection of {bad.on} says {verdict(bad)}, of what no look answers"
            mend = f"a requalifier decides: a pressure test says `clears: [inspected {bad.on}]`"
        elif way := answered_by_test(bench, card, bad.on):
            mend += f"; {way}"
        yield Says(bad.source.at("result"), text, mend)


def _set_aside(status: Status) -> bool:
    """It stands where its own row refuses it already, and nobody calls it fit."""
    return status in {Status.HELD, Status.AT_TEST, Status.AT_REPAIR} or status.closed


@on_cylinder("not-certified", FAULT, since="0.2")
def inspectors_certified(card: Cylinder, people: People, bench: SigningRules) -> Iterator[Says]:
    """Whoever inspected was certified that day, where certifications are kept. What is older than a
    look that counts is past."""
    looks = [i for i in standing(card.inspected) if not _is_anothers(i)]
    since = max(
        (i.on.first for i in card.inspected if counts_as_passed(bench, i)), default=dt.date.min
    )
    for look in looks:
        why = why_not(people, look.by, Skill.INSPECTOR, look.on)
        if why:
            newest = look is looks[-1] and look.on.last >= since
            told = newest and bool(look.by or are_kept(people, Skill.INSPECTOR))
            mend = "correct the entry, or record the certification; till then it counts for nothing"
            severity = None if told else ADVICE
            yield Says(look.source.at("by"), f"inspection of {look.on}: {why}", mend, severity)


def _is_anothers(look: Inspected) -> bool:
    return look.sticker is Sticker.SEEN or look.checklist == SEEN_STICKER


@on_cylinder("unknown-checklist", FAULT, since="0.2")
def checklists_known(card: Cylinder, checklists: Mapping[str, Checklist]) -> Iterator[Says]:
    """A checklist that is named exists; the newest inspection rests on it."""
    looks = standing(card.inspected)
    for look in looks:
        if look.checklist not in checklists and look.checklist != SEEN_STICKER:
            text = f"there is no checklist `{look.checklist}`"
            known = ", ".join([*sorted(checklists), SEEN_STICKER])
            severity = None if look is looks[-1] else ADVICE
            yield Says(look.source.at("checklist"), text, f"known: {known}", severity)


@on_files("checklist-hollow", FAULT, since="0.2")
def checklists_look_at_what_they_say(
    checklists: Mapping[str, Checklist], cylinders: Mapping[str, Cylinder]
) -> Iterator[Says]:
    """A checklist that calls itself full, or a look inside, has the steps of one. It weighs only
    what its steps look at, and whose newest inspection rests on it is not filled."""
    for name, each in checklists.items():
        word = _hollow(each)
        if word:
            newest = ((c.id, standing(c.inspected)[-1:]) for c in cylinders.values())
            resting = tuple(id_ for id_, looks in newest if any(i.checklist == name for i in looks))
            mend = "give it those steps, from the shipped `annual`, or say `no`"
            yield Says(each.source.at(), f"the checklist {name} {word}", mend, touches=resting)


def _hollow(each: Checklist) -> str:
    """What a checklist says of itself and does not hold, or an empty text."""
    missing = [group for group in ChecklistGroup if group in FULLY - each.looks_at]
    if each.full_ and missing:
        return f"says `full: yes`, and has no step of group {' and '.join(missing)}"
    if each.inside_ and not each.inside:
        return "says `inside: yes`, and has no step of group inside"
    if each.full_ and not each.inside_:
        node = each.source.node
        if isinstance(node, MappingNode) and node.get("inside") is not None:
            return "says `full: yes` and `inside: no`"
    return ""


# --- who ended or struck out what ----------------------------------------------------------------


@on_cylinder("ended-unsigned", FAULT, since="0.2")
def ends_are_signed(
    card: Cylinder, people: People, looked_inside: Sequence[dt.date]
) -> Iterator[Says]:
    """What kept a cylinder from use was ended by somebody certified, who said why. Whoever fitted
    a valve is past once somebody looked inside, for which it came off and went on again."""
    for name, entry in entries_of(card):
        life = life_of(type(entry))
        if isinstance(entry, Sent) and entry.void is None and entry.refitted is not None:
            past = any(day >= entry.refitted for day in looked_inside)
            yield from _refit_signed(entry, entry.refitted, people, past=past)
        signed = life.ended_by and life.ender is not Ender.ANYBODY
        day = getattr(entry, life.ended_by, None) if signed else None
        if entry.void is not None or not isinstance(day, dt.date):
            continue
        by_key, why_key, *_ = life.days[life.ended_by]
        by, why = getattr(entry, by_key), getattr(entry, why_key)
        wrong = why_not(people, by, Skill.INSPECTOR, day)
        if wrong or not why:
            text = f"{name} {entry.on}: {life.ended_by} {day}, {wrong or 'without saying why'}"
            mend = f"write `{by_key}:` and `{why_key}:`, or take `{life.ended_by}:` out"
            yield Says(entry.source.at(life.ended_by), text, mend)


def _refit_signed(sent: Sent, refitted: dt.date, people: People, *, past: bool) -> Iterator[Says]:
    by = sent.refitted_by
    wrong = "" if is_outside(people, by) else why_not_certified(people, by, refitted)
    wrong = f"{by} is nobody's name" if names_nobody(by) else wrong
    if wrong:
        text = f"sent {sent.on}: refitted {refitted}, and {wrong}"
        mend = "look inside it (`tankbook inspect`); or write who refitted it: `refitted_by:`"
        gravity = None if by else WARN
        yield Says(sent.source.at("refitted"), text, mend, severity=ADVICE if past else gravity)


@on_cylinder("tested-by-nobody", FAULT, since="0.2")
def tests_are_by_a_requalifier(card: Cylinder, bench: SigningRules) -> Iterator[Says]:
    """Its newest pressure test, eddy-current test and stamped look are each by somebody who is
    named, and by none of the shop's own: of the latter two such a one counts for nothing."""
    tests = list(standing(card.requalified))
    newest = {PRESSURE_TESTS if r.method in PRESSURE_TESTS else r.method: r for r in tests}
    for test in newest.values():
        looked = test.method not in PRESSURE_TESTS
        if test.by and not is_makers(test) and not bench.is_requalifiers(test):
            text = f"its test of {test.on} is by {test.by}, which is no requalifier's name"
            mend = "write whose stamp it bears: `by:`; where nobody knows, have it tested"
            # initials, or `the test house`, may be somebody's
            severity = None if names_no_tester(test.by) and not looked else WARN
            if test.method is Method.VISUAL and bench.is_own(test):
                mend = "a look of your own is an inspection: `tankbook inspect`; strike it out"
            yield Says(test.source.at("by"), text, mend, severity=severity)
        elif looked and not (test.by or test.stamp):
            text = f"its {test.method} of {test.on} has no stamp, and names nobody"
            yield Says(test.source.at(), text, "write its stamp, and whose it is", severity=WARN)


@on_cylinder("struck-out-unsigned", FAULT, since="0.2")
def voids_are_signed(
    card: Cylinder, people: People, today: dt.date, rentals: Rentals, telling_rentals: Rentals
) -> Iterator[Says]:
    """Whoever struck out an entry is known, and certified where the entry told against it."""
    for name, entry in entries_of(card, rentals):
        if entry.void is None:
            continue
        void = entry.void
        told = tells_against(entry) and not is_out_still(entry, rentals)
        adverse = told or entry in telling_rentals
        wrong = _why_not_struck(people, void.by, void.on, adverse=adverse)
        if adverse and void.is_before(entry.on.first) and entry.on.first <= today:
            wrong = f"it is dated {void.on}, before the entry"
        if name == "condemned" and not wrong and not says_mistaken(void.why):
            text = f"{name} {entry.on} is struck out for `{void.why}`, which was no mistake"
            mend = "say which cylinder or card it was meant for; else it stays condemned"
            yield Says(void.source.at("why"), text, mend)
        if wrong:
            text = f"{name} {entry.on} is struck out, and {wrong}"
            mend = "let somebody certified strike it out, or take `void:` away"
            yield Says(void.source.at("by"), text, mend)


def _why_not_struck(people: People, by: str, on: dt.date, *, adverse: bool) -> str:
    if not adverse:
        return (
            f"{by} is not among the people of tankbook.yaml" if people and by not in people else ""
        )
    return why_not(people, by, Skill.INSPECTOR, on)


@on_cylinder("lifted-on-nothing", FAULT, since="0.2")
def rejections_answered(card: Cylinder, bench: SigningRules) -> Iterator[Says]:
    """A rejection is lifted on a requalifier's pass, or on an inspection as full, that names it."""
    for entry in standing(card.rejected):
        if entry.lifted is not None and not rejection_answered(bench, card, entry):
            text = f"its rejection of {entry.on} is lifted, and no test or inspection answers it"
            if rejection_takes_a_test(bench, card, entry):
                text = f"its rejection of {entry.on} is lifted, and speaks of what no look answers"
            mend = rejection_wants(bench, card, entry)
            mend += day_wanted(card, [Adverse.REJECTED], entry.on)
            yield Says(entry.source.at("lifted"), text, mend)


@on_cylinder("lifted-early", WARN, since="0.2", adverse=True)
def lifted_when_answered(card: Cylinder, bench: SigningRules) -> Iterator[Says]:
    """A rejection was answered by the day it was lifted. What came before a later look that counts
    as full is past."""
    looked = max(
        (i.on.first for i in standing(card.inspected) if counts_as_passed(bench, i)), default=None
    )
    for entry in standing(card.rejected):
        day = entry.lifted
        if day is None or not rejection_answered(bench, card, entry):
            continue
        if not rejection_answered(bench, _as_of(card, day), entry):
            text = f"its rejection of {entry.on} was lifted on {day}, before what answers it"
            mend = "set the day right that is wrong (`tankbook correct`), or have it inspected"
            past = ADVICE if looked and looked > day else None
            yield Says(entry.source.at("lifted"), text, mend, past)


def _as_of(card: Cylinder, day: dt.date) -> Cylinder:
    """A cylinder with the tests and inspections that it had by a day."""
    tests = tuple(t for t in card.requalified if (t.tested or t.on).first <= day)
    return replace(
        card, requalified=tests, inspected=tuple(i for i in card.inspected if i.on.first <= day)
    )


@on_cylinder("clears-nothing", WARN, since="0.2")
def answers_answer_something(card: Cylinder, rentals: Rentals, about: Lines) -> Iterator[Says]:
    """What an entry says that it clears is there."""
    entries = [entry for _, entry in entries_of(card, rentals)]
    days = [entry.on for entry in entries]
    days += [PartialDate.of(day) for entry in entries for _, day in days_of(entry)]
    days += [PartialDate.of(line.at.date()) for line in about if line.act is LogAct.READING]
    looks = [(i, i.clears) for i in standing(card.inspected)]
    for entry, clears in [*looks, *((r, r.clears) for r in standing(card.requalified))]:
        for named in clears:
            if not any(named.on.meets(day) for day in days):
                text = f"it clears `{named}`, and nothing is of that day"
                yield Says(entry.source.at("clears"), text, "name the day of what it answers")


# --- notes ---------------------------------------------------------------------------------------


@on_cylinder("no-marks", WARN, since="0.2")
def marks_are_recorded(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The stamp marks are on record, so that the card can be held against them."""
    if marks_unread(card.marks or ""):
        text = (
            "its marks are said to be unreadable: what nobody read was not compared with its card"
        )
        mend = "have them read, and write what is stamped into `marks:`"
        yield Says(card.source.at("marks"), text, mend)
    elif card.marks and (marks.is_blank or not (marks.service_pressures or marks.test_pressures)):
        lacks = "neither specification, pressure nor date" if marks.is_blank else "no pressure"
        text = f"its marks give {lacks}, so its card was not compared with them"
        yield Says(card.source.at("marks"), text, "read all of the shoulder into `marks:`")
    if not card.marks:
        text = "its stamp marks are not recorded, so nothing on its card was compared with them"
        yield Says(card.source.at("marks"), text, "read them off the shoulder into `marks:`")
