"""Words that say whether a cylinder is clean for oxygen: oil, grease, lubricants, ordinary air.

The words themselves stand in `ledger/data/words/cleanliness.yaml`.
"""

from __future__ import annotations

import re

from tankbook.rules.harmless import is_harmless
from tankbook.rules.wording import first_of, plainly
from tankbook.units.lexicon import Lexicon

_SAY = Lexicon("cleanliness")


def speaks_of_oil(text: str) -> str:
    """The word by which a text speaks of oil or grease that is not said to be for oxygen, or an
    empty text."""
    text = _SAY.without("oil elsewhere", plainly(text))
    clauses = re.split(r"[;.]|,(?! *(?:oil|grease)\b)", text)
    own = (c for c in clauses if not _SAY.holds("outside", c) and not _is_said_for_oxygen(c))
    return next(filter(None, (first_of(clause, _SAY.listed("oils")) for clause in own)), "")


def _is_said_for_oxygen(text: str) -> bool:
    """Whether a text says that something is for oxygen, and does not take it back."""
    taken_back = _SAY.holds("not for oxygen", text) or _SAY.holds("oxygen ends", text)
    return _SAY.holds("for oxygen", text) and not taken_back


def speaks_of_unclean(text: str) -> str:
    """The words by which a text says that a cylinder is not clean for oxygen, or that ordinary air
    came into it, or an empty text."""
    plain = _SAY.without("unclean elsewhere", of_inside(text))
    found = None if _SAY.holds("clean air", plain) else _SAY.phrases("not clean").search(plain)
    return found[0] if found and not _SAY.holds("not so", plain[: found.start()]) else ""


def may_have_soiled(text: str) -> bool:
    """Whether what somebody wrote of a hold or a valve service may be of something that is no
    longer clean for oxygen: all but what is of papers, owners and fittings alone. Another valve is
    not clean unless that is said."""
    plain = plainly(text)
    doubt = _SAY.holds("another valve", plain) or _SAY.holds("says air", plain)
    return (doubt or not is_harmless(text)) and not _is_said_for_oxygen(plain)


def is_oxygen(source: str) -> bool:
    """Whether a fill's source says pure oxygen, which holds no air: `O2`, `oxygen cylinder`."""
    return _SAY.phrases("oxygen").fullmatch(source.strip()) is not None


def is_plain_air(source: str) -> bool:
    """Whether a fill's source says air, and nothing of what kind: `air`, `shop air`, `air bank`."""
    words = re.findall(r"[^\W\d_]+", source.casefold())
    named, beside = _SAY.words("air"), _SAY.words("air", "of air")
    return not named.isdisjoint(words) and beside.issuperset(words)


def of_inside(text: str) -> str:
    """A text without the clauses that are about the outside: `rinsed salt off the outside`."""
    clauses = re.split(r"[;,.]", plainly(text))
    return "; ".join(clause for clause in clauses if not _SAY.holds("outside", clause))


OXYGEN_SAFE = "oxygen-compatible"
"""How a lubricant is called that may meet nitrox or oxygen."""


def is_for_oxygen(lubricant: str) -> bool:
    """Whether a lubricant is said to be one that may meet oxygen."""
    bad = _SAY.holds("not for oxygen", lubricant) or first_of(lubricant, _SAY.listed("silicones"))
    return not bad and _SAY.holds("for oxygen", lubricant)
