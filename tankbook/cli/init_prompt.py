"""The questions that `init` asks at a terminal. Nothing is written before the last is answered."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from tankbook.cli import keys
from tankbook.cli.answer import RequestError
from tankbook.cli.init import INITIALS, banks_of, boosters_of, is_answer, label_of
from tankbook.ledger import shipped
from tankbook.ledger.begin import Begun, BegunBank, BegunBooster, in_the_way, named_well
from tankbook.ledger.errors import LedgerError
from tankbook.output.page import WIDTH, Page
from tankbook.records.settings import RiskAssessed
from tankbook.records.words import Shore
from tankbook.units import SAID_LIKE, PartialDate

T = TypeVar("T")

LONGEST = 200
"""So long a line of an answer may be."""


def asked(folder: str, today: PartialDate, sets: Sequence[str]) -> tuple[Path, Begun]:
    """Where the ledger is to be, and what it begins with.

    Args:
        folder: the folder, where it was named.
        today: the day on which a risk assessment was adopted, unless another is said.
        sets: the rule sets that are known.

    Raises:
        KeyboardInterrupt: stopped from the keyboard, or nobody answers any more.
        LedgerError: the folder that was named holds a ledger.
    """
    _say("A few questions; Enter takes what stands in brackets, Ctrl-C writes nothing.")
    if folder:
        root = Path(folder)
        in_the_way(root)
    else:
        root = Path(_line("In which folder", "ledger", _free))
    name = _line("What is the ledger called", root.resolve().name, named_well)
    for each in sets:
        beside = "" if shipped.rule_set(each).stands_alone else " (beside another)"
        _say(f"{each:<8}{shipped.rule_set(each).heading}{beside}", "  ", " " * 10)
    said = _line("By which rules; several as uk, eu-adr", "us-dot", lambda text: _rules(text, sets))
    rules = tuple(said.split(", "))
    usual = Shore.PSI if rules[0] in ("us-dot", "ca-tc") else Shore.BAR
    units = Shore(_line("What do the gauges read in", usual, lambda t: _one_of(t, list(Shore))))
    station = _yes("Is there a fill station", default=True)
    compressor, banks, boosters = _parts(units) if station else ("", (), ())
    by = _line("Initials of whoever signs, if one does for all", "", _initials)
    risk = _risk(by, today) if "uk" in rules else None
    git = _yes("Keep it under git from now on", default=True)
    return root, Begun(
        name, units, rules, station=station, by=by, risk=risk, git=git,
        compressor=compressor, banks=banks, boosters=boosters,
    )  # fmt: skip


def _parts(units: Shore) -> tuple[str, tuple[BegunBank, ...], tuple[BegunBooster, ...]]:
    """The compressor, the banks and the boosters of a station; of these it is asked only where
    something is there that they can take from."""
    question = "The compressor's label, as C1, if there is one"
    compressor = _line(question, "", lambda said: label_of("--compressor", _no_answer(said)))
    like = f"B1={SAID_LIKE[units.value].new_bank}"

    question = f"A bank of air, as {like}, if there is one"
    banks = _several(question, lambda said: banks_of(said, units))
    if not (compressor or banks):
        return compressor, banks, ()
    feed = compressor or banks[0].name
    question = f"A booster, as BO1={feed}, if there is one"
    return compressor, banks, _several(question, lambda s: boosters_of(s, units, banks, compressor))


def _several(question: str, read: Callable[[Sequence[str]], tuple[T, ...]]) -> tuple[T, ...]:
    """What a question is asked of again and again, until Enter alone; each has its own label."""
    said: list[str] = []
    while more := _line(question, "", lambda t: t and (read([*said, _no_answer(t)]), t)[1]):
        said.append(more)
        question = "Another, if there is one"
    return read(said)


def _no_answer(text: str) -> str:
    """A label, unless it answers whether there is one."""
    if is_answer(text.partition("=")[0].strip()):
        raise ValueError(
            f"`{text}` is an answer: write the label that it bears, or nothing where there is "
            "none; where it is called so, begin with the options of `init`"
        )
    return text


def _risk(by: str, today: PartialDate) -> RiskAssessed | None:
    """What lengthens the time between looks inside in the UK, where there is one."""
    _say(
        "A written risk assessment of inner corrosion lets a look inside be as old as the law lets "
        "it be; without one every answer asks for a yearly look."
    )
    if not _yes("Was one made or adopted, and is it followed", default=False):
        return None
    document = _line("Where is it written; Enter alone leaves it out", "", str)
    who = by or (document and _line("Initials of whoever made or adopted it", "", _initials))
    if not (document and who):
        lacks = "anybody who answers for it" if document else "a place where it is written"
        _say(f"left out: without {lacks} it counts for nothing", "  ", "  ")
        return None
    on = _line("When, as 2026-01", str(today), lambda text: _past(text, today))
    return RiskAssessed(on=PartialDate.parse(on), by=who, document=document)


def _past(text: str, today: PartialDate) -> str:
    """A day or a month that is not yet to come."""
    said = PartialDate.parse(text)
    if said.first > today.first:
        raise ValueError(f"{text} is yet to come")
    return str(said)


def _line(question: str, default: str, read: Callable[[str], str]) -> str:
    """An answer, asked for again until it can be."""
    shown = f" [{default}]" if default else ""
    while True:
        keys.say(f"{_wrapped(f'{question}{shown}?')} ")
        text = sys.stdin.readline()
        if not text:
            keys.say("\n")
            raise KeyboardInterrupt
        said = text.strip() or default
        try:
            if len(said) > LONGEST or not said.isprintable():
                raise ValueError(f"that is no line of up to {LONGEST} characters")
            return read(said)
        except (LedgerError, RequestError) as error:
            _say(f"{error}", "  ", "  ")
        except ValueError as error:
            _say(f"{error}", "  ", "  ")


def _wrapped(text: str, indent: str = "", hang: str = "  ") -> str:
    """A text on as many lines as the terminal takes, the first ones full; what is typed follows."""
    width = keys.columns(sys.stderr) or WIDTH
    return Page(width).wrap(text, indent, hang)


def _say(text: str, indent: str = "", hang: str = "") -> None:
    keys.say(_wrapped(text, indent, hang) + "\n")


def _rules(text: str, known: Sequence[str]) -> str:
    """Rule sets, of which one at least goes alone; that stands first."""
    parts = (each.strip() for each in text.split(",") if each.strip())
    sets = list(dict.fromkeys(rule_set_meant(each, known) for each in parts))
    if not sets or not set(sets) <= set(known):
        raise ValueError(f"one of {', '.join(known)}, please")
    if not any(shipped.rule_set(each).stands_alone for each in sets):
        beside = f"name another beside it, as uk, {sets[0]}"
        raise ValueError(f"{sets[0]} says too little alone: {beside}")
    return ", ".join(sorted(sets, key=lambda s: not shipped.rule_set(s).stands_alone))


def rule_set_meant(text: str, known: Sequence[str]) -> str:
    """The rule set that a text is, or a part of the name of which, between its strokes, it is, of
    one alone: `us` and `dot` are us-dot.

    >>> rule_set_meant("US", ["us-dot", "uk"]), rule_set_meant("u", ["us-dot", "uk"])
    ('us-dot', 'u')
    """
    own = text.strip().casefold()
    of = [each for each in known if own in each.split("-")]
    return of[0] if own not in known and len(of) == 1 else own


def _yes(question: str, *, default: bool) -> bool:
    def read(text: str) -> str:
        word = text.casefold()
        if word in ("y", "yes", "n", "no"):
            return word[0]
        raise ValueError("yes or no, please")

    return _line(question, "yes" if default else "no", read) == "y"


def _one_of(text: str, known: Sequence[str]) -> str:
    if text.casefold() in known:
        return text.casefold()
    raise ValueError(f"one of {', '.join(known)}, please")


def _free(text: str) -> str:
    in_the_way(Path(text))
    return text


def _initials(text: str) -> str:
    if text and not INITIALS.fullmatch(text):
        raise ValueError("one to five plain letters, or nothing: names stay out of the ledger")
    if is_answer(text):
        way = "the initials of whoever signs, or nothing; where they are these, begin with `--by`"
        raise ValueError(f"`{text}` is an answer: {way}")
    return text.upper()
