"""What people write in notes and findings: which words are said, and which denied.

The words themselves stand in `ledger/data/words/wording.yaml`. Where a text must let a cylinder
go, the words that do are a closed list, and whatever else it says does not.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable
from functools import cache, lru_cache

from tankbook.records.finding import FindingRow
from tankbook.records.words import Seen
from tankbook.units.lexicon import Lexicon, words_in
from tankbook.units.patterns import pattern

_SAY = Lexicon("wording")

# --- what is said and what is denied -------------------------------------------------------------


def plainly(text: str) -> str:
    """A text with its contractions written out, accents joined to their letters, and ss for ß."""
    return _contracted().sub(r"\1 not", unicodedata.normalize("NFC", text).replace("ß", "ss"))


@cache
def _contracted() -> re.Pattern[str]:
    verbs = "|".join(sorted(_SAY.words("contracted")))
    return re.compile(rf"\b({verbs})n['\u2019\u00b4`]?t\b", re.IGNORECASE)


_UNSURE = ("in the past", "in doubt yet")
"""What may follow a word that is denied, so that the denial says nothing of today."""

_REACH = 9
"""The most words between a denying word and what it denies."""


def speaks_of(text: str, word: str) -> str:
    """The word by which a text speaks of something, or an empty text; `no crack` speaks of none.

    A word counts as it stands and with the endings of a plural or a verb; `bulg*` with any. It is
    denied where a denying word stands close before it, with nothing between that says more.

    >>> speaks_of("no cracks, a dent at the foot", "dent")
    'dent'
    >>> speaks_of("no dents or cracks", "crack")
    ''
    """
    text = _prepared(text)
    if not _may_hold(text, word):
        return ""
    clause = _SAY.phrases("clause")
    for found in as_written(word).finditer(text):
        before = words_in(clause.split(text[: found.start()])[-1])
        unsure = any(_SAY.goes_on(each, text, found.end()) for each in _UNSURE)
        denied = _is_denied(before) and not unsure
        after = _SAY.goes_on("denied after", text, found.end())
        if denied is after or _SAY.goes_on("excepted", text, found.end()):
            return found[0]
    return ""


@lru_cache(maxsize=4096)
def _prepared(text: str) -> str:
    """A text without what stands for something else, or is only asked; of several things that are
    named together, what is said of one is of all."""
    text = _SAY.without("names", plainly(text))
    asked = _SAY.phrases("to look").search(text)
    if asked and not _SAY.holds("found", text[asked.end() :]):
        text = _SAY.without("to look", text)
    together = _SAY.phrases("things together")
    return together.sub(lambda m: re.sub(r"\s*[,/]\s*|\s+(?:and|und)\s+", " or ", m[0]), text)


def denied_by(
    clause: str, text: str, end: int, more: Collection[str], deny: Collection[str]
) -> bool:
    """Whether what ends at a place of a text is denied in its clause, as `speaks_of` has it, with
    more words that do not end a denial, and more that deny."""
    unsure = any(_SAY.goes_on(each, text, end) for each in _UNSURE)
    return not unsure and _is_denied(words_in(clause), more, deny)


def denied_behind(text: str, end: int) -> bool:
    """Whether a text denies right behind a place what it said: `cracks: none`."""
    return _SAY.goes_on("denied after", text, end)


def _is_denied(before: list[str], more: Collection[str] = (), deny: Collection[str] = ()) -> bool:
    denying, between, doubting = map(_SAY.words, ("denying", "between", "doubting"))
    for back, word in enumerate(reversed(before[-_REACH:])):
        if word in denying or word in deny:
            rest = before[: len(before) - back - 1]
            if word == "nothing":
                return back == 0
            return not (rest and (rest[-1] in doubting or rest[-2:] == ["no", "longer"]))
        if word not in between and word not in more:
            return False
    return False


_LONG = 5
"""The letters of a word that is looked for within others (own bound; `dent` is in `evident`)."""


_SPELT = {
    "ä": "(?:ä|ae?)",
    "ö": "(?:ö|oe?)",
    "ü": "(?:ü|ue?)",
    "ß": "ss",
    **{letter: f"[{letter}{plain}]" for letter, plain in zip("éèêûîô", "eeeuio", strict=True)},
}
"""How letters with an accent are written where a keyboard has none."""


@cache
def _core(word: str) -> str:
    """The longest part of a word that is always written alike."""
    return max(re.split(f"[{''.join(_SPELT)}]", word.removesuffix("*")), key=len).casefold()


@lru_cache(maxsize=4096)
def _folded(text: str) -> str:
    return plainly(text).casefold().translate(_DOTS)


_DOTS = {0x131: "i", 0x307: None}
"""The i without a dot, and the dot of the capital with one: an i whatever its case."""


def _may_hold(text: str, word: str) -> bool:
    """Whether a text may hold a word as written: a quick look, before a pattern is made for it."""
    return _core(word) in _folded(text)


def _may_hold_of(text: str, words: Iterable[str]) -> tuple[str, ...]:
    """Those of some words that a text may hold: texts that differ in their figures alone, as notes
    of one import do, are looked through once."""
    every = tuple(words)
    found = _may_stand_in(_FIGURES.sub("0", _folded(text)), every)
    return tuple(word for word in found if _may_hold(text, word))


@lru_cache(maxsize=16384)
def _may_stand_in(shape: str, words: tuple[str, ...]) -> tuple[str, ...]:
    cores = ((word, _core(word)) for word in words)
    return tuple(word for word, core in cores if core in shape or _FIGURES.search(core))


_FIGURES = pattern(r"\d+")


def _spoken_words(text: str, words: Iterable[str]) -> tuple[str, ...]:
    """Those of some words by which `speaks_of` may find anything in a text."""
    every = tuple(words)
    prepared = _prepared(text)
    if prepared == text:
        return _may_hold_of(text, every)
    held = {*_may_hold_of(text, every), *_may_hold_of(prepared, every)}
    return tuple(word for word in every if word in held) if held else ()


@cache
def as_written(word: str) -> re.Pattern[str]:
    """A word with the endings of a plural or a verb; `bulg*` with any ending. A long one counts
    with a stray letter before it (`hairlin ecrack`) and within words that were run together as well
    (`hairlinecrackatthread3`)."""
    letters = word.removesuffix("*")
    stem = "".join(_SPELT.get(letter, re.escape(letter)) for letter in letters)
    ends = r"\w*" if word.endswith("*") else rf"(?:{letters[-1]}?(?:e?s|e?d|e?n|ing|y))?\b"
    within = rf"|\b(?=\w{{14}})\w*{stem}\w*" if len(letters) >= _LONG else ""
    stray = r"\w?" if len(letters) >= _LONG else ""
    return re.compile(rf"\b{stray}{stem}{ends}{within}", re.IGNORECASE)


def first_of(text: str, words: Iterable[str]) -> str:
    """The first of these words that a text speaks of, or an empty text."""
    held = _may_hold_of(text, words)
    return next(filter(None, (speaks_of(text, word) for word in held)), "")


def unread_words(text: str) -> str:
    """The first word of a text in letters of which no list of words has any, such as `погнут`; or
    an empty text. A letter alone is a sign (`µ`, `Ω`).

    >>> unread_words("valve погнут"), unread_words("épaule fêlée, 20 °C, Ω 5")
    ('погнут', '')
    """
    return next((w for w in re.findall(r"[^\W\d_]{2,}", text) if not _LATIN.search(w)), "")


_LATIN = pattern(r"[A-Za-z\u00aa\u00ba\u00c0-\u024f\u1e00-\u1eff\ufb00-\ufb06\uff21-\uff5a]")
"""Letters that the languages of the lists are written in."""


def first_of_shell(text: str, words: Iterable[str]) -> str:
    """The first of these words that a text speaks of, and not of a fitting; or an empty text."""
    held = _spoken_words(text, words)
    return next(filter(None, (speaks_of_shell(text, word) for word in held)), "")


def speaks_of_harm(text: str) -> str:
    """The word by which a reason says what a shell suffered that no look outside tells, or an
    empty text."""
    return first_of_shell(_SAY.without("people", plainly(text)), _SAY.listed("shell"))


def sets_aside(text: str) -> str:
    """The words by which a note sets a cylinder aside, or an empty text."""
    rest = _SAY.without("fails to", plainly(text))
    return says_do_not(text) or first_of_shell(rest, _SAY.listed("misshapen"))


def says_do_not(text: str) -> str:
    """The words by which a text says that a cylinder is not to be filled, or an empty text."""
    text = _SAY.without("people", _SAY.without("happened", plainly(text)))
    said = _SAY.said("aside", text)
    sure = said and (_SAY.phrases("not").match(said) or speaks_of_shell(text, said))
    return said if sure else ""


def unharmed(text: str) -> bool:
    """Whether what was noted of damage at a return says that there was none; a `?` does not."""
    words = words_in(text)
    if "?" in text or not _SAY.words("unharmed").issuperset(words):
        return False
    return not _SAY.words("harm").intersection(words) or bool(_SAY.words("so").intersection(words))


def in_doubt(text: str) -> str:
    """The words by which a reason to let a cylinder go says that it is not well, or an empty
    text."""
    return _SAY.said("doubt", plainly(text))


def unsettled(text: str) -> str:
    """The words by which a note on what was found and passed says that it is not well, or an empty
    text."""
    missing = speaks_of(text, "missing")  # `none missing` is well
    return _SAY.said("unsettled", plainly(text)) or missing or in_doubt(text) or not_passed(text)


def says_mistaken(text: str) -> bool:
    """Whether a reason to strike out an entry says that it was a mistake, and what of."""
    return _SAY.holds("mistaken", plainly(text))


def is_no_evidence(text: str) -> bool:
    """Whether what somebody says a fact is known from is no evidence of it: nothing, hearsay, or
    what was refused, lost or only asked for."""
    plain = plainly(text)
    bad = says_nothing(text) or in_doubt(text) or not_passed(text)
    return bool(bad or _SAY.holds("refused", plain) or _SAY.holds("hearsay", plain))


def names_no_paper(text: str) -> bool:
    """Whether what stands for the paper of a renewal names none, or one by which it was refused."""
    return is_no_evidence(text) or _SAY.holds("an end", plainly(text))


@lru_cache(maxsize=4096)
def says_overfilled(text: str) -> bool:
    """Whether a text says that a cylinder was filled above what it may hold."""
    for name in ("overfill things", "gauge is", "over else"):
        text = _SAY.without(name, text)
    beyond = _SAY.phrases("beyond its own").search(plainly(text))
    denied = beyond and _SAY.holds("not", text[: beyond.start()])
    return bool(first_of(text, _SAY.listed("overfilled"))) or bool(beyond and not denied)


def asks_if_overfilled(text: str) -> bool:
    """Whether a text only asks if a cylinder was filled above what it may hold."""
    asked = _SAY.holds("if overfilled", text)
    return asked and not says_overfilled(_SAY.without("if overfilled", text, ""))


@lru_cache(maxsize=4096)
def says_disc_let_go(text: str) -> bool:
    """Whether a text says that a burst disc let go."""
    return _SAY.holds("disc went", plainly(text))


def says_not_made(text: str) -> str:
    """The words by which a note on a test says that it was not made, or of something else, or an
    empty text."""
    return _SAY.said("not made", plainly(text))


def says_no_flow(text: str) -> bool:
    """Whether a text says that nothing came out of a cylinder as it was bled, or that its valve or
    dip tube is blocked."""
    return _SAY.holds("no flow", plainly(text))


def says_nothing_heard(text: str) -> bool:
    """As `says_no_flow`, of what is noted at the step that looks whether it is empty."""
    return says_no_flow(text) or _SAY.holds("nothing heard", plainly(text))


def says_nothing(text: str) -> bool:
    """Whether what stands in the place of a reason is none: a dot, a dash, `tbd`."""
    letters = "".join(words_in(text))
    return len(letters) < 2 or letters in _SAY.words("nothing")


def says_no_cause(text: str) -> bool:
    """Whether what stands in the place of a cause is none: `still looking`, `we don't know yet`."""
    none = says_no_proof(text) or "".join(words_in(text)) in _SAY.words("no cause")
    return none or _SAY.holds("cause unknown", plainly(text))


def names_cause(text: str) -> bool:
    """Whether a text says what carbon monoxide came from, by what is known to give any, and leaves
    it in no doubt: for what was written down before the kind of a cause was asked."""
    doubted = says_no_cause(text) or _SAY.holds("cause in doubt", plainly(text))
    return not doubted and _SAY.holds("gives monoxide", plainly(text))


_THINGS = pattern(r"[,;:.!?+&/()\n]|\b(?:and|but|und|et|mais|y|pero|e|ma|en|maar)\b", re.IGNORECASE)
"""What stands between two things that are said to have failed."""


def says_seal_leaked(text: str) -> bool:
    """Whether all that failed of a part of the station was seals, and nothing that holds pressure:
    each thing that is said names one, or only that it leaks."""
    text = plainly(text)
    each = [clause for clause in _THINGS.split(text) if clause.strip()]
    others = [clause for clause in each if not _SAY.holds("sealing part", clause)]
    seals = len(others) < len(each) and all(_SAY.holds("only leaks", c) for c in others)
    return seals and not _SAY.holds("strength lost", text)


def says_shows_little(text: str) -> bool:
    """Whether what was found of an instrument is that it is dead, or shows less than there is."""
    return _SAY.holds("shows little", plainly(text))


def says_no_proof(text: str) -> bool:
    """Whether what stands in the place of how something ended, or of what proves it, is none: `ok`,
    `found again`, `police`."""
    return says_nothing(text) or _SAY.words("no proof").issuperset(words_in(text))


def says_no_answer(text: str) -> bool:
    """Whether what stands in the place of what became of something found wrong is nothing, a tick
    (`ok`), that it is so yet (`still blocked`, `not fixed`), what is yet to be done (`will clear
    it`), or that it was only seen or told (`told KD`); any plain word besides is the word of
    whoever signs it: `cleared`, `ok now`, `told KD, who moved the van`."""
    words = words_in(text)
    if says_nothing(text) or any(_SAY.words(n).issuperset(words) for n in ("tick", "only looked")):
        return True
    text = plainly(text)
    as_it_was = any(
        not _SAY.phrases("as it should be").match(text[found.end() :].lstrip(" ,:"))
        for found in _SAY.phrases("as it was").finditer(text)
    )
    unanswered = _SAY.holds("yet to be done", text) or _SAY.holds("only seen or told", text)
    parts = _SAY.phrases("parts of a note").split(text)
    return as_it_was or (unanswered and not any(map(_says_done, parts)))


def _says_done(part: str) -> bool:
    """Whether a part of a note says what was done. What follows what is yet to be done is to be
    done as well: `will be moved and cleaned`."""
    for each in _SAY.phrases("and so on").split(part):
        if _SAY.holds("yet to be done", each):
            return False
        done = _SAY.said("was done", each)
        if done and not _SAY.holds("only seen or told", each) and speaks_of(each, done):
            return True
    return False


def says_only_looked(text: str) -> bool:
    """Whether what stands in the place of what was done about something is no act: `ok`, `nothing`,
    `looked at it`, `checked the compressor`."""
    no_act = _SAY.words("no proof", "only looked")
    return says_nothing(text) or no_act.issuperset(words_in(text))


def names_intake(text: str) -> bool:
    """Whether a step of a list looks at the intake, or at what the wind brings there."""
    return _SAY.holds("intake looked at", plainly(text))


def says_untold(text: str) -> bool:
    """Whether what stands in the place of how somebody was told is none: `not told`, `will ring`,
    `tomorrow`, `yes`."""
    words = words_in(text)
    alone = _SAY.words("untold").issuperset(words)
    return says_nothing(text) or alone or words[0] in _SAY.words("to be told")


# --- of a cylinder or of what is fitted to it ----------------------------------------------------


def speaks_of_shell(text: str, word: str) -> str:
    """As `speaks_of`, and not of a fitting: `boot cracked` and `cracked boot` say nothing of it."""
    if not _may_hold(text, word):
        return speaks_of(text, word)
    rest = as_written(word).sub(lambda m: "" if _is_fittings(text, m) else m[0], text)
    return speaks_of(rest, word)


def spoken_of(text: str, row: FindingRow) -> str:
    """The word by which a text speaks of a finding on a cylinder, or an empty text."""
    return _first_spoken(text, row.words, row.what)


@lru_cache(maxsize=16384)
def _first_spoken(text: str, words: tuple[str, ...], what: Seen) -> str:
    held = _may_hold_of(text, words)
    return next(filter(None, (_spoken(text, word, what) for word in held)), "")


def _spoken(text: str, word: str, what: Seen) -> str:
    """As `speaks_of_shell`; what melts a boot, chars its paint or burns a label was at the cylinder
    as well, and what was done to the paint was done to it."""
    if what is Seen.PAINT and _of_paint(text, word):
        return speaks_of(text, word)
    if what is not Seen.HEAT:
        return speaks_of_shell(text, word)
    rest = as_written(word).sub(lambda m: "" if _is_no_part(text, m) else m[0], text)
    return speaks_of(rest, word)


def _of_paint(text: str, word: str) -> bool:
    """Whether a word is said of the paint: `paint was stripped` is of no fitting."""
    return any(
        _SAY.holds("paint is", text[: m.start()]) or _SAY.goes_on("is paint", text, m.end())
        for m in as_written(word).finditer(text)
    )


def _is_fittings(text: str, found: re.Match[str]) -> bool:
    if _stands_before(text, found, "fitting is"):
        return not _SAY.goes_on("harmed by it", text, found.end())
    noun = found[0].casefold() in _SAY.words("by noun")
    other = noun and _SAY.goes_on("of its own", text, found.end())
    return not other and _SAY.goes_on("is of fitting", text, found.end())


def _stands_before(text: str, found: re.Match[str], what: str) -> bool:
    """Whether a word is said of what stands before it: `boot cracked`, and not `under the boot`."""
    before = _SAY.phrases(what).search(text[: found.start()])
    return before is not None and not _SAY.holds("by fitting", text[: before.start()])


def _is_no_part(text: str, found: re.Match[str]) -> bool:
    """Whether something else got hot, or it is a mark on a fitting as a cigarette leaves it."""
    behind = (_SAY.goes_on(name, text, found.end()) for name in ("is no part", "a mark"))
    other = _stands_before(text, found, "no part is") or any(behind)
    return other and found[0].casefold() not in _SAY.words("fires")


# --- what a test came to -------------------------------------------------------------------------


def not_passed(text: str) -> str:
    """The word by which a text says that something was not passed, or an empty text: a word for
    that, or a denied word for its contrary."""
    text = plainly(text)
    for aside in ("people", "limit", "beside"):
        text = _SAY.without(aside, text, "")
    for word in _spoken_words(text, _SAY.listed("bad")):
        spoken = speaks_of_shell(text, word)
        if spoken and not _passed_after(text, spoken):
            return spoken
    return _SAY.said("half", text) or _denied(text)


def share_kept(text: str) -> float | None:
    """The percent of its expansion that a cylinder kept for good, as somebody wrote it."""
    found = _SAY.phrases("kept").search(plainly(text))
    return float(found["share"].replace(",", ".")) if found else None


def _passed_after(text: str, bad: str) -> bool:
    """Whether a text goes on to say that it passed in the end: `first run failed, then passed`."""
    rest = text[text.rindex(bad) + len(bad) :]
    again = _SAY.holds("in the end", rest) or _SAY.holds("once more", text)
    return again and bool(first_of(rest, (*_SAY.listed("good"), "ok")))


def _denied(text: str) -> str:
    """A good word that is denied, however much stands between in its clause."""
    for clause in re.split(r"\band\b|\bund\b|[.;:!?()\n,]", plainly(text)):
        for word in (*_SAY.listed("good"), "ok", "okay", "in order"):
            found = as_written(word).search(clause)
            denied = found and _SAY.holds("not", clause[: found.start()])
            if found and (denied or not speaks_of(clause, word)):
                return f"not {found[0]}"
    return ""


def says_passed(text: str) -> bool:
    """Whether a text says that something was passed, and nothing that limits it."""
    good = first_of(text, (*_SAY.listed("good"), "ok", "okay", "all good"))
    return bool(good) and not _SAY.holds("limiting", plainly(text)) and not not_passed(text)


def says_cracked(text: str) -> str:
    """The word by which a requalifier says that there is a crack, or an empty text."""
    return first_of_shell(text, _SAY.listed("cracked"))


def denies_cracks(text: str) -> bool:
    """Whether what somebody noted of a look for cracks says that there is none, or what it saw
    instead."""
    cracks = _SAY.listed("cracked")
    seen = first_of(text, (*cracks, *_SAY.listed("traces")))
    if _SAY.holds("worse", text) or not_passed(text) or seen:
        return False
    named = any(as_written(word).search(text) for word in cracks)
    well = named or unharmed(text) or _SAY.phrases("all well").fullmatch(text)
    return bool(well or first_of(text, (*_SAY.listed("good"), *_SAY.listed("else"))))
