"""Remarks that come with a cylinder from somebody else's list: whether one tells against it."""

from __future__ import annotations

from unicodedata import combining, normalize

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.marked import WordSays
from tankbook.rules.checks.findings import notes_are_findings, notes_set_no_lower_limit
from tankbook.rules.giving_way import says_gas_lost, says_giving_way
from tankbook.rules.harmless import asks_for_ill
from tankbook.rules.remark_words import doubts_said
from tankbook.rules.seen import seen_in
from tankbook.rules.signing import bench_of
from tankbook.rules.stamped import words_that
from tankbook.rules.wording import first_of, first_of_shell, plainly, unread_words, unsettled
from tankbook.units.lexicon import Lexicon, words_in

_SAY = Lexicon("headings")


def tells_against(book: Book, card: Cylinder, text: str) -> str:
    """Why a remark holds its cylinder until somebody looked at it, or an empty text.

    Whoever wrote it meant themselves: nobody here can ask. So what the checks would warn of in a
    note counts, and what is said of a valve or a handwheel as well.

    Args:
        book: the records.
        card: the cylinder, as far as it is known.
        text: the remark.
    """
    if _is_no_fault(text):
        return ""
    noted = Cylinder(
        source=card.source, id=card.id, serial=card.serial, material=card.material,
        alloy=card.alloy, service_pressure=card.service_pressure, note=text,
    )  # fmt: skip
    found = [
        *notes_are_findings(
            noted, about=(), rentals=(), finding_rows=book.finding_rows, bench=bench_of(book)
        ),
        *notes_set_no_lower_limit(noted),
    ]
    if found:
        return found[0].text
    doubted = next((word for _, word in doubts_said(book.finding_rows, text)), "")
    seen = next(iter(seen_in(text, book.finding_rows)), "")
    plain = "".join(c for c in normalize("NFD", text) if not combining(c))
    word = (
        doubted
        or seen
        or first_of_shell(plain, words_that(book.mark_words, WordSays.CONDEMNED))
        or first_of(_SAY.without("no ill", plainly(text)), _SAY.listed("ill"))
        or unsettled(text)
        or says_giving_way(text)
        or says_gas_lost(text)
    )
    if word or _denied_below(text):
        return f"a remark says {word or text}"
    unread = unread_words(text)
    return f"nobody here reads `{unread}`" if unread else ""


def _is_no_fault(text: str) -> bool:
    """Whether a remark is the `no` of a column that asks for a fault, such as `Leaking?`."""
    heading, _, value = text.rpartition(": ")
    says_no = value.strip(" .!").casefold() in _SAY.listed("denies that")
    return says_no and asks_for_ill(heading)


def _denied_below(text: str) -> bool:
    """Whether a remark is the `no` of a column that asks whether something is well."""
    heading, _, value = text.rpartition(": ")
    says_no = value.strip(" .!").casefold() in _SAY.listed("says no")
    asked = f" {' '.join(words_in(heading))} "
    return says_no and any(f" {each} " in asked for each in _SAY.listed("asks"))
