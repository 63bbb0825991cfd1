"""Whether anybody knows what gas a cylinder holds as somebody takes it."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, stays_with_owner
from tankbook.records.entries import standing
from tankbook.records.kinds import holds_gas
from tankbook.records.words import JobState, LogAct, Work
from tankbook.rules.answers import Contents
from tankbook.rules.bank_gas import filled_from_unknown
from tankbook.rules.fill_history import let_out, lines_about, lines_into, rentals_of
from tankbook.rules.mixed import mix_of
from tankbook.rules.status import state_of
from tankbook.rules.workshop import open_jobs
from tankbook.units import time_of_day


class Unknown(Struct, frozen=True):
    """That nobody knows what a cylinder holds.

    Attributes:
        why: what is known of it, in words that end a sentence.
        own: nobody here put it in: it is its owner's own.
        helium: it may hold some.
        unfit: it is said to be none that is breathed; an analyser of oxygen does not tell.
    """

    why: str
    own: bool = False
    helium: bool = False
    unfit: bool = False


def unknown_gas(book: Book, card: Cylinder, held: Contents) -> Unknown | None:
    """Why nobody knows what a cylinder holds; None where it is known, or nothing is in it.

    Args:
        book: the records, as known on the day it leaves.
        card: a cylinder of it.
        held: what it holds, as last recorded; of a set, its side.
    """
    if (put := filled_from_unknown(book, card)) is not None:
        if put.unfit:
            return Unknown(put.text, unfit=True)
        return _of_here(book, card, put.text, helium=put.helium)
    mix = mix_of(book, card)
    if mix.unanalysed is not None:
        line, before = mix.unanalysed
        gases = [g for g in (line.gas, before) if g is not None]
        on = f"{line.from_} of {before}" if line.from_ is not None else f"what was left of {before}"
        helium = any(gas.helium_percent > 0 for gas in gases)
        return _of_here(book, card, f"it was filled with {line.gas} on {on}", helium=helium)
    told = mix.denied or mix.doubted
    if told is not None and (mix.denied is not None or told[0].o2 is None):
        line, made = told
        why = f"it is called {line.gas}, and what is logged makes {made}"
        return _of_here(book, card, why, helium=made.helium[1] > 0)
    if held.gas is not None:
        return None
    brought = _since(card)
    if brought is not None and not _filled_since(book, card):
        opened = any(day >= brought for day in let_out(book, card))
        read = held.on is not None and held.on >= brought
        if opened or (read and not holds_gas(held.pressure)):
            return None
        return (
            Unknown("no fill is logged since it was taken in") if _was_to_be(card) else _own(card)
        )
    if held.pressure is not None:
        why = f"it stood at {held.pressure} on {held.on}, and its gas is not on record"
        return Unknown(why) if holds_gas(held.pressure) else None
    if held.fills:
        return Unknown("its last fill does not say what it was")
    return None if _was_left_empty(book, card) else Unknown("nothing on record says what is in it")


def filled_without_job(book: Book, card: Cylinder) -> dt.date | None:
    """The day on which a customer's cylinder was filled here last, where no work is in hand on it
    and nothing was collected since: it is taken along then, and nobody was asked."""
    if not stays_with_owner(card) or open_jobs(card):
        return None
    moments = [n.at for n in lines_about(book, card.id) if n.act is LogAct.FILL]
    fills = [at.date() for at in moments]
    day = max(fills, default=None)
    if day is None:
        return None
    # what left at an hour of that day took along what was filled by then, and nothing later
    jobs = [j for j in standing(card.jobs) if j.collected is not None and j.on.first <= day]
    hours = [j.collected_at for j in jobs if j.collected == day and j.collected_at is not None]
    last = max(hours, default=None)
    left = [at for at in moments if at.date() == day and not _by_then(at, last)]
    # of one day each fill may have been taken along by itself, where nobody said when
    since = sum(
        j.collected is not None
        and j.collected >= day
        and (j.collected > day or j.collected_at is None)
        and not any(j.on.first <= each < day for each in fills)
        for j in jobs
    )
    return day if len(left) > since else None


def _by_then(at: dt.datetime, hour: dt.time | None) -> bool:
    """Whether a moment was by an hour of its day, to the minute."""
    return hour is not None and time_of_day(at).replace(second=0, microsecond=0) <= hour


def _of_here(book: Book, card: Cylinder, why: str, *, helium: bool) -> Unknown:
    """A mix that nobody analysed, if it was made here."""
    if _since(card) is not None and not _filled_since(book, card):
        return _own(card)
    return Unknown(f"{why}, and nobody analysed it since", helium=helium)


def _own(card: Cylinder) -> Unknown:
    return Unknown(f"nobody here filled it since it was taken in on {_since(card)}", own=True)


def _since(card: Cylinder) -> dt.date | None:
    """The day on which its owner brought it last; None of what is no customer's, or has no work in
    hand."""
    jobs = open_jobs(card) if stays_with_owner(card) else ()
    return max((job.on.first for job in jobs), default=None)


def _was_to_be(card: Cylinder) -> bool:
    """Whether it was to be filled, and that is said to be done."""
    return any(Work.FILL in j.work and state_of(j) is JobState.READY for j in open_jobs(card))


def _filled_since(book: Book, card: Cylinder) -> bool:
    brought = _since(card) or dt.date.min
    lines = lines_into(book, card.id)
    return any(n.act is LogAct.FILL and n.at.date() >= brought for n in lines)


def _was_left_empty(book: Book, card: Cylinder) -> bool:
    """Whether it was opened, and nobody else had it since: what the log knows nothing of."""
    days = [rental.back or dt.date.max for rental in standing(rentals_of(book, card.id))]
    days += [sent.back or dt.date.max for sent in standing(card.sent)]
    opened = max(let_out(book, card), default=None)
    return opened is not None and all(day <= opened for day in days)
