"""Setting cylinders aside until somebody decides, all of a recall too, and letting them go."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Annotated, Self

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.at_station import place_of
from tankbook.acts.common import (
    Draft,
    act_of,
    cylinders_of,
    dangers,
    line_reasons,
    minute_of,
    named,
    refusal,
    signer_reasons,
    still_against,
    uncertified,
)
from tankbook.acts.open_against import open_against, way_out
from tankbook.acts.options import At, Flag, Ids, Opt
from tankbook.acts.soundness import after, new_faults, sound, told
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Edit, Refusal
from tankbook.records.entries import HEARD_OUT, Held, Rejected, standing
from tankbook.records.kinds import Adverse, is_empty
from tankbook.records.life import is_open
from tankbook.records.station import BankHeld
from tankbook.records.words import Bled, LogAct, Status
from tankbook.rules.bad_air import kept_back
from tankbook.rules.bank_held import banks_held
from tankbook.rules.clearing import is_let_go_unread, tells
from tankbook.rules.fill_history import contents_of, is_taken_for_full, lines_about
from tankbook.rules.flow import bled_of
from tankbook.rules.recall import Recall
from tankbook.rules.signing import bench_of
from tankbook.rules.status import status_of
from tankbook.units import PartialDate, UnitError, quoted, time_of_day
from tankbook.units.nouns import counted


def hold(
    book: Book,
    ids: Ids,
    *,
    why: Annotated[str, Opt("TEXT", "Why it is set aside.")],
    by: str,
    on: dt.date,
    at: At = None,
) -> Act | Refusal:
    """Set cylinders aside until somebody decides; they are not filled meanwhile.

    Args:
        book: the records.
        ids: cylinders, or sets for both their cylinders.
        why: why they are set aside.
        by: initials of who does it.
        on: the day.
        at: the time of that day, where it is known: what was filled earlier was filled lawfully.
    """
    cylinders, reasons = cylinders_of(book, ids)
    reasons += signer_reasons(book, by, on) + line_reasons(why=why)
    reasons += [r for c in cylinders for r in _not_to_hold(book, c, why)]
    reasons += [r for c in cylinders for r in time_reasons(book, c.id, on, at)]
    if reasons:
        return refusal(reasons)
    day = PartialDate.of(on)
    entry = Held(on=day, by=by, why=why)
    entry = replace(entry, bled=bled_of(entry))
    drafts = [
        Draft(c).enter("held", replace(entry, at=since(book, c.id, on, at))) for c in cylinders
    ]
    drafts = [d.stand(book) for d in drafts]
    sentence = f"Held {named(c.id for c in cylinders)}: {why}"
    notes = (
        *dangers(book, drafts, on),
        *(
            f"{d.record.id} stays {d.record.status}; the hold stands besides"
            for d in drafts
            if d.record.status is not Status.HELD
        ),
        *(leave_on(c.id) for c in cylinders if entry.bled is Bled.NO_FLOW),
    )
    return sound(book, act_of("hold", drafts, sentence, notes), drafts, on, fact=True)


def _not_to_hold(book: Book, cylinder: Cylinder, why: str) -> Iterator[str]:
    status = status_of(book, cylinder)
    if status.gone and status is not Status.LOST:  # what is lost may turn up
        yield f"{cylinder.id} is {status}: it cannot be set aside"
    for entry in open_holds(cylinder):
        if entry.why.casefold() == why.casefold():
            yield f"{cylinder.id} is already held for that since {entry.on}"


def open_holds(cylinder: Cylinder) -> tuple[Held, ...]:
    """The holds that stand, oldest first."""
    return tuple(h for h in standing(cylinder.held) if h.released is None)


# --- the time of day -----------------------------------------------------------------------------


def since(book: Book, id_: str, on: dt.date, at: dt.time | None) -> dt.time | None:
    """The minute from which a cylinder is set aside: no fill logged before it lies after it."""
    if at is None:
        return None
    minute = at.replace(second=0, microsecond=0)
    before = any(minute < time <= at for time in _filled_at(book, id_, on))
    return next_minute(minute) if before else minute


def after_fills(book: Book, id_: str, on: dt.date) -> dt.time | None:
    """The last time of a day at which a cylinder was filled, of a hold that is known to come after
    it; None where it was not filled that day."""
    return max(_filled_at(book, id_, on), default=None)


def not_before(time: dt.time) -> dt.time:
    """The first minute that is not before a time, of a hold that comes of what was done then."""
    minute = time.replace(second=0, microsecond=0)
    return minute if minute == time else next_minute(minute)


def next_minute(minute: dt.time) -> dt.time:
    """The minute after a time of the day; of its last minute, that."""
    later = dt.datetime.combine(dt.date.min, minute) + dt.timedelta(minutes=1)
    return time_of_day(later) if later.date() == dt.date.min else minute


def time_reasons(book: Book, id_: str, on: dt.date, at: dt.time | None) -> Iterator[str]:
    """That a cylinder was filled on the day it is set aside, and nobody says which came first."""
    times = _filled_at(book, id_, on)
    if times and at is None:
        yield (
            f"{id_} was filled on {on} at {max(times):%H:%M}: say at what time it was set aside, "
            "--at 16:30"
        )


def _filled_at(book: Book, id_: str, on: dt.date) -> list[dt.time]:
    lines = (n for n in lines_about(book, id_) if n.act is LogAct.FILL)
    return [time_of_day(n.at) for n in lines if n.at.date() == on]


# --- letting go ----------------------------------------------------------------------------------


class Hold(Struct, frozen=True):
    """A hold by its day, and where it stands among all of that day as the card has them, from 1;
    0 for the only one."""

    day: PartialDate
    nth: int = 0

    @classmethod
    def parse(cls, text: str) -> Self:
        """`2026-11-20`, or `2026-11-20#2`.

        Raises:
            UnitError: it is neither.
        """
        day, _, number = text.partition("#")
        on = PartialDate.parse(day)
        if number and not (number.isdecimal() and int(number)):
            raise UnitError(f"{quoted(text)} names no hold", "as they are listed: 2026-11-20#2")
        return cls(on, int(number) if number else 0)

    def __str__(self) -> str:
        return f"{self.day}#{self.nth}" if self.nth else f"{self.day}"


def release_it(id_: str) -> str:
    """How it is recorded that a cylinder was let out of which no flow was heard before."""
    return f"`tankbook release {id_} --bled heard|under-control --why HOW`"


def leave_on(id_: str) -> str:
    """What is told of one that is taken for full because no flow was heard."""
    return (
        f"{id_}: DANGER: no flow is no proof that it is empty: take it for full, leave the valve"
        f" on, and have somebody who is equipped for it let the gas out; then {release_it(id_)}"
    )


HEARD_SINCE = (
    "--bled heard, where the blockage was cleared and the flow heard until it stopped; --bled "
    "under-control, where its valve was turned out under control, or a test house drilled it"
)
"""How what let no flow be heard is let out after all (common practice, no source)."""


def release(
    book: Book,
    ids: Ids,
    *,
    why: Annotated[str, Opt("TEXT", "Why it may go back.")],
    held: Annotated[
        Hold | None, Opt("DATE", "Which hold, by its date, or DATE#2 for the second of that day.")
    ] = None,
    every: Annotated[bool, Flag("All the holds of a cylinder.", "--all")] = False,
    bled: Annotated[
        Bled | None,
        Opt("heard|under-control", "How it was let out, of one that let no flow be heard before."),
    ] = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Let held cylinders go, and lift a rejection that a later test or inspection has answered.

    Somebody certified does it, where that is kept. What still keeps them from being filled is said.

    Args:
        book: the records.
        ids: cylinders, or sets for both their cylinders.
        why: on what ground.
        held: which hold, where a cylinder has several; a rejection then stays as it is.
        every: all holds of a cylinder at once.
        bled: how what let no flow be heard was let out since.
        by: initials of who decides, who is certified where that is kept.
        on: the day.
    """
    cylinders, reasons = cylinders_of(book, ids)
    unsigned = signer_reasons(book, by, on) + line_reasons(why=why) + uncertified(book, by, on)
    reasons += unsigned
    drafts = []
    for each in cylinders:
        got = _released(book, Draft(each), why, by, on, held, every, bled)
        if isinstance(got, Draft):
            drafts.append(got.stand(book))
            reasons += [] if unsigned else _left_open(book, drafts[-1], on)
        else:
            reasons.append(got)
    if reasons:
        return refusal(reasons)
    sentence = f"Released {named(c.id for c in cylinders)}: {why}"
    notes = [*still_against(book, drafts, on), *_to_be_filled(book, cylinders, on)]
    return act_of("release", drafts, sentence, notes)


def _to_be_filled(book: Book, cylinders: Sequence[Cylinder], on: dt.date) -> Iterator[str]:
    """That what a recall is over for is empty: it is for use once it was filled from a good source,
    which every fill asks for anew."""
    then = book.as_known_on(on)
    for each in cylinders:
        recalled = any(h.is_recall and h.on.first <= on for h in open_holds(each))
        if recalled and is_empty(contents_of(then, each.id).pressure):
            yield (
                f"{each.id} is empty: it is let go to be filled from a good source, and is for use"
                " once it was"
            )


def _released(
    book: Book,
    draft: Draft[Cylinder],
    why: str,
    by: str,
    on: dt.date,
    named: Hold | None,
    every: bool,
    bled: Bled | None,
) -> Draft[Cylinder] | str:
    """The cylinder let go, or why it is not."""
    cylinder = draft.record
    holds = [h for h in open_holds(cylinder) if named is None or h.on == named.day]
    if named and named.nth:
        one = _numbered(cylinder, named)
        if isinstance(one, str):
            return one
        holds = [one]
    rejections = [] if named else [r for r in standing(cylinder.rejected) if is_open(r)]
    if not holds and not rejections:
        of = f" since {named}" if named else ""
        return f"{cylinder.id} is neither held nor rejected{of}"
    if len(holds) > 1 and not every:
        listed = "; ".join(f"{_called(cylinder, h)} ({h.why})" for h in holds)
        return f"{cylinder.id} is held {len(holds)} times: {listed}; name one by --held, or --all"
    early = [h for h in holds if h.on.first > on]
    if early:
        return f"{cylinder.id} was held on {early[0].on}, after {on}"
    then = book.as_known_on(on)
    for held in holds if cylinder.id in then.cylinders else ():
        if held.is_recall:
            card = then.cylinders[cylinder.id]
            if kept := list(kept_back(then, card, held)):
                return "; ".join(kept)
    unheard = [h for h in holds if bled_of(h) is Bled.NO_FLOW]
    if bled is not None and not (unheard and bled in HEARD_OUT):
        return f"{cylinder.id}: --bled says how what let no flow be heard before was let out since"
    if unheard and bled is None and is_taken_for_full(book, cylinder.id):
        return f"{cylinder.id}: {unheard[0].why}; say how it was let out since: {HEARD_SINCE}"
    bench = bench_of(book)
    for held in holds:
        let_go = replace(held, released=on, released_by=by, released_why=why)
        if is_let_go_unread(bench, let_go) and not tells(why):
            return (
                f"{cylinder.id} was held on {held.on} as `{held.why[:60]}`, which nobody reads"
                " here: --why says what was found, in words that are read"
            )
        how = {"released_bled": bled} if bled is not None and held in unheard else {}
        draft = draft.amend("held", held, released=on, released_by=by, released_why=why, **how)
    for rejected in rejections:
        got = _lifted(book, draft, rejected, why, by, on)
        if isinstance(got, str):
            return got
        draft = got
    return draft


def _of_day(cylinder: Cylinder, day: PartialDate) -> list[Held]:
    """All the holds of a day as the card has them, also those let go or struck out: the number of
    a hold never becomes another's."""
    return [h for h in cylinder.held if h.on == day]


def _called(cylinder: Cylinder, held: Held) -> str:
    """How `--held` names a hold: by its day, and its number where the day has several."""
    same = _of_day(cylinder, held.on)
    place = next(i for i, each in enumerate(same, 1) if each is held)
    return str(Hold(held.on, place if len(same) > 1 else 0))


def _numbered(cylinder: Cylinder, named: Hold) -> Held | str:
    """The hold that a number names, or why it cannot be let go."""
    held = next(iter(_of_day(cylinder, named.day)[named.nth - 1 : named.nth]), None)
    if held is None:
        return f"{cylinder.id} is neither held nor rejected since {named}"
    if is_open(held):
        return held
    ended = "is struck out" if held.void else f"was released on {held.released}"
    return f"{cylinder.id}: the hold {named} ({held.why}) {ended}"


def _lifted(
    book: Book, draft: Draft[Cylinder], rejected: Rejected, why: str, by: str, on: dt.date
) -> Draft[Cylinder] | str:
    """A rejection is lifted on an entry that names it and weighs enough, and on nothing less."""
    id_, then = draft.record.id, book.as_known_on(on)
    if id_ not in then.cylinders or rejected.on.first > on:
        return f"{id_} was rejected on {rejected.on}, after {on}"
    opens = open_against(then, then.cylinders[id_])
    against = [o for o in opens if o.entry == rejected]
    if any(not o.answered for o in against):
        way = way_out(id_, against[0])
        said = f"{id_} was rejected on {rejected.on} ({rejected.why})"
        return f"{said}, and nothing answers it: {way}"
    return draft.amend("rejected", rejected, lifted=on, lifted_by=by, lifted_why=why)


def _left_open(book: Book, draft: Draft[Cylinder], on: dt.date) -> list[str]:
    """What would be wrong once it is let go, a bad look or test that nothing answers foremost."""
    card, id_ = draft.record, draft.record.id
    faults = [f for _, f in new_faults(book, [draft], on)]
    found = [told(id_, f) for f in faults if f.code not in _ANSWERED]
    if len(found) < len(faults):
        unanswered = (o for o in open_against(after(book, [draft]), card) if o.what in _BEHIND)
        found += [f"{id_}: {o} is not answered yet: {way_out(id_, o)}" for o in unanswered]
    return found


_ANSWERED = frozenset({"inspection-not-passed", "test-failed"})
_BEHIND = frozenset({Adverse.INSPECTED, Adverse.REQUALIFIED})


# --- a recall ------------------------------------------------------------------------------------


_NEVER_HELD = frozenset({Status.CONDEMNED})
"""Where a hold says nothing: it never holds gas again. What is lost may turn up, and what was sold
may walk in."""


def hold_all(
    book: Book, recall: Recall, *, why: str, by: str, on: dt.date, at: dt.time | None = None
) -> Act | Refusal:
    """Put every cylinder of a recall on hold, out ones and those away too.

    One that is held for the same reason already is left as it is, so that the act may be run again
    after more has come to light. `at` is the time of the day; where it is not known, the hold came
    after the fills of that day, which the recall knows of.
    """
    reasons = signer_reasons(book, by, on) + line_reasons(why=why)
    if not recall.suspects and not recall.banks:
        reasons.append(f"the recall touches no cylinder{_as_known(recall)}")
    if reasons:
        return refusal(reasons)
    drafts = []
    for suspect in recall.suspects:
        cylinder = book.cylinders.get(suspect.id)
        if cylinder is None or status_of(book, cylinder) in _NEVER_HELD:
            continue
        if not any(h.why == why for h in open_holds(cylinder)):
            then = since(book, cylinder.id, on, at or after_fills(book, cylinder.id, on))
            gas = recall.gas or None
            entry = Held(on=PartialDate.of(on), by=by, why=why, recall=gas, at=then)
            drafts.append(Draft(cylinder).enter("held", entry).stand(book))
    minute = minute_of(at)
    station = _banks_set_aside(book, recall, BankHeld(on=on, at=minute, why=why, by=by))
    if not drafts and not station.edits:
        also = ", and so is every bank" if recall.banks else ""
        other = list(_not_held(book, recall, ()))
        also += _as_known(recall)
        already = f"every cylinder of the recall is held for that already{also}"
        held = len(other) < len(recall.suspects) or recall.banks
        return refusal([already] if held else [f"{each}{_as_known(recall)}" for each in other])
    ids, banks = tuple(d.record.id for d in drafts), station.banks
    said = [named(ids)] if ids else []
    said += [f"{'bank' if len(banks) == 1 else 'banks'} {', '.join(banks)}"] if banks else []
    known = f" (NOT ALL: {places} not read)" if (places := recall.not_read) else ""
    sentence = f"Held{known} {' and '.join(said)}: {why}"
    notes = (*_notes(book, recall, ids), *station.notes)
    act = act_of("recall", drafts, sentence, notes, station.edits)
    return sound(book, act, drafts, on, fact=True)


def _as_known(recall: Recall) -> str:
    """That what is said is so as far as the records can be read; or nothing."""
    return f", as far as the records can be read: {recall.not_read} cannot" if recall.unread else ""


class _SetAside(Struct, frozen=True):
    banks: tuple[str, ...] = ()
    edits: tuple[Edit, ...] = ()
    notes: tuple[str, ...] = ()


def _banks_set_aside(book: Book, recall: Recall, entry: BankHeld) -> _SetAside:
    """The banks of a recall taken out of use, but those that are for the same reason already."""
    station = book.station
    if station is None or not recall.banks:
        return _SetAside()
    draft, names = Draft(station), list[str]()
    aside = {(h.name, h.why) for h in banks_held(book, entry.on)}
    clears = {}
    for each in recall.banks:
        place = place_of(station.banks, each.name, "bank")
        if isinstance(place, int) and (each.name, entry.why) not in aside:
            draft = draft.enter(("banks", place, "held"), entry)
            names.append(each.name)
            clears[each.name] = each.clears
    notes = [f"bank {', '.join(names)}: shut it off until {next(iter(clears.values()))}"] if (
        names
    ) else []  # fmt: skip
    return _SetAside(tuple(names), draft.edits, tuple(notes))


def _notes(book: Book, recall: Recall, held: tuple[str, ...]) -> Iterator[str]:
    for each in recall.unread:
        yield f"THE LIST IS NOT WHOLE: {each.text}; mend it, then recall once more"
    yield from _not_held(book, recall, held)
    rung = [s for s in recall.suspects if s.ring]
    if rung:
        whom = ", ".join(dict.fromkeys(s.ring for s in rung))
        yield f"{counted(len(rung), 'is', 'are')} not here: ring {whom}"


def _not_held(book: Book, recall: Recall, held: tuple[str, ...]) -> Iterator[str]:
    """What of a recall cannot be held, and what to do about each."""
    for suspect in recall.suspects:
        cylinder = book.cylinders.get(suspect.id)
        ring = f": ring {suspect.ring}" if suspect.ring else ""
        if cylinder is None and suspect.id in book.broken:
            yield f"{suspect.id} could not be held: its file cannot be read"
        elif cylinder is None:
            yield f"{suspect.id} could not be held: it has no card here; find whoever had it filled"
        elif suspect.id not in held and status_of(book, cylinder) in _NEVER_HELD:
            yield f"{suspect.id} is {status_of(book, cylinder)} and was not held{ring}"
