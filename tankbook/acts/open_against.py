"""What stands open against a cylinder, how it is named, and what would answer it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Held, Inspected, Rejected, Requalified, standing
from tankbook.records.kinds import Adverse, Cleared
from tankbook.records.life import is_open
from tankbook.records.words import Method
from tankbook.rules.clearing import (
    is_grave,
    kinds_said,
    open_damage,
    open_findings,
    open_inspection,
    open_test,
    rejection_answered,
    rejection_takes_a_finding,
    rejection_takes_a_test,
)
from tankbook.rules.counter import kinds_of, refusal_name, refused_before
from tankbook.rules.fill_history import rentals_of
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.signing import bench_of
from tankbook.rules.tested import PRESSURE_TESTS
from tankbook.units import PartialDate, quoted

_BY_LOOK = frozenset({Adverse.HELD, Adverse.REJECTED, Adverse.INSPECTED, Adverse.DAMAGE})
"""What a passed inspection may answer; a failed test, a suspected crack and heat never."""


class Open(Struct, frozen=True):
    """Something that stands against a cylinder.

    `for_ever` says that nothing answers it; `answered` that an entry does and that only its end
    (`release`) is still to be recorded; `letter` that only a requalifier's written finding does;
    `tests_only` that no look of one's own does; `inside` that a look inside does, or a pressure
    test.
    """

    what: Adverse
    on: PartialDate
    text: str
    entry: Held | Rejected | Inspected | Requalified | None = None
    for_ever: bool = False
    answered: bool = False
    letter: bool = False
    tests_only: bool = False
    inside: bool = False

    @property
    def by_look(self) -> bool:
        """Whether a passed inspection may answer it."""
        by_others = self.for_ever or self.letter or self.tests_only
        return self.what in _BY_LOOK and not by_others

    @property
    def by_test(self) -> bool:
        """Whether a passed test may answer it; plain damage noted at a return takes a look."""
        return not self.for_ever and (
            self.letter or self.inside or self.what not in {Adverse.DAMAGE, Adverse.RETURNED}
        )

    @property
    def name(self) -> str:
        """As an answer names it: `damage 2026-02-09`."""
        return f"{self.what} {self.on}"

    def __str__(self) -> str:
        return f"{self.name} ({self.text})"


def open_against(book: Book, card: Cylinder) -> tuple[Open, ...]:
    """Everything that stands open against a cylinder, oldest first."""
    found = [*_ends_missing(book, card), *_looks_and_tests(book, card), *_findings(book, card)]
    rentals = rentals_of(book, card.id)
    found += [
        Open(
            *(Adverse.DAMAGE, on, rental.damage or ""),
            inside=bool(says_giving_way(rental.damage or "")),
        )
        for rental, on in open_damage(bench_of(book), card, rentals)
    ]
    for refused in refused_before(book, card):
        if kinds := kinds_of(book, refused, card):
            name = refusal_name(kinds)
            if not any((o.what, o.on) == (name, refused.on) for o in found):
                found.append(Open(name, refused.on, _FOUND["refused"], letter=True))
    return tuple(sorted(found, key=lambda o: (o.on.first, list(Adverse).index(o.what))))


def _ends_missing(book: Book, card: Cylinder) -> Iterator[Open]:
    for hold in standing(card.held):
        if is_open(hold):
            yield Open(Adverse.HELD, hold.on, hold.why, hold)
    for rejected in standing(card.rejected):
        if is_open(rejected):
            bench = bench_of(book)
            done = rejection_answered(bench, card, rejected)
            tests = rejection_takes_a_test(bench, card, rejected)
            yield Open(
                Adverse.REJECTED,
                rejected.on,
                rejected.why,
                rejected,
                answered=done,
                letter=rejection_takes_a_finding(bench, rejected),
                tests_only=tests,
            )


def _looks_and_tests(book: Book, card: Cylinder) -> Iterator[Open]:
    bench = bench_of(book)
    rest = card
    while (look := open_inspection(bench, rest)) is not None:
        said = f"{look.checklist}, {look.result}"
        tests = is_grave(bench, look)
        yield Open(Adverse.INSPECTED, look.on, said, look, tests_only=tests)
        rest = replace(rest, inspected=tuple(i for i in rest.inspected if i is not look))
    while (test := open_test(bench, rest)) is not None:
        letter = bool(kinds_said(bench, test.note, test.finding))
        what = f"{test.method} test failed"
        yield Open(Adverse.REQUALIFIED, test.on, what, test, letter=letter)
        rest = replace(rest, requalified=tuple(r for r in rest.requalified if r is not test))


_BY_LETTER = {"suspected", "over-heated-steel", "heat-said", "bulge-said"}
"""What only a requalifier's written finding answers."""

_FOUND = {
    "refused": "what it was refused for then: a requalifier decides",
    "cracked": "a crack: it is never passed",
    "suspected": "a suspected crack: a requalifier decides",
    "over-heated": "over-heated: it is never passed",
    "over-heated-steel": "over-heated steel: a requalifier decides",
    "heat-said": "fire or heat is spoken of: a requalifier decides",
    "bulge-said": "a bulge is spoken of: a requalifier decides",
    "test-said": "a failed test is spoken of: a pressure test that passes answers it",
    "unread-said": "why it was held nobody reads here: say it in other words, or look inside",
    "giving-way-said": "what may give way is spoken of: a look inside or a test answers it",
}


def _findings(book: Book, card: Cylinder) -> Iterator[Open]:
    for each, state in open_findings(bench_of(book), card, rentals_of(book, card.id)):
        letter = state in _BY_LETTER
        by_test = state == "test-said"
        inside = state in {"giving-way-said", "unread-said"}
        yield Open(
            *(each.what, each.on, _FOUND[state]),
            for_ever=not (letter or by_test or inside),
            letter=letter,
            tests_only=by_test,
            inside=inside,
        )


# --- naming --------------------------------------------------------------------------------------


def chosen(text: str, opens: Sequence[Open]) -> tuple[Open, ...] | str:
    """What a text names among what is open, or why it is not clear.

    `damage 2026-11-20` names it whole; a word, a date or the end of one will do where only one
    thing is meant. What one inspection or test led to on one day is one thing.
    """
    said = " ".join(text.split())
    found = _exact(said, opens)
    if found:
        return found
    found = tuple(o for o in opens if said and _fits(said, o))
    if found and _is_one_thing(found):
        return found
    known = "; ".join(map(str, opens)) or "nothing"
    if found:
        which = ", ".join(f'"{o.name}"' for o in found)
        return f"--clears {quoted(said)} may mean {which}: name one in full"
    return f"--clears {quoted(said)} names nothing that is open; open is: {known}"


def named_in(
    texts: Iterable[str], opens: Sequence[Open]
) -> tuple[tuple[Open, ...], tuple[str, ...]]:
    """What several texts name, each thing once, and what is wrong with any of them."""
    found: dict[Open, None] = {}
    wrong = []
    for text in texts:
        got = chosen(text, opens)
        if isinstance(got, str):
            wrong.append(got)
        else:
            found |= dict.fromkeys(got)
    return tuple(found), tuple(wrong)


def _exact(said: str, opens: Iterable[Open]) -> tuple[Open, ...]:
    try:
        cleared = Cleared.parse(said.casefold())
    except ValueError:
        return ()
    return tuple(o for o in opens if o.what is cleared.what and cleared.on.meets(o.on))


def _fits(said: str, each: Open) -> bool:
    try:
        return PartialDate.parse(said).meets(each.on)
    except ValueError:
        pass
    tail = len(said) > 1 and said[-1].isdigit() and str(each.on).endswith(said)
    return said.casefold() == each.what.value or tail


def _is_one_thing(found: Sequence[Open]) -> bool:
    """Whether all of it is of one day, and no word of it stands for two things."""
    days = {o.on for o in found}
    words = [o.what for o in found]
    return len(days) == 1 and len(words) == len(set(words))


def cleared(found: Iterable[Open]) -> tuple[Cleared, ...]:
    """What is written into `clears`, each thing once."""
    return tuple(dict.fromkeys(Cleared(o.what, o.on) for o in found))


# --- what would answer it ------------------------------------------------------------------------


def asked_of_test(opens: Iterable[Open], method: Method, on: PartialDate) -> list[Open]:
    """The failed tests and rejections that a passed test by a method on a day could answer: it has
    to say whether it does."""
    return [o for o in opens if _could(o, method, on)]


def _could(each: Open, method: Method, on: PartialDate) -> bool:
    if each.answered or each.what not in {Adverse.REQUALIFIED, Adverse.REJECTED}:
        return False
    if each.what is Adverse.REQUALIFIED:
        failed = each.entry
        assert isinstance(failed, Requalified)
        same = method is failed.method or (
            method in PRESSURE_TESTS and failed.method is Method.VISUAL
        )
        return same and on.last > failed.on.first
    return method in PRESSURE_TESTS and on.last >= each.on.first


def way_out(id_: str, each: Open) -> str:
    """The command that would answer something, ready to be filled in."""
    look = f'`tankbook inspect {id_} --clears "{each.name}"`'
    test = f'`tankbook requalify {id_} --on DATE --by RIN --clears "{each.name}"`'
    if each.for_ever:
        return f"`tankbook condemn {id_} --by RIN --why WHY --marked HOW` records that it is"
    if each.letter:
        return f"{test[:-1]} --finding TEXT` with what the requalifier wrote"
    if each.inside:
        return f"{look} after a look inside, or {test} once a test passes"
    if each.what is Adverse.REQUALIFIED:
        return f"{test} once a later test passes"
    if each.what is Adverse.REJECTED:
        if each.answered:
            return f"`tankbook release {id_} --why WHY` lifts it"
        return f"{test} once a test passes" + ("" if each.tests_only else f", or {look}")
    if each.what is Adverse.HELD:
        return f"`tankbook release {id_} --why WHY`, or {look} with --why"
    return f"{test} once a test passes" if each.tests_only else look
