"""The words by which a requalifier lets a cylinder go: a closed vocabulary.

A suspected crack, heat, fire or a bulge is answered by what somebody wrote of it. Of such a text
every word must be known here, and each thing it speaks of denied: one word too many, and it lets
nothing go. What else is to be said goes in a note, which is not weighed. The vocabulary stands in
`ledger/data/words/letting_go.yaml`.
"""

from __future__ import annotations

import re
from enum import StrEnum
from functools import cache

from msgspec import Struct, field

from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import pattern

_SAY = Lexicon("letting_go")


class Suspicion(StrEnum):
    """What is suspected of a cylinder."""

    CRACK = "crack"
    HEAT = "heat"
    BULGE = "bulge"


class _Word(StrEnum):
    """What a word does in a clause."""

    DENIES = "denies"
    """What follows, or what stands before it."""
    PARTS = "parts"
    """Ends what a denial reaches."""
    FAULT = "fault"
    """Something that tells against a cylinder."""
    IS = "is"
    """Says what a fault was instead."""
    HARMLESS = "harmless"
    SOILED = "soiled"
    """Harmless where it is said that the fault was this."""
    PASSES = "passes"
    LOOK = "look"
    """A look or its paper: `no crack test` denies that, and no crack."""
    PLACE = "place"
    """Leads on to where something is."""
    FOUND = "found"
    """Right behind a denial it says that a fault is not there: `crack not found`."""
    DONE = "done"
    """What was done; denied before a fault is named, it was not: `not tested`."""
    LESS = "less"
    """Makes a fault less than one, or says that it was taken away: denied, the rest stands."""
    SUSPECTED = "suspected"
    ONLY = "only"
    """All but what follows was not: `only a scratch`, and never `only visual passed`."""
    MILD = "mild"
    """What a denial denies of a fault that no limit accepts, and not the fault itself."""
    NEUTRAL = "neutral"


_ALL = frozenset(Suspicion)
_ANSWERED: dict[str, frozenset[Suspicion]] = {
    **{each.value: frozenset({each}) for each in Suspicion},
    "any": _ALL,
    "none": frozenset(),
}
"""What the words of a list answer, by the end of its name: `fault heat`."""


@cache
def _answers_of(what: str) -> dict[str, frozenset[Suspicion]]:
    """Each word of the lists of faults, parts or measures, and which suspicion it answers: a fault
    that is denied, a part that is sound, a measure that found nothing."""
    found: dict[str, frozenset[Suspicion]] = {}
    for name in (n for n in _ANSWERED if f"{what} {n}" in _SAY):
        for word in _SAY.words(f"{what} {name}"):
            found[word] = found.get(word, frozenset()) | _ANSWERED[name]
    return found


@cache
def _kinds() -> dict[str, _Word]:
    """What each word of the vocabulary does."""
    other = (kind for kind in _Word if kind is not _Word.FAULT)
    faults = dict.fromkeys(_answers_of("fault"), _Word.FAULT)
    return faults | {word: kind for kind in other for word in _SAY.words(kind.value)}


_CLAUSES = pattern(r"[,;:()!\n]|\.(?=\s|$)|\s[-\u2013]\s")


class _Clause(Struct):
    """What a clause has said so far."""

    denied: bool = False
    reached: bool = False
    """The denial has met what it denies."""
    open_: bool = False
    """A fault was named, and not denied yet."""
    was: bool = False
    """It is being said what the fault was."""
    good: bool = False
    wrong: bool = False
    before: _Word | None = None
    by: str = ""
    """The word that denies."""
    gone: bool = False
    """It is not found, by the word right behind the denial."""
    seen: bool = False
    """Something was found."""
    hard: bool = False
    """A fault was named that no limit accepts."""
    only: bool = False
    """What follows is all there is, and was not said yet."""
    mild: bool = False
    aim: bool = False
    """What it passed for follows."""
    than: bool = False
    """Something harmless was denied: what follows may stand in its place."""
    met: frozenset[Suspicion] | None = None
    """What was denied last: `no bulge is a crack` denies no crack."""
    last: str = ""
    where: bool = False
    """It is being said where what was denied is not: a fault named there is there."""
    part: frozenset[Suspicion] = _ALL
    """What it answers that the parts spoken of are sound."""
    measured: frozenset[Suspicion] | None = None
    """What the looks and measures spoken of may answer."""
    place: bool = False
    """A part was named."""
    elsewhere: bool = False
    """That part is not where a crack begins: a mark there is not what was suspected."""
    done: bool = False
    answering: bool = False
    """It stands behind `but`, and is to say that all is well itself."""
    answers: set[Suspicion] = field(default_factory=set)
    """What is denied by its name."""
    broad: set[Suspicion] = field(default_factory=set)
    """What is answered as all is."""
    instead: set[Suspicion] = field(default_factory=set)
    """What is answered by what it was instead."""
    spoken: frozenset[Suspicion] = frozenset()

    @property
    def bare(self) -> bool:
        """Whether it says of nothing how it is: it names what the rest is about."""
        return not (self.denied or self.good or self.open_ or self.seen)


class _Text(Struct):
    """What the clauses of a text say together."""

    answers: set[Suspicion] = field(default_factory=set)
    broad: set[Suspicion] = field(default_factory=set)
    instead: set[Suspicion] = field(default_factory=set)
    named: set[Suspicion] = field(default_factory=set)
    """Each suspicion that is spoken of: a good word is said of these, where there are any."""
    part: frozenset[Suspicion] = _ALL
    narrow: frozenset[Suspicion] = _ALL
    measured: frozenset[Suspicion] | None = None
    elsewhere: bool = False

    def add(self, clause: _Clause) -> None:
        """One clause more. What only names a part is the head of all the others, and a good word
        says no more than what was looked at."""
        measured = _ALL if clause.measured is None else clause.measured
        self.answers |= clause.answers & clause.part & measured
        self.broad |= clause.broad & clause.part & measured
        self.instead |= clause.instead
        self.named |= clause.answers | clause.instead | clause.spoken
        self.elsewhere |= clause.elsewhere and (clause.bare or bool(clause.instead))
        if clause.place:
            self.narrow &= clause.part
            self.part &= clause.part if clause.bare else _ALL
        if clause.measured is not None:
            self.measured = clause.measured | (self.measured or frozenset())

    def said(self) -> frozenset[Suspicion]:
        """What is answered."""
        broad = self.broad & (_ALL if self.measured is None else self.measured)
        broad &= (self.named or _ALL) & self.narrow
        instead = frozenset() if self.elsewhere else self.instead
        return frozenset(instead | ((self.answers | broad) & self.part))


def lets_go(text: str, of: Suspicion = Suspicion.CRACK) -> bool:
    """Whether what a requalifier wrote says that a cylinder may be used: that what was suspected is
    not there, what it was instead, or that it passed; and nothing else."""
    return of in _answered(text)


def speaks_for(text: str, of: Suspicion) -> bool:
    """Whether a text names what was suspected, or what measures it, itself."""
    text = _plain(text)
    words = re.findall(r"[^\W\d_][\w-]*", text.casefold())
    if of is Suspicion.HEAT and not _SAY.words("softened").isdisjoint(words):
        return True
    return any(_answers_of("fault").get(word) == frozenset({of}) for word in words)


def _plain(text: str) -> str:
    """A text in the words of the vocabulary."""
    for old, new in _SAY.changes("same"):
        text = re.sub(" +", " ", old.sub(new, text))
    return text


def reads_well(text: str) -> bool:
    """Whether a text says in known words alone that all is well."""
    return bool(_answered(text))


@cache
def _answered(text: str) -> frozenset[Suspicion]:
    """The suspicions that a text answers; none where it says anything that is not known."""
    if _SAY.holds("not all", text):
        return frozenset()
    text = _plain(text)
    whole = _Text()
    for clause in _CLAUSES.split(text.casefold()):
        if not _read(re.findall(r"[^\s,;:()!\"'/]+", clause), whole):
            return frozenset()
    return whole.said()


def _read(words: list[str], whole: _Text) -> bool:
    """Whether a clause is known and tells nothing against the cylinder: adds what it answers."""
    state, kinds = _Clause(), _kinds()
    for word in words:
        kind = kinds.get(word.strip("."))
        if kind is None:
            return False
        if kind is _Word.PARTS:
            if not _ends_well(state):
                return False
            whole.add(state)
            # `hydro and eddy current passed`
            measured = state.measured if state.bare else None
            state = _Clause(answering=word in {"but", "aber"}, measured=measured)
            continue
        _take(state, kind, word.strip("."))
        state.last = word
        if state.wrong:
            return False
    if not _ends_well(state):
        return False
    whole.add(state)
    return True


def _ends_well(state: _Clause) -> bool:
    """Whether nothing is left open: a fault that nobody denied, or a denial of nothing."""
    if state.bare and state.place and state.done:
        return False  # `threads inspected`
    if state.before is _Word.SUSPECTED and not state.reached:
        return False
    if state.only or (state.answering and not (state.denied or state.good)):
        return False
    if not state.denied or state.reached:
        return not state.open_ and (state.denied or state.good or not state.seen)
    there = state.open_ and not (state.gone or state.by in _SAY.words("alone"))
    if state.good or there or not (state.open_ or state.by in _SAY.words("by itself")):
        return False
    if state.open_:
        _answer(state, state.spoken)
    elif state.measured != frozenset({Suspicion.CRACK}):
        return False  # `hydro negative`
    else:
        state.broad |= _ALL
    return True


def _answer(state: _Clause, what: frozenset[Suspicion]) -> None:
    """A fault is denied: by its own name, or with all others."""
    (state.broad if what == _ALL else state.answers).update(what)
    state.spoken |= what


def _take(state: _Clause, kind: _Word, word: str) -> None:
    """One word more."""
    # `possible artefact` is a guess
    guessed = state.before is _Word.SUSPECTED and not state.reached
    state.wrong |= guessed and kind not in {_Word.FAULT, _Word.NEUTRAL}
    if kind is _Word.DENIES:
        again = state.denied and not (word == "nor" and state.reached)
        state.wrong |= again or (state.good and word != "not")
        state.denied, state.reached, state.by = True, False, word
    elif kind is _Word.FAULT:
        _take_fault(state, word)
    elif kind is _Word.LOOK:
        state.wrong = state.before is _Word.FAULT or (state.denied and not state.reached)
        state.wrong |= state.aim  # `accepted for retest`
    elif kind is _Word.FOUND:
        state.gone |= state.before is _Word.DENIES and state.by != "no"
        state.seen = True
    elif kind is _Word.DONE:
        state.wrong |= (state.denied and not state.reached) or state.aim
        state.done = True
    elif kind is _Word.ONLY:
        behind = state.before in {_Word.HARMLESS, _Word.SOILED}  # `a scratch only`
        state.wrong |= not behind and (state.denied or state.good)
        state.only = not behind
    elif kind is _Word.MILD:
        state.mild = True
        # `no crack rejectable`, `rejectable scratch`
        state.wrong |= not state.denied or (state.reached and state.hard)
    elif kind is _Word.LESS:
        state.wrong |= state.denied
    elif kind is _Word.SUSPECTED:
        state.wrong |= state.denied and state.good
    elif kind is _Word.HARMLESS and state.denied:
        state.reached = state.than = True  # `no folds or cracks`
    elif kind in {_Word.HARMLESS, _Word.PASSES} or (kind is _Word.SOILED and state.was):
        _take_good(state, kind, word)
    elif kind is _Word.SOILED:
        state.wrong |= state.reached or state.open_  # `no crack in the paint`
        state.than |= state.denied  # `not dirt a crack`
    elif kind is _Word.PLACE:
        state.was = state.open_ and not state.hard and word in _SAY.words("from")
        state.aim = state.good and word in {"for", "to"}
        state.where |= state.denied and word in _SAY.words("where")
    elif kind is _Word.IS:
        state.was = state.open_
    elif word in _SAY.words("or"):
        state.where = False
    _take_place(state, kind, word)
    state.before = kind if kind is not _Word.NEUTRAL else state.before


def _take_fault(state: _Clause, word: str) -> None:
    """A fault, which is denied or left open."""
    answers, soft = _answers_of("fault")[word], word in _SAY.words("soft")
    going_on = state.last in _SAY.words("or")
    state.wrong |= state.where and not going_on and state.before is not _Word.SUSPECTED
    if state.denied:
        # `not a scratch, a crack`; `no rejectable crack` leaves one
        own = answers not in (_ALL, frozenset()) and not soft
        other = state.than or not (state.met is None or state.met & answers)
        state.wrong |= (other and not going_on) or (state.mild and own)
        state.met = answers
        state.hard |= own
        state.reached = True
        _answer(state, answers)
        # `the suspected crack is no crack`
        state.open_ = state.open_ and not (state.was and state.spoken <= answers)
    else:
        state.wrong |= state.open_ and state.before is _Word.FOUND  # `crack found bulge none`
        state.open_, state.spoken, state.was = True, state.spoken | answers, False
        state.hard |= not soft


def _take_good(state: _Clause, kind: _Word, word: str) -> None:
    """That it passed, or what a fault was instead."""
    passes = kind is _Word.PASSES
    state.wrong |= state.only and passes
    state.only = False
    # whether what was named may lie within a limit, and does
    accepted = word in _SAY.words("accepts") and not state.hard
    told = state.was and (not passes or accepted)
    state.wrong |= state.denied or (state.open_ and not told)
    named, state.open_, state.good = state.open_, False, True
    spoken_else = named and Suspicion.CRACK not in state.spoken
    if passes:
        state.broad |= _ALL
    else:
        state.wrong |= spoken_else and kind is _Word.HARMLESS  # `the bulge is a fold`
        state.instead |= set() if spoken_else else {Suspicion.CRACK}


def _take_place(state: _Clause, kind: _Word, word: str) -> None:
    """The part or the measure that a word speaks of."""
    elsewhere = word in _SAY.words("elsewhere")
    parts, measured = _answers_of("parts"), _answers_of("measures").get(word)
    state.part &= frozenset() if elsewhere else parts.get(word, _ALL)
    state.elsewhere |= elsewhere
    is_part = (elsewhere or word in parts) and kind is not _Word.LOOK
    state.place |= is_part and not (kind is _Word.SOILED and state.good)
    if measured is not None:
        state.measured = measured | (state.measured or frozenset())
