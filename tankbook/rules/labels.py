"""Which printed label a cylinder or set may get, none that says more than the records bear out; and
which that was printed is no longer true."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator

from tankbook.records.book import Book
from tankbook.records.entries import Labelled, standing
from tankbook.records.kinds import holds_gas
from tankbook.records.words import LabelKind, Status
from tankbook.rules.answers import Contents, MayFill
from tankbook.rules.fill_history import (
    GAUGE_ERROR_AT_MOST,
    HAIR,
    WARMTH,
    contents_of,
    read_otherwise,
)
from tankbook.rules.gate import adverse_of, may_fill
from tankbook.rules.hand_over import may_hand_over
from tankbook.rules.incident_held import named_since_it_left
from tankbook.rules.leaks import ROOM, SPREAD, reading_error
from tankbook.rules.own_analysis import user_read_otherwise
from tankbook.rules.rental import against_going_out, open_rental

UNREADABLE = "its file cannot be read; `tankbook validate` says why"
_WHILE_OUT = "standing-out"
ROUNDED = 0.002
"""Limits that differ by no more are one, in whole bar or psi (a choice of ours)."""


def against_label(book: Book, id_: str, kind: LabelKind, today: dt.date) -> tuple[str, ...]:
    """Every reason why a label of this kind is not printed; none where it is.

    A tag is always printed: it says DO NOT FILL where it must, also for a file that cannot be read.

    Args:
        book: the records, as known today.
        id_: a cylinder or set of the book, readable or not.
        kind: what is to be printed.
        today: the day it is printed.
    """
    if kind is LabelKind.TAG:
        return ()
    if kind is LabelKind.DO_NOT_FILL:
        closed = may_fill(book, id_, today, contents_of(book, id_).gas, station=False).refusals
        return () if closed else ("nothing is against filling it",)
    if id_ in book.broken:
        return (UNREADABLE,)
    if kind in _OF_READING:
        rental = kind is LabelKind.RENTAL
        found = list(_against_rental(book, id_, today) if rental else _closed(book, id_, today))
        held = contents_of(book, id_)
        if kind is LabelKind.STRIP:
            found += _against_strip(book, held)
        elif not rental:  # of what goes out that is asked by itself
            found += _of_empty(held)
        found += filter(None, (own_analysis_against(book, id_),))
        return tuple(dict.fromkeys((*found, *against_reading(book, id_, kind))))
    if kind is LabelKind.SLIP:
        return _against_slip(book, id_, today)
    return ()


def _closed(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    """What is against filling it, but for its being out."""
    answer = may_fill(book, id_, today, contents_of(book, id_).gas, station=False)
    found = (r.text for r in answer.refusals if r.code != _WHILE_OUT)
    return tuple(dict.fromkeys(found))


def own_analysis_against(book: Book, id_: str) -> str:
    """How what whoever has it, or had it last, analysed is not of what it holds by what is on
    record; an empty text where they agree, or it was filled since."""
    found = user_read_otherwise(book, id_)
    return found.text if found else ""


def _of_empty(held: Contents) -> Iterator[str]:
    """That there is nothing in it that a label could tell of; a gauge that nobody read may stand at
    anything."""
    if held.pressure is not None and not holds_gas(held.pressure):
        yield f"it is on record as empty{f' since {held.on}' if held.on else ''}"


def _against_strip(book: Book, held: Contents) -> Iterator[str]:
    """Why what is in it has no analysis that a strip could say: a strip tells a diver how deep."""
    said, gas = held.analysis, held.gas
    if held.pressure is None:  # it may be full
        yield "what it holds is not on record: read and analyse it, or log its fill"
    elif empty := list(_of_empty(held)):
        yield from empty
    elif said is None or said.oxygen is None:
        filled = held.filled_at
        since = f" since it was filled on {filled.date()}" if filled else ""
        yield f"no analysis of its oxygen is on record{since}"
    elif gas is not None and gas.helium_percent and said.helium is None:
        yield f"its gas is {gas}, and no analysis of its helium is on record"
    if book.settings.oxygen_pressure is None:
        yield "the settings do not say for which oxygen pressure depths are: set `oxygen_pressure`"


_OF_READING = frozenset({LabelKind.ANALYSIS, LabelKind.STRIP, LabelKind.RENTAL})
"""The kinds that tell the pressure as it was read."""


def against_reading(book: Book, id_: str, kind: LabelKind) -> Iterator[str]:
    """What was read since against the pressure that a label of this kind would tell.

    A strip is of a fill and its pressure, so that none is printed of what was read lower. Of
    doubles with the isolator open, what one side showed by itself is neither's until both are read.

    Args:
        book: the records, as known today.
        id_: a cylinder or set of the book, whose file could be read.
        kind: what is to be printed.
    """
    if kind not in _OF_READING:
        return
    held = contents_of(book, id_)
    said = held.analysis if kind is LabelKind.STRIP else None
    if said is not None and holds_gas(held.pressure) and read_lower_since(book, held):
        yield (
            f"it was read at {held.pressure} on {held.on}, lower than the {said.pressure} of its "
            f"analysis on {said.on}: analyse what is in it"
        )
    for doubles in book.sets.values():
        if id_ in (doubles.id, *doubles.cylinders):
            for side, line, known in read_otherwise(book, doubles):
                at, on = line.to, line.at.date()
                text = f"{side} was read at {at} on {on}, and {doubles.id} stood at {known}"
                yield f"{text}: read {doubles.id}"


def read_lower_since(book: Book, held: Contents) -> bool:
    """Whether it was read lower since its analysis, by more than explains a gas that nobody used:
    two gauge readings off by their error, and the fall in temperature between them.

    A fill whose temperature was not noted was as hot as `WARMTH` says; what else was not noted
    stood within `SPREAD` of the usual temperature. Noted ones count as far as `WARMTH` goes (a gas
    that follows its absolute temperature, which is a little less than air does).
    """
    then = held.analysis
    if then is None or then.pressure is None or held.pressure is None:
        return False
    fell = 1 + WARMTH
    filled = held.filled_at is not None and held.filled_at.date() == then.on
    if then.temperature is not None or not filled:
        usual = (book.settings.ambient or ROOM).kelvin
        before = then.temperature.kelvin if then.temperature else usual + SPREAD
        now = held.temperature.kelvin if held.temperature else usual - SPREAD
        fell = min(before / now, fell)
    error = 2 * min(reading_error(book), GAUGE_ERROR_AT_MOST).pa
    return then.pressure.pa > held.pressure.pa * fell + error + HAIR.pa


def _against_rental(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    subject = book.sets.get(id_) or book.cylinders[id_]
    if open_rental(subject) is not None:
        return _closed(book, id_, today)
    return against_going_out(book, id_, today, today)


def _against_slip(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    if id_ in book.sets:
        return (f"a slip is for one cylinder: ask for {' and '.join(book.sets[id_].cylinders)}",)
    if standing(book.cylinders[id_].handed_over):
        told = f"the slip that tells of that is `tankbook slip {id_}`"
        found = [*named_since_it_left(book, id_), own_analysis_against(book, id_)]
        return tuple(f"{said}: {told}" for said in found if said)
    return may_hand_over(book, id_, today).reasons


def no_longer_true(book: Book, id_: str, today: dt.date) -> Iterator[tuple[Labelled, str]]:
    """Of each kind the label that was printed last, where the records tell another thing today, and
    what they tell. A pressure that has gone down alone makes none untrue, for it goes down in use.

    Args:
        book: the records, as known today.
        id_: a cylinder or set of the book, readable or not.
        today: the day asked about.
    """
    subject = book.sets.get(id_) or book.cylinders.get(id_)
    printed = standing(subject.labelled) if subject else ()
    last = {each.kind: each for each in printed if each.on.first <= today}
    if not last:
        return
    held = contents_of(book, id_)
    answer = may_fill(book, id_, today, held.gas, station=False)
    for each in last.values():
        if why := _untrue(each, held, answer):
            yield each, why


def untrue_by_now(now: Book, id_: str, label: Labelled, then: Contents, today: dt.date) -> str:
    """What was recorded since against what a label of a day that is over would say; an empty text
    where nothing was. It is judged as a label that hangs is: a pressure that has gone down makes
    none untrue.

    Args:
        now: the records as known now.
        id_: a cylinder or set of them.
        label: what the label would say.
        then: what it held by what it is made from.
        today: the day it is of; a date that has passed since is told by the label itself.
    """
    held = contents_of(now, id_)
    if label.gas is not None and held.filled_at and held.filled_at != then.filled_at:
        return f"it was filled again on {held.filled_at.date()}"
    return _untrue(label, held, may_fill(now, id_, today, held.gas, station=False))


def found_since(
    now: Book, id_: str, then: Contents, answer: MayFill, left: dt.date, today: dt.date
) -> list[str]:
    """What was found since against breathing what it held on a day that is over, or that it is held
    since; nothing where what it holds was filled since.

    Args:
        now: the records as known now.
        id_: a cylinder or set of them.
        then: what it held on that day; nothing that is known, where nobody knows at what hour.
        answer: what was against filling it on that day.
        left: that day.
        today: the day that is asked on.
    """
    held = contents_of(now, id_)
    if then.filled_at is not None:
        filled_since = held.filled_at != then.filled_at
    else:
        filled_since = held.filled_at is not None and held.filled_at.date() > left
    if id_ in now.broken or filled_since:
        return []
    known = {r.text for r in answer.refusals}
    found = [*against_breathing(may_fill(now, id_, today, held.gas, station=False))]
    found += named_since_it_left(now, id_)
    return [text for text in dict.fromkeys(found) if text not in known]


def _untrue(label: Labelled, held: Contents, answer: MayFill) -> str:
    """What the records tell against a label; an empty text where they tell nothing."""
    if label.kind is LabelKind.DO_NOT_FILL:
        return "" if answer.refusals else "nothing is against filling it now"
    told = label.gas, label.oxygen, label.helium, label.analysed
    tells_gas = any(each is not None for each in told)
    if tells_gas:
        if held.pressure is not None and not holds_gas(held.pressure):
            return f"it is on record as empty{f' since {held.on}' if held.on else ''}"
        if held.filled_at is not None and _is_later(held.filled_at, label):
            return f"it was filled again on {held.filled_at.date()}"
        if not _is_told(label, held):
            return "what is in it, or its analysis, is another on record now"
    if label.limit is not None and answer.refusals:
        return "it must not be filled now"
    if tells_gas and (why := next(against_breathing(answer), "")):
        return why
    limit = answer.limit.pressure if answer.limit else None
    if label.limit and limit and not math.isclose(label.limit.pa, limit.pa, rel_tol=ROUNDED):
        return f"its limit is {limit} now"
    return ""


def against_breathing(answer: MayFill) -> Iterator[str]:
    """What was found or happened, that it is held, or lost or stolen, so that nobody knows what
    became of it: it is against what is in it as well, as it is against another such label. A date
    that lapsed is against a fill alone."""
    yield from (r.text for r in adverse_of(answer.refusals))
    yield from (r.text for r in answer.refusals if r.code in _TAKEN_OUT)


def not_to_use(answer: MayFill, since: Iterable[str] = ()) -> tuple[str, ...]:
    """Why what is in it must not be breathed, each once; none where nothing says so. A paper of
    what has any says DO NOT USE in its first line, and gives no depth.

    Args:
        answer: what is against filling it, on the day that the paper is of.
        since: what was found since (`found_since`).
    """
    return tuple(dict.fromkeys((*against_breathing(answer), *since)))


_TAKEN_OUT = frozenset(
    f"standing-{each}" for each in (Status.HELD, Status.REJECTED, Status.CONDEMNED, Status.LOST)
) | {"recorded-stolen"}


def _is_later(at: dt.datetime, label: Labelled) -> bool:
    """Whether something of an hour came after a label; of its own day only where that has one."""
    if label.on.day is None or at.date() != label.on.first:
        return at.date() > label.on.last
    hour = label.at
    return hour is not None and (at.hour, at.minute) > (hour.hour, hour.minute)


def _is_told(label: Labelled, held: Contents) -> bool:
    """Whether what a label tells of gas and analysis is on record; what it leaves out is no matter,
    but for an analysis that has helium now."""
    if label.gas is not None and label.gas != held.gas:
        return False
    if label.oxygen is None and label.helium is None and label.analysed is None:
        return True
    pairs = ((label.oxygen, held.oxygen), (label.helium, held.helium))
    figures = (
        (said is None and found is None)
        or (said is not None and found is not None and math.isclose(said.percent, found))
        for said, found in pairs
    )
    return label.analysed == held.analysed_on and all(figures)
