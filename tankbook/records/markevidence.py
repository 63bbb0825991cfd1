"""What a mark that was not read could be, by its shape alone.

Whoever holds stamps against a card needs to know what an unread mark may hide: a pressure, a date,
a specification, or a row of X. Better one too many than one too few: what these shapes find is
asked about, never believed. They are our own list; no standard speaks of misread stamps.
"""

from __future__ import annotations

import re
from enum import StrEnum
from functools import cache


class Evidence(StrEnum):
    """What an unread mark could be."""

    PRESSURE = "pressure"
    DATE = "date"
    SPECIFICATION = "specification"
    CONDEMNED = "condemned"


_LIKE_DIGIT = "[0-9OQILSBZX?]"
"""Digits, the letters taken for them, and what stands for a digit that is struck or worn."""
_NUMBER = (
    r"(?:(?=(?:.*[0-9]){2})[1-9ILSZX?]DDD|(?=.*[0-9])[1-9ILX?][0-9OQILX?]{3}"
    r"|(?=.*[0-9])[1-7ILX?][0-9OQILX?]{2}|[IL][OQ]{2,3})"
).replace("D", _LIKE_DIGIT)
"""Three or four digits: 100 to 799 bar, or 1000 to 9999 psi (own bounds)."""
_UNIT = "(?:BAR[GS]?|PSI[AG]?|[MK]PA|ATM|ATU?|KG/CM2|KP/CM2|LB/IN2)"
_NAME = "(?:PH|PT|PE|TP|PW|WP|PS|CP|SP|FP)"
_MONTH = "(?:0?[1-9]|1[0-2])"
_YEAR = "(?:19|20)[0-9]{2}"
_WORN = "[0-9OIL?_]"
_WORN_YEAR = "[12IL?_][09OQ?_][0-9OIL?_]{2}"
_JOINED = (
    f"(?:{_WORN}{{1,2}}J{_WORN}{{1,2}}|{_WORN}{{1,2}}J{_WORN_YEAR}|{_WORN_YEAR}J{_WORN}{{1,2}})"
)
"""Month and year with a joint between, worn or misread: J stands for the joint."""
_NAMED_MONTH = (
    "(?:JAN(?:UARY)?|FEB(?:RUARY)?|MAR(?:CH)?|APR(?:IL)?|MAY|JUNE?|JULY?|AUG(?:UST)?"
    "|SEPT?(?:EMBER)?|OCT(?:OBER)?|NOV(?:EMBER)?|DEC(?:EMBER)?)"
)

OTHER_SPECIFICATION = "(?:3HTM?|3BN?M?|3EM?|3TM?|4B[AW]?M?|4EM?|4D[AS]?|4L|8AL)"
"""Specifications of the US that stand on no cylinder to dive with, or on few (memory)."""

_STRUCK = "[0-9]{3,4}(?:BAR|PSI)?"
"""A pressure that an X stands beside: it may have been struck over it."""

_STANDARD = "(?:(?:UN|BS|EN|ISO|DIN|AS)X?[ -]?){1,3}"
"""What the name of a design standard begins with."""
_OF_STANDARD = "(?:5045|1964|1975|7866|9809|11118|11119|12245|12257|13341)"
"""Numbers of the design standards of cylinders to dive with."""

_MADE = "(?:MF[GDR]|MADE|DATE|TEST(?:ED)?)?[^A-Z0-9]{0,2}"
"""Words that stand before a date of making or of a test (memory)."""
NEXT = (
    r"(?:NEXT|DUE|(?:NEXT|RE)[ -]?TEST(?: DUE)?|TEST DUE|N(?:Ä|AE)CHSTE PR(?:Ü|UE)FUNG"
    r"|PR(?:Ü|UE)FUNG (?:BIS|F(?:Ä|AE)LLIG)|PROCHAINE? (?:EPREUVE|ÉPREUVE|VISITE))"
)
"""Words before the month in which the next test is due (memory)."""
_DIGITS = "(?=(?:[^0-9]*[0-9]){3})"
_MARKED = "(?:DOT|ICC|CTC|TC)"

_SHAPES = {
    Evidence.PRESSURE: (
        rf"{_NUMBER}\??",
        rf"{_NUMBER} ?/ ?{_NUMBER}.*",
        rf"{_NUMBER}[^A-Z0-9].*[A-Z].*",
        rf".*[0-9OIL] ?{_UNIT}(?:[^A-Z].*)?",
        rf"{_NAME}(?: ?[:=/.-]? ?{_WORN}{{2,4}}(?:[^0-9].*)?)?",
        r"P ?[:=.-]? ?[0-9]{3,4}",
        r"[1-9][.,' ][0-9]{3}",
        rf".*3A{{1,2}}[LX]?M?[ -]?{_LIKE_DIGIT}{{3,4}}.*",
        rf"(?:DOT|ICC|CTC|TC).*[^A-Z0-9]{_LIKE_DIGIT}{{3,4}}\??",
        rf"(?:DOT|ICC|CTC|TC).*A[LX]?M?[ -]?{_LIKE_DIGIT}{{3,4}}(?![0-9]).*",
        r"(?:[A-Z]+-)?(?:SP|SU|E)[- ]?[0-9]{3,5}(?:-.*)?",
    ),
    Evidence.DATE: (
        _JOINED.replace("J", " ?[-/.'] ?"),
        r"[0-9]{1,4}([-/.])[0-9]{1,2}\1[0-9]{1,4}",
        _YEAR,
        r"(?:0[1-9]|1[0-2])[0-9]{2}|[0-9]{2}(?:0[1-9]|1[0-2])",
        rf"(?:0[1-9]|1[0-2]){_YEAR}|{_YEAR}(?:0[1-9]|1[0-2])",
        rf"{_MONTH} ?[A-Z]{{1,3}} ?(?:{_YEAR}|[0-9]{{2}})",
        rf"[0-9]{{1,2}}[^A-Z0-9]{{1,3}}(?:{_YEAR}|[0-9]{{2}})",
        rf"{_DIGITS}{_MADE}{_WORN}{{1,2}}[^0-9]{{1,4}}(?:{_WORN_YEAR}|{_WORN}{{2}})(?:[^0-9]{{1,4}})?",
        rf"{_DIGITS}{_MADE}(?:{_WORN_YEAR}|{_WORN}{{2}})[^0-9]{{1,3}}{_WORN}{{2}}",
        rf"[A-Z]{{1,2}}{_MONTH}[-/.][0-9]{{2}}",
        rf"[IVX]{{1,4}}[^A-Z0-9]{{1,2}}(?:{_YEAR}|[0-9]{{2}})",
        rf"(?:{_YEAR}|[0-9]{{2}})[^A-Z0-9]{{1,2}}[IVX]{{1,4}}",
        rf"[0-9?]{{1,2}}[ /-]*[A-Z?]{{1,2}}[ -]?{_WORN}{{2,6}}[ /-]*[0-9?]{{2}}",
        r"(?:[0-9]{1,2}[ /-]*)?[A-Z][ -]?[0-9]{3}",
        rf"(?:{_YEAR}|[0-9]{{2}}) {_MONTH}",
        rf"{_NAMED_MONTH}.?[0-9]*|.*[0-9].?{_NAMED_MONTH}.?[0-9]+",
        r"(?:FIN|EXP|EOL|END|LIFE|UNTIL|MLF)(?:[^A-Z].*)?",
        rf"{NEXT}(?:[^A-Z].*)?",
    ),
    Evidence.SPECIFICATION: (
        r"(?:[DO0][OQ0]T|[IL1]CC|CTC|TC|BTC|CRC)(?:[^A-Z].*)?",
        r".*(?:DOT|ICC|CTC|TC)[-/ ].*",
        r"(?:.*[-/ ])?3 ?(?:A|HT).*",
        rf"{OTHER_SPECIFICATION}[ -]?[0-9]{{3,4}}|8AL|4BA|4BW|4D[AS]",
        r"(?:U[NM]|[IL1]S[O0]|EN|BS|DIN|AS|UN|HO(?!T(?:$|[- ]?DIP))[A-Z]{0,2}|LASC)(?:[^A-Z].*)?",
        r"(?:SP|SU|E)[- ]?[0-9]{3,5}(?:-.*)?",
    ),
    Evidence.CONDEMNED: (
        r".*XX.*",
        r"X(?:[^A-Z0-9]*X)*",
        rf"X[ -]?{_STRUCK}(?:[ -]?X)?",
        rf"{_STRUCK}[ -]?\(?X",
        r"X(?=.*[0-9])[0-9A-Z/.-]{2,14}X|(?:[0-9]X){2,}[0-9]?|X['’´`](?:S|E?D)",
        r"X[0-9]{2}X?|[0-9]{2}X|X?[A-WYZ][0-9]{3}X",
        r"(?:3A{1,2}[LX]?M?|3HT)[- /]?X[- /]?[0-9]{3,4}X?|3ALM?X[0-9]{3,4}X?",
        r"X?(?:3A{1,2}L?M?|3AA?XM?|3HT)[- /]?[0-9]{3,4}X",
        r"X3(?:A{1,2}[LX]?M?|HT)(?:[- /]?[0-9]{3,4})?",
        r"(?:.*[-/ ])?(?:DOT|ICC|CTC|TC|3A).*[-/]X(?:[-/ ].*)?",
        r"X[-/](?:DOT|ICC|CTC|TC|3A).*",
        rf"(?=.*X)X?{_NAME}[ :=.-]?X*(?:[0-9]X*){{2,4}}{_UNIT}?X*(?:/.*)?",
        r"X?(?:PW|PH|WP|TP)X+|X(?:PW|PH|WP|TP)",
        rf"X(?:[0-9]X*){{3,4}}{_UNIT}X?|(?:[0-9]X*){{3,4}}X{_UNIT}X?",
        rf"X{_STANDARD}(?:X?[ -]?[0-9].*)?|{_STANDARD}[ -]?[0-9]{{3,5}}(?:-[0-9]{{1,2}})?X",
        rf"X?{_OF_STANDARD}(?:[-/][0-9]{{1,2}})?X|X{_OF_STANDARD}(?:[-/][0-9]{{1,2}})?",
    ),
}


@cache
def _compiled() -> dict[Evidence, re.Pattern[str]]:
    return {kind: re.compile("|".join(f"(?:{s})" for s in ss)) for kind, ss in _SHAPES.items()}


def could_be(text: str) -> frozenset[Evidence]:
    """What an unread mark could be.

    Args:
        text: the mark in capitals, with single blanks.
    """
    bare = re.sub(r"^[^\w?]+|[^\w?]+$", "", text)
    found = {kind for kind, shape in _compiled().items() if shape.fullmatch(bare)}
    return frozenset(found | {Evidence.CONDEMNED} if _struck_over(bare) else found)


def is_crossed(text: str) -> bool:
    """Whether what was taken for a serial by its place could be a pressure with an X over it: one
    X beside figures may be a serial's own."""
    shape = (
        rf"X(?:[0-9]X*){{3,4}}{_UNIT}?X|X?{_NAME}X*(?:[0-9]X*){{2,4}}{_UNIT}?X*"
        r"|X[0-9]{2,4}[-/.][0-9]{1,4}X"
    )
    return "X" in text and re.fullmatch(shape, text) is not None


def _struck_over(text: str) -> bool:
    """Whether an X stands in a specification, joined to it: `XDOT-3AL3000X`, `(X)DOT-3AL`."""
    without = re.sub("(?<!3A)(?<!3AA)X", "", text)
    plain = re.sub("^[^A-Z0-9]+", "", without)
    return without != text and re.match(f"{_MARKED}[- /]?[34][A-Z]", plain) is not None


@cache
def _first_test() -> re.Pattern[str]:
    joined = _JOINED.replace("J", " ?[-/] ?")
    return re.compile(
        rf"{joined}|{_MONTH} (?:{_YEAR}|[0-9]{{2}})|(?:{_YEAR}|[0-9]{{2}}) {_MONTH}"
        rf"|(?:0[1-9]|1[0-2]){_YEAR}|{_YEAR}(?:0[1-9]|1[0-2])|{_MONTH}[^A-Z0-9.]{{1,2}}[0-9]{{2}}"
        rf"|{_MONTH} [A-Z]{{1,2}} ?[0-9]{{2}}(?: [0-9]{{2}})?"
        r"|[0-9]{1,4}([-/.])[0-9]{1,2}\1[0-9]{1,4}"
    )


def hides_first_test(text: str) -> bool:
    """Whether an unread mark may be the month of a first test: what follows may be a later one."""
    return _first_test().fullmatch(text.rstrip("+*")) is not None
