"""What the counter's file says of a cylinder: refused before, or its serial recorded as stolen.

Serials are held against each other as cards are (`twins.may_be_one`), so that a dash, a capital or
a worn character hides none.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeAlias, TypeVar

from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.counter import Certified, RefusedStranger, Stolen
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import (
    Entry,
    Held,
    Inspected,
    Refused,
    Rented,
    Requalified,
    standing,
)
from tankbook.records.kinds import Adverse
from tankbook.records.life import verdict
from tankbook.records.settings import Person
from tankbook.records.valve import ValveWork
from tankbook.records.words import InspectionResult, PartChecked, Seen, Status, TestResult
from tankbook.rules.clearing import (
    SAID_OF,
    findings_against,
    kinds_said,
    open_findings,
    texts_against,
)
from tankbook.rules.fill_history import rentals_of
from tankbook.rules.giving_way import says_gas_lost, says_giving_way, says_valve_tried
from tankbook.rules.remark_words import ENDINGS, not_read
from tankbook.rules.signing import bench_of, looks, why_not_certified
from tankbook.rules.spelling import looks_like, plain_serial
from tankbook.rules.status import is_inside
from tankbook.rules.twins import is_worn, may_be_one, shapes_of
from tankbook.rules.wording import says_no_proof, spoken_of, unread_words
from tankbook.units.patterns import pattern

_Kept: TypeAlias = RefusedStranger | Stolen
E_ = TypeVar("E_", bound=Entry)
K_ = TypeVar("K_", RefusedStranger, Stolen)

_NAMELESS = " "
"""No card has this id."""


def as_card(entry: _Kept) -> Cylinder:
    """What an entry says of its cylinder, as a card would."""
    marks = entry.marks if isinstance(entry, RefusedStranger) else None
    return Cylinder(
        source=entry.source, id=_NAMELESS, serial=entry.serial, maker=entry.maker, marks=marks
    )


def of_serial(entries: Iterable[K_], serial: str) -> list[K_]:
    """The entries of a serial as it is typed, dashes and case aside; where none is, those whose
    serial it may be as a worn stamp is read: O for 0, I for 1."""
    kept = list(entries)
    same = [e for e in kept if plain_serial(e.serial) == plain_serial(serial)]
    return same or [e for e in kept if looks_like(e.serial) == looks_like(serial)]


@once_per_book
def stolen_open(book: Book) -> tuple[Stolen, ...]:
    """The entries that say of a serial that it is stolen, neither settled nor struck out by
    somebody who may."""
    people = book.settings.people
    entries = book.counter.stolen if book.counter else ()
    kept = [e for e in entries if e.void is None or why_not_struck(e, people)]
    kept.sort(key=lambda e: (e.on.first, e.on.last))
    return tuple(e for e in kept if not is_settled(e, people))


def why_not_struck(entry: Entry, people: Mapping[str, Person]) -> str:
    """Why an entry that is struck out counts all the same, as one of a card would; or nothing."""
    void = entry.void
    if void is None:
        return ""
    if people and void.by not in people:
        return f"{void.by} is not among the people of tankbook.yaml"
    if void.is_before(entry.on.first):
        return f"that is dated {void.on}, before the entry"
    return why_not_certified(people, void.by, void.on)


def is_settled(entry: Stolen, people: Mapping[str, Person]) -> bool:
    """Whether it is said how it ended."""
    return entry.found is not None and not why_not_settled(entry, people)


def why_not_settled(entry: Stolen, people: Mapping[str, Person]) -> str:
    """Why an entry that says it was found counts all the same: how and on what proof is not said,
    on a day that is not before it began, by one of the ledger's people who holds a certification,
    where any are kept; or nothing."""
    if entry.found is None:
        return ""
    if not entry.found_by or (people and entry.found_by not in people):
        return f"{entry.found_by or 'whoever says so'} is not among the people of tankbook.yaml"
    if says_no_proof(entry.found_why or ""):
        return "who found it and how is not said"
    if says_no_proof(entry.found_proof or ""):
        return "what proves it is not said"
    if entry.found < entry.on.first:
        return f"that is before {entry.on}"
    return why_not_certified(people, entry.found_by, entry.found)


@once_per_book
def stolen_as(book: Book, card: Cylinder) -> tuple[Stolen, ...]:
    """The entries by which a cylinder's serial is, or may be, recorded as stolen. One of the
    ledger's own people may have told the two apart."""
    found = (e for e in _perhaps_of(book, card) if isinstance(e, Stolen) and is_of(e, card))
    return tuple(e for e in found if not _told_apart(book, e, card))


@once_per_book
def refused_before(book: Book, card: Cylinder) -> tuple[RefusedStranger | Refused, ...]:
    """The refusals of a cylinder, those on its card, and those from before it had one that were or
    may have been of it, after which nothing on its card passed a test or an inspection; of what
    none is accepted, a look inside."""
    return tuple(e for e in refusals_of(book, card) if not _answered(book, e, card))


@once_per_book
def refusals_of(book: Book, card: Cylinder) -> tuple[RefusedStranger | Refused, ...]:
    """The refusals of a cylinder that count, answered or not."""
    strangers = (e for e in _perhaps_of(book, card) if isinstance(e, RefusedStranger))
    people = book.settings.people
    own = (e for e in card.refused if e.void is None or why_not_struck(e, people))
    found: list[RefusedStranger | Refused] = [e for e in strangers if is_of(e, card)]
    found += own
    if any(_is_quote(reason) for e in found for reason in e.reasons):
        found = _flattened(book, card, found)
    return tuple(found)


_QUOTED = "it was refused here on "


def _is_quote(reason: str) -> bool:
    """Whether a reason of a refusal speaks of another refusal."""
    return reason.startswith(_QUOTED)


def _quotes(reason: str, entry: RefusedStranger | Refused) -> bool:
    """Whether a reason names a refusal, or says all that it said, and no more."""
    whole = f"{that_refused(entry)}: {', '.join(entry.reasons)}"
    return reason in (that_refused(entry), whole) or reason.startswith(f"{whole}; owner ")


def _flattened(
    book: Book, card: Cylinder, found: list[RefusedStranger | Refused]
) -> list[RefusedStranger | Refused]:
    """The refusals without what only says again that it was refused before: that stands, or was
    answered or struck out, where it was written. Who was told of it is kept."""
    strangers = book.counter.refused if book.counter else ()
    every: list[RefusedStranger | Refused] = [e for e in strangers if is_of(e, card)]
    every += card.refused
    kept: list[RefusedStranger | Refused] = []
    for entry in found:
        before = every[: next(i for i, e in enumerate(every) if e is entry)]
        of = {r: [e for e in before if _quotes(r, e)] for r in entry.reasons if _is_quote(r)}
        own = tuple(r for r in entry.reasons if not of.get(r))
        if own or entry.note:  # a note may say more than what is quoted
            named_only = (that_refused(e) for quoted in of.values() for e in quoted)
            shown = own or tuple(dict.fromkeys(named_only))
            kept.append(replace(entry, reasons=shown) if shown != entry.reasons else entry)
        elif entry.told:
            named = {(e.on, e.by) for quoted in of.values() for e in quoted}
            kept = [
                replace(e, told=entry.told) if not e.told and (e.on, e.by) in named else e
                for e in kept
            ]
    return kept


@once_per_book
def _by_shape(book: Book) -> tuple[dict[str, list[_Kept]], tuple[_Kept, ...]]:
    """The entries that count by how their serials may be read, and those in whose serial a
    character cannot be read."""
    counter = book.counter
    people = book.settings.people
    refused = counter.refused if counter else ()
    kept: list[_Kept] = list(stolen_open(book))
    kept += [e for e in refused if e.void is None or why_not_struck(e, people)]
    found: dict[str, list[_Kept]] = {}
    for entry in kept:
        for shape in shapes_of(as_card(entry)):
            found.setdefault(shape, []).append(entry)
    return found, tuple(e for e in kept if is_worn(e.serial))


def _perhaps_of(book: Book, card: Cylinder) -> tuple[_Kept, ...]:
    """The entries that are worth holding against a card, in their order."""
    shaped, worn = _by_shape(book)
    if not shaped and not worn:
        return ()
    if is_worn(card.serial):
        every = [e for each in shaped.values() for e in each]
    else:
        every = [e for shape in sorted(shapes_of(card)) for e in shaped.get(shape, ())]
    return tuple({id(e): e for e in (*every, *worn)}.values())


def is_of(entry: _Kept, card: Cylinder) -> bool:
    """Whether an entry is, or may be, of a cylinder."""
    return may_be_one(as_card(entry), card)


def _told_apart(book: Book, entry: Stolen, card: Cylinder) -> bool:
    people = book.settings.people
    said = (n.by for n in entry.not_same if n.id == card.id and not says_no_proof(n.why))
    return any(by in people or not people for by in said)


def _answered(book: Book, entry: RefusedStranger | Refused, card: Cylinder) -> bool:
    """Whether each cause of a refusal has its own answer: what none is accepted of, and a leak that
    may be the valve's. A look from outside says nothing of that one, but where it says so."""
    looked = [i for i in standing(card.inspected) if verdict(i) is InspectionResult.PASS]
    leaks = leaks_still(book, entry, card)
    if names_what_never(book, entry, card):
        return not leaks and found_answered(book, entry, card)
    if leaks:
        inside = looks_inside(book, card)
        tried = (i for i in looked if i.note and says_valve_tried(i.note))
        looked = [*inside, *tried]
    return _passed_since(entry, card, looked)


def found_answered(book: Book, entry: RefusedStranger | Refused, card: Cylinder) -> bool:
    """Whether a look inside, or a test, passed it after a refusal that names what none is accepted
    of."""
    if kinds := kinds_of(book, entry, card):
        return _written_of(book, entry, card, kinds)
    return _passed_since(entry, card, looks_inside(book, card))


def kinds_of(book: Book, entry: RefusedStranger | Refused, card: Cylinder) -> tuple[Seen, ...]:
    """What a refusal speaks of that a requalifier alone decides on, as of a hold in its words: a
    crack, heat, a bulge."""
    return kinds_said(bench_of(book), *found_then(book, entry, card))


def refusal_name(kinds: Iterable[Seen]) -> Adverse:
    """How an answer names a refusal that speaks of some kinds."""
    return Adverse.HEAT if set(kinds) == {Seen.HEAT} else Adverse.SUSPECTED_CRACK


def _written_of(
    book: Book, entry: RefusedStranger | Refused, card: Cylinder, kinds: Sequence[Seen]
) -> bool:
    """Whether a requalifier's finding lets go what a refusal speaks of, as it would a hold that was
    let go and is worded so."""
    why = "; ".join(found_then(book, entry, card))
    hold = Held(source=entry.source, on=entry.on, why=why, released=entry.on.last)
    alone = replace(card, held=(hold,), inspected=())
    return bool(kinds) and not any(open_findings(bench_of(book), alone))


def _passed_since(
    entry: RefusedStranger | Refused, card: Cylinder, looked: Sequence[Inspected]
) -> bool:
    return any(each.on.first > entry.on.last for each in tests_passed(card)) or any(
        each.on.first > entry.on.last or _is_later_that_day(each, entry) for each in looked
    )


def _is_later_that_day(look: Inspected | ValveWork, entry: RefusedStranger | Refused) -> bool:
    """Whether a look, or work on a valve, came after a refusal of its day, by the hours of both."""
    if look.at is None or entry.at is None or entry.on.day is None:
        return False
    return look.on == entry.on and look.at > entry.at


def passed_that_day(
    book: Book, entry: RefusedStranger | Refused, card: Cylinder
) -> Inspected | None:
    """A look inside that passed on the day of a refusal, of which nobody says by the hours whether
    it came after it; or None."""
    looked = (i for i in looks_inside(book, card) if i.on.meets(entry.on))
    return next((i for i in looked if i.at is None or entry.at is None), None)


def tests_passed(card: Cylinder) -> list[Requalified]:
    """The tests that it passed."""
    return [r for r in standing(card.requalified) if r.result is TestResult.PASS]


def looks_inside(book: Book, card: Cylinder) -> list[Inspected]:
    """The looks inside that passed, by somebody who may."""
    passed = (i for i in standing(card.inspected) if verdict(i) is InspectionResult.PASS)
    counted = looks(book, card)
    inside = (i for i in passed if is_inside(book, i.checklist) or _seen_inside(i))
    return [i for i in inside if any(i is each for each in counted)]


_OF_THE_WALL = frozenset({Seen.PITS, Seen.LINE_CORROSION, Seen.GOUGE, Seen.DENT, Seen.THREAD})
"""What is accepted up to some measure: what was refused for it had more."""


def names_what_never(book: Book, entry: RefusedStranger | Refused, card: Cylinder) -> bool:
    """Whether a refusal names what none of is accepted on a cylinder: a crack, a bulge, heat, a
    leak of the shell, a bent neck; or so much of what is (pits, corrosion, a dent) that it was
    refused for it; or may, in words that nobody reads here."""
    if unread_in(book, entry, card):
        return True
    rows = [r for r in book.finding_rows if r.never or r.what in _OF_THE_WALL]
    fit = [r for r in rows if not r.material or card.material in {None, *r.material}]
    said = found_then(book, entry, card)
    return any(says_giving_way(text) or any(spoken_of(text, row) for row in fit) for text in said)


def unread_in(book: Book, entry: RefusedStranger | Refused, card: Cylinder) -> str:
    """The first word of a refusal in letters that no list of words has, or what of it nobody
    understands here; or an empty text."""
    rows, people = book.finding_rows, book.settings.people
    found = found_then(book, entry, card)
    told = (not_read(text, rows, people) for text in found if text != entry.note)
    return next(filter(None, (*map(unread_words, found), *told)), "")


def leaks_still(book: Book, entry: RefusedStranger | Refused, card: Cylinder) -> bool:
    """Whether a refusal speaks of a leak that may be the valve's, and nobody worked on the valve
    since then; of its own day only work counts that came later by the hours of both."""
    if not any(says_gas_lost(text) for text in found_then(book, entry, card)):
        return False
    work = (w for w in standing(card.valve_work) if w.is_service)
    return not any(w.on.first > entry.on.last or _is_later_that_day(w, entry) for w in work)


def worked_that_day(entry: RefusedStranger | Refused, card: Cylinder) -> ValveWork | None:
    """Work on the valve on the day of a refusal, of which nobody says by the hours whether it came
    after it; or None."""
    work = (w for w in standing(card.valve_work) if w.is_service and w.on.meets(entry.on))
    return next((w for w in work if w.at is None or entry.at is None), None)


def found_then(book: Book, entry: RefusedStranger | Refused, card: Cylinder) -> tuple[str, ...]:
    """What a refusal says of its own: no reason that only says again why the card was held,
    rejected, condemned or damaged by then. That stands, or was answered or struck out, there."""
    told = [r for r in entry.reasons if not _says_again(book, r, entry, card)]
    return tuple(filter(None, (*told, entry.note)))


def _says_again(book: Book, reason: str, entry: RefusedStranger | Refused, card: Cylinder) -> bool:
    people, last = book.settings.people, entry.on.last
    for status, entries in (
        (Status.HELD, card.held),
        (Status.REJECTED, card.rejected),
        (Status.CONDEMNED, card.condemned),
    ):
        start = next((s for s in _stands(status) if reason.startswith(s)), "")
        if start:
            known = [e for e in entries if e.on.first <= last and not why_not_struck(e, people)]
            rest = reason.removeprefix(start)
            for why in sorted((e.why for e in known), key=len, reverse=True):
                rest = rest.replace(why, "")
            return bool(known) and not rest.strip("; ")
    if OF_NOTE.fullmatch(reason):
        return True  # what a note said of it stands, or was answered, where it is noted
    back = [r for r in rentals_of(book, card.id) if r.back and r.back <= last]
    rentals = [r for r in back if not why_not_struck(r, people)]
    if any(reason == f"damage noted at return on {r.back}: {r.damage}" for r in rentals):
        return True
    return reason in _told_then(book, entry, card, rentals)


OF_NOTE = pattern(
    r"(?:[\w.-]+: )?(?:the note (?:of|at its) |its refusal of ).*? says `.*?`, "
    rf"(?:{'|'.join(ENDINGS)})"
)
"""How the gate tells of a note. What a customer says is nobody's note yet."""


def _told_then(
    book: Book, entry: RefusedStranger | Refused, card: Cylinder, rentals: Sequence[Rented]
) -> Iterator[str]:
    """The gate's own words of what was found by the day of a refusal: it stands, or was answered or
    struck out, where it was found."""
    people, last = book.settings.people, entry.on.last

    def then(entries: Sequence[E_]) -> tuple[E_, ...]:
        known = (e for e in entries if e.on.first <= last and not why_not_struck(e, people))
        return tuple(replace(e, void=None) for e in known)

    as_then = replace(card, inspected=then(card.inspected), held=then(card.held))
    found = [*findings_against(as_then), *texts_against(bench_of(book), as_then, then(rentals))]
    for each in found:
        for state in _STATES.get(each.text, (each.text.replace(" ", "-"),)):
            yield SAID_OF[state].format(on=each.on, what=each.what)


_STATES = {"crack": ("cracked",), "heat": ("over-heated",)}
"""The states of what an inspection found; what is said has one of its own name."""


def _stands(status: Status) -> tuple[str, str]:
    """How the gate begins to tell of a state, alone or beside a graver one."""
    return f"it is {status.in_words}: ", f"it is {status.in_words} as well: "


def _seen_inside(look: Inspected) -> bool:
    return PartChecked.INSIDE in look.checked


def why_not_seen(entry: Certified, people: Mapping[str, Person]) -> str:
    """Why it counts for nothing that somebody saw what a user was trained for: they are none of the
    ledger's people, or had left by then; or nothing."""
    if not entry.by:
        return "nobody's initials stand beside it"
    person = people.get(entry.by)
    if people and person is None:
        return f"{entry.by} is not among the people of tankbook.yaml"
    gone = person is not None and person.left is not None and person.left.last < entry.on.first
    return f"{entry.by} had left by then" if gone else ""


def said_of_stolen(entry: Stolen, card: Cylinder) -> str:
    """What is said of a cylinder whose serial is on an entry, in words that accuse nobody."""
    same = plain_serial(entry.serial) == plain_serial(card.serial)
    which = "is" if same else f"may be {entry.serial},"
    ref = f", {entry.reference}" if entry.reference else ""
    since = f"recorded as stolen since {entry.on}"
    return f"its serial {card.serial} {which} {since}: {entry.why}{ref}"


WHAT_TO_DO = (
    "stay calm, keep to local law and call the number on the notice; nobody is to take it by force"
)


def said_of_refused(entry: RefusedStranger | Refused) -> str:
    """What was refused, why, what else was noted of it, and who was told, in a line."""
    told = f"owner told, {entry.told.how}" if entry.told else "owner not told"
    noted = f" ({' '.join(entry.note.split())})" if entry.note else ""
    return f"{that_refused(entry)}: {', '.join(entry.reasons)}{noted}; {told}"


def that_refused(entry: RefusedStranger | Refused) -> str:
    """That it was refused, and by whom, without what for."""
    by = f" by {entry.by}" if entry.by else ""
    return f"{_QUOTED}{entry.on}{by}"


def stolen_told(book: Book, card: Cylinder) -> Iterator[str]:
    """What whoever has a cylinder in hand is told where its serial is recorded as stolen."""
    for entry in stolen_as(book, card):
        yield f"{card.id}: WARNING: {said_of_stolen(entry, card)}; {WHAT_TO_DO}"


def notes_of(book: Book, card: Cylinder) -> Iterator[str]:
    """What an act about a cylinder tells of it first."""
    yield from stolen_told(book, card)
    for refused in refused_before(book, card):
        yield f"{card.id}: WARNING: {said_of_refused(refused)}"
