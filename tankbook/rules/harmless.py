"""Reasons to hold a cylinder that say nothing of its shell: a closed list of words.

What may be wrong with a cylinder has no end of words; what is only its valve, its papers or its
owner has few. A reason in these words alone may be let go after a look from outside. They stand in
`ledger/data/words/harmless.yaml`.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from tankbook.rules.wording import plainly
from tankbook.units.lexicon import Lexicon, plain_words, words_in
from tankbook.units.patterns import pattern

_SAY = Lexicon("harmless")
_HEADINGS = Lexicon("headings")
_WORD = pattern(r"[^\W\d_]+(?:-[^\W\d_]+)*")
_NAMES = pattern(r"\b[A-Z]{1,4}-?\d[\w-]*|\b\d{1,2}[:.]\d\d\b|\b\d{4}(?:-\d\d){1,2}\b|\b\d{1,2}\b")
"""Ids, hours, dates and small numbers; a larger one may be a pressure."""


def known_words() -> frozenset[str]:
    """The words that say nothing of a shell, but what may be said of a shell as well."""
    known = _SAY.words("little", "work", "paper", "fittings")
    return known - _SAY.words("leaks", "of fitting", "of part")


def is_harmless(reason: str, people: Collection[str] = ()) -> bool:
    """Whether a reason to hold a cylinder is of its valve, its papers or its owner alone; the
    initials of `people` say nothing."""
    plain = _NAMES.sub(" ", plainly(reason))
    words = [w.casefold() for w in _WORD.findall(plain) if w not in people]
    known = _SAY.words("little", "work", "paper", "fittings", "leaks")
    if not words or re.search(r"\d", plain) or not known.issuperset(words):
        return False
    of_part = _SAY.words("leaks", "of fitting", "of part")
    return all(_is_of_part(words, n) for n, word in enumerate(words) if word in of_part)


def is_plain(remark: str, people: Collection[str] = (), known: str = "") -> bool:
    """Whether a remark of a list says in plain words alone whose a cylinder is, where it is, how
    big, what colour, when it was bought, or that all is well; the initials of `people` say
    nothing, nor does what stands in `known`, the names on its card.

    >>> [is_plain(r) for r in ("blue boot, new 2019", "no leaks", "blue boot, flomps", "?")]
    [True, True, False, False]
    """
    return all(_is_plain(each, people, plainly(known).casefold()) for each in remark.split("; "))


def _is_plain(piece: str, people: Collection[str], known: str) -> bool:
    heading, colon, value = piece.rpartition(": ")
    if colon and _says_well(heading, value):
        return True
    if asks_for_ill(heading):
        return False  # whatever stands below it may be a yes
    if not colon:
        return _says_nothing(piece, people, known) and not _is("alarm", piece)
    return _is_mark_of_none(piece) and (
        _says_nothing(piece, people, known) or _is_plain_below(heading, value, people, known)
    )


def _says_well(heading: str, value: str) -> bool:
    """Whether a remark is the no of a column that asks for a fault, or the yes of one that asks
    whether all is well."""
    said = value.strip(" .!").casefold()
    if said in _HEADINGS.listed("denies that"):
        return is_made_of(heading, "fault")
    return said in _HEADINGS.listed("yes of good") and is_made_of(heading, "good")


def is_made_of(heading: str, what: str) -> bool:
    """Whether a heading names a `fault`, a `part`, or something `good`, and says nothing else.

    >>> [is_made_of(h, "fault") for h in ("Load crack?", "Crack (SLC)", "No cracks", "Neck")]
    [True, True, False, False]
    """
    words = set(words_in(heading))
    of = _HEADINGS.words(f"{what} heading")
    return bool(words & of) and words <= of | _HEADINGS.words(f"beside {what}")


def heading_and_value(remark: str) -> tuple[str, str]:
    """A remark of a column that is kept with its heading: that, and what stands below it; two
    empty texts for any other.

    >>> heading_and_value("Ampel: rot"), heading_and_value("blue boot")
    (('Ampel', 'rot'), ('', ''))
    """
    heading, colon, value = remark.rpartition(": ")
    return (heading, value) if colon and value.strip() else ("", "")


def is_plain_elsewhere(value: str, people: Collection[str] = (), known: str = "") -> bool:
    """Whether a value says nothing below some heading or other, as `red` does below `Colour`."""
    pieces = value.split("; ")
    return all(_says_nothing(each, people, plainly(known).casefold()) for each in pieces)


def is_plain_heading(heading: str) -> bool:
    """Whether the heading of a column says nothing of how a cylinder is, or asks it in words, so
    that what is plain alone is plain below it.

    >>> [is_plain_heading(h) for h in ("Owner's colour", "Zustand", "Ampel", "Max fill")]
    [True, True, False, False]
    """
    words = plain_words(heading).replace("/", " ").split()
    if len(words) == _DATED and all(w.isdigit() for w in words):
        return True  # the day of what is said
    known = _SAY.words("plain heading", "coloured heading", "condition heading")
    return bool(known & set(words)) and set(words) <= known | _SAY.words("beside heading")


def asks_how_it_stands(heading: str) -> bool:
    """Whether the heading of a column asks how a cylinder is, and nothing else.

    >>> [asks_how_it_stands(h) for h in ("Cond", "Zustand", "Condemned", "")]
    [True, True, False, False]
    """
    words = set(plain_words(heading).replace("/", " ").split())
    return bool(words) and words <= _SAY.words("condition heading", "beside heading")


_DATED = 3


def is_grade(heading: str, value: str) -> bool:
    """Whether a value is what somebody calls how good a cylinder is, below a heading that asks it:
    whether it is good enough, whoever wrote it knows.

    >>> is_grade("Cond", "fair"), is_grade("Zustand", "2-3"), is_grade("Rack", "B")
    (True, False, False)
    """
    return asks_how_it_stands(heading) and _is("grade", value)


def _is_plain_below(heading: str, value: str, people: Collection[str], known: str) -> bool:
    if _SAY.shape("filled heading").fullmatch(plain_words(heading)):
        return _is("day of it", value)
    heads = heading.split(": ")
    if not value.strip() or not all(map(is_plain_heading, heads)):
        return False
    words = frozenset(plain_words(heading).replace("/", " ").split())
    if words & _SAY.words("condition heading") and _is("bare value", value):
        return False
    if _is("alarm", value) and not words & _SAY.words("coloured heading"):
        return False
    return _says_nothing(value, people, known)


def _is(name: str, value: str) -> bool:
    return _SAY.shape(name).fullmatch(plainly(value).strip(_ENDS)) is not None


def _says_nothing(piece: str, people: Collection[str], known: str) -> bool:
    """Whether every clause of a text, its heading with it, is a phrase that says nothing."""
    plain = _SAY.without("all well", plainly(piece), "")
    clauses = [each.strip(_ENDS) for each in _CLAUSES.split(plain)]
    return (
        _is_mark_of_none(piece)
        and all(not each or each in people or _is_phrase(each, known) for each in clauses)
        and (plain != plainly(piece) or any(clauses))
    )


def is_plain_title(text: str, people: Collection[str] = ()) -> bool:
    """Whether a row above others that names no cylinder says nothing of how these are.

    >>> [is_plain_title(t) for t in ("Pool", "Rack 3", "Old ones", "Spares, untested")]
    [True, True, False, False]
    """
    if _is("no plain title", text):
        return False
    return _is("plain title", text) or is_plain(text, people) or is_plain_place(text)


def is_plain_place(text: str) -> bool:
    """Whether a text says where a cylinder is in words that are known of places, and nothing else.

    >>> [is_plain_place(t) for t in ("rack 3", "B2", "Flaschenregal, oben", "quarantine", "Bob")]
    [True, True, True, False, False]
    """
    clauses = [each.strip(_ENDS) for each in _CLAUSES.split(plainly(text))]
    whole = _SAY.phrases("at a place")
    return any(clauses) and all(not each or whole.fullmatch(each) for each in clauses)


def is_provenance(text: str) -> bool:
    """Whether a text says from where something is known, and nothing else.

    >>> is_provenance("read off the shoulder by JW"), is_provenance("300 on the shoulder")
    (True, False)
    """
    return _is("provenance", text)


def asks_for_ill(heading: str) -> bool:
    """Whether the heading of a column asks for a fault.

    >>> asks_for_ill("Out of service?"), asks_for_ill("Service")
    (True, False)
    """
    return " ".join(words_in(heading)) in _HEADINGS.listed("asks for ill") or plain_words(
        heading
    ) in _HEADINGS.listed("danger")


def is_colour(text: str) -> bool:
    """Whether a text is the name of a colour, and nothing else.

    >>> is_colour("RED"), is_colour("gelb:"), is_colour("Red Sea 3")
    (True, True, False)
    """
    return _is("colour", text.rstrip(" :="))


def says_alarm(value: str) -> bool:
    """Whether a value is a red, a yellow, or a mark that warns, where its heading has no colour.

    >>> says_alarm("rot"), says_alarm("12")
    (True, False)
    """
    return _is("alarm", value)


def says_a_day(value: str) -> bool:
    """Whether a value is a day, a month or a year, and nothing else."""
    return _is("day of it", value)


def _is_phrase(clause: str, known: str) -> bool:
    """Whether a clause is one whole phrase that says nothing, or stands on the card as it is."""
    if _SAY.phrases("plain").fullmatch(clause):
        return True
    named = clause
    if (behind := _SAY.shape("of a mark").search(clause)) and behind.end() == len(clause):
        named = clause[: behind.start()].strip(_ENDS)
    if before := _SAY.shape("mark of").match(named):
        named = named[before.end() :].strip(_ENDS)
    whole = len(named) >= _NAMED_BY or (named != clause and bool(named))
    clause = named
    return whole and re.search(rf"(?<!\w){re.escape(clause.casefold())}(?!\w)", known) is not None


def _is_mark_of_none(piece: str) -> bool:
    return not _SAY.holds("no plain", plainly(piece))


_NAMED_BY = 3
"""So many letters a name has at least: a single one may be a cross, or a `no`."""
_CLAUSES = pattern(
    r"\s*[,;()]\s*|\s+[/&+]\s+|\s+(?:and|und|et|e|y|or)\s+|(?<!\d)(?<![Nn][or])\.\s+"
)
_ENDS = " .\"'\u2019#-"
"""What may stand before or behind a clause and says nothing; `?` and `!` do."""


def _is_of_part(words: list[str], at: int) -> bool:
    """Whether what may be of a shell as well is said of a fitting or a paper, and not denied of it:
    `valve leaks`, `leaks at the valve`, `boot is cracked`; not `leaks, not the valve`."""
    if not _SAY.words("denials").isdisjoint(words):
        return False
    joining, parts = _SAY.words("joining"), _SAY.words("parts")
    before = [w for w in words[max(at - _NEAR, 0) : at] if w not in joining]
    next_ = words[at + 1 : at + 1 + _NEAR]
    after = [w for w in next_ if w not in joining]
    joined = bool(next_) and (next_[0] in _SAY.words("at") or words[at] not in _SAY.words("leaks"))
    return bool((before and before[-1] in parts) or (joined and after and after[0] in parts))


_NEAR = 4
"""So many words apart a fitting may stand from what is said of it."""
