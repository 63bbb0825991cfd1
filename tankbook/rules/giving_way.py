"""What people write of a cylinder, or of its joint to the valve, that may give way under pressure:
a bent neck, a valve that stands crooked or comes out, gas that gets out of the shell.

It is read by what it is made of: a part, and what is wrong with it. What stands between the two
(`looks`, `may be`, `slightly`) says no less, and what is said belongs to the part that stands
nearest: `neck ok, handle bent` says nothing of the neck. The words themselves stand in
`ledger/data/words/giving_way.yaml`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from tankbook.rules.wording import denied_behind, denied_by, first_of_shell, plainly
from tankbook.units.lexicon import Lexicon, words_in

_SAY = Lexicon("giving_way")

_PARTS = (
    *("joint", "thread", "stem", "neck", "valve", "valve part"),
    *("fitting", "thing", "wall", "body"),
)
"""What something may be said of; of two that a text may mean, the one that takes more of it."""

_OF = {
    "askew": {"neck", "joint", "valve", "stem"},
    "apart": {"neck", "joint", "valve", "stem", "thread"},
    "sheared": {"neck", "joint", "valve", "stem", "thread"},
    "loose": {"neck", "joint", "valve"},
    "torn": {"thread"},
    "harmed": {"neck", "joint"},
    "crushed": {"body", "wall"},
    "leak": {"neck", "joint", "thread", "wall"},
}
"""What is wrong, and the parts that may give way by it."""

_OF_VALVE = frozenset({"valve", "stem", "valve part", "body"})
"""What a leak is said of where it is the valve's own, or nowhere yet: seeing to the valve mends or
finds it."""

_FAR = 8
"""The most words between a part and what is said of it."""


_BY = 40
"""The most letters before a part in which is said what it did."""


class _Token(NamedTuple):
    """A part, or what is wrong with one, where a text says it."""

    kinds: frozenset[str]
    start: int
    end: int


def says_giving_way(text: str) -> str:
    """The words by which a text says that gas gets out of a shell, or that it or its joint to the
    valve may give way, and not of a fitting; or an empty text.

    >>> says_giving_way("fell over: neck looks slightly bent")
    'neck looks slightly bent'
    >>> says_giving_way("neck not bent, handle bent, valve leaks")
    ''
    """
    words = (*_SAY.listed("broken shell"), *_befell(text))
    return _said(text)[0] or first_of_shell(text, words)


def _befell(text: str) -> Iterator[str]:
    """The phrases by which a text says what befell a shell, as they stand in it."""
    text = plainly(text)
    found = _SAY.phrases("befell").finditer(text)
    return (each[0] for each in found if not _said_no(text, each.end()))


def says_gas_lost(text: str) -> str:
    """The words by which a text says that gas gets out where it may be the valve's own doing:
    `leaks`, `valve: leaks slowly`, `burst disc blew, hissing`; or an empty text."""
    return _said(text)[1]


def says_valve_tried(text: str) -> bool:
    """Whether a text says that a valve was tried and lets nothing out, and of no leak besides.

    >>> says_valve_tried("valve tried under pressure, tight"), says_valve_tried("valve not tried")
    (True, False)
    """
    return bool(_SAY.holds("tried", plainly(text))) and not any(_said(text))


@lru_cache(maxsize=4096)
def _said(text: str) -> tuple[str, str]:
    """The words by which a text says that a shell may give way, and that a valve leaks."""
    text = _read(text)
    if not any(_SAY.holds(kind, text) for kind in _OF):
        return "", ""  # most notes say nothing is wrong: to read them word by word takes longest
    tokens = _tokens(text)
    bad = lost = ""
    for at, token in enumerate(tokens):
        for kind in token.kinds & _OF.keys():
            of = _said_of(text, tokens, at, kind)
            grave = [part for part in of if part.kinds & _OF[kind]]
            ends = max([token.end, *(part.end for part in of if part.start > token.start)])
            if _is_denied(text, tokens, at) or any(
                _said_no(text, end) for end in (token.end, ends)
            ):
                continue
            if any(not _is_gone(text, token, part) for part in grave):
                bad = bad or text[min(token.start, grave[0].start) : max(token.end, grave[0].end)]
            elif kind == "sheared" and not of:
                bad = bad or text[token.start : token.end]
            elif kind == "leak" and (not of or any(part.kinds & _OF_VALVE for part in of)):
                lost = lost or text[token.start : token.end]
    return bad, lost


def _read(text: str) -> str:
    """A text as it was meant: letters set right, and without what means something else."""
    text = re.sub(r"(?<=\w)-(?=\w)", " ", plainly(text).replace("\n", ". "))
    for wrong, right in _SAY.changes("misspelt"):
        text = wrong.sub(right, text)
    text = re.sub(r"\s+", " ", text)
    asked = _SAY.phrases("looks for").search(text)
    if asked and not _SAY.holds("found", text[asked.end() :]):
        text = f"{text[: asked.start()]} no {text[asked.end() :]}"
    text = _SAY.without("by the way", _SAY.without("no meaning", text, " . "))
    return re.sub(r"\s+", " ", text).strip()


def _tokens(text: str) -> list[_Token]:
    """The parts and what is wrong, in order; the longest that begins at a word."""
    found: list[_Token] = []
    at = 0
    for word in re.finditer(r"\w+", text):
        if word.start() < at:
            continue
        ends: dict[int, set[str]] = {}
        for kind in (*_PARTS, *_OF):
            match = _SAY.phrases(kind).match(text, word.start())
            if match:
                ends.setdefault(match.end(), set()).add(kind)
        if ends:
            at = max(ends)
            token = _Token(frozenset(ends[at]), word.start(), at)
            if "thing" in token.kinds and found and text[found[-1].end : token.start] == " ":
                first = found.pop()  # `valve rack` is a rack; `bent rack` is bent
                if first.kinds.isdisjoint(_PARTS):
                    found.append(first)
                else:
                    token = token._replace(start=first.start)
            found.append(token)
    return found


def _said_of(text: str, tokens: Sequence[_Token], at: int, kind: str) -> list[_Token]:
    """The parts that something is said of: the nearest before it, and those that it leads to."""
    before, after = _before(text, tokens, at, kind), [*_after(text, tokens, at, kind)]
    if before and after and kind != "leak":
        gap = words_in(text[tokens[at].end : after[0].start])
        direct = kind == "askew" and _SAY.words("the").issuperset(gap)  # `the fall bent the neck`
        own = all(part.kinds & _OF[kind] for part in before)
        after = after if own or direct else []
    return [*before, *after]


def _before(text: str, tokens: Sequence[_Token], at: int, kind: str) -> list[_Token]:
    """The nearest part before a token, and those joined to it."""
    parts = [t for t in tokens[max(at - 2 * _FAR, 0) : at] if not t.kinds.isdisjoint(_PARTS)]
    parts = [t for t in parts if not _did_it(text, t)]
    if not parts:
        return []
    gap = text[parts[-1].end : tokens[at].start]
    heading = re.fullmatch(r"\s*[:,(?=–-]+\s*(?P<rest>.*)", gap)  # `neck: bent`
    within = re.sub(r"\bbut it\b", "it", heading["rest"] if heading else gap)
    other = tokens[at + 1 : at + 2]  # `neck fine. It has a bent handle`
    named = (
        other and other[0].kinds & set(_PARTS) and not text[tokens[at].end : other[0].start].strip()
    )
    if _breaks(within) and kind != "leak" and not named:
        within = _of_it(gap, text[tokens[at].end :], within)
    if _breaks(within) or len(words_in(gap)) > _FAR:
        return []
    found = [_whose(text, parts, len(parts) - 1)]
    for n in range(len(parts) - 1, 0, -1):
        if not _is_joined(text[parts[n - 1].end : parts[n].start]):
            break
        found.append(_whose(text, parts, n - 1))
    return found


def _of_it(gap: str, after: str, within: str) -> str:
    """What stands between a part and what a sentence of its own says of it: by a pronoun, or with
    no other word; `within`, where it says it of none."""
    said = re.fullmatch(r"[^.;:!?\n]*[.;!?]+\s*(?P<rest>.*)", gap)
    if said is None:
        return within
    words = words_in(said["rest"])
    alone = not words and re.match(r"\s*($|[.,;!?])", after) is not None
    own = words[:1] and words[0] in _SAY.words("it")
    return said["rest"] if alone or own else within


def _whose(text: str, parts: Sequence[_Token], n: int) -> _Token:
    """What a part is named by: the knob, where a text says `knob of the valve`."""
    if n and parts[n - 1].kinds & {"fitting", "valve part"}:
        words = words_in(text[parts[n - 1].end : parts[n].start])
        leads = words[:1] and words[0] in _SAY.words("on it")
        if (leads and _SAY.words("the").issuperset(words[1:])) or (
            not words and "joint" in parts[n].kinds  # `the label under the valve`
        ):
            return parts[n - 1]
    return parts[n]


def _after(text: str, tokens: Sequence[_Token], at: int, kind: str) -> Iterator[_Token]:
    """The parts that a token leads to: `bent neck`, `bubbles seen at the neck and the shoulder`."""
    ahead = tokens[at + 1 : at + 1 + 2 * _FAR]
    parts = [t for t in ahead if not t.kinds.isdisjoint(_PARTS)]
    if not parts:
        return
    gap = text[tokens[at].end : parts[0].start]
    words = words_in(gap)
    while words and words[-1] in _SAY.words("the"):
        words.pop()
    leads = not words or words[-1] in _SAY.words("to it") or "joint" in parts[0].kinds
    if _breaks(gap) or len(words) > _FAR or not leads:
        return
    yield parts[0]
    for one, other in pairwise(parts):
        gap = text[one.end : other.start]
        if not _is_joined(gap) or (kind != "leak" and "," in gap):  # `bent handle, neck fine`
            return
        yield other


def _is_joined(gap: str) -> bool:
    words = words_in(gap)
    known = _SAY.words("joined") | _SAY.words("the")
    signs = any(sign in gap for sign in ",&/+")
    return known.issuperset(words) and (signs or not _SAY.words("joined").isdisjoint(words))


def _breaks(gap: str) -> bool:
    """Whether a clause ends between two places."""
    return (
        re.search(r"[.;:!?()\n,]|\b(but|though|except|aber|mais|pero|ma|maar)\b", gap) is not None
    )


def _did_it(text: str, part: _Token) -> bool:
    """Whether a part is what something was done by: `neck hit by the trolley`."""
    words = words_in(text[max(part.start - _BY, 0) : part.start])[-3:]
    while words and words[-1] in _SAY.words("the"):
        words.pop()
    return bool(words) and words[-1] in _SAY.words("done by")


def _is_denied(text: str, tokens: Sequence[_Token], at: int) -> bool:
    """Whether a text denies what it says at a token; `not bent, crooked or loose` denies each."""
    token, start = tokens[at], 0
    for end in re.finditer(r"[.;:!?()\n,]|\b(?:but|though|except)\b", text[: token.start]):
        start = end.end()
    wrong = [t for t in tokens[:at] if t.kinds & _OF.keys() and t.start >= start]
    if wrong and wrong[-1].kinds.isdisjoint(token.kinds):
        between = words_in(text[wrong[-1].end : token.start])
        if between and _SAY.words("or").isdisjoint(between):  # `no leaks neck bent`
            start = wrong[-1].end
    before = text[start : token.start]
    same = at and tokens[at - 1].kinds & token.kinds - {"leak"}
    if same and re.fullmatch(r"\s*,\s*(?:or |nor )?", text[tokens[at - 1].end : token.start]):
        return _is_denied(text, tokens, at - 1)
    if _SAY.holds("not known", before):
        return False
    more, deny = _SAY.words("in a denial"), _SAY.words("denying")
    return denied_by(before, text, token.end, more, deny)


def _said_no(text: str, end: int) -> bool:
    """Whether a text denies right behind a place what it said: `neck bent: no`."""
    return denied_behind(text, end) or _SAY.goes_on("said no", text, end)


def _is_gone(text: str, token: _Token, part: _Token) -> bool:
    """Whether it was of a valve alone, which is there no more."""
    if not part.kinds <= {"valve", "stem"}:
        return False
    after = text[max(token.end, part.end) :]
    return _SAY.holds("gone with it", after) or _SAY.holds("taken off", text[: token.start])
