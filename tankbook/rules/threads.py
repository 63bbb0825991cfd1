"""Thread marks: which thread one names, and whether two of them name the same.

A mark names a thread by a code, or by its size with its kind. A size without its kind names none:
3/4 may be NPSM, BSP, or what people call an M25, which is how valves are shot out.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from tankbook.units.patterns import pattern


class Thread(NamedTuple):
    """One thread: its kind, its size in the kind's own measure, its pitch or turns per inch."""

    kind: str
    size: Fraction
    pitch: Fraction | None


_CODES = {
    "sp12": "3/4-14 npsm",
    "25p": "m25x2",
    "18p": "m18x1.5",
    "30p": "m30x2",
}
"""The threads that codes stand for: SP12 and 25P (read: DAN), 18P and 30P (memory)."""

_TAPERS = frozenset({"17e", "18t", "25e"})
"""Codes of tapered threads, which nobody spells out (memory)."""

_KINDS = {
    "nps": "npsm",
    "npsm": "npsm",
    "npsi": "npsi",
    "npt": "npt",
    "nptf": "npt",
    "ngt": "ngt",
    "un": "un",
    "unc": "un",
    "unf": "un",
    "unef": "un",
    "uns": "un",
    "g": "g",
    "bsp": "g",
    "bspp": "g",
    "r": "r",
    "rc": "r",
    "bspt": "r",
    "rp": "rp",
    "w": "w",
}
"""The kinds of inch threads, by the words for them (NPS for NPSM: common practice, no source; the
others from memory). A unified thread is told by its size and turns, so its series says no more."""

_TURNS = {
    "npsm": {"1/2": "14", "3/4": "14", "1": "11.5"},
    "npsi": {"1/2": "14", "3/4": "14", "1": "11.5"},
    "npt": {"1/2": "14", "3/4": "14", "1": "11.5"},
    "ngt": {"1/2": "14", "3/4": "14", "1": "11.5"},
    "g": {"1/2": "14", "5/8": "14", "3/4": "14", "1": "11"},
    "r": {"1/2": "14", "3/4": "14", "1": "11"},
    "rp": {"1/2": "14", "3/4": "14", "1": "11"},
    "w": {"19.8": "14", "21.8": "14", "24.32": "14", "28.8": "14", "31.3": "14"},
    "unf": {"1/2": "20", "5/8": "18", "3/4": "16", "7/8": "14", "1": "12", "1 1/8": "12"},
    "m": {"18": "1.5", "25": "2", "30": "2"},
}
"""The one pitch or number of turns that a size of a kind has, where a mark leaves it out (3/4 NPSM:
read, DAN; the others from memory)."""

_SIZE = r"(?P<whole>\d+[ -]+)?(?P<part>\d+/[1-9]\d*)|(?P<plain>\d*\.\d+|\d+)"
_INCH = r" ?(?:\"|in\b\.?|inch(?:es)?\b)?"
_WORDS = "|".join(sorted(_KINDS, key=len, reverse=True))
_METRIC = pattern(
    r"m ?(?P<size>\d+(?:\.\d+)?)(?: ?[x*/-] ?(?P<pitch>\d(?:\.\d+)?))?"
    r"(?: ?-? ?[4-8](?:[4-8])?[gh]| ?iso)?"
)
_INCHES = pattern(
    rf"(?P<before>g|rp|rc|r|w)? ?(?:{_SIZE}){_INCH}"
    rf"(?: ?[x*-] ?(?:1/)?(?P<turns>\d+(?:\.\d+)?))?"
    rf"(?: ?-? ?(?P<kind>{_WORDS}))?(?: ?-? ?[123][ab])?"
)
_CODED = pattern(r"(?P<rest>.*\S) ?\((?P<code>\w+)\)")


def stated(thread: str | None) -> str | None:
    """A thread that names one: neither a `?`, nor `unknown`, nor a size without its kind."""
    return thread if thread and named(thread) is not None else None


def is_unnamed(thread: str | None) -> bool:
    """Whether something was written down as a thread, and it names none."""
    return bool(thread) and any(c.isdigit() for c in thread or "") and stated(thread) is None


def threads_match(one: str, other: str) -> bool:
    """Whether two thread marks name the same thread, whichever way they are written.

    `3/4 NPSM` is `3/4-14 NPSM` (code SP12, read: DAN), and so is `3/4 NPS` (common practice, no
    source); `25P` is `M25x2` (read: DAN), `18P` is `M18x1.5` (memory).

    >>> threads_match("3/4 NPSM", "3/4-14 NPSM"), threads_match("25P", "M25x2")
    (True, True)
    >>> threads_match("M25x2", "M25x1.5")
    False
    """
    thread = named(one)
    return thread is not None and thread == named(other)


def is_inch(thread: str) -> bool:
    """Whether a thread mark names an inch thread: neither a metric one nor a taper with a code, by
    which cylinders from abroad are told."""
    found = named(thread)
    return found is not None and found.kind != "m" and found.kind not in _TAPERS


@lru_cache(maxsize=1024)
def named(text: str) -> Thread | None:
    """The thread that a mark names, or None where it names none."""
    word = _plain(text)
    both = _CODED.fullmatch(word)
    if both:  # a code in brackets behind the thread, which says the same
        one, other = _spelt(both["rest"]), _spelt(both["code"])
        return one if one == other else None
    return _spelt(word.removeprefix("(").removesuffix(")"))


def _plain(text: str) -> str:
    """In small letters, with one sign for each of its twins."""
    apart = re.sub("(?=[\u00bc-\u00be\u2150-\u215e])", " ", text)
    word = unicodedata.normalize("NFKC", apart).casefold().strip()
    word = re.sub("[\u201c\u201d\u2033\u2032\u00b4\u2019']+", '"', word)
    for sign, twins in (("/", "\u2044\u2215"), ("x", "\u00d7"), ("-", "\u2010\u2011\u2013\u2212")):
        word = re.sub(f"[{twins}]", sign, word)
    return re.sub(r"\s+", " ", re.sub(r"(?<=\d),(?=\d)", ".", word))


def _spelt(word: str) -> Thread | None:
    word = _CODES.get(word.replace(" ", ""), word)
    if word.replace(" ", "") in _TAPERS:
        return Thread(word.replace(" ", ""), Fraction(0), None)
    metric = _METRIC.fullmatch(word)
    if metric:
        return Thread("m", Fraction(metric["size"]), _pitch("m", metric["size"], metric["pitch"]))
    inches = _INCHES.fullmatch(word)
    kind = inches and (inches["kind"] or inches["before"])
    if inches is None or not kind or (inches["kind"] and inches["before"]):
        return None
    size = _size_of(inches)
    pitch = _pitch("unf" if kind == "unf" else _KINDS[kind], size, inches["turns"])
    if _KINDS[kind] == "un" and pitch is None:
        return None
    return Thread(_KINDS[kind], size, pitch)


def _size_of(found: re.Match[str]) -> Fraction:
    if found["plain"]:
        return Fraction(found["plain"])
    whole = re.sub(r"\D", "", found["whole"] or "") or "0"
    return Fraction(whole) + Fraction(found["part"])


def _pitch(kind: str, size: Fraction | str, said: str | None) -> Fraction | None:
    if said:
        return Fraction(said)
    usual = {_size(k): v for k, v in _TURNS.get(kind, {}).items()}
    pitch = usual.get(Fraction(size))
    return Fraction(pitch) if pitch else None


def _size(text: str) -> Fraction:
    return sum((Fraction(part) for part in text.split()), Fraction(0))
