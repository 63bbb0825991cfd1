"""Specifications, alloys and names in one spelling, and what a pattern of a rule row fits."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import NamedTuple

from tankbook.units.patterns import pattern


@lru_cache(maxsize=4096)
def normal(specification: str) -> str:
    """A specification in one spelling: capitals, single hyphens, no spaces; CTC is TC.

    `DOT 3AL`, `DOT3AL` and `dot-3al` are all `DOT-3AL`.
    """
    text = re.sub(r"[\s\-/]+", "-", specification.strip().upper())
    text = re.sub(r"^CTC", "TC", text)
    return re.sub(r"^(DOT|ICC|TC|UN|ISO|EN|BS|AS|DIN)-?(?=\d|SP|E\d|SU|ISO|EN-?\d)", r"\1-", text)


class PermitNamed(NamedTuple):
    """A permit as a specification or a record names it; the number is empty where none is read."""

    authority: str
    number: str
    text: str


def permit_named(text: str) -> PermitNamed | None:
    """The permit that a specification names: `DOT-SP 99001`, `DOT-E 99001` and `TC-SU 5134`."""
    found = re.fullmatch(r"(DOT|TC)-(?:SP|E|SU)-?0*(.*)", normal(text))
    if found is None:
        return None
    return PermitNamed(found[1], found[2] if found[2].isdecimal() else "", text)


ALLOYS = ("6351", "6061", "6082", "7032", "7060")
"""Aluminium alloys of cylinders (memory); any other word is an unknown alloy."""


def alloy_named(text: str | None) -> str | None:
    """The alloy that a text names (`6061`, `AA6351-T6`), or None where it names none, or two.

    A watch row may say `not-6351`, where a notice clears a maker without naming its alloy.
    """
    if text == "not-6351":
        return text
    named = {a for a in re.findall(r"\d+", text or "") if len(a) == 4}
    return named.pop() if len(named) == 1 and named <= set(ALLOYS) else None


@lru_cache(maxsize=4096)
def folded(text: str) -> str:
    """A maker's or a country's name for comparing: small letters, single spaces."""
    return " ".join(text.casefold().split())


def any_fits(patterns: tuple[str, ...], specifications: tuple[str, ...]) -> bool:
    """Whether one of some patterns fits one of some specifications, which are in one spelling.

    No pattern at all fits everything; a trailing `*` stands for anything.
    """
    if not patterns:
        return True
    for wanted in map(normal, patterns):
        if wanted.endswith("*"):
            if any(s.startswith(wanted[:-1]) for s in specifications):
                return True
        elif wanted in specifications:
            return True
    return False


def takes_in(wider: str, pattern: str) -> bool:
    """Whether a pattern fits all that another one fits."""
    one, other = normal(wider), normal(pattern)
    return other.startswith(one[:-1]) if one.endswith("*") else one == other


# --- serials, ids and makers ---------------------------------------------------------------------


def plain_serial(serial: str) -> str:
    """A serial without case, blanks, hyphens and what says that it is one."""
    bare = re.sub(r"^\s*(?:s/n|sn|ser(?:ial)?|no)[\s.:#]+", "", serial, flags=re.IGNORECASE)
    wide = unicodedata.normalize("NFKC", bare or serial)
    return "".join(re.findall(r"[^\W_]+", wide)).casefold()


_CYRILLIC = "\u0430\u0432\u0435\u0437\u043a\u043c\u043d\u043e\u0440\u0441\u0442\u0443\u0445"
_AS_LATIN = str.maketrans(_CYRILLIC, "abe3kmhopctyx")
_LOOKS = str.maketrans("oqilsbz" + _CYRILLIC, "0011582" + "a8e3kmh0pctyx")
"""Letters that look like digits, and Cyrillic ones that look like Latin ones."""


def looks_like(serial: str) -> str:
    """A serial as a worn stamp may be read, or an id as a hand may write it: O for 0, I for 1,
    leading zeros lost, case aside."""
    return re.sub(r"(?<![0-9])0+(?=[0-9])", "", plain_serial(serial).translate(_LOOKS))


def _shapes(name: str) -> frozenset[str]:
    """What an id may be read as: with a B for an 8, and with the zeros behind it lost."""
    bare = re.sub(r"(?<![0-9oq])[0oq]+(?=[0-9])", "", plain_serial(name))
    return frozenset({looks_like(name), bare.translate(_LOOKS)})


class Numbered(NamedTuple):
    """A serial as letters before a number, read as a worn stamp may be."""

    letters: str
    digits: int
    number: int


@lru_cache(maxsize=8192)
def numbered(serial: str) -> Numbered:
    """A serial's letters and its number, a letter that looks like a digit being one."""
    text = plain_serial(serial).translate(_LOOKS)
    digits = len(text) - len(text.rstrip("0123456789"))
    return Numbered(text[: len(text) - digits], digits, int(text[len(text) - digits :] or 0))


def ids_like(
    name: str, ids: Iterable[str], serials: Mapping[str, Iterable[str]] | None = None
) -> tuple[str, ...]:
    """The ids that look like a name that is none of them: `rb-101`, `RB-1O1`, `RB-0101`, `RB-101a`
    or the number alone for `RB-101`; and those whose serial it is, or whose serial's number, by how
    `serials` look."""
    marked = re.search(r"[0-9][a-z]$", name, re.IGNORECASE) is not None
    shapes = _shapes(name) | (_shapes(name[:-1]) if marked else frozenset())
    number = name.lstrip("0") if name.isascii() and name.isdigit() else None
    like = {i for i in ids if _shapes(i) & shapes or _number_of(i) == number}
    looks, bare = looks_like(name), number if number and len(number) > _SHORT else None
    for serial, whose in (serials or {}).items():
        if looks == serial or bare == serial.lstrip("abcdefghijklmnopqrstuvwxyz"):
            like.update(whose)
    return tuple(sorted(like - {name}))


def _number_of(id_: str) -> str:
    """The number at the end of an id without its leading zeros, or an empty text."""
    found = re.search(r"[0-9]+$", id_)
    return found[0].lstrip("0") if found else ""


def ids_near(name: str, ids: Iterable[str]) -> tuple[str, ...]:
    """The ids that a name may have been meant for: one character too many, too few, another or two
    swapped, or the end of the id alone, as `41` for `RB-041`. Ids that differ in one digit are
    those of two cylinders."""
    meant = plain_serial(name)
    near = (i for i in ids if _is_near(meant, plain_serial(i)))
    return tuple(sorted({*near, *ids_like(name, ids)} - {name}))


_SHORT = 3
"""Names shorter than this are all one slip from each other."""


def _is_near(one: str, other: str) -> bool:
    if other.endswith(one) and len(one) > 1:
        return True
    short, long = sorted((one, other), key=len)
    if len(short) < _SHORT:
        return False
    at = next((i for i, (a, b) in enumerate(zip(short, long, strict=False)) if a != b), len(short))
    if len(short) < len(long):
        return short[at:] == long[at + 1 :]
    swapped = short[:at] + short[at + 1 : at + 2] + short[at : at + 1] + short[at + 2 :]
    digits = (short[at : at + 1] + long[at : at + 1]).isdigit()
    return swapped == long or (not digits and short[at + 1 :] == long[at + 1 :])


def is_slip_of(one: str, other: str) -> bool:
    """Whether two words of some length are one but for a letter too many, too few, another or two
    swapped."""
    if min(len(one), len(other)) <= _SHORT or abs(len(one) - len(other)) > 1:
        return one == other
    return one == other or _is_near(one, other)


_COMPANY = pattern(r"(?:co|company|corp|inc|ltd|limited|llc|gmbh|ag|sa)$")


@lru_cache(maxsize=4096)
def maker_named(maker: str | None) -> str:
    """A maker's name without case, blanks, stops and what companies are called at its end."""
    wide = unicodedata.normalize("NFKC", maker or "").casefold().translate(_AS_LATIN)
    letters = "".join(re.findall(r"[^\W_]+", wide))
    bare = _COMPANY.sub("", letters)
    while bare not in ("", letters):
        letters, bare = bare, _COMPANY.sub("", bare)
    return bare or letters


_DOUBT = pattern(
    r"[?/~()\[\]]|\b(?:or|not|no|non|perhaps|maybe|probably|possibly|unsure|uncertain|unknown|tb[cad]"
    r"|guess\w*|likely|assumed|presumably|think|apparently|says|said|copy|style|type|like)\b"
)
"""Signs and words by which a maker is named in doubt (own list)."""


def is_plainly(written: str, maker: str) -> bool:
    """Whether a maker's name begins what is written, and nothing there puts it in doubt.

    `Catalog Cylinders` is plainly `Catalog`; `not Catalog`, `Catalog?` and `Catalog or Other` are
    not.
    """
    plain = written.casefold()
    named = maker_named(plain.removeprefix("the "))
    return named.startswith(maker_named(maker)) and not _DOUBT.search(plain)
