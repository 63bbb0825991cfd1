"""The words by which a requalifier lets a cylinder go: a closed vocabulary.

A suspected crack, heat, fire or a bulge is answered by what somebody wrote of it. Of such a text
every word must be known here, and each thing it speaks of denied: one word too many, and it lets
nothing go. What else is to be said goes in a note, which is not weighed. The words are from memory,
in English and German; no source lists them.
"""

from __future__ import annotations

import re
from enum import StrEnum
from functools import cache

from msgspec import Struct, field

from tankbook.units.patterns import pattern


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
        " verdacht grieta grietas fisura fisuras cricca cricche crepa crepe scheur scheuren"
        " scheurtje scheurtjes haarscheur haarscheuren".split(),
        frozenset({Suspicion.CRACK}),
    ),
    **dict.fromkeys(
        "heat heat-damage damage burn burns softening overheating fire fire-damage hitze"
        " hitzeschaden hitzeschäden hitzeeinwirkung wärmeeinwirkung wärmeschaden überhitzung"
        " brandspur brandspuren".split(),
        frozenset({Suspicion.HEAT}),
    ),
    **dict.fromkeys(
        "bulge bulges bulging deformation beule beulen ausbeulung ausbeulungen verformung"
        " verformungen".split(),
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
        " unbegründet pas aucun aucune sans sin ninguna ningún nessuna nessun senza geen"
        " zonder".split(),
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
        " bearbeitungsspuren bearbeitungsriefe bearbeitungsriefen falte falten artefact artifact"
        " machining-groove machining-grooves scuff scuffs".split(),
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
        " paper signature prüfung wirbelstromprüfung druckprüfung wasserdruckprüfung"
        " ultraschallprüfung re-inspection bericht brief zeugnis".split(),
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
        "small fine harmless superficial light all both polished dressed cleaned removed"
        " blended".split(),
        _Word.LESS,
    ),
    **dict.fromkeys("only nur just".split(), _Word.ONLY),
    **dict.fromkeys(
        "recordable reportable rejectable relevant significant measurable unzulässige"
        " unzulässigen".split(),
        _Word.MILD,
    ),
    **dict.fromkeys("suspected alleged supposed possible apparent".split(), _Word.SUSPECTED),
    **dict.fromkeys(
        "a the this that its it or any ok okay good ein eine der die das den dem oder de"
        " cylinder neck thread threads thread-place shoulder crown wall body inside metal flasche"
        " hals gewinde halsgewinde schulter innen wand eddy current ultrasonic dye penetrant visual"
        " hydro hydrostatic magnetic particle ndt ut ec et mpi wirbelstrom ultraschall ve"
        " conductivity roundness rundheit diameter durchmesser expansion hardness härte"
        " after-heat surface evidence sign signs trace traces hint steel aluminium aluminum"
        " requalifier".split(),
        _Word.NEUTRAL,
    ),
}
_MARKS = "|".join(word for word, kind in _WORDS.items() if kind is _Word.HARMLESS)
_SMALL = r"(?:[01](?:[.,]\d+)?|2) ?mm"
"""What a mark of a tool may measure (own bound)."""
_MONTH = "(?:jan|feb|mar|mär|apr|may|mai|jun|jul|aug|sep|o[ck]t|nov|de[cz])[a-zä]*"
_DATE = rf"(?:\d{{4}}-\d\d(?:-\d\d)?|\d\d?\.\d\d?\.\d{{4}}|\d\d?\.? {_MONTH}(?: \d{{4}})?)"
_TESTS = r"(?:hydro\w*(?: tests?)?|(?:wasser)?druckprüfung|tested)"
_SEARCH = (
    r"(?:eddy current|ultrasonic|hydro\w*|dye penetrant|magnetic particle|wirbelstrom\w*"
    r"|ultraschall\w*|ec|et|mpi|ut|ve)\b"
)
"""What finds more than the eye does."""

_SAME: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (pattern(rf"\b(?:{old})", re.IGNORECASE), f" {new} ")
    for old, new in (
        (r"n(?:o|r|umber)\.?\s*(?=\d)", "number"),
        (rf"(report|letter|certificate|bericht|brief|zeugnis) (?:of|dated|vom) {_DATE}", r"\1"),
        (
            r"(?:report|letter|certificate|bericht|zeugnis)s? (?:number )?"
            r"(?!(?:19|20)\d\d\b(?!-))[\w/-]*\d[\w/-]*",
            "report",
        ),
        # figures that are known to measure something, or to say where
        (r"(?:threads?|(?:gewinde)?g[aä]nge?) (?:number )?\d\d?\b(?![-.,/]\d)", "thread-place"),
        (r"\d+ ?x magnification\b|magnification \d+ ?x\b", ""),
        # (own bound: half of what 49 CFR 180.209 has as the most, from memory)
        (
            r"(?:permanent |bleibende )?(?:expansion|dehnung) ?[:=]? ?"
            r"(?:normal\b|(?:[0-4](?:[.,]\d+)?|5) ?%(?: permanent\b)?)",
            "expansion",
        ),
        (r"(conductivity) \d\d(?:[.,]\d)? ?% ?iacs\b", r"\1"),
        (r"crack ((?:indication|signal|suspicion)s?)\b", r"\1"),
        # what says that nothing is there
        (r"n\.?a\.?d\b\.?|nothing (?:abnormal |was )?(?:found|detected|noted|seen)\b", "no fault"),
        (r"o\.\s?b\.|ohne befund\b|no reason to reject\b", "no fault"),
        (r"(riss|crack|defect|flaw)s?[ -]?(?:frei|free)\b(?! (?:of|from|von)\b)", r"no \1"),
        (r"(?:signals?|indications?|amplitude) below (?:the )?(?:reject )?threshold\b", "no crack"),
        (r"no indications? above (?:the )?threshold\b", "no crack"),
        (r"(?:false|non-?relevant) (?:indication|call|positive|alarm)s?\b", "no crack"),
        (r"indications? (?:is|was|are|were) (?:false|non-?relevant)\b", "no crack"),
        (r"(?:not|nicht) (?:rejected|gerissen|cracked)\b", "no crack"),
        (
            r"(cracks?|risse?|indications?|anzeigen?|defects?|faults?|flaws?|bulges?|bulging|beulen?"
            r"|verformung|(?:heat |fire )?damage|heat|hitzeschäden|überhitzung)"
            r"\s*[:=]\s*(?:none|nil|negative|negativ|keine?r?|no|0)\b",
            r"no \1",
        ),
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
        (r"(tool|tap|machine|machining|die|scrape|score)[ -]?(marks?|grooves?)\b", r"\1-\2"),
        (r"run[ -]?outs?\b", "run-out"),
        (r"thread wear\b", "thread-wear"),
        (rf"({_MARKS}) ?(?:,|:|of)? ?{_SMALL}\b(?: long\b)?", r"\1"),
        (rf"{_SMALL} (?=(?:{_MARKS})\b)", ""),
        (
            rf"({_MARKS}) (?:from|of|by) (?:the )?"
            r"(?:tap(?:ping)?|machining|making|manufacture|forming)\b",
            r"\1",
        ),
        (r"eddy-current\b", "eddy current"),
        (r"(dressed|polished|blended|cleaned) out\b", r"\1"),
        (rf"({_SEARCH}) ?: ?(negative?)\b", r"\1 \2"),
        # a look beside another
        (rf"visual(?: inspection)? (?:and|und) (?={_SEARCH})", ""),
        (rf"({_SEARCH}) (?:and|und) visual(?: inspection)?\b", r"\1"),
        (r"inside (?:and|or) out(?:side)?\b|innen und au(?:ß|ss)en\b", ""),
        (
            r"(?:only|nur) (?:the )?(?:paint|farbe|lack) (?:burnt|burned|scorched|verbrannt)\b",
            "after-heat",
        ),
        # what passes
        (r"i\.\s?o\.|in ordnung\b|in order\b(?! to\b)", "in-order"),
        (r"as new\b", "as-new"),
        (r"within (?:the |its )?(?:acceptance )?limits?\b", "within-limits"),
        (r"(?:test pressure|prüfdruck|tp)(?: of|:)? (?=\d)", "hydro"),
        # at so much as a cylinder to dive with is tested at (own bounds, below 3/2 of 150 bar)
        (
            rf"({_TESTS}(?: passed| bestanden)?)(?:,? at| with| to| mit| bei|,)?"
            r" (?:(?:3[3-9]|[4-9]\d|1[0-6]\d)\d\d psi|(?:22[5-9]|2[3-9]\d|[3-9]\d\d) bar)\b",
            r"\1",
        ),
        (r"(?:(hardness|härte) )?\d+ h(?:b|v|bw)\b", "hardness"),
        (r"threads? (?:clean|ok|whole|good)\b", ""),
        (r"no findings?\b", "no fault"),
        (r"not (?:over-?heated|burnt)\b|no over-?heating\b", "no heat"),
        (r"not bulged\b", "no bulge"),
        (r"(?:is |was )?not affected\b", "unaffected"),
        (
            r"(?:re)?turn(?:ed)? to service\b|fit for (?:further|continued) (?:use|service)\b",
            "passed",
        ),
        (
            r"(accepted|approved|passed|safe|sound|fit|suitable|serviceable) for"
            r" (?:service|use|filling)\b",
            r"\1",
        ),
        # what does not matter
        (r"(?:can(?:no|')t|could not|couldn't) be felt\b", ""),
        (r"after (?:the )?(?:heat|fire)\b", "after-heat"),
        (r"plus (?:rating |mark )?(?:not )?(?:approved|granted|renewed|stamped|refused)\b", ""),
    )
)
"""Phrases that are one word of the vocabulary, or say what one says."""

_CLAUSES = pattern(r"[,;:()!\n]|\.(?=\s|$)|\s[-\u2013]\s")
_NOT_ALL = pattern(
    r"\bremoved from\b|\bor confirmed\b|\b(?:no|not an?|without|of) confirmed\b"
    r"|\bnegative for (?:use|service|filling)\b|\bonly$|\bon paper\b"
    r"|\b(?:threads?|wall|neck|metal) removed\b"
    r"|\b(?:of|by|in|on) (?:the |its |a )?(?:signature|record|report|paper|letter|certificate)\b"
    r"|\bdurch (?:\w+ )?(?:gewinde|wand|gänge)"
    r"|\bpassed (?:(?:on|back|up|over) )?to\b|:\s*(?:no|n|not)\s*$|\?"
    # looked at, and no more
    rf"|^(?!.*\b{_SEARCH})(?=.*\b(?:visual|magnification))",
    re.IGNORECASE | re.DOTALL,
)
"""What is of a part of it, of a paper, a form's no, only asked, or only looked at."""


class _Clause(Struct):
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
    met: frozenset[Suspicion] | None = None
    """What was denied last: `no bulge is a crack` denies no crack."""
    last: str = ""
    where: bool = False
    """It is being said where what was denied is not: a fault named there is there."""
    part: frozenset[Suspicion] = _ALL
    """What it answers that the parts spoken of are sound."""
    measured: frozenset[Suspicion] | None = None
    """What the looks and measures spoken of may answer."""
    place: bool = False
    """A part was named."""
    elsewhere: bool = False
    """That part is not where a crack begins: a mark there is not what was suspected."""
    done: bool = False
    answering: bool = False
    """It stands behind `but`, and is to say that all is well itself."""
    answers: set[Suspicion] = field(default_factory=set)
    """What is denied by its name."""
    broad: set[Suspicion] = field(default_factory=set)
    """What is answered as all is."""
    instead: set[Suspicion] = field(default_factory=set)
    """What is answered by what it was instead."""
    spoken: frozenset[Suspicion] = frozenset()

    @property
    def bare(self) -> bool:
        """Whether it says of nothing how it is: it names what the rest is about."""
        return not (self.denied or self.good or self.open_ or self.seen)


class _Text(Struct):
    """What the clauses of a text say together."""

    answers: set[Suspicion] = field(default_factory=set)
    broad: set[Suspicion] = field(default_factory=set)
    instead: set[Suspicion] = field(default_factory=set)
    named: set[Suspicion] = field(default_factory=set)
    """Each suspicion that is spoken of: a good word is said of these, where there are any."""
    part: frozenset[Suspicion] = _ALL
    narrow: frozenset[Suspicion] = _ALL
    measured: frozenset[Suspicion] | None = None
    elsewhere: bool = False

    def add(self, clause: _Clause) -> None:
        """One clause more. What only names a part is the head of all the others, and a good word
        says no more than what was looked at."""
        measured = _ALL if clause.measured is None else clause.measured
        self.answers |= clause.answers & clause.part & measured
        self.broad |= clause.broad & clause.part & measured
        self.instead |= clause.instead
        self.named |= clause.answers | clause.instead | clause.spoken
        self.elsewhere |= clause.elsewhere and (clause.bare or bool(clause.instead))
        if clause.place:
            self.narrow &= clause.part
            self.part &= clause.part if clause.bare else _ALL
        if clause.measured is not None:
            self.measured = clause.measured | (self.measured or frozenset())

    def said(self) -> frozenset[Suspicion]:
        """What is answered."""
        broad = self.broad & (_ALL if self.measured is None else self.measured)
        broad &= (self.named or _ALL) & self.narrow
        instead = frozenset() if self.elsewhere else self.instead
        return frozenset(instead | ((self.answers | broad) & self.part))


def lets_go(text: str, of: Suspicion = Suspicion.CRACK) -> bool:
    """Whether what a requalifier wrote says that a cylinder may be used: that what was suspected is
    not there, what it was instead, or that it passed; and nothing else."""
    return of in _answered(text)


def speaks_for(text: str, of: Suspicion) -> bool:
    """Whether a text names what was suspected, or what measures it, itself."""
    text = _plain(text)
    words = re.findall(r"[^\W\d_][\w-]*", text.casefold())
    heat = of is Suspicion.HEAT
    return any(_FAULTS.get(w) == frozenset({of}) or (heat and w in _SOFTENED) for w in words)


def _plain(text: str) -> str:
    """A text in the words of the vocabulary."""
    for old, new in _SAME:
        text = re.sub(" +", " ", old.sub(new, text))
    return text


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
    text = _plain(text)
    whole = _Text()
    for clause in _CLAUSES.split(text.casefold()):
        if not _read(re.findall(r"[^\s,;:()!\"'/]+", clause), whole):
            return frozenset()
    return whole.said()


def _read(words: list[str], whole: _Text) -> bool:
    """Whether a clause is known and tells nothing against the cylinder: adds what it answers."""
    state = _Clause()
    for word in words:
        kind = _WORDS.get(word.strip("."))
        if kind is None:
            return False
        if kind is _Word.PARTS:
            if not _ends_well(state):
                return False
            whole.add(state)
            # `hydro and eddy current passed`
            measured = state.measured if state.bare else None
            state = _Clause(answering=word in {"but", "aber"}, measured=measured)
            continue
        _take(state, kind, word.strip("."))
        state.last = word
        if state.wrong:
            return False
    if not _ends_well(state):
        return False
    whole.add(state)
    return True


def _ends_well(state: _Clause) -> bool:
    """Whether nothing is left open: a fault that nobody denied, or a denial of nothing."""
    if state.bare and state.place and state.done:
        return False  # `threads inspected`
    if state.before is _Word.SUSPECTED and not state.reached:
        return False
    if state.only or (state.answering and not (state.denied or state.good)):
        return False
    if not state.denied or state.reached:
        return not state.open_ and (state.denied or state.good or not state.seen)
    there = state.open_ and not (state.gone or state.by in _ALONE)
    if state.good or there or not (state.open_ or state.by in _BY_ITSELF):
        return False
    if state.open_:
        _answer(state, state.spoken)
    elif state.measured != frozenset({Suspicion.CRACK}):
        return False  # `hydro negative`
    else:
        state.broad |= _ALL
    return True


def _answer(state: _Clause, what: frozenset[Suspicion]) -> None:
    """A fault is denied: by its own name, or with all others."""
    (state.broad if what == _ALL else state.answers).update(what)
    state.spoken |= what


_ALONE = frozenset(
    "none negative negativ nil absent excluded ausgeschlossen unfounded unbegründet zero 0"
    " ruled-out".split()
)
"""What denies the fault before it and needs no word behind it: `crack ruled out`."""

_SOFT = frozenset("line lines indication indications signal signals anzeige anzeigen".split())
"""What may lie within a limit."""

_FROM = frozenset({"from", "by", "von", "durch"})
"""What says where a signal comes from: `signal from a scratch`."""

_WHERE = frozenset("in at on from with to im am an auf bei mit".split())
"""What leads from a denial to the place of it: `no leak at the crack` names a crack."""

_ELSEWHERE = frozenset("shoulder crown schulter inside innen wall wand body visual".split())

_PARTS: dict[str, frozenset[Suspicion]] = {
    **dict.fromkeys(
        "neck thread threads hals gewinde halsgewinde".split(),
        frozenset({Suspicion.CRACK}),
    ),
    "metal": frozenset({Suspicion.HEAT}),
    **dict.fromkeys(
        "thread-place surface paint farbe report letter certificate record paper signature bericht"
        " brief zeugnis".split(),
        frozenset(),
    ),
    **dict.fromkeys(_ELSEWHERE, frozenset()),
}
"""Parts whose soundness says less than the cylinder's, and what it answers."""

_MEASURES: dict[str, frozenset[Suspicion]] = {
    **dict.fromkeys("hydro hydrostatic druckprüfung wasserdruckprüfung".split(), _ALL),
    **dict.fromkeys(
        "eddy ec et mpi ve ndt ut ultrasonic dye magnetic wirbelstrom wirbelstromprüfung"
        " ultraschall ultraschallprüfung".split(),
        frozenset({Suspicion.CRACK}),
    ),
    **dict.fromkeys("hardness härte conductivity after-heat".split(), frozenset({Suspicion.HEAT})),
    **dict.fromkeys(
        "roundness rundheit diameter durchmesser".split(), frozenset({Suspicion.BULGE})
    ),
    "unaffected": frozenset({Suspicion.CRACK, Suspicion.HEAT}),
    "expansion": frozenset(),
}
"""What a look or a measure may answer (memory)."""

_OR = frozenset({"or", "nor", "oder"})

_ACCEPTS = frozenset({"within-limits", "accepted", "approved"})

_BY_ITSELF = frozenset({"negative", "negativ"})
"""What denies without saying what: `dye penetrant negative`."""


def _take(state: _Clause, kind: _Word, word: str) -> None:
    """One word more."""
    # `possible artefact` is a guess
    guessed = state.before is _Word.SUSPECTED and not state.reached
    state.wrong |= guessed and kind not in {_Word.FAULT, _Word.NEUTRAL}
    if kind is _Word.DENIES:
        again = state.denied and not (word == "nor" and state.reached)
        state.wrong |= again or (state.good and word != "not")
        state.denied, state.reached, state.by = True, False, word
    elif kind is _Word.FAULT:
        answers = _FAULTS[word]
        state.wrong |= state.where and state.last not in _OR and state.before is not _Word.SUSPECTED
        if state.denied:
            # `not a scratch, a crack`; `no rejectable crack` leaves one
            own = answers not in (_ALL, frozenset()) and word not in _SOFT
            other = state.than or not (state.met is None or state.met & answers)
            state.wrong |= (other and state.last not in _OR) or (state.mild and own)
            state.met = answers
            state.hard |= own
            state.reached = True
            _answer(state, answers)
            # `the suspected crack is no crack`
            state.open_ = state.open_ and not (state.was and state.spoken <= answers)
        else:
            state.wrong |= state.open_ and state.before is _Word.FOUND  # `crack found bulge none`
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
        state.done = True
    elif kind is _Word.ONLY:
        behind = state.before in {_Word.HARMLESS, _Word.SOILED}  # `a scratch only`
        state.wrong |= not behind and (state.denied or state.good)
        state.only = not behind
    elif kind is _Word.MILD:
        state.mild = True
        # `no crack rejectable`, `rejectable scratch`
        state.wrong |= not state.denied or (state.reached and state.hard)
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
        if kind is _Word.PASSES:
            state.broad |= _ALL
        else:
            state.wrong |= spoken_else and kind is _Word.HARMLESS  # `the bulge is a fold`
            state.instead |= set() if spoken_else else {Suspicion.CRACK}
    elif kind is _Word.SOILED:
        state.wrong |= state.reached or state.open_  # `no crack in the paint`
        state.than |= state.denied  # `not dirt a crack`
    elif kind is _Word.PLACE:
        state.was = state.open_ and not state.hard and word in _FROM
        state.aim = state.good and word in {"for", "to"}
        state.where |= state.denied and word in _WHERE
    elif kind is _Word.IS:
        state.was = state.open_
    elif word in _OR:
        state.where = False
    state.part &= _PARTS.get(word, _ALL)
    state.elsewhere |= word in _ELSEWHERE
    state.place |= (
        word in _PARTS and kind is not _Word.LOOK and not (kind is _Word.SOILED and state.good)
    )
    if word in _MEASURES:
        state.measured = _MEASURES[word] | (state.measured or frozenset())
    state.before = kind if kind is not _Word.NEUTRAL else state.before


def _is_accepted(state: _Clause, word: str) -> bool:
    """Whether what was named may lie within a limit, and does."""
    return word in _ACCEPTS and not state.hard
