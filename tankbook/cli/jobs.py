"""`tankbook jobs` and the commands below it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Annotated

from msgspec.structs import replace

from tankbook.acts.options import (
    Analysed,
    Began,
    CardSeen,
    Deepest,
    Ids,
    Left,
    Level,
    Note,
    Opt,
    Told,
    UserInitials,
)
from tankbook.cli.answer import Answer
from tankbook.cli.fill_log_options import MOMENT, left_at
from tankbook.cli.names import NamesAsked, names_asked, open_with_names, with_hint
from tankbook.cli.options import Common
from tankbook.cli.recording import Bench, Planned
from tankbook.records.words import JobState, Work
from tankbook.units import Money

WORK = "hydro,visual,..."


def jobs(
    asked: Common,
    names: NamesAsked = False,
) -> Answer | None:
    """The workshop board: how many are in, promised today, to call, at the requalifier.

    The commands below take work in, move it on, finish it and hand it back.
    """
    from tankbook.output import workshop as output
    from tankbook.rules.workshop import workshop_board

    desk = open_with_names(asked)
    board = workshop_board(desk.book, desk.today)
    if asked.json:
        return desk.data(output.data(board, names_asked(desk.root, names)))
    return desk.answer(with_hint(desk.root, names, lambda n: output.text(board, n, desk.page)))


def open_(
    bench: Bench,
    ids: Ids,
    *,
    work: Annotated[
        Sequence[Work],
        Opt(WORK, "hydro, visual, eddy-current, valve-service, o2-clean, fill; commas."),
    ],
    reference: Annotated[str, Opt("REFERENCE", "Whose it is; its owner, if not said.")] = "",
    promised: Annotated[dt.date | None, Opt("DATE", "When it was promised.")] = None,
    price: Annotated[
        Money | None, Opt("PRICE", "The price agreed; the settings' prices, if not said.")
    ] = None,
    note: Note = "",
    at: Annotated[str, MOMENT] = "",
) -> Planned:
    """Take work in on a customer's cylinder."""
    from tankbook.acts.jobs import News, open_job
    from tankbook.rules.as_it_was import kept_hour

    news = News(_once(work), reference, promised, price, note=note)
    when = left_at(bench, at)
    day = when.date() if when else bench.today
    return open_job(bench.book, ids, news, by=bench.by, on=day, at=kept_hour(when))


def update(
    bench: Bench,
    ids: Ids,
    *,
    state: Annotated[
        JobState | None, Opt("STATE", "open, awaiting-parts or at-requalifier.")
    ] = None,
    work: Annotated[Sequence[Work], Opt(WORK, "What is wanted now.")] = (),
    reference: Annotated[str, Opt("REFERENCE", "Whose it is.")] = "",
    promised: Annotated[dt.date | None, Opt("DATE", "The new date.")] = None,
    price: Annotated[Money | None, Opt("PRICE", "The new price.")] = None,
    told: Told = "",
    note: Note = "",
    began: Began = None,
) -> Planned:
    """Move work on; what was said before stays in the job's note."""
    from tankbook.acts.jobs import News
    from tankbook.acts.jobs import update as plan

    news = News(_once(work), reference, promised, price, state, told, note)
    return plan(bench.book, ids, news, by=bench.by, on=bench.today, began=began)


def collect(
    bench: Bench,
    ids: Ids,
    *,
    note: Note = "",
    reference: Annotated[str, Opt("REFERENCE", "Whose, where nothing says so.")] = "",
    analysed: Analysed = (),
    depth: Deepest = (),
    user: UserInitials = "",
    certified: Level = None,
    card: CardSeen = "",
    happened: Left = "",
    began: Began = None,
    at: Annotated[str, MOMENT] = "",
) -> Planned:
    """Hand cylinders back to their owners; unfinished work takes a --note.

    Any gas but air is analysed by whoever takes it, who was seen to be trained for it. What was
    filled with no work taken in, as a walk-in's is, is collected too.
    """
    from tankbook.acts.jobs import collect as plan
    from tankbook.cli.taken import shown_of
    from tankbook.rules.as_it_was import kept_hour

    named = list(ids)
    sides = {each: bench.book.members(each) for each in dict.fromkeys(named)}
    own = [m for members in sides.values() for m in members]
    shown = shown_of(bench, list(sides), certified, card, analysed, depth, user, own)
    # what is said of a set is said of both, unless one is named by itself
    both = {m: a for i, a in shown.analysed.items() for m in sides.get(i, ())}
    alone = {i: a for i, a in shown.analysed.items() if i in own}
    shown = replace(shown, analysed=both | alone)
    when = left_at(bench, at)
    day = when.date() if when else bench.today
    return plan(
        bench.book, named, note=note, happened=happened, began=began, shown=shown,
        reference=reference, by=bench.by, on=day, at=kept_hour(when),
    )  # fmt: skip


def _once(work: Sequence[Work]) -> tuple[Work, ...]:
    return tuple(dict.fromkeys(work))
