"""The pressures that people write in notes: what a cylinder stood at, and what it was tested at.

Every pressure counts that is not said to be of something else: the words for that are listed, as
those for standing at a pressure have no end. They are from memory, in English and German with some
French; no source lists them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from msgspec import Struct

from tankbook.rules.wording import plainly
from tankbook.units import GaugePressure
from tankbook.units.patterns import pattern

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


class Said(Struct, frozen=True):
    """A pressure as somebody wrote it.

    Attributes:
        text: the words, as `4000 psi hot`.
        pressure: what it comes to: right after a fast fill a cylinder stands higher than when cool.
        doubted: the text says that the gauge was wrong.
    """

    text: str
    pressure: GaugePressure
    doubted: bool = False


def _said(found: re.Match[str], hot: float = 1.0, *, doubted: bool = False) -> Said:
    name = re.sub(r"[.\s]", "", found["unit"].lower())
    share, unit = _UNITS["kg" if "/" in name else name]
    return Said(found[0].strip(), GaugePressure.of(_value(found) * share / hot, unit), doubted)


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
_PART = (
    r"(?:banks?|cascade|storage|compressor|[bckwrf]\d+|relief(?: valve)?|whip|panel|regulator|line"
    r"|adapt[eo]r|sample kit|manifold|speicher\w*|kompressor)"
)
_BESIDE = pattern(
    rf"\b(?:from|off|with|by|at|after|on|aus|von|am)\s+(?:the\s+|a\s+)?{_PART}(?:\s+[bckw]?\d+)?\b(?!\s*\()",
    re.IGNORECASE,
)
"""What a cylinder was filled from says nothing of whose pressure it is."""
_OTHER = pattern(
    rf"\b(?:{_PART}|hydro\w*|tests?|tested|test house|requalif\w*|\w*prüf\w*|tp|ph|wp|pw|dis[ck]s?"
    r"|burst|rated|rating|ratio|marked|stamped|insert|din|valve|ventil|outlet|working|service|betriebs\w*"
    r"|should be|supposed|limit|max\w*|range|design\w*|booked|listed|entered|typed"
    r"|steel|alumini?um|weigh\w*|tare)\b"
    r"|\b(?:not|never|no|below|under|less than|nicht|nie|unter|kein\w*)(?:\s+\w+)?\s*$",
    re.IGNORECASE,
)
"""What else has a pressure: a part of the station or of the cylinder, a test, a wish, a limit."""
_NOT_SO = pattern(
    r"\b(?:wants?|wanted|asks?|asked|request\w*|label\w*|sticker|tag)\b"
    r"|\b(?:not|never)\s+(?:\w+\s+)?(?:filled|pumped|charged|topped)(?:\s+up)?\s+to\s*$"
    r"|\b(?:misread|typo|mistyped|in error|wrote|entered)\b|\bback from hydro\b|\breads? to\s*$",
    re.IGNORECASE,
)
"""What somebody wished, wrote on a label or wrote down wrong, or did not do."""
_BESIDE_IT = pattern(
    r"\b(?:next to|beside|swapped with|own (?:tank|cylinder|bottle))\b|\bafter [A-Z]+-?\d+\b"
    r"|\b(?:with|his|her|their|sister|twin)\s+(?:[A-Z]{1,4}-?\d+|tank|cylinder|bottle)\b"
    r"|\b(?:HP|LP|AL)\s?\d{2,3}\b|\b(?:spg|computer)\b|\bregulator (?:set|at)\b",
    re.IGNORECASE,
)
"""Other cylinders and instruments that are named before: unless it was filled all the same."""
_ITSELF = pattern(
    r"\b(?:it|cylinder|tank|bottle|flasche|crept|filled|overfilled|gefüllt|überfüllt|pumped|charged"
    r"|topped)\b",
    re.IGNORECASE,
)
"""Words after which a pressure is the cylinder's own again, whatever was named before."""
_EQUALISED = pattern(
    rf"\b(?:equali[sz]ed|levell?ed|open(?:ed)?|left open)\s+"
    rf"(?:to|with|against|on)\s+(?:the\s+|a\s+)?{_PART}(?:\s+[bckw]?\d+)?\b",
    re.IGNORECASE,
)
"""What was levelled with a part of the station stood at what that stood at."""
_BEYOND = pattern(
    r"\b(?:above|over|past|beyond|exceed\w*|über)\s+(?:the\s+|its\s+|den\s+|dem\s+)?"
    r"(?:working|service|betriebs\w*|limit|max\w*|rated|marked|stamped)(?:\s+pressure)?\b",
    re.IGNORECASE,
)
_OF_OTHER = pattern(
    r"[\s-]*(?:(?:din|valve|ventil|outlet|insert|dis[ck]|burst|whip|hose|banks?|cascade|regulator|manifold"
    r"|rated|rating|working|service|wp|systems?|(?:cylinders?|tanks?|bottles?)(?! pressure)|steels?"
    r"|drive|hydro\w*|tests?|prüf\w*|fill of\s+[A-Z]+-?\d+)\b"
    r")",
    re.IGNORECASE,
)
_TURNED = pattern(
    r"\b(?:no|not) (?:less than|below|under)\b|\bnever (?:below|under)\b|\bmax\w* reading\b"
    r"|\b(?:just|a little|slightly|almost|nearly|not quite)\s+(?:under|below|less than)\b"
    r"|\bnot quite\b",
    re.IGNORECASE,
)
"""Denials of less, which say that it was more."""
_INSIDE = pattern(
    r"(?:\s+(?:bank|cascade|full)\s+pressure)?\s+"
    r"(?:inside|in it|drin|in the (?:cylinder|tank|bottle))\b",
    re.IGNORECASE,
)
_RATE = pattern(r"\s*(?:/|per\s+(?:h|hour|min|minute|day|s)\b|an hour|a minute)", re.IGNORECASE)
_FITTED = pattern(r"\b(?:dis[ck]s?|hose|insert|gauge|stamped|marked|rated)\b", re.IGNORECASE)
_ELSEWHERE = pattern(
    r"\s+(?:during|for|at|in|on|bei|im|beim|of)\s+(?:the\s+|its\s+|der\s+|an?other\s+)?"
    r"(?:hydro\w*|tests?(?! tank| bath| of)|requal\w*|\w*prüfung|banks?|cascade|panel|other)\b",
    re.IGNORECASE,
)
"""Where somebody read what the cylinder itself was not filled to."""
_GAUGE_WRONG = pattern(
    r"(?<!other )(?<!second )(?<!no )(?<!not )\bgauge\s+(?:is\s+|was\s+|found\s+|proved\s+)?"
    r"(?:faulty|wrong|defective|broken|stuck)\b"
    r"|(?<!no )(?<!not )(?<!other )(?<!second )(?<!not a )\b(?:faulty|wrong|defective|broken|stuck)"
    r"\s+gauge\b(?! ruled out)"
    r"|\b(?:his|her|their|customer'?s|owner'?s)\s+gauge\b[^;.]{0,20}"
    r"\b(?:ours?|(?:shop|master) gauge)\b"
    r"|\bmanometer\s+(?:ist\s+|war\s+)?defekt\b",
    re.IGNORECASE,
)
_FILLED = pattern(r"\b(?:over-?)?(?:fill\w*|pump\w*|charg\w*|top\w*)\b|füllt\b", re.IGNORECASE)


_FILLED_TO = pattern(
    r"\b(?:over-?)?(?:filled|pumped|charged)\b(?:\s+\w+)?\s+to\s*$"
    r"|\bit (?:went|stood|was|read)\b[^,;]*$",
    re.IGNORECASE,
)
"""What was done to it, whatever else is named before: but that is not denied or only wanted."""
_FROM_AT = pattern(
    rf"\b(?:from|off|aus|von)\s+(?:the\s+|a\s+)?{_PART}(?:\s+[bckw]?\d+)?\s*(?:at|with|bei|\()?\s*$"
    r"|\bwith nothing on it\b",
    re.IGNORECASE,
)
"""Right before a figure: of what it was filled from."""


_BARE = pattern(
    r"(?<!invoice )(?<!counter )(?<!meter )(?<!dived )(?<!bill )"
    r"\b(?P<verb>reads?|showed|stood at|at"
    r"|had|hit|filled to|went to|pumped to|went past|past|reached|overfilled to)\s+"
    r"(?P<figure>[2-9]\d{3})\b(?=\s*(?:$|[;.!)]|,(?!\s*paid)|and\b|then\b|hot\b|bled\b|in it\b"
    r"|by mistake\b|on the gauge\b))"
    r"|\b(?P<done>(?:filled|pumped|charged|topped(?: off| up)?)\s+to)\s+(?P<figures>[2-9]\d{3})\b"
    r"(?!\s*(?:p\.?s\.?i|k|bar|m?pa|atm|lbs?|pounds|l\b|ft|cu|[.,']?\d))",
    re.IGNORECASE,
)
"""A figure of the size of a gauge that reads in psi, without its unit."""


def _with_unit(found: re.Match[str]) -> str:
    return f"{found['verb'] or found['done']} {found['figure'] or found['figures']} psi"


def pressures_stood(text: str) -> Iterator[Said]:
    """The pressures that a cylinder was filled to, or stood at, by what somebody wrote."""
    plain = _BARE.sub(_with_unit, plainly(text))
    wrong = _GAUGE_WRONG.search(plain) is not None
    last_of = ""
    for clause in _CLAUSES.split(plain):
        at, last = 0, last_of
        last_of = clause
        for found in _PRESSURE.finditer(clause):
            before, at = _TURNED.sub(" ", clause[at : found.start()]), found.end()
            fed = _FROM_AT.search(before) is not None
            before = _BESIDE.sub(" ", _EQUALISED.sub(" it ", before))
            inside = _INSIDE.match(clause, found.end()) is not None
            if not before.strip() and _FITTED.search(last):
                continue  # `new disc fitted, 5000 psi`
            before = _BEYOND.sub(" it ", before)
            before = re.sub(r"(?i)\btest gauge\b", "gauge", before)
            others = [m.end() for m in _OTHER.finditer(before)]
            own = not others or _ITSELF.search(before, others[-1]) is not None
            beside = _BESIDE_IT.search(before) and not _FILLED_TO.search(before)
            own = inside or (own and not _NOT_SO.search(before) and not beside and not fed)
            own = own and not _RATE.match(clause, found.end())
            else_ = not _FILLED.search(before) and _ELSEWHERE.match(clause, found.end())
            other = not inside and _OF_OTHER.match(clause, found.end())
            if own and not else_ and not other:
                doubted = wrong and not _FILLED.search(before)
                yield _said(found, _HOT if found["hot"] else 1.0, doubted=doubted)


# --- what it was tested at -----------------------------------------------------------------------

_OTHER_TEST = pattern(
    r"\b(?:valve|leak\w*|return\w*|fill\w*|seat|ventil\w*|gefüllt|befüllt|service|working|work"
    r"|betriebs?\w*|arbeits\w*|disc|disk|wp|pw|rated|marked|stamped|burst|operating)\b",
    re.IGNORECASE,
)
"""What else has a pressure in the paper of a test."""
_THE_CYLINDER = pattern(
    r"\s*(?:steel\w*|alumini?um|alu|al|cylinders?|tanks?|bottles?|flaschen?|working|service|wp|hp|lp)\b",
    re.IGNORECASE,
)
_TESTS = pattern(
    r"\b(?:re-?tested|tested|tests?|hydro\w*|geprüft|prüf\w*|tp|ph|pt|held|at|to|stood)\b",
    re.IGNORECASE,
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
            said = _said(found)
            if said.pressure != own or _TESTS.search(before):
                yield said
