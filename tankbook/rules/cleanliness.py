"""Words that say whether a cylinder is clean for oxygen: oil, grease, lubricants, ordinary air.

The words are from memory, in the languages of those who sign; no source lists them.
"""

from __future__ import annotations

import re

from tankbook.rules.harmless import is_harmless
from tankbook.rules.wording import first_of, listed, plainly
from tankbook.units.patterns import pattern


def speaks_of_oil(text: str) -> str:
    """The word by which a text speaks of oil or grease that is not said to be for oxygen, or an
    empty text."""
    text = _OIL_ELSEWHERE.sub(" ", plainly(text))
    split = re.split(r"[;.]|,(?! *(?:oil|grease)\b)", text)
    clauses = (
        c
        for c in split
        if not _OUTSIDE.search(c)
        and (not _FOR_OXYGEN.search(c) or _NOT_FOR_OXYGEN.search(c) or _OXYGEN_ENDS.search(c))
    )
    return next(filter(None, (first_of(clause, _OILS) for clause in clauses)), "")


_NOT_CLEAN = pattern(
    r"\b(?:not|no longer|never|nicht(?: mehr)?) (?:o2|oxygen|sauerstoff)[ -]?"
    r"(?:clean\w*|rein|sauber)"
    r"|\b(?:o2|oxygen)[ -]?clean\w*(?: state)? (?:is |was |has been )?"
    r"(?:lost|void|gone|ended|expired)"
    r"|\blost (?:its |the )?(?:o2|oxygen)[ -]?clean"
    r"|\b(?:needs?|to be|must be|wants?|due for|requires?) (?:an? )?(?:re-?)?"
    r"(?:o2|oxygen)[ -]?clean"
    r"|\b(?:needs?|to be|must be|wants?) (?:re-?)?clean\w* (?:for|before) (?:o2|oxygen|nitrox|ean)"
    r"|\b(?:re-?)?clean (?:it )?(?:again )?(?:for|before) (?:o2|oxygen|nitrox|ean)"
    r"|\b(?:contaminat|kontaminier|verunreinig|verschmutz)\w*|\bnot clean\b|\bdirty inside\b"
    r"|\bnot (?:o2|oxygen)[ -]?safe\b|\bconverted to air\b|\bair use only\b"
    r"|\bnot for (?:o2|oxygen)\b"
    r"|\bwater in (?:it|the)\b|\bsucked water\b|\brinsed (?:inside|out) with\b|\bverölt\w*"
    r"|\b(?:nitrile|buna|nbr)\b|\bcarbon dust\b|\bsoap inside\b|\btumbled with water\b"
    r"|\b(?:not for|no more|no) nitrox\b|\b(?:(?<!was )air only|only air|nur luft|kein nitrox)\b"
    r"|\b(?:plain|ordinary|normal|shop) (?:bank )?air\b|\bmit luft ge"
    r"|\b(?:filled|topped|had|got|blown)[^;.]{0,24} (?:with|compressor) air\b",
    re.IGNORECASE,
)
_CLEAN_AIR = pattern(
    r"\b(?:oxygen|o2)[ -]?(?:compatible|clean|grade|safe) air\b|\bhyper-?filter\w*", re.IGNORECASE
)


def speaks_of_unclean(text: str) -> str:
    """The words by which a text says that a cylinder is not clean for oxygen, or that ordinary air
    came into it, or an empty text."""
    plain = _UNCLEAN_ELSEWHERE.sub(" ", of_inside(text))
    found = None if _CLEAN_AIR.search(plain) else _NOT_CLEAN.search(plain)
    return found[0] if found and not _NOT_SO.search(plain[: found.start()]) else ""


_UNCLEAN_ELSEWHERE = pattern(
    r"\bno nitrox (?:sticker|label|tag|card|left|today|analys\w*|in the bank|available)\b"
    r"|\bnot for nitrox class\b|\bair only sign\b"
    r"|\bwater in the (?:knob|regulator|boat|crate|van)\b"
    r"|\bcontaminat\w*(?: \w+)?\s*[:,]?\s*(?:none|regulator|no)\b|\bfor contamination\b"
    r"|\b(?:needs?|due for|to be) (?:an? )?(?:o2|oxygen)[ -]?clean(?:ed|ing)?"
    r"(?: (?:sticker|tag|label|by|in|at)\b)"
    r"|\b(?:nitrile|buna|nbr)\b[^;.]{0,20}\b(?:removed|replaced|gloves?|hose|whip|out)\b"
    r"|\bshop air hose\b|\bvalve blown out with air\b",
    re.IGNORECASE,
)
"""What is of labels, papers and other things, or was mended."""
_NOT_SO = pattern(r"\b(?:not|never|no|nicht|kein\w*|never been)\s+(?:\w+\s+)?$", re.IGNORECASE)


def may_have_soiled(text: str) -> bool:
    """Whether what somebody wrote of a hold or a valve service may be of something that is no
    longer clean for oxygen: all but what is of papers, owners and fittings alone. Another valve is
    not clean unless that is said."""
    plain = plainly(text)
    doubt = _ANOTHER_VALVE.search(plain) or _SAYS_AIR.search(plain) or not is_harmless(text)
    said = _FOR_OXYGEN.search(plain) and not _NOT_FOR_OXYGEN.search(plain)
    return bool(doubt) and not (said and not _OXYGEN_ENDS.search(plain))


_OXYGEN_ENDS = pattern(
    r"\b(?:o2|oxygen)[ -]?service (?:ended|expired|unknown|over|lapsed)"
    r"|\b(?:unknown|later|oil|maybe)\b",
    re.IGNORECASE,
)


_SAYS_AIR = pattern(r"\b(?:air|luft)\b|\b2[01](?:[.,]\d)? ?%", re.IGNORECASE)


_ANOTHER_VALVE = pattern(
    r"\b(?:new|other|another|loan|spare|used|second|exchanged?|swap\w*|replaced?|changed)\s+"
    r"(?:the\s+)?(?:din\s+|yoke\s+|cross\s+)?(?:valve|ventil)\b"
    r"|\b(?:valve|ventil)\s+(?:was\s+|is\s+)?(?:new|exchanged|swapped|replaced|changed|gewechselt"
    r"|ersetzt)\b",
    re.IGNORECASE,
)


def is_oxygen(source: str) -> bool:
    """Whether a fill's source says pure oxygen, which holds no air: `O2`, `oxygen cylinder`."""
    return re.fullmatch(_SAYS_OXYGEN, source.strip(), re.IGNORECASE) is not None


_SAYS_OXYGEN = r"(?:o2|oxygen|sauerstoff)(?:[ -]?(?:cylinders?|bottles?|cart|bank|flaschen?))?"


def is_plain_air(source: str) -> bool:
    """Whether a fill's source says air, and nothing of what kind: `air`, `shop air`, `air bank`."""
    words = re.findall(r"[^\W\d_]+", source.casefold())
    return bool(words) and bool(_AIR.intersection(words)) and _OF_AIR.issuperset(words)


_AIR = frozenset({"air", "luft", "pressluft", "pressluftflasche"})
_OF_AIR = _AIR | frozenset(
    "plain ordinary normal shop bank banks compressor our from the a of club compressed cascade"
    " kompressor speicher aus dem".split()
)


_OUTSIDE = pattern(
    r"\b(?:outside|exterior|outer|boot|label|hand ?wheel|knob|aussen|rack|floor|handle|griff"
    r"|trolley|van|dock|lamp|crayon|money)\b",
    re.IGNORECASE,
)


def of_inside(text: str) -> str:
    """A text without the clauses that are about the outside: `rinsed salt off the outside`."""
    return "; ".join(c for c in re.split(r"[;,.]", plainly(text)) if not _OUTSIDE.search(c))


OXYGEN_SAFE = "oxygen-compatible"
"""How a lubricant is called that may meet nitrox or oxygen."""


def is_for_oxygen(lubricant: str) -> bool:
    """Whether a lubricant is said to be one that may meet oxygen."""
    other = first_of(lubricant, ("silicone", "petroleum", "vaseline", "silikon"))
    bad = _NOT_FOR_OXYGEN.search(lubricant) or other
    return not bad and _FOR_OXYGEN.search(lubricant) is not None


_OILS = listed(
    "oily, oil, oils, oiled, oil film, grease, greased, regreased, greasy, silicone oil,"
    " silicone spray, silicone, vaseline, petroleum jelly, lanolin, paraffin*, tallow, diesel,"
    " petrol, kerosene, wax, copper paste, kupferpaste, schmierfett*, schmiermittel, silikon,"
    " wd 40, wd-40, wd40, hydrocarbon*, lubricated with, ölig*, öl, ölfilm*, ölspur*, ölrest*,"
    " öle, geölt*, fett, fettig*, gefettet*, eingefettet*, silikonfett, silikonspray,"
    " huile, huileux, graisse, graissé*, aceite, grasa, olio, grasso, olie"
)
_OIL_ELSEWHERE = pattern(
    r"\b(?:compressor|pump|engine|motor|outboard|boat|gear|lamp|olive|linseed|teak)\W{0,2}s?"
    r"\W+(?:\w+\W+)?oil\b"
    r"|\boil (?:change\w*|level|separator|filter|lamp|pump|pressure|temperature|drum|paint\w*"
    r"|rig\w*|platform|company|heater|room|store)\b"
    r"|\bchang\w+ (?:the )?(?:compressor'?s? )?oil\b|\boil (?:was |is )?(?:changed|topped up)\b"
    r"|\boil[ -](?:stain\w*|mist\w*)|\boiled (?:the )?(?:hinge|trolley|door|wheel|rack|castor)s?\b"
    r"|\bgrease (?:pen|pencil|paint)\b"
    r"|\bgreased? (?:the )?(?:hinge|trolley|door|wheel|rack|castor)s?\b"
    r"|\bsilicone (?:boot|strap|cap|band|knob|sleeve|net|bumper|foot|handle|grip|hose)s?\b"
    r"|\böl(?:wechsel|stand|filter|abscheider)\w*|\bkompressoröl\w*",
    re.IGNORECASE,
)
"""Oil that is not in or on a cylinder."""
_FOR_OXYGEN = pattern(
    r"\b(?:oxygen|o2|sauerstoff)[ -]?(?:compatible|safe|grease|approved|tauglich\w*|lub\w*|service)"
    r"|\b(?:for|für) (?:oxygen|o2|sauerstoff)\b|\bsauerstofffett\b"
    r"|\bPTFE\b|\bPFPE\b|\b(?:per)?fluor\w*|\bhalocarbon\w*"
    r"|^\s*(?:none|dry|no lubricant|trocken|keines?)\s*$",
    re.IGNORECASE,
)
_NOT_FOR_OXYGEN = pattern(
    r"\b(?:not|non|was|no longer|nicht|kein\w*)\W+(?:\w+\W+)?(?:oxygen|o2|sauerstoff)|\?",
    re.IGNORECASE,
)
"""Lubricants that may meet oxygen (memory)."""
