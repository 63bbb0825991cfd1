"""The words by which a requalifier lets a cylinder go: a closed vocabulary.

A suspected crack, heat, fire or a bulge is answered by what somebody wrote of it. Of such a text
every word must be known here, and each thing it speaks of denied: one word too many, and it lets
nothing go. What else is to be said goes in a note, which is not weighed. The words are from memory,
in English and German; no source lists them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache


class Suspicion(StrEnum):
    """What is suspected of a cylinder."""

    CRACK = "crack"
    HEAT = "heat"
    BULGE = "bulge"


class _Word(StrEnum):
    """What a word does in a clause."""

    DENIES = "denies"
    """What follows, or what stands before it."""
    PARTS = "parts"
    """Ends what a denial reaches."""
    FAULT = "fault"
    """Something that tells against a cylinder."""
    IS = "is"
    """Says what a fault was instead."""
    HARMLESS = "harmless"
    SOILED = "soiled"
    """Harmless where it is said that the fault was this."""
    PASSES = "passes"
    LOOK = "look"
    """A look or its paper: `no crack test` denies that, and no crack."""
    PLACE = "place"
    """Leads on to where something is."""
    FOUND = "found"
    """Right behind a denial it says that a fault is not there: `crack not found`."""
    DONE = "done"
    """What was done; denied before a fault is named, it was not: `not tested`."""
    LESS = "less"
    """Makes a fault less than one, or says that it was taken away: denied, the rest stands."""
    SUSPECTED = "suspected"
    ONLY = "only"
    """All but what follows was not: `only a scratch`, and never `only visual passed`."""
    MILD = "mild"
    """What a denial denies of a fault that no limit accepts, and not the fault itself."""
    NEUTRAL = "neutral"


_ALL = frozenset(Suspicion)
_FAULTS: dict[str, frozenset[Suspicion]] = {
    **dict.fromkeys(
        "crack cracks cracking cracked hairline hairlines fissure fissures fracture fractures"
        " line lines indication indications signal signals suspicion split splits riss risse"
        " rissanzeige rissanzeigen anriss anrisse haarriss haarrisse anzeige anzeigen slc"
        " verdacht".split(),
        frozenset({Suspicion.CRACK}),
    ),
    **dict.fromkeys(
        "heat heat-damage damage burn burns softening fire fire-damage hitze hitzeschaden"
        " hitzeschäden brandspur brandspuren".split(),
        frozenset({Suspicion.HEAT}),
    ),
    **dict.fromkeys(
        "bulge bulges bulging deformation ausbeulung ausbeulungen verformung".split(),
        frozenset({Suspicion.BULGE}),
    ),
    **dict.fromkeys(
        "defect defects flaw flaws fault faults anomaly anomalies abnormality abnormalities"
        " failure failures befund befunde fehler mangel mängel auffälligkeit"
        " auffälligkeiten".split(),
        _ALL,
    ),
    **dict.fromkeys(
        "leak leaks corrosion rust pits pit dent dents gouge gouges korrosion rost"
        " undichtigkeit".split(),
        frozenset(),
    ),
}
"""What is spoken of, and which suspicion it answers where it is denied."""

_WORDS: dict[str, _Word] = {
    **dict.fromkeys(
        "no not none nor neither without negative nil absent excluded unfounded zero 0"
        " free-of ruled-out kein keine keinen keinerlei ohne nicht negativ ausgeschlossen"
        " unbegründet".split(),
        _Word.DENIES,
    ),
    **dict.fromkeys(
        "and but und aber".split(),
        _Word.PARTS,
    ),
    **dict.fromkeys(_FAULTS, _Word.FAULT),
    **dict.fromkeys(
        "is was are were found-to-be ist war sind".split(),
        _Word.IS,
    ),
    **dict.fromkeys(
        "tool-mark tool-marks tap-mark tap-marks machine-mark machine-marks machining-mark"
        " machining-marks die-mark burr burrs scratch scratches run-out scrape scrape-mark"
        " score score-mark fold folds lap valley valleys thread-wear werkzeugspur"
        " werkzeugspuren kratzer riefe riefen drehriefe drehriefen bearbeitungsspur"
        " bearbeitungsspuren bearbeitungsriefe bearbeitungsriefen falte falten".split(),
        _Word.HARMLESS,
    ),
    **dict.fromkeys(
        "dirt dust grease paint stain stains residue schmutz fett farbe".split(),
        _Word.SOILED,
    ),
    **dict.fromkeys(
        "passed passes pass accepted approved clear sound safe serviceable satisfactory fit"
        " suitable as-new within-limits in-order unaffected bestanden einwandfrei conforme".split(),
        _Word.PASSES,
    ),
    **dict.fromkeys(
        "test tests retest inspection examination check report letter certificate record"
        " paper signature prüfung wirbelstromprüfung re-inspection bericht brief zeugnis".split(),
        _Word.LOOK,
    ),
    **dict.fromkeys(
        "in at on of by with from for to per im am an auf bei von durch mit der".split(),
        _Word.PLACE,
    ),
    **dict.fromkeys(
        "found seen detected visible present noted observed confirmed recorded indicated"
        " gefunden sichtbar vorhanden bestätigt festgestellt feststellbar erkennbar".split(),
        _Word.FOUND,
    ),
    **dict.fromkeys(
        "tested retested re-examined re-inspected inspected examined checked measured"
        " geprüft".split(),
        _Word.DONE,
    ),
    **dict.fromkeys(
        "small fine harmless superficial light all both polished dressed cleaned removed blended"
        " out".split(),
        _Word.LESS,
    ),
    **dict.fromkeys("only nur just".split(), _Word.ONLY),
    **dict.fromkeys(
        "recordable reportable rejectable relevant significant measurable unzulässige"
        " unzulässigen mm".split(),
        _Word.MILD,
    ),
    **dict.fromkeys("suspected alleged supposed possible apparent".split(), _Word.SUSPECTED),
    **dict.fromkeys(
        "a the this that its it or any ok okay good ein eine der die das den dem oder"
        " cylinder neck thread threads shoulder crown wall body inside flasche hals"
        " gewinde schulter eddy current ultrasonic dye penetrant visual hydro hydrostatic"
        " magnetic particle ndt ut wirbelstrom ultraschall ve conductivity roundness hardness"
        " härte tap tapping machining making manufacture forming surface evidence sign signs"
        " trace traces hint steel aluminium aluminum maker manufacturer lab laboratory requalifier"
        " house service use filling january february march april june july august september"
        " october november december jan feb mar apr jun jul aug sep sept oct okt nov dec dez"
        " nr number".split(),
        _Word.NEUTRAL,
    ),
}
_FIGURE = re.compile(r"\d[\w./-]*")

_SAME: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(rf"\b(?:{old})", re.IGNORECASE), f" {new} ")
    for old, new in (
        (r"n(?:o|r|umber)\.?\s*(?=\d)", "number"),
        (r"reports? (?:number )?[\w/-]*\d[\w/-]*", "report"),
        (r"crack ((?:indication|signal|suspicion)s?)\b", r"\1"),
        # what says that nothing is there
        (r"n\.?a\.?d\b\.?|nothing (?:abnormal |was )?(?:found|detected|noted|seen)\b", "no fault"),
        (r"o\.\s?b\.|ohne befund\b|no reason to reject\b", "no fault"),
        (r"(riss|crack|defect|flaw)s?[ -]?(?:frei|free)\b(?! (?:of|from|von)\b)", r"no \1"),
        (r"(?:signals?|indications?|amplitude) below (?:the )?(?:reject )?threshold\b", "no crack"),
        (r"no indications? above (?:the )?threshold\b", "no crack"),
        (r"(?:false|non-?relevant) (?:indication|call|positive)s?\b", "no crack"),
        (r"indications? (?:is|was|are|were) (?:false|non-?relevant)\b", "no crack"),
        (r"(?:not|nicht) (?:rejected|gerissen|cracked)\b", "no crack"),
        (r"(cracks?|risse?|indications?|defects?)\s*[:=]\s*(?:no|none|nil|negative|0)\b", r"no \1"),
        (r"(cracks?|defects?|indications?) no\b(?=\s*$)", "no crack"),
        # one word of several
        (r"crack-?like\b", "possible crack"),
        (r"sustained[ -]?load crack(?:ing|s)?\b", "crack"),
        (r"visible or measurable\b", "visible"),
        (r"(?:can|could) be (?=found|seen|detected)", ""),
        (r"(heat|fire) damage\b", r"\1-damage"),
        (r"(?:free (?:of|from)|clear of)\b", "free-of"),
        (r"ruled out\b", "ruled-out"),
        (r"(?:turned out|proved|proven|found) to be\b", "found-to-be"),
        (r"(tool|tap|machine|machining|die|scrape|score)[ -]?(marks?)\b", r"\1-\2"),
        (r"run[ -]?outs?\b", "run-out"),
        (r"thread wear\b", "thread-wear"),
        (r"eddy-current\b", "eddy current"),
        # what passes
        (r"i\.\s?o\.|in ordnung\b|in order\b(?! to\b)", "in-order"),
        (r"as new\b", "as-new"),
        (r"within (?:the |its )?(?:acceptance )?limits?\b", "within-limits"),
        # at so much as a cylinder to dive with is tested at (own bounds, below 3/2 of 150 bar)
        (
            r"(hydro\w*(?: tests?)?(?: passed)?|tested) at"
            r" (?:(?:3[3-9]|[4-9]\d|1[0-6]\d)\d\d psi|(?:22[5-9]|2[3-9]\d|[3-9]\d\d) bar)\b",
            r"\1",
        ),
        (r"\d+ h(?:b|v)\b", ""),
        (r"threads? (?:clean|ok|whole|good)\b", ""),
        (r"no findings?\b", "no fault"),
        (r"not (?:over-?heated|burnt)\b|no over-?heating\b", "no heat"),
        (r"not bulged\b", "no bulge"),
        (r"(?:is |was )?not affected\b", "unaffected"),
        (
            r"(?:re)?turn(?:ed)? to service\b|fit for (?:further|continued) (?:use|service)\b",
            "passed",
        ),
        # what does not matter
        (r"(?:can(?:no|')t|could not|couldn't) be felt\b|after (?:the )?(?:heat|fire)\b", ""),
        (r"plus (?:rating |mark )?(?:not )?(?:approved|granted|renewed|stamped|refused)\b", ""),
    )
)
"""Phrases that are one word of the vocabulary, or say what one says."""

_CLAUSES = re.compile(r"[,;:()!\n]|\.(?=\s|$)|\s[-\u2013]\s")
_NOT_ALL = re.compile(
    r"\bremoved from\b|\bor confirmed\b"
    r"|\bnegative for (?:use|service|filling)\b|\bonly$|\b0 \w+ [1-9]|"
    r"\bin (?:\w+ |\d\d?[/.])?(?:19|20)\d\d\b|\b\d+ (?:out )?of \d+\b|\bon paper\b"
    r"|\bpassed \d+ ?/ ?\d+|\b(?:threads?|wall|neck|metal) removed\b"
    r"|\b(?:cylinder|flasche|serial)(?: no\.?| number| nr\.?)? \d{3,}"
    r"|\b(?:of|by|in|on) (?:the |its |a )?(?:maker|manufacturer|lab\w*|signature|record|report"
    r"|paper|letter|certificate|house)\b(?<!by maker)(?<!by the maker)(?<!by lab)(?<!by the lab)"
    r"|\bfor (?:\w+ )*(?:by )?(?:the )?(?:maker|manufacturer|lab\w*|house)\b"
    r"|\bdurch (?:\w+ )?(?:\d|gewinde|wand|gänge)|\bfrom (?:\w+ )?\d+ to \d"
    r"|\bpassed (?:(?:on|back|up|over) )?to\b|:\s*(?:no|n|not)\s*$|\?",
    re.IGNORECASE,
)
"""What was so in another year, of a part of it, of somebody else, is a form's no, or only asked."""


@dataclass(slots=True)
class _Clause:
    """What a clause has said so far."""

    denied: bool = False
    reached: bool = False
    """The denial has met what it denies."""
    open_: bool = False
    """A fault was named, and not denied yet."""
    was: bool = False
    """It is being said what the fault was."""
    good: bool = False
    wrong: bool = False
    before: _Word | None = None
    by: str = ""
    """The word that denies."""
    gone: bool = False
    """It is not found, by the word right behind the denial."""
    seen: bool = False
    """Something was found."""
    hard: bool = False
    """A fault was named that no limit accepts."""
    only: bool = False
    """What follows is all there is, and was not said yet."""
    mild: bool = False
    aim: bool = False
    """What it passed for follows."""
    than: bool = False
    """Something harmless was denied: what follows may stand in its place."""
    last: str = ""
    where: bool = False
    """It is being said where what was denied is not: a fault named there is there."""
    part: frozenset[Suspicion] = _ALL
    """What it would answer that the part spoken of is sound."""
    answering: bool = False
    """It stands behind `but`, and is to say that all is well itself."""
    answers: set[Suspicion] = field(default_factory=set)
    spoken: frozenset[Suspicion] = frozenset()


def lets_go(text: str, of: Suspicion = Suspicion.CRACK) -> bool:
    """Whether what a requalifier wrote says that a cylinder may be used: that what was suspected is
    not there, what it was instead, or that it passed; and nothing else."""
    return of in _answered(text)


def speaks_for(text: str, of: Suspicion) -> bool:
    """Whether a text names what was suspected, or what measures it, itself."""
    for old, new in _SAME:
        text = old.sub(new, text)
    words = re.findall(r"[^\W\d_][\w-]*", text.casefold())
    heat = of is Suspicion.HEAT
    return any(_FAULTS.get(w) == frozenset({of}) or (heat and w in _SOFTENED) for w in words)


_SOFTENED = frozenset({"conductivity", "hardness", "härte", "unaffected"})
"""What tells whether heat has softened an alloy (memory)."""


def reads_well(text: str) -> bool:
    """Whether a text says in known words alone that all is well."""
    return bool(_answered(text))


@cache
def _answered(text: str) -> frozenset[Suspicion]:
    """The suspicions that a text answers; none where it says anything that is not known."""
    if _NOT_ALL.search(text):
        return frozenset()
    for old, new in _SAME:
        text = old.sub(new, text)
    found: set[Suspicion] = set()
    for clause in _CLAUSES.split(text.casefold()):
        said = _read(re.findall(r"[^\s,;:()!\"'/]+", clause))
        if said is None:
            return frozenset()
        found |= said
    return frozenset(found)


def _read(words: list[str]) -> set[Suspicion] | None:
    """What a clause answers, or None where it is not known or tells against the cylinder."""
    found: set[Suspicion] = set()
    state = _Clause()
    for word in words:
        kind = _WORDS.get(word.strip("."), _Word.NEUTRAL if _FIGURE.fullmatch(word) else None)
        if kind is None:
            return None
        if kind is _Word.PARTS:
            if not _ends_well(state):
                return None
            found |= state.answers
            state = _Clause(answering=word in {"but", "aber"})
            continue
        _take(state, kind, word.strip("."))
        state.last = word
        if state.wrong:
            return None
    return found | state.answers if _ends_well(state) else None


def _ends_well(state: _Clause) -> bool:
    """Whether nothing is left open: a fault that nobody denied, or a denial of nothing."""
    if state.only or (state.answering and not (state.denied or state.good)):
        return False
    if not state.denied or state.reached:
        return not state.open_ and (state.denied or state.good or not state.seen)
    there = state.open_ and not (state.gone or state.by in _ALONE)
    if state.good or there or not (state.open_ or state.by in _BY_ITSELF):
        return False
    state.answers |= state.spoken if state.open_ else _ALL
    return True


_ALONE = frozenset(
    "none negative negativ nil absent excluded ausgeschlossen unfounded unbegründet zero 0"
    " ruled-out".split()
)
"""What denies the fault before it and needs no word behind it: `crack ruled out`."""

_SOFT = frozenset(
    "line lines indication indications signal signals anzeige anzeigen deformation"
    " verformung".split()
)
"""What may lie within a limit."""

_FROM = frozenset({"from", "by", "von", "durch"})
"""What says where a signal comes from: `signal from a scratch`."""

_WHERE = frozenset("in at on from with to im am an auf bei mit".split())
"""What leads from a denial to the place of it: `no leak at the crack` names a crack."""

_PARTS: dict[str, frozenset[Suspicion]] = {
    **dict.fromkeys(
        "neck thread threads shoulder crown inside hals gewinde schulter".split(),
        frozenset({Suspicion.CRACK}),
    ),
    **dict.fromkeys(
        "paint farbe report letter certificate record paper signature bericht brief"
        " zeugnis".split(),
        frozenset(),
    ),
}
"""Parts whose soundness says less than the cylinder's, and what it answers."""

_OR = frozenset({"or", "nor", "oder"})

_ACCEPTS = frozenset({"within-limits", "accepted", "approved"})

_BY_ITSELF = frozenset({"negative", "negativ"})
"""What denies without saying what: `dye penetrant negative`."""


def _take(state: _Clause, kind: _Word, word: str) -> None:
    """One word more."""
    if kind is _Word.DENIES:
        again = state.denied and not (word == "nor" and state.reached)
        state.wrong |= again or (state.good and word != "not")
        state.denied, state.reached, state.by = True, False, word
    elif kind is _Word.FAULT:
        answers = _FAULTS[word]
        state.wrong |= state.where and state.last not in _OR and state.before is not _Word.SUSPECTED
        if state.denied:
            # `not a scratch, a crack`; `no rejectable crack` leaves one
            own = answers == {Suspicion.CRACK} and word not in _SOFT
            state.wrong |= (state.than and state.last not in _OR) or (state.mild and own)
            state.hard |= own
            state.reached = True
            state.answers |= answers
            # `the suspected crack is no crack`
            state.open_ = state.open_ and not (state.was and state.spoken <= answers)
        else:
            state.open_, state.spoken, state.was = True, state.spoken | answers, False
            state.hard |= word not in _SOFT
    elif kind is _Word.LOOK:
        state.wrong = state.before is _Word.FAULT or (state.denied and not state.reached)
        state.wrong |= state.aim  # `accepted for retest`
    elif kind is _Word.FOUND:
        state.gone |= state.before is _Word.DENIES and state.by != "no"
        state.seen = True
    elif kind is _Word.DONE:
        state.wrong |= (state.denied and not state.reached) or state.aim
    elif kind is _Word.ONLY:
        behind = state.before in {_Word.HARMLESS, _Word.SOILED}  # `a scratch only`
        state.wrong |= not behind and (state.denied or state.good)
        state.only = not behind
    elif kind is _Word.MILD:
        state.mild = True
        state.wrong |= state.reached and state.hard  # `no crack of 3 mm`
    elif kind is _Word.LESS:
        state.wrong |= state.denied
    elif kind is _Word.SUSPECTED:
        state.wrong |= state.denied and state.good
    elif kind is _Word.HARMLESS and state.denied:
        state.reached = state.than = True  # `no folds or cracks`
    elif kind in {_Word.HARMLESS, _Word.PASSES} or (kind is _Word.SOILED and state.was):
        state.wrong |= state.only and kind is _Word.PASSES
        state.only = False
        told = state.was and (kind is not _Word.PASSES or _is_accepted(state, word))
        state.wrong |= state.denied or (state.open_ and not told)
        named, state.open_, state.good = state.open_, False, True
        spoken_else = named and Suspicion.CRACK not in state.spoken
        instead = frozenset() if spoken_else else frozenset({Suspicion.CRACK})
        state.answers |= state.part if kind is _Word.PASSES else instead
    elif kind is _Word.SOILED:
        state.wrong |= state.reached or state.open_  # `no crack in the paint`
    elif kind is _Word.PLACE:
        state.was = state.open_ and not state.hard and word in _FROM
        state.aim = state.good and word in {"for", "to"}
        state.where |= state.denied and word in _WHERE
    elif kind is _Word.IS:
        state.was = state.open_
    elif word in _OR:
        state.where = False
    state.part = _PARTS.get(word, state.part)
    state.before = kind if kind is not _Word.NEUTRAL else state.before


def _is_accepted(state: _Clause, word: str) -> bool:
    """Whether what was named may lie within a limit, and does."""
    return word in _ACCEPTS and not state.hard
