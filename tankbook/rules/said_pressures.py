"""The pressures that people write in notes: what a cylinder stood at, and what it was tested at.

Every pressure counts that is not said to be of something else: the words for that are listed, as
those for standing at a pressure have no end (`ledger/data/words/said_pressures.yaml`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from msgspec import Struct

from tankbook.rules.wording import plainly
from tankbook.units import GaugePressure
from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import pattern

_SAY = Lexicon("said_pressures")
_COUNTS = {w: n for n, w in enumerate("one two three four five six seven eight nine".split(), 1)}
_WORDS = "|".join(_COUNTS)
_PRESSURE = pattern(
    r"(?<![\w.,])(?<!\b0-)(?<!\b0 - )"
    r"(?P<figure>\d{1,2}[,.' ]\d{3}|\d{1,5}(?:[.,]\d{1,2})?(?P<k> ?k)?"
    rf"|(?:(?P<thousands>{_WORDS}) thousand(?: and)?)?(?: ?(?P<hundreds>{_WORDS}) hundred)?(?<=d))"
    r"[\s-]*(?P<unit>p[.\s]?s[.\s]?i|ksi|pounds|lbs|bars?|(?<=\d\d\d)b|mpa|kpa|kgf?/cm(?:2|²)|atm)"
    r"(?:[gs]\b|\b|(?<=²))"
    r"(?P<hot>\s+(?:hot|warm|heiss))?",
    re.IGNORECASE,
)
_UNITS = {
    "psi": (1.0, "psi"),
    "ksi": (1000.0, "psi"),
    "pounds": (1.0, "psi"),
    "lbs": (1.0, "psi"),
    "bar": (1.0, "bar"),
    "b": (1.0, "bar"),
    "bars": (1.0, "bar"),
    "mpa": (10.0, "bar"),
    "kpa": (0.01, "bar"),
    "kg": (0.980665, "bar"),
    "atm": (1.01325, "bar"),
}
"""What a unit is of one that a gauge shows; kgf/cm2 is 98 066.5 Pa and a standard atmosphere
101 325 Pa by definition."""
_OR_WEIGHT = frozenset({"pounds", "lbs"})
"""What a test's paper gives as a weight."""
_CLAUSES = pattern(r"[;,.](?!\d)(?<!p\.)(?<!p\.s\.)|\band then\b|\bund dann\b", re.IGNORECASE)


class SaidPressure(Struct, frozen=True):
    """A pressure as somebody wrote it.

    Attributes:
        text: the words, as `4000 psi hot`.
        pressure: what it comes to: right after a fast fill a cylinder stands higher than when cool.
        doubted: the text says that the gauge was wrong.
    """

    text: str
    pressure: GaugePressure
    doubted: bool = False


def _said(found: re.Match[str], hot: float = 1.0, *, doubted: bool = False) -> SaidPressure:
    name = re.sub(r"[.\s]", "", found["unit"].lower())
    share, unit = _UNITS["kg" if "/" in name else name]
    return SaidPressure(
        found[0].strip(), GaugePressure.of(_value(found) * share / hot, unit), doubted
    )


def _value(found: re.Match[str]) -> float:
    figure = found["figure"]
    if not figure[0].isdigit():
        named = (found[name] for name in ("thousands", "hundreds"))
        thousands, hundreds = (_COUNTS.get((word or "").lower(), 0) for word in named)
        return 1000.0 * thousands + 100.0 * hundreds
    if found["k"]:
        return 1000 * float(re.sub(r" ?k$", "", figure, flags=re.IGNORECASE).replace(",", "."))
    # three digits behind a mark are thousands, as no gauge is read so finely
    mark = "" if re.fullmatch(r"\d{1,2}[,.' ]\d{3}", figure) else "."
    return float(re.sub("[,.' ]", mark, figure))


# --- what it stood at ----------------------------------------------------------------------------

_HOT = 1.15
"""By so much more a cylinder may stand right after a fast fill (own bound)."""


def _with_unit(found: re.Match[str]) -> str:
    return f"{found['verb'] or found['done']} {found['figure'] or found['figures']} psi"


@lru_cache(maxsize=4096)
def pressures_stood(text: str) -> tuple[SaidPressure, ...]:
    """The pressures that a cylinder was filled to, or stood at, by what somebody wrote."""
    return tuple(_stood(text))


def _stood(text: str) -> Iterator[SaidPressure]:
    plain = _SAY.phrases("bare").sub(_with_unit, plainly(text))
    wrong = _SAY.holds("gauge wrong", plain)
    last_of = ""
    for clause in _CLAUSES.split(plain):
        at, last = 0, last_of
        last_of = clause
        for found in _PRESSURE.finditer(clause):
            before, at = clause[at : found.start()], found.end()
            if _is_its_own(before, clause, at, last):
                doubted = wrong and not _SAY.holds("filled", _in_place(before))
                yield _said(found, _HOT if found["hot"] else 1.0, doubted=doubted)


def _in_place(before: str) -> str:
    """What stands before a figure, without what says nothing of whose it is."""
    before = _SAY.without("equalised", _SAY.without("turned", before), " it ")
    before = _SAY.without("beyond", _SAY.without("beside", before), " it ")
    return re.sub(r"(?i)\btest gauge\b", "gauge", before)


def _is_its_own(written: str, clause: str, at: int, last: str) -> bool:
    """Whether a figure is of the cylinder itself, by what stands before it, behind it in its clause
    and in the clause before."""
    before = _in_place(written)
    if not before.strip() and _SAY.holds("fitted", last):
        return False  # `new disc fitted, 5000 psi`
    others = [m.end() for m in _SAY.phrases("other").finditer(before)]
    own = not others or _SAY.phrases("itself").search(before, others[-1]) is not None
    beside = _SAY.holds("beside it", before) and not _SAY.holds("filled to", before)
    fed = _SAY.holds("from at", _SAY.without("turned", written))
    inside = _SAY.goes_on("inside", clause, at)
    if not inside and (not own or beside or fed or _SAY.holds("not so", before)):
        return False
    read_elsewhere = not _SAY.holds("filled", before) and _SAY.goes_on("elsewhere", clause, at)
    of_other = not inside and _SAY.goes_on("of other", clause, at)
    return not (_SAY.goes_on("rate", clause, at) or read_elsewhere or of_other)


# --- what it was tested at -----------------------------------------------------------------------


def pressures_of_test(text: str, own: GaugePressure | None = None) -> Iterator[SaidPressure]:
    """The pressures that a cylinder was tested at, by what somebody wrote of a passed test; by its
    own service pressure it may only be called: `3000 psi, passed`."""
    for clause in _CLAUSES.split(plainly(text)):
        at = 0
        for found in _PRESSURE.finditer(clause):
            before, at = clause[at : found.start()], found.end()
            weight = found["unit"].lower() in _OR_WEIGHT
            other = weight or _SAY.holds("other test", before)
            if other or _SAY.goes_on("the cylinder", clause, at):
                continue
            said = _said(found)
            if said.pressure != own or _SAY.holds("tests", before):
                yield said
