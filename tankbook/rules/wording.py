"""What people write in notes and findings: which words are said, and which denied.

The words are from memory, in the languages of those who sign; no source lists them. Where a text
must let a cylinder go, the words that do are a closed list, and whatever else it says does not.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

# --- what is said and what is denied -------------------------------------------------------------

_DENYING = frozenset(
    {"no", "not", "nor", "neither", "nothing", "never", "without", "free", "negative", "zero"}
    | {"kein", "keine", "keinen", "keiner", "ohne", "nicht", "sans", "pas", "aucun", "aucune"}
    | {"sin", "ningun", "ninguna", "senza", "nessun", "nessuna", "geen", "zonder"}
)
"""Words that deny what follows them in a clause."""

_BETWEEN = frozenset(
    "a an any the this that its of on at in for from by to with has have had been be being is"
    " are was were did do does sign signs evidence trace traces indication indications heat"
    " fire longer hairline hint hints mark marks visible apparent obvious other further more"
    " new single found find see seen show shows showed shown detect detected observe observed"
    " noted sort kind type eddy current ultrasonic neck thread threads shoulder crown body"
    " wall base surface inside outside internal external suspected possible or de du des le"
    " la les einen eine ein im am anzeichen von signos".split()
)
"""Words that may stand between a denying word and what it denies; any other ends the denial."""

_DOUBTING = frozenset({"not", "can", "cannot", "no", "couldn"})
"""Before a denying word these turn it round: `not without cracks`."""

_REACH = 6
"""The most words between a denying word and what it denies."""

_LISTED = re.compile(
    r"\b(?:no|neither|without|free of)((?: \w+){1,2}(?:, ?\w+(?: \w+)?)*,? (?:or|nor) )",
    re.IGNORECASE,
)
FIRE = frozenset({"fire", "flame", "brandspur*", "feuer*", "incend*"})
"""Words of fire itself: what else burnt in it does not matter."""

_NAMES = re.compile(
    r"\bheat of (?:the )?(?:day|sun|fill\w*)\b|\bsun[ -]heated\b"
    r"|\bheat (?:no|nr|number|lot|code|treat\w*)\b"
    r"|\bfire (?:dept|department|brigade|service|station|rescue|house|fighters?|lane|road|door|exit"
    r"|extinguisher)\b|\bfeuerwehr\w*",
    re.IGNORECASE,
)
"""Names in which a word stands for something else."""
_CLAUSE = re.compile(r"[.;:!?()\n,]|\bbut\b|\bthough\b|\bexcept\b", re.IGNORECASE)
_DENIED_AFTER = re.compile(
    r"(?:\s+items)?(?:\s+(?:ist|sind|was|were|is|are|could|has been|have been)\b|\s*[:=])?\s+"
    r"(?:none|nil|n/?a|absent|excluded|ruled out|"
    r"nicht\s+(?:bestätigt|gefunden|vorhanden|sichtbar)|"
    r"(?:not|never)\s+(?:be\s+)?(?:found|seen|confirmed|present|visible|detected|needed|required))"
    r"(?!\s+(?:before|yet|until|from|healed|at|by|without)\b)\b",
    re.IGNORECASE,
)


def speaks_of(text: str, word: str) -> str:
    """The word by which a text speaks of something, or an empty text; `no crack` speaks of none.

    A word counts as it stands and with the endings of a plural or a verb; `bulg*` with any. It is
    denied where a denying word stands close before it, with nothing between that says more.
    """
    text = _NAMES.sub(" ", text)
    text = _LISTED.sub(lambda m: " no " + m[1].replace(",", " no"), text)  # `no dent, pit or rust`
    for found in as_written(word).finditer(text):
        before = re.findall(r"[^\W_]+", _CLAUSE.split(text[: found.start()])[-1].casefold())
        if not _is_denied(before) and not _DENIED_AFTER.match(text, found.end()):
            return found[0]
    return ""


def _is_denied(before: list[str]) -> bool:
    for back, word in enumerate(reversed(before[-_REACH:])):
        if word in _DENYING:
            rest = before[: len(before) - back - 1]
            return not (rest and rest[-1] in _DOUBTING)
        if word not in _BETWEEN:
            return False
    return False


@cache
def as_written(word: str) -> re.Pattern[str]:
    """A word with the endings of a plural or a verb; `bulg*` with any ending."""
    stem = re.escape(word.removesuffix("*"))
    ends = r"\w*" if word.endswith("*") else rf"(?:{stem[-1]}?(?:e?s|e?d|e?n|ing|y))?\b"
    return re.compile(rf"\b{stem}{ends}", re.IGNORECASE)


def first_of(text: str, words: Iterable[str]) -> str:
    """The first of these words that a text speaks of, or an empty text."""
    return next(filter(None, (speaks_of(text, word) for word in words)), "")


_ASIDE = re.compile(
    r"\b(?:(?:do not|don'?t|must not|never) (?:fill|use)\b"
    r"|(?:not (?:to )?|cannot |can'?t |must not )be (?:filled|used)"
    r"|out of (?:service|test)|unsafe|condemned|failed|rejected|quarantined?|stolen"
    r"|over-?filled|nicht (?:be)?füllen)\b",
    re.IGNORECASE,
)
_MISSHAPEN = ("deformed", "swollen", "welded", "drilled", "delaminat*")


def sets_aside(text: str) -> str:
    """The words by which a note sets a cylinder aside, or an empty text."""
    found = _ASIDE.search(text)
    if found and (found[0].casefold().startswith(("never", "not")) or speaks_of(text, found[0])):
        return found[0]
    return next(filter(None, (speaks_of_shell(text, word) for word in _MISSHAPEN)), "")


_NOTHING = frozenset(
    "na none nil unknown unclear unsure tba tbd tbc no not yes x guess guessed guesswork assumed"
    " assumption probably maybe notknown dontknow noidea unbekannt unklar geraten inconnu".split()
)


def says_nothing(text: str) -> bool:
    """Whether what stands in the place of a reason is none: a dot, a dash, `tbd`."""
    letters = "".join(re.findall(r"[^\W_]+", text.casefold()))
    return len(letters) < 2 or letters in _NOTHING


# --- of a cylinder or of what is fitted to it ----------------------------------------------------

_FITTING = (
    r"(?:valve(?: knob| handle| body| stem| seat)?|hand ?wheel|knob|boot|net|mesh|label|sticker"
    r"|decal|handle|(?:dust )?cap|o-?ring|burst disc|dip tube|plug|insert|(?:tank )?band|strap"
    r"|back ?plate|paint|lacquer|varnish|coating|gauge(?: lens| glass)?|lens|(?:thread )?protector"
    r"|clip|buckle|hose|gasket|bungee|netz|standfu(?:ß|ss)|griff|gurt|lack|aufkleber|handrad"
    r"|ventil(?:rad)?)"
)
_FITTING_IS = re.compile(_FITTING + r"\s+(?:is|was|has|has been)?\s*(?:a\s+)?$", re.IGNORECASE)
_IS_OF_FITTING = re.compile(
    rf"\s+(?:(?:in|of|on|im|am|in der|an der|auf dem)\s+(?:the\s+|its\s+)?)?{_FITTING}\b"
    r"(?!\s+(?:hole|thread|port|boss|neck|opening|side|end|seat)\b)",
    re.IGNORECASE,
)
_BY_FITTING = re.compile(
    r"\b(?:under|beneath|below|behind|beside|near|around|without|by|at|above|inside|and|or|no)"
    r"\s+(?:the\s+|its\s+)?$",
    re.IGNORECASE,
)


def speaks_of_shell(text: str, word: str) -> str:
    """As `speaks_of`, and not of a fitting: `boot cracked` and `cracked boot` say nothing of it."""
    rest = as_written(word).sub(lambda m: "" if _is_fittings(text, m) else m[0], text)
    return speaks_of(rest, word)


def spoken_of_shell(text: str, word: str) -> str:
    """As `speaks_of_shell`; of fire it does not matter what burnt."""
    return (speaks_of if word in FIRE else speaks_of_shell)(text, word)


def _is_fittings(text: str, found: re.Match[str]) -> bool:
    before = _FITTING_IS.search(text[: found.start()])
    if before and not _BY_FITTING.search(text[: before.start()]):
        return True
    return bool(_IS_OF_FITTING.match(text, found.end()))


# --- what a test came to -------------------------------------------------------------------------

CRACKED = (
    "crack*",
    "hairline*",
    "fissur*",
    "fractur*",
    "neck split",
    "split neck",
    "thread split",
    "split thread",
    "shoulder split",
    "wall split",
    "riss",
    "risse",
    "rissen",
    "anriss*",
    "haarriss*",
    "grieta*",
    "fisura*",
)
_BAD = (
    "fail*",
    "reject*",
    "condemn*",
    "scrap*",
    "unsafe",
    "unsound",
    "unserviceable",
    "unfit",
    "leak",
    "leaked",
    "leaking",
    "bulg*",
    "defective",
    "destroy*",
    "refus*",
    "inconclusive",
    "durchgefallen",
    "undicht",
    "verworfen",
)
"""Words of a test that was not passed."""

_GOOD = (
    "pass*",
    "accept*",
    "approve*",
    "sound",
    "fit",
    "safe",
    "as new",
    "negative",
    "rissfrei",
    "o.b",
    "within limit*",
    "bestanden",
    "conforme",
    "in ordnung",
)
"""Words of one that was; denied, they say the opposite."""

_ELSE: tuple[str, ...] = (
    "tool mark",
    "toolmark",
    "tap mark",
    "machining",
    "machine mark",
    "burr",
    "scratch",
    "run-out",
    "runout",
    "scrape",
    "score",
    "fold",
    "lap",
    "lamination",
    "valley",
    "dirt",
    "dust",
    "grease",
    "paint",
    "stain",
    "thread wear",
    "werkzeugspur*",
    "kratzer",
    "riefe*",
    "drehriefe*",
    "falte*",
    "schmutz",
)
"""What a suspected crack turned out to be instead."""

_SUSPECTED = re.compile(
    r"\b(?:the\s+)?(?:(?:suspected|alleged|supposed|possible)\s+crack\w*"
    r"|crack(?:-?like)?\s+(?:indication|signal|suspicion)s?)"
    r"\s*(?:is|was|were|are|:|=|proved|proved to be|turned out to be|found to be)\s",
    re.IGNORECASE,
)
_TO_LOOK = "(?:re-?)?(?:inspect|test|examin|look|check|assess|evaluat|reach|remov|determin|decid)"
_UNLOOKED = re.compile(
    rf"\bnot\s+(?:(?:been|yet|fully|be)\s+)*(?:{_TO_LOOK}\w*|done|possible)"
    r"|\b(?:no|without)\s+(?:a\s+)?(?:(?:crack|damage)\s+)?(?:test|inspection|check|look"
    r"|examination|report|result|record|certificate|paper|letter)s?\b"
    rf"|\bto be\s+(?:{_TO_LOOK}|sent|confirm|done)\w*"
    rf"|\bcould not\s+(?:be\s+)?(?:{_TO_LOOK}|see|rule|open)\w*"
    r"|\b(?:unable|pending|awaiting|not only|not just)\b",
    re.IGNORECASE,
)
"""Words of a requalifier who did not look."""


def not_passed(text: str) -> str:
    """The word by which a text says that something was not passed, or an empty text: a word for
    that, or a denied word for its contrary."""
    text = _BESIDE.sub("", _LIMIT.sub("", text))
    for word in _BAD:
        spoken = speaks_of_shell(text, word)
        if spoken and not _passed_after(text, spoken):
            return spoken
    return _denied(text)


_LIMIT = re.compile(r"\b(?:reject|condemn)\w*\s+(?:limit|level|criteri)\w*", re.IGNORECASE)
"""A figure that a test is held against, and nothing that it came to."""


_BESIDE = re.compile(
    r"\b(?:plus|star|sticker|label|boot|valve|o-?ring|knob|handle)\b[^,;.]*", re.IGNORECASE
)
"""A clause that is about something else than the cylinder's test: `plus not approved`."""


def _passed_after(text: str, bad: str) -> bool:
    """Whether a text goes on to say that it passed in the end: `first run failed, then passed`."""
    rest = text[text.rindex(bad) + len(bad) :]
    return bool(first_of(rest, _GOOD))


def _denied(text: str) -> str:
    for word in (*_GOOD, "ok", "okay", "in order"):
        found = as_written(word).search(text)
        if found and not speaks_of(text, word):
            return f"not {found[0]}"
    return ""


def says_cracked(text: str) -> str:
    """The word by which a requalifier says that there is a crack, or an empty text."""
    rest = _SUSPECTED.sub("it is ", _FREE_OF.sub("no crack", text))
    return next(filter(None, (speaks_of_shell(rest, word) for word in CRACKED)), "")


_NOTHING_THERE = re.compile(
    r"\b(?:no|without|ohne|keine?)\s+(?:(?:relevant|rejectable|other|such)\s+)?"
    r"(?:indications?|defects?|faults?|flaws?|befund)\b"
    r"(?=\s*(?:$|[.;,:)]|found\b|seen\b|detected\b|noted\b|of (?:a )?crack))"
    r"|\bnothing (?:was )?found\b|\bsuspicion (?:was )?not confirmed\b|^\s*not confirmed\s*\.?$",
    re.IGNORECASE,
)
"""How a report says that what was looked for is not there. `cause not found` does not say so."""

_FREE_OF = re.compile(r"\b(?:crack|riss)[ -]?(?:free|frei)\b", re.IGNORECASE)


def lets_go(text: str, of: Iterable[str] = CRACKED) -> bool:
    """Whether what a requalifier wrote says that a cylinder may be used: that what was suspected is
    not there (`of`, the words for it), or what it was instead, or that it passed; and nothing to
    the contrary, nor that nobody looked."""
    text = _FREE_OF.sub("no crack", text)
    rest = _SUSPECTED.sub("it is ", text)
    words = tuple(of)
    if _UNLOOKED.search(text) or not_passed(text) or first_of(rest, {*CRACKED, *words}):
        return False
    denied = bool(_NOTHING_THERE.search(rest)) or any(
        as_written(word).search(rest) for word in words
    )
    return denied or bool(first_of(rest, (*_GOOD, *_ELSE)))
