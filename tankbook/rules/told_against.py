"""Remarks that come with a cylinder from somebody else's list: whether one tells against it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from unicodedata import combining, normalize

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.marked import WordSays
from tankbook.rules.checks.findings import notes_are_findings, notes_set_no_lower_limit
from tankbook.rules.contradicted import other_thread
from tankbook.rules.giving_way import says_gas_lost, says_giving_way
from tankbook.rules.harmless import (
    asks_for_ill,
    asks_how_it_stands,
    heading_and_value,
    is_made_of,
    is_plain,
    says_a_day,
)
from tankbook.rules.remark_words import doubts_said
from tankbook.rules.seen import seen_in
from tankbook.rules.signing import bench_of
from tankbook.rules.stamped import words_that
from tankbook.rules.wording import (
    denied_by,
    first_of,
    first_of_shell,
    plainly,
    unread_words,
    unsettled,
)
from tankbook.units.lexicon import Lexicon, plain_words, words_in
from tankbook.units.patterns import pattern

_SAY = Lexicon("told_against")
_HEADINGS = Lexicon("headings")


def tells_against(book: Book, card: Cylinder, text: str, today: dt.date | None = None) -> str:
    """Why a remark holds its cylinder until somebody looked at it, or an empty text.

    Whoever wrote it meant themselves: nobody here can ask. So what the checks would warn of in a
    note counts, and what is said of a valve or a handwheel as well.

    Args:
        book: the records.
        card: the cylinder, as far as it is known.
        text: the remark.
        today: the day, by which one that is yet to come holds nothing.
    """
    if _is_no_fault(text) or _is_end_to_come(text, today):
        return ""
    rest = _without_excused(text)
    noted = Cylinder(
        source=card.source, id=card.id, serial=card.serial, material=card.material,
        alloy=card.alloy, service_pressure=card.service_pressure, note=rest,
    )  # fmt: skip
    found = [
        *notes_are_findings(
            noted, about=(), rentals=(), finding_rows=book.finding_rows, bench=bench_of(book)
        ),
        *notes_set_no_lower_limit(noted),
    ]
    if found:
        return _once(found[0].text)
    doubted = next((word for _, word in doubts_said(book.finding_rows, rest)), "")
    seen = next(iter(seen_in(rest, book.finding_rows)), "")
    plain = "".join(c for c in normalize("NFD", rest) if not combining(c))
    word = (
        doubted
        or seen
        or first_of_shell(_but_of_state(plain), words_that(book.mark_words, WordSays.CONDEMNED))
        or first_of(plainly(_but_of_part(rest)), _HEADINGS.listed("ill"))
        or unsettled(rest)
        or says_giving_way(rest)
        or says_gas_lost(rest)
        or _said(_bare(plainly(rest)), card.alloy or "")
        or _alone(rest, book.settings.people)
    )
    if word or _denied_below(text) or _says_since_when(text, today):
        return f"a remark says {word or text}"
    if is_plain(text) and (thread := other_thread(card, text)):
        return f"a remark says {thread}"
    unread = unread_words(text)
    return f"nobody here reads `{unread}`" if unread else ""


def _once(said: str) -> str:
    """What a check says of a note, and what it quotes only where that is more.

    >>> _once("a note says do not fill: `do not fill`")
    'a remark says do not fill'
    >>> _once("a note speaks of rust: `bit of rust`")
    'a remark speaks of rust: `bit of rust`'
    """
    found = _QUOTED.fullmatch(said)
    if found is None:
        return said
    same = plain_words(found["word"]) == plain_words(found["quoted"])
    return f"a remark {found['says']} {found['word']}" + ("" if same else f": `{found['quoted']}`")


_QUOTED = pattern(r"a note (?P<says>says|speaks of) (?P<word>[^`]+): `(?P<quoted>[^`]*)`")


def _said(text: str, alloy: str) -> str:
    """The phrase by which a bare text says that its cylinder is not to be filled or handed out, is
    not tight, or is something else than a sound one that is here; or an empty text. An alloy that
    the card names is judged by the rules."""
    for found in _SAY.phrases("against").finditer(text):
        before = _CLAUSE.split(text[: found.start()])[-1]
        denied = denied_by(before, text, found.end(), (), _SAY.words("not any"))
        if not (denied or (alloy and alloy in found[0])):
            return found[0].strip()
    return ""


def _alone(text: str, people: Collection[str]) -> str:
    """The whole clause of a text that names a gas that nobody breathes, or marks what was not
    passed, or an empty text; the initials of `people` are none."""
    heading, value = heading_and_value(text)
    if plain_words(heading) in _SAY.listed("of people"):
        return ""
    clauses = (each.strip() for each in _APART.split(value or text))
    return next(
        (e for e in clauses if plain_words(e) in _SAY.listed("alone") and e not in people), ""
    )


_APART = pattern(r"[,;:!?()]|\s[-\u2013/+&]\s")
_CLAUSE = pattern(r"[.,;:!?()]")


def _without_excused(text: str) -> str:
    """A remark without what is said of a fitting that a cylinder does without, of its owner or its
    colour: what else it says counts."""
    text = plainly(text)
    ends, kept = 0, []
    for found in _SAY.phrases("excused").finditer(_bare(text)):
        kept.append(text[ends : found.start()])
        ends = found.end()
    return " ".join((*kept, text[ends:])).strip()


def _bare(text: str) -> str:
    """A text letter by letter without accents, with a blank for each apostrophe."""
    return "".join(" " if c in _APOSTROPHES else normalize("NFD", c)[0] for c in text)


_APOSTROPHES = "'\u2019\u00b4`"


def _is_no_fault(text: str) -> bool:
    """Whether a remark is the `no` of a column that asks for a fault, such as `Leaking?`."""
    heading, _, value = text.rpartition(": ")
    says_no = value.strip(" .!").casefold() in _HEADINGS.listed("denies that")
    return says_no and (says_danger(heading) or is_made_of(heading, "fault"))


def _but_of_part(text: str) -> str:
    """A remark without its heading where that names a part alone: `Burst disc psi: 5000`."""
    heading, value = heading_and_value(text)
    return value if is_made_of(heading, "part") else text


def _but_of_state(text: str) -> str:
    """A remark without its heading where that asks how it stands, short for which may be short for
    more: `Cond: good`, and no `Cond: 05/2023`, or a yes."""
    heading, value = heading_and_value(text)
    yes = value.strip(" .!").casefold() in _HEADINGS.listed("says yes")
    asks_state = asks_how_it_stands(heading) and not yes and not says_a_day(value)
    return value if asks_state else text


def _says_since_when(text: str, today: dt.date | None) -> bool:
    """Whether a remark is the yes, or the day, of a column that says by its heading that a cylinder
    is not to be filled, such as `Stillgelegt: 05/2023`."""
    heading, value = heading_and_value(text)
    yes = value.strip(" .!").casefold() in _HEADINGS.listed("says yes")
    return (yes or says_a_day(value)) and says_danger(heading)


def says_danger(heading: str) -> bool:
    """Whether the heading of a column says that what stands below it is not to be filled.

    >>> [says_danger(h) for h in ("Uit dienst sinds", "Hydro failed", "Leak tested", "Hydro")]
    [True, True, False, False]
    """
    if asks_for_ill(heading):
        return True
    return not _names(heading, "looked at") and _names(heading, "danger")


def _names(heading: str, name: str) -> bool:
    words = f" {plain_words(heading).replace('/', ' ')} "
    return any(f" {each} " in words for each in _HEADINGS.listed(name))


def _is_end_to_come(text: str, today: dt.date | None) -> bool:
    """Whether a remark is the day to come below such a heading, as the end of a life may be."""
    heading, value = heading_and_value(text)
    return says_a_day(value) and says_danger(heading) and _is_to_come(value, today)


def _is_to_come(value: str, today: dt.date | None) -> bool:
    """Whether a day, a month or a year lies ahead of today."""
    found = _YEAR.search(value)
    if today is None or found is None:
        return False
    month = int(found["before"] or found["after"] or today.month)
    return (int(found["year"]), month) > (today.year, today.month)


_YEAR = pattern(r"(?:(?P<before>\d\d?)[/.])?(?<!\d)(?P<year>\d{4})(?!\d)(?:-(?P<after>\d\d))?")


def _denied_below(text: str) -> bool:
    """Whether a remark is the `no` of a column that asks whether something is well."""
    heading, _, value = text.rpartition(": ")
    says_no = value.strip(" .!").casefold() in _HEADINGS.listed("says no")
    asked = f" {' '.join(words_in(heading))} "
    return says_no and any(f" {each} " in asked for each in _HEADINGS.listed("asks"))
