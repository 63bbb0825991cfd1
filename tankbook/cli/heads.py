"""What a day is asked of: every line of descent there was, not only the one that counted later.

Whoever pulled in the evening could not know in the morning what another machine had committed. The
strictest answer of the day stands, and what arrived later is told in the first line.
"""

from __future__ import annotations

import datetime as dt
import json as js
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.cli import loud
from tankbook.cli.answer import DONE, NO, Answer, Unanswered, as_data
from tankbook.cli.options import Common

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.gitfiles import Other
    from tankbook.records.commits import Commit

MOST, MOST_OF_ONE = 8, 12
"""How many other heads of a day are asked, and how many of a question that names cylinders: with
more, `show` takes over two seconds (24 took four, on the example)."""

_FILES = frozenset("pdf plot svg ics html csv_file out sheet bundle folder file into rack".split())
"""Options that name a file to write: it is written once, from the line that counted."""


class Elsewhere(Struct, frozen=True):
    """Another head of the day asked about, and how to ask it."""

    other: Other
    asked: Common

    @property
    def said(self) -> str:
        """Which it is, and since when it is known here."""
        head, merge, doubt = self.other.head, self.other.merge, self.other.doubt
        said = f"{head.short} of {head.author}"
        if merge is not None:
            said += f", known here only since the merge of {merge.at:%Y-%m-%d}"
        if doubt is None:
            return said
        if doubt.id != head.id:
            return f"{said}, before {doubt.short} of {doubt.author}, {_dated(doubt)}"
        return f"{said}, {_dated(doubt)}"


def _dated(commit: Commit) -> str:
    """The dates of a commit, which leave open when it was made."""
    if abs(commit.authored - commit.at) > dt.timedelta(days=1):
        return f"written {commit.authored:%Y-%m-%d} and committed {commit.at:%Y-%m-%d} by its dates"
    return f"dated {commit.at:%Y-%m-%d}, which does not fit the commits around it"


class TooManyHeads(Exception):
    """That not every head that a day may have had can be asked, and why."""


def elsewhere(asked: Common) -> tuple[Elsewhere, ...]:
    """The other heads that a day has; none where no day was asked with --as-of.

    Raises `LedgerError`, and `TooManyHeads` where clocks leave open more than can be asked.
    """
    from tankbook.cli.open_ledger import clock, root_asked
    from tankbook.ledger.gitfiles import heads_on, is_day, objects_of
    from tankbook.ledger.gitread import Repository
    from tankbook.ledger.gitwalk import at_folder, folder_at
    from tankbook.units import PartialDate

    if not is_day(asked.as_of):
        return ()
    root = root_asked(asked)
    with objects_of(root) as objects:
        day = PartialDate.parse(asked.as_of).first
        repository = Repository.of(root)
        heads = heads_on(repository, objects, day, clock())
        if heads.too_many:
            raise TooManyHeads(heads.too_many)
        found = [
            each
            for each in heads.others
            if at_folder(objects, each.head, folder_at(repository, objects, each.head)).top
        ]
    return tuple(
        Elsewhere(each, replace(asked, as_of=each.head.id, on=asked.on or asked.as_of))
        for each in sorted(found, key=lambda o: o.head.at, reverse=True)
    )


def with_heads(
    answer: Callable[[Common, Mapping[str, Any]], Answer], asked: Common, options: dict[str, Any]
) -> Answer:
    """What a command answers, with what the other heads of a past day say."""
    if not asked.as_of:
        return answer(asked, options)
    try:
        found = answer(asked, options)
    except Unanswered as no:
        found = no.answer
    return compared(found, asked, options, answer)


def compared(
    answer: Answer,
    asked: Common,
    options: dict[str, Any],
    again: Callable[[Common, Mapping[str, Any]], Answer],
) -> Answer:
    """An answer of a past day, with what the other heads of that day say.

    Args:
        answer: what the line that counted says.
        asked: what was asked.
        options: the command's own.
        again: asks the same of another head, by the ids that it has there.
    """
    try:
        others = elsewhere(asked)
    except TooManyHeads as why:
        return replace(_told(answer, [f"not asked: {why}"], asked), code=max(answer.code, NO))
    if not others:
        return answer
    if any(options.get(name) for name in _FILES):
        return _told(answer, [f"not asked: {each.said}" for each in others], asked)
    most = MOST_OF_ONE if any(options.get(name) for name in _IDS) else MOST
    said = list(_compared(answer, others[:most], asked, options, again))
    more = len(others) - most
    if more > 0:
        said.append((f"and {more} heads more, NOT ASKED", NO))
    words = [text for text, _ in said]
    worst = max([answer.code, *(code for _, code in said)]) if answer.code <= NO else answer.code
    return replace(_told(answer, words, asked), code=worst)


def _compared(
    answer: Answer,
    others: Sequence[Elsewhere],
    asked: Common,
    options: Mapping[str, Any],
    again: Callable[[Common, Mapping[str, Any]], Answer],
) -> Iterator[tuple[str, int]]:
    """What is said of each other head, and the code it answers with."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.errors import LedgerError

    here = open_desk(asked) if any(options.get(name) for name in _IDS) else None
    for each in others:
        try:
            there, lacking = _as_called_there(options, here, each)
            if lacking:
                yield f"{each.said}, does not have {', '.join(lacking)}", DONE
                continue
            got = again(each.asked, there)
        except Unanswered as no:
            got = no.answer
        except LedgerError as error:
            yield f"{each.said}, cannot answer: {error.text}", NO
            continue
        same = (got.code, got.text) == (answer.code, answer.text)
        verdict = "says the same" if same else "SAYS OTHERWISE"
        yield f"{each.said}, {verdict}", got.code if got.code in (DONE, NO) else NO


_IDS = ("id_", "ids")
"""Options that name cylinders and sets."""


def _as_called_there(
    options: Mapping[str, Any], here: Desk | None, each: Elsewhere
) -> tuple[Mapping[str, Any], list[str]]:
    """The options with the ids that another head has for what is asked about, and what was not
    there under any name where all of it was not.

    Raises `LedgerError`.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.errors import LedgerError
    from tankbook.rules.known_as import known_as

    given = {name: options[name] for name in _IDS if options.get(name)}
    if here is None:
        return options, []
    there = open_desk(each.asked)
    lacking: list[str] = []

    def called(text: str) -> list[str]:
        try:
            (id_,) = here.resolve([text])
        except LedgerError:  # such as one with a pressure beside it
            return [text]
        names = known_as([id_], here.book, there.book)[id_]
        lacking.extend([] if names else [id_])
        return list(names)

    found = dict(options)
    for name, value in given.items():
        texts = [value] if isinstance(value, str) else value
        names = [n for text in texts for n in called(text)]
        found[name] = next(iter(names), value) if isinstance(value, str) else names
    return found, [] if any(found[name] for name in given if name == "ids") else lacking


def opened(each: Elsewhere) -> Desk | LedgerError:
    """The ledger as another head has it; why it cannot be read, where it cannot."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.ledger.errors import LedgerError

    try:
        return open_desk(each.asked)
    except LedgerError as error:
        return error


def resolved(desk: Desk, texts: list[str], others: Sequence[Desk | LedgerError]) -> list[str]:
    """As `Desk.resolve`; an id that only other heads had stands for what it is called here.

    Raises `LedgerError`.
    """
    from tankbook.ledger.errors import LedgerError

    found: dict[str, None] = {}
    for text in desk.spread(texts):
        try:
            names = desk.resolve([text])
        except LedgerError:
            there = (o for o in others if not isinstance(o, LedgerError))
            names = [name for other in there for name in _called_here(desk, text, other)]
            if not names:
                raise
        found |= dict.fromkeys(names)
    return list(found)


def _called_here(desk: Desk, text: str, other: Desk) -> tuple[str, ...]:
    """What a ledger calls something that is named as another head has it."""
    from tankbook.ledger.errors import LedgerError
    from tankbook.rules.known_as import known_as

    try:
        (id_,) = other.resolve([text])
    except LedgerError:
        return ()
    return known_as([id_], other.book, desk.book)[id_]


def _told(answer: Answer, said: Sequence[str], asked: Common) -> Answer:
    """An answer with what was said elsewhere in its first line, in its data, or beside it."""
    words = [f"another head of that day, {text}" for text in said]
    if asked.json:
        faults = [loud.Fault("", text, "other-head") for text in words]
        return as_data(in_data(js.loads(answer.text), faults), answer.code, answer.notes)
    if answer.utf8:
        return replace(answer, notes=(*answer.notes, *(f"tankbook: {text}" for text in words)))
    return loud.told(answer, "; ".join(words))


def in_data(value: Any, faults: Sequence[loud.Fault]) -> Any:
    """As `loud.in_data`, beside what already stands under `faults`."""
    if isinstance(value, dict) and isinstance(value.get("faults"), list):
        more = loud.in_data({}, faults)["faults"]
        return {**value, "faults": [*value["faults"], *more]}
    return loud.in_data(value, faults)
