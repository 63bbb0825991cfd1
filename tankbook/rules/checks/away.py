"""What is dated while a cylinder was somewhere else, or set aside."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeAlias

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, Held, Rejected, Rentals, Rented, Sent, standing
from tankbook.records.life import days_of, life_of
from tankbook.records.settings import People
from tankbook.records.words import JobState, SentFor
from tankbook.rules.checks.declared import ADVICE, FAULT, WARN, Says, on_cylinder
from tankbook.rules.signing import is_outside, letters_and_digits
from tankbook.rules.status import state_of
from tankbook.rules.tested import latest_pressure_test
from tankbook.rules.wording import says_nothing
from tankbook.units import PartialDate

WentAt: TypeAlias = Callable[[Rented], dt.time | None]
"""The hour at which a rental left, where it is known."""


def _end(entry: Entry) -> dt.date:
    ended_by = life_of(type(entry)).ended_by
    return (getattr(entry, ended_by) if ended_by else None) or dt.date.max


def _during(entry: Entry, on: PartialDate) -> bool:
    """Whether a day lies within an entry's time: on its first and its last day both may be."""
    return entry.on.last < on.first and on.last < _end(entry)


def _is_after(day: dt.date, entry: Entry) -> bool:
    """Whether a look of a day came after an entry's time. On its last day nobody of the shop can
    have looked before it ended, unless it began on that day too."""
    end = _end(entry)
    return day > end or (day == end and entry.on.last < end)


def _kept(entry: Entry) -> str:
    """What an entry says of its time, as `out to B-1 from 2026-06-01`."""
    if isinstance(entry, Rented):
        return f"out to {entry.to} from {entry.on}"
    if isinstance(entry, Sent):
        return f"away for {entry.for_} to {entry.to} from {entry.on}"
    return f"{entry.title} from {entry.on}"


def _during_any(entries: Iterable[Entry], on: PartialDate) -> Entry | None:
    """The first of some entries within whose time a day lies."""
    return next((e for e in entries if _during(e, on)), None)


def _gone(card: Cylinder, rentals: Rentals) -> tuple[Entry, ...]:
    """When it was out or lost."""
    return (*standing(rentals), *standing(card.lost))


def _out_of_hand(
    card: Cylinder, rentals: Rentals, people: People, by: str | None
) -> tuple[Entry, ...]:
    """When somebody could not have had it in hand: while it was out, lost or, unless they are of
    another place, away."""
    there = (s for s in standing(card.sent) if letters_and_digits(s.to) != letters_and_digits(by))
    sent = () if is_outside(people, by) else tuple(there)
    return (*_gone(card, rentals), *sent)


@on_cylinder("looked-at-while-away", FAULT, since="0.2", adverse=True)
def looks_are_of_what_was_here(
    card: Cylinder, rentals: Rentals, people: People, looked_inside: Sequence[dt.date]
) -> Iterator[Says]:
    """Nobody of the shop looked at a cylinder that was not there. What was looked at again since is
    past."""
    mend = "correct the date that is wrong, or strike the look out if it is another cylinder's"
    looks = standing(card.inspected)
    away = {by: _out_of_hand(card, rentals, people, by) for by in {each.by for each in looks}}
    for look in looks:
        entry = _during_any(away[look.by], look.on)
        if entry:
            text = f"it was looked at on {look.on}, and was {_kept(entry)}"
            again = any(day > look.on.last for day in looked_inside) and not look.clears
            yield Says(look.source.at("on"), text, mend, ADVICE if again else None)


_BY_HAND = ("sticker_on", "released", "refitted", "lifted")
"""The days on which somebody had a cylinder in hand, by their key."""


@on_cylinder("worked-on-while-away", FAULT, since="0.2", adverse=True)
def work_is_on_what_was_here(
    card: Cylinder, rentals: Rentals, people: People, looked_inside: Sequence[dt.date]
) -> Iterator[Says]:
    """Nobody cleaned a cylinder that was not there, or its valve: it is another's, or a day wrong.
    Other work dated so is told, till it was looked inside since it came back."""
    mend = "correct the date that is wrong, or strike it out if it is of another cylinder"
    newest = {cleaning.to: cleaning for cleaning in standing(card.cleaned)}
    for cleaning in newest.values():
        entry = _during_any(_out_of_hand(card, rentals, people, cleaning.by), cleaning.on)
        if entry:
            text = f"it was cleaned on {cleaning.on}, and was {_kept(entry)}"
            yield Says(cleaning.source.at("on"), text, mend)
    for on_valve in standing(card.valve_work):
        entry = _during_any(_out_of_hand(card, rentals, people, on_valve.by), on_valve.on)
        if entry:
            done = f"its valve was worked on ({on_valve.did}) on {on_valve.on}"
            text = f"{done}, and it was {_kept(entry)}"
            yield Says(on_valve.source.at("on"), text, mend)
    worked = (*card.inspected, *card.held, *card.sent, *card.rejected)
    days = [(e, key, day) for e in standing(worked) for key, day in days_of(e) if key in _BY_HAND]
    for work, key, day in days:
        entry = _during_any(_gone(card, rentals), PartialDate.of(day))
        if entry:
            text = f"{work.title} {work.on}: {key} {day}, and it was {_kept(entry)}"
            past = any(_is_after(look, entry) for look in looked_inside)
            yield Says(work.source.at(key), text, mend, ADVICE if past else WARN)


@on_cylinder("tested-while-away", WARN, since="0.2")
def tests_are_of_what_was_here(card: Cylinder, rentals: Rentals) -> Iterator[Says]:
    """A test of a cylinder that was out or lost is another's, or somebody else had it made: the
    test says so, or the journey to it."""
    mend = "correct the date that is wrong; where somebody else had it tested, say so: `note:`"
    test = latest_pressure_test(card)
    if test is None:
        return
    done = test.tested or test.on
    entry = _during_any(_gone(card, rentals), done)
    journeys = (s for s in standing(card.sent) if s.for_ is SentFor.REQUALIFICATION)
    told = not says_nothing(test.note or "") or any(_spans(s, done) for s in journeys)
    if entry and not told:
        text = f"it was tested on {done}, and was {_kept(entry)}"
        yield Says(test.source.at("on"), text, mend)


def _spans(sent: Sent, on: PartialDate) -> bool:
    """Whether a test of a day can have been made on a journey, its first and last day with it."""
    return sent.on.first <= on.last and on.first <= _end(sent)


@on_cylinder("job-elsewhere", WARN, since="0.2")
def jobs_are_here(card: Cylinder) -> Iterator[Says]:
    """A cylinder whose job says that it is at the requalifier's is not here to be filled, but where
    its journey there has ended since."""
    for job in standing(card.jobs):
        steps = sorted(job.steps, key=lambda step: step.on)
        since = steps[-1].on if steps else job.on.first
        came = any(s.back is not None and s.back >= since for s in standing(card.sent))
        if state_of(job) is JobState.AT_REQUALIFIER and not came:
            text = f"its job of {job.on} says {JobState.AT_REQUALIFIER} since {since}"
            mend = "where it is back, say so: `tankbook jobs update --state`, or `return`"
            yield Says(job.source.at("steps" if steps else "state"), text, mend)


@on_cylinder("went-out-while", FAULT, since="0.2", adverse=True)
def what_goes_out_is_there(
    card: Cylinder, rentals: Rentals, looked_inside: Sequence[dt.date], went_at: WentAt
) -> Iterator[Says]:
    """Nothing went out that was set aside, lost or away already. What was looked inside since it
    came back is past."""
    of_set = [r for r in standing(rentals) if all(r is not own for own in card.rented)]
    kept = (*standing(card.held), *standing(card.rejected), *standing(card.lost))
    for rental in standing(rentals):
        own = all(rental is not r for r in of_set)
        others: tuple[Entry, ...] = (
            *kept,
            *standing(card.sent),
            *(of_set if own else standing(card.rented)),
        )
        found = _during_any(others, rental.on)
        sent = next((s for s in standing(card.sent) if _during(rental, s.on)), None)
        past = any(_is_after(day, rental) for day in looked_inside)
        mend = "correct the date that is wrong; if it did go out, have it looked inside"
        two: list[tuple[str, Entry, Entry]] = []
        two += [("went out", rental, found)] if found else []
        two += [("was sent away", sent, rental)] if sent else []
        for what, entry, other in two:
            text = f"it {what} on {entry.on}, and was {_kept(other)}"
            yield Says(entry.source.at("on"), text, mend, ADVICE if past else None)
    yield from _left_while_held(card, rentals, went_at)


def _left_while_held(card: Cylinder, rentals: Rentals, went_at: WentAt) -> Iterator[Says]:
    """What left by its hour on a day on which it was set aside before that; what is its owner's may
    leave so, and is told."""
    left: list[tuple[str, Entry, str, PartialDate, dt.time | None]] = [
        *(("went out", r, "at", r.on, went_at(r)) for r in standing(rentals)),
        *(("was handed over", s, "at", s.on, s.at) for s in standing(card.handed_over)),
        *(
            ("was collected", j, "collected_at", PartialDate.of(j.collected), j.collected_at)
            for j in standing(card.jobs)
            if j.collected
        ),
    ]
    aside: tuple[Held | Rejected, ...] = (*standing(card.held), *standing(card.rejected))
    for what, entry, key, on, at in left:
        for held in aside:
            since = held.at
            if at is None or since is None or held.on != on or _end(held) <= on.first:
                continue
            if since < at.replace(second=0, microsecond=0):
                text = f"it {what} on {on} at {at:%H:%M}, and was {held.title} since {since:%H:%M}"
                mend = "correct the hour that is wrong; if it did leave so, tell whoever has it"
                own = ADVICE if key == "collected_at" else WARN
                yield Says(entry.source.at(key), text, mend, own)
