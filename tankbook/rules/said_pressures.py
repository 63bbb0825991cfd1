"""The pressures that people write in notes: what a cylinder stood at, and what it was tested at.

The words are from memory, in English and German; no source lists them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from tankbook.rules.wording import plainly
from tankbook.units import GaugePressure

_FIGURE = r"(?P<figure>\d{1,2}[,.]\d{3}|\d{1,5}(?:[.,]\d{1,2})?)"
_UNIT = r"[\s-]*(?P<unit>psi|pounds|lbs|bar|mpa|kpa|kgf?/cm(?:2|²)|atm)(?:[gs]\b|\b|(?<=²))"
_PRESSURE = re.compile(rf"(?<![\d.,]){_FIGURE}{_UNIT}", re.IGNORECASE)
_UNITS = {
    "psi": (1.0, "psi"),
    "pounds": (1.0, "psi"),
    "lbs": (1.0, "psi"),
    "bar": (1.0, "bar"),
    "mpa": (10.0, "bar"),
    "kpa": (0.01, "bar"),
    "k": (0.980665, "bar"),
    "atm": (1.01325, "bar"),
}
"""What a unit is of one that a gauge shows; kgf/cm2 is 98 066.5 Pa and a standard atmosphere
101 325 Pa by definition."""
_OR_WEIGHT = frozenset({"pounds", "lbs"})
"""What a test's paper gives as a weight."""
_CLAUSES = re.compile(r"[;,.](?!\d)|\band then\b|\bund dann\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Said:
    """A pressure as somebody wrote it.

    Attributes:
        text: the words, as `4000 psi hot`.
        pressure: what it comes to: right after a fast fill a cylinder stands higher than when cool.
        doubted: the text says that the gauge was wrong.
    """

    text: str
    pressure: GaugePressure
    doubted: bool = False


# --- what it stood at ----------------------------------------------------------------------------

_STOOD = re.compile(
    r"\b(?P<verb>over-?filled|filled|filling|pumped|topped(?: up)?|stood|standing|went|gone|got"
    r"|rose|ran|reached|read|reads|reading|showed|shows|found|held|überfüllt|gefüllt|gepumpt|stand"
    r"|zeigte?)"
    r"(?:\s+(?:up|to|at|over|above|as|high|auf|mit|bei|it|right|about|around|nearly|almost"
    r"|etwa|fast)"
    r"|\s+(?:from|by|with|off|aus|von)(?:\s+\w+){1,3}?(?=\s+(?:to|up|at|auf)\b))*"
    rf"\s+{_FIGURE}{_UNIT}(?P<hot>\s+(?:hot|warm|heiss))?",
    re.IGNORECASE,
)
_THEN_FILLED = re.compile(
    rf"(?:auf|mit|bei)\s+{_FIGURE}{_UNIT}(?P<hot>\s+(?:hot|warm|heiss))?\s+"
    r"(?:zu\s+)?(?P<verb>überfüllt|gefüllt|gepumpt|befüllt|gestanden)",
    re.IGNORECASE,
)
"""As German puts it: the verb comes last."""
_HOT = 1.15
"""By so much more a cylinder may stand right after a fast fill (own bound)."""
_ELSE = (
    r"(?:banks?|cascade|storage|compressor|[bckw]\d+|relief(?: valve)?|whip|panel|regulator|line"
    r"|hydro\w*|tests?|tested|test house|requalifier|prüfung|speicher)"
)
_BY_ELSE = re.compile(
    rf"\b{_ELSE}(?:\s+(?:[bckw]?\d+|gauge|pressure|pump|it|is|was|has|had))*[\s:]*$", re.IGNORECASE
)
"""What stands at a pressure is a part of the station, or it is a test: the cylinder's own is what
no such word stands right before."""
_TEST_AFTER = re.compile(
    r"\s*(?:during|for|at|in|on|bei|im|beim)\s+(?:the\s+|its\s+|der\s+)?"
    r"(?:hydro\w*|tests?|requal\w*|test house|prüfung)\b",
    re.IGNORECASE,
)
_GAUGE_WRONG = re.compile(
    r"\bgauge\b[^;.]{0,12}\b(?:faulty|wrong|defective|broken|stuck|off|reads? high|read high)\b"
    r"|\b(?:faulty|wrong|defective|broken|stuck)\s+gauge\b|\bmanometer\b[^;.]{0,12}\bdefekt\b",
    re.IGNORECASE,
)
_OF_GAUGE = frozenset({"read", "reads", "reading", "showed", "shows", "zeigt", "zeigte"})


def pressures_stood(text: str) -> Iterator[Said]:
    """The pressures that a cylinder was filled to, or stood at, by what somebody wrote."""
    plain = plainly(text)
    wrong = _GAUGE_WRONG.search(plain) is not None
    for clause in _CLAUSES.split(plain):
        for way in (_STOOD, _THEN_FILLED):
            for found in way.finditer(clause):
                if _BY_ELSE.search(clause[: found.start()]):
                    continue
                if _TEST_AFTER.match(clause, found.end()):
                    continue
                words = found[0][found.start("figure") - found.start() :]
                said = _said(words, found, _HOT if found["hot"] else 1.0)
                doubted = wrong and found["verb"].casefold() in _OF_GAUGE
                yield Said(said.text, said.pressure, doubted)


# --- what it was tested at -----------------------------------------------------------------------

_OTHER_TEST = re.compile(
    r"\b(?:valve|leak\w*|return\w*|fill\w*|seat|ventil\w*|gefüllt|befüllt|service|working|work"
    r"|betriebs?\w*|arbeits\w*|disc|disk|wp|pw|rated|marked|stamped|burst|operating)\b",
    re.IGNORECASE,
)
"""What else has a pressure in the paper of a test."""
_THE_CYLINDER = re.compile(
    r"\s*(?:steel\w*|alumini?um|alu|al|cylinders?|tanks?|bottles?|flaschen?|working|service|wp|hp|lp)\b",
    re.IGNORECASE,
)
_TESTS = re.compile(
    r"\b(?:re-?tested|tested|tests?|hydro\w*|geprüft|prüf\w*|tp|ph|pt)\b", re.IGNORECASE
)


def pressures_of_test(text: str, own: GaugePressure | None = None) -> Iterator[Said]:
    """The pressures that a cylinder was tested at, by what somebody wrote of a passed test; by its
    own service pressure it may only be called: `3000 psi, passed`."""
    for clause in _CLAUSES.split(plainly(text)):
        at = 0
        for found in _PRESSURE.finditer(clause):
            before, at = clause[at : found.start()], found.end()
            weight = found["unit"].lower() in _OR_WEIGHT
            other = weight or _OTHER_TEST.search(before)
            if other or _THE_CYLINDER.match(clause, found.end()):
                continue
            said = _said(found[0], found)
            if said.pressure != own or _TESTS.search(before):
                yield said


def _said(words: str, found: re.Match[str], hot: float = 1.0) -> Said:
    figure = found["figure"]
    # three digits behind a comma or a point are thousands, as no gauge is read so finely
    thousands = re.fullmatch(r"\d{1,2}[,.]\d{3}", figure)
    value = float(re.sub("[,.]", "" if thousands else ".", figure))
    name = found["unit"].lower()
    share, unit = _UNITS["k" if "/" in name else name]
    return Said(words.strip(), GaugePressure.of(value * share / hot, unit))
