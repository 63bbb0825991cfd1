"""Striking out a wrong entry or log line, and entering the right one; the old stays readable."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.at_station import STATION_FILE, act_at, begun
from tankbook.acts.common import (
    UNREADABLE,
    Draft,
    act_of,
    line_reasons,
    refusal,
    signer_reasons,
    ticked,
    uncertified,
)
from tankbook.acts.correct_line import LOG_WORDS, correct_line
from tankbook.acts.counter import unread
from tankbook.acts.removed import LEDGER, REMOVED, taken_out
from tankbook.acts.soundness import after, left_while_held, lets_go, out_of_hours, sound, sound_set
from tankbook.acts.station_holds import let_go
from tankbook.acts.station_upkeep import analysis_reasons, raise_reasons
from tankbook.acts.striking import Wrong, chosen, entered, keys_unknown, right_entry
from tankbook.records.book import Book
from tankbook.records.counter import COUNTER_FILE, CounterFile
from tankbook.records.cylinder import Cylinder, Doubles, Removed
from tankbook.records.edits import Act, Refusal, Value
from tankbook.records.entries import (
    HEARD_OUT,
    Cleaned,
    Entry,
    Inspected,
    Rented,
    Requalified,
    Serviced,
    Void,
)
from tankbook.records.fields import TEXT, Nested, Record, attributes_of, keys_of
from tankbook.records.life import is_out_still, tells_against
from tankbook.records.station import (
    AirTest,
    BankAnalysis,
    Checked,
    CoReading,
    Raised,
    Station,
    struck_from,
)
from tankbook.records.words import InspectionResult, Skill, TestResult
from tankbook.rules.air import air_judge
from tankbook.rules.bank_out import tells_against_bank
from tankbook.rules.carbon_monoxide import is_over
from tankbook.rules.checks import against
from tankbook.rules.filled import tells_of_a_fill
from tankbook.rules.signing import why_not
from tankbook.rules.trained import seen_no_more
from tankbook.rules.two_halves import halves_left
from tankbook.rules.wording import says_nothing
from tankbook.units import PartialDate


def correct(
    book: Book, id_: str, wrong: Wrong, *, by: str, now: dt.datetime, on: dt.date
) -> Act | Refusal:
    """Strike out an entry of a card, a set, the station or the counter, or a line of the fill log.

    Args:
        book: the records.
        id_: a cylinder, a set, `station`, `counter`, or the cylinder of a log line as written.
        wrong: what, and what is right.
        by: initials of who corrects it.
        now: the moment, for a log line.
        on: the day.
    """
    reasons = signer_reasons(book, by, on) + line_reasons(why=wrong.why)
    if not reasons and says_nothing(wrong.why):
        reasons.append(f"--why {ticked(wrong.why)} says nothing: say in words what is wrong")
    if reasons:
        return refusal(reasons)
    void = Void(why=wrong.why, by=by, on=on)
    what = wrong.what.replace("-", "_")
    book = book.with_every_set()
    if wrong.what == REMOVED:
        return taken_out(book, id_, wrong, by=by, on=on)
    if wrong.what in LOG_WORDS:
        return correct_line(book, id_, wrong, void, now)
    if id_ == "station":
        return _correct_station(book, wrong, void)
    if id_ == COUNTER:
        return _correct_counter(book, replace(wrong, what=what), void)
    record = book.cylinders.get(id_) or book.sets.get(id_)
    if record is None and is_of_no_card(book, id_):
        return refusal([_whose(book, id_, wrong)])
    if record is None:
        return refusal([f"{id_}: {UNREADABLE}"])
    if wrong.what == _NOTE:
        return _reworded(book, record, wrong, void)
    return _correct_entry(book, record, replace(wrong, what=what), void)


def is_of_no_card(book: Book, id_: str) -> bool:
    """Whether what is named is the ledger itself, or a part of its station, and no cylinder."""
    known = {*book.cylinders, *book.sets, *book.apart, *book.broken}
    return id_ not in known and (id_ == LEDGER or bool(_of_part(book, id_)))


def _of_part(book: Book, name: str) -> list[str]:
    """The lists of a part of the station, as they are named to correct an entry."""
    lists = struck_from(book.station) if book.station else {}
    start = f"{name}.".casefold()
    return [each for each in lists if each.casefold().startswith(start)]


def _whose(book: Book, id_: str, wrong: Wrong) -> str:
    """How an entry is named that is of no card."""
    if id_ == LEDGER:
        return (
            "the ledger itself has no entries to strike out: name the cylinder or the set, "
            "`station` or `counter`; what was taken out of it on purpose is `tankbook correct "
            "ledger removed NAME`"
        )
    lists = _of_part(book, id_)
    own = [each for each in lists if each.rsplit(".", 1)[1] == wrong.what.replace("-", "_")]
    named = " or ".join(f"`tankbook correct station {each}`" for each in own or lists)
    return f"{id_} is a part of the station: {named}"


# --- the note of a card --------------------------------------------------------------------------

_NOTE = "note"
_PART = TEXT.limit // 2
"""A note is kept whole: beside the name of what it was of, a long one takes two entries."""


def _reworded(book: Book, record: Cylinder | Doubles, wrong: Wrong, void: Void) -> Act | Refusal:
    """Another note in the place of a card's own, which `removed` keeps readable."""
    old, new = record.note or "", wrong.changes.get(_NOTE, "")
    entrys = f"`tankbook correct {record.id} LIST DATE --set note=TEXT --why WHY`"
    reasons = [] if old else [f"{record.id} has no note of its own; that of an entry: {entrys}"]
    if not new or len(wrong.changes) > 1:
        reasons.append("say what the note is to say, and nothing else: --set note=TEXT")
    elif new == old:
        reasons.append("that is what the note says already; say it otherwise, or leave it so")
    else:
        reasons += line_reasons(note=new)
    at = record.source.at(_NOTE)
    found = (f for f in against(book, record.id, void.on) if f.code != "note-not-judged")
    if any(f.where == at for f in found):
        reasons += uncertified(book, void.by, void.on)
    if reasons:
        return refusal(reasons)
    of_card = isinstance(record, Cylinder)
    owner: Draft[Any] = Draft(record if of_card else book.settings)
    for part in filter(None, (old[:_PART], old[_PART:])):
        what = f"note: {part}" if of_card else f"{record.id} note: {part}"
        owner = owner.enter(REMOVED, Removed(on=void.on, by=void.by, what=what, why=void.why))
    draft = Draft(record).set(_NOTE, new)
    if reasons := _lets_go(book, draft, void):
        return refusal(reasons)
    sentence = f"Reworded the note of {record.id}: {void.why}; it says: {new}"
    return act_of("correct", [draft], sentence, besides=owner.edits)


# --- entries of a file ---------------------------------------------------------------------------


def _correct_entry(
    book: Book, record: Cylinder | Doubles, wrong: Wrong, void: Void
) -> Act | Refusal:
    steps = ("valve", "serviced") if wrong.what == "serviced" else (wrong.what,)
    entries = _entries(record, steps)
    if entries is None:
        return refusal([_no_list(book, record, steps)])
    sides = record.cylinders if isinstance(record, Doubles) else (record.id,)
    cards = [book.cylinders[i] for i in sides if i in book.cylinders]

    def tells(old: Any) -> bool:
        return isinstance(old, Rented) and any(tells_of_a_fill(book, c, old) for c in cards)

    got = _struck(book, record, steps, entries, wrong, void, tells)
    if isinstance(got, Refusal):
        return got
    draft = got.draft.enter(steps, *got.new) if got.new else got.draft
    if isinstance(record, Doubles):
        if reasons := _lets_go(book, draft, void):
            return refusal(reasons)
        notes = _other_half(book, record, draft)
        notes += tuple(left_while_held(book, after(book, [draft]), [record.id], void.on))
        act = act_of("correct", [draft], got.sentence, notes)
        if reasons := out_of_hours(book, act, [draft], fact=True):
            return refusal(reasons)
        return sound_set(book, act, record, draft.record, void.on)
    if len(steps) > 1:  # a valve's service moves nothing
        draft = Draft(record, draft.edits)
    draft = draft.stand(book)
    if not _is_own(book, got, void) and (reasons := _lets_go(book, draft, void)):
        return refusal(reasons)
    notes = (*_what_it_led_to(record, got.old), *_other_half(book, record, draft))
    notes += tuple(left_while_held(book, after(book, [draft]), [record.id], void.on))
    act = act_of("correct", [draft], got.sentence, notes)
    return sound(book, act, [draft], void.on, fact=True, hints=_ways(record.id))


def _other_half(book: Book, record: Cylinder | Doubles, draft: Draft[Any]) -> tuple[str, ...]:
    """What the log has still of a rental whose entry is struck out or set right."""
    left = halves_left(book, after(book, [draft]), [record.id])
    return tuple(f"WARNING: {id_}: {each.text}; {each.of_log}" for id_, each in left)


def _no_list(book: Book, record: Cylinder | Doubles, steps: Sequence[str]) -> str:
    """That there is no such list, and where one is: what befalls a set is written of its cylinders,
    and some of what is theirs of the set."""
    what = "serviced" if len(steps) > 1 else steps[0]
    others = (
        [book.cylinders[i] for i in record.cylinders if i in book.cylinders]
        if isinstance(record, Doubles)
        else [each for each in book.every_set.values() if record.id in each.cylinders]
    )
    there = [each.id for each in others if _entries(each, steps) is not None]
    if there:
        kind = "its cylinders" if isinstance(record, Doubles) else "its set"
        named = " and ".join(
            f"`tankbook correct {each} {what.replace('_', '-')}`" for each in there
        )
        return f"{record.id} has no list {ticked(what)}: that is written of {kind}, {named}"
    return f"{record.id} has no list {ticked(what)}: it has {', '.join(_lists(record))}"


def _lets_go(book: Book, draft: Draft[Any], void: Void) -> list[str]:
    """Why somebody may not correct what is written of a cylinder or a set: they are not certified,
    and it would be filled, or be due later, for that."""
    told, then = uncertified(book, void.by, void.on), after(book, [draft])
    return lets_go(book, then, [draft.record.id], void.on, told)


_OWN_WORK: Mapping[type[Record], Skill] = {Cleaned: Skill.O2_CLEANER, Serviced: Skill.VALVES}
"""Work of which whoever did it may say anew what it was, with what they are certified for: it lets
go no more than the same work recorded now."""


_PLAIN = frozenset({"source", "by", "void", "on", "at", "to", "until"})
"""What says no more than who did it, when and for what. What they saw beside, or how they did it,
somebody certified as an inspector sets right."""


def _is_own(book: Book, got: _Struck, void: Void) -> bool:
    """Whether somebody sets right when they did work of their own, or what for."""
    people, old = book.settings.people, got.old
    skill, person = _OWN_WORK.get(type(old)), people.get(void.by)
    if skill is None or person is None or old.by != void.by:
        return False
    if not person.is_certified(skill, void.on, void.on):
        return False
    names = [n for n in type(old).__struct_fields__ if n not in _PLAIN]
    if got.new is None:
        return all(getattr(old, n) is None or getattr(old, n) in HEARD_OUT for n in names)
    new: Any = got.new[0]
    same = all(getattr(old, n) == getattr(new, n) for n in names)
    return new.by == void.by and same and not why_not(people, void.by, skill, new.on)


class _Struck(Struct, frozen=True):
    """An entry struck out in its record, and the right one, typed and as it is written."""

    draft: Draft[Any]
    old: Any
    new: tuple[Record, Value] | None
    sentence: str


def _struck(
    book: Book,
    record: Cylinder | Doubles | Station | CounterFile,
    steps: Sequence[str | int],
    entries: Sequence[Any],
    wrong: Wrong,
    void: Void,
    tells: Callable[[Any], bool],
) -> _Struck | Refusal:
    """The entry meant among `entries`, struck out; `tells` says of one that it tells against its
    record for more than its noun shows."""
    whose = record.title if isinstance(record, Station | CounterFile) else record.id
    place = chosen(entries, wrong, f"{whose} {wrong.what}")
    if isinstance(place, str):
        return refusal([place])
    old = entries[place]
    if _is_to_come(book, old):
        void = replace(void, ahead=void.on < _first_day(old))
    if unknown := keys_unknown(old, wrong):
        return refusal(unknown)
    new, reasons = right_entry(old, wrong, book)
    still = new is not None and is_out_still(replace(old, void=void), [new[0]])
    adverse = tells(old) or (tells_against(old) and not still)
    reasons += _not_struck(book, old, void, adverse=adverse)
    draft = Draft(record).set((*steps, place, "void"), void)
    if new is not None:
        reasons += _ahead(book, record, draft.enter(steps, *new).record, void.on)
    if reasons:
        return refusal(reasons)
    sentence = f"Struck out {whose} {wrong.what} {old.on}: {wrong.why}"
    sentence += entered(wrong.changes) if new else ""
    return _Struck(draft, old, new, sentence)


def _ahead(book: Book, before: Record, after: Record, on: dt.date) -> Iterator[str]:
    """The days of a right entry that nobody can have seen."""
    known = {(each.what, each.day) for each in book.ahead_in(before, on)}
    for each in book.ahead_in(after, on):
        if (each.what, each.day) not in known:
            yield f"{each.what}: {each.day} lies in the future; write a day up to {on}"


def _ways(id_: str) -> dict[str, str]:
    """What to do first where an entry holds up what was decided on it."""
    ends = "--set lifted= --set lifted_by= --set lifted_why="
    lifted = f"take that back first: `tankbook correct {id_} rejected DATE --why WHY {ends}`"
    aside = f"strike that out first if it is wrong too, or set it aside: `tankbook hold {id_}`"
    return {"lifted-on-nothing": lifted, "test-failed": aside, "inspection-not-passed": aside}


def _first_day(old: Any) -> dt.date:
    day: dt.date = old.on.first if isinstance(old.on, PartialDate) else old.on
    return day


def _is_to_come(book: Book, old: Any) -> bool:
    """Whether the day of an entry lies ahead of the clock, so that nobody can have seen it."""
    return book.clock is not None and book.clock < _first_day(old)


def _not_struck(book: Book, old: Any, void: Void, *, adverse: bool) -> list[str]:
    """Why an entry may not be struck out by this person or on this day."""
    begun_on, to_come = _first_day(old), _is_to_come(book, old)
    later = f"it is dated {old.on}, after {void.on}; strike it out on that day or later (--on DAY)"
    # nobody can have seen what is to come: it is a slip of the day, and waits for none
    early = [later] if void.on < begun_on and not to_come else []
    if not adverse:
        return early
    told = uncertified(book, void.by, void.on)
    return [*early, *(f"{old.title} {old.on} tells against it: {t}" for t in told)]


def _entries(record: Record, steps: Sequence[str]) -> tuple[Any, ...] | None:
    """The entries of a list that can be struck out, or None where there is no such list."""
    value: Any = record
    for step in steps:
        names = attributes_of(type(value)) if isinstance(value, Record) else {}
        if step not in names:
            return None
        value = getattr(value, names[step])
    return value if isinstance(value, tuple) and steps[0] in (*_lists(record), "valve") else None


def _lists(record: Record) -> tuple[str, ...]:
    """The lists of dated entries of a noun."""
    inner = {n: getattr(k.kind, "kind", None) for n, k in keys_of(type(record)).items()}
    return tuple(
        n for n, k in inner.items() if isinstance(k, Nested) and "void" in keys_of(k.record)
    )


def _what_it_led_to(cylinder: Cylinder, old: Entry) -> tuple[str, ...]:
    """A hold or a rejection that came with an entry is an entry of its own."""
    bad = (isinstance(old, Inspected) and old.result is not InspectionResult.PASS) or (
        isinstance(old, Requalified) and old.result is TestResult.FAIL
    )
    if not bad:
        return ()
    lists: dict[str, Iterable[Entry]] = {"held": cylinder.held, "rejected": cylinder.rejected}
    return tuple(
        f"its entry in `{name}` of {e.on} stands: strike it out too if it is wrong"
        for name, entries in lists.items()
        for e in entries
        if e.void is None and (e.on, e.by) == (old.on, old.by)
    )


# --- entries of the counter ----------------------------------------------------------------------

COUNTER = "counter"
"""What the counter's file is called where an entry of it is struck out."""


def _correct_counter(book: Book, wrong: Wrong, void: Void) -> Act | Refusal:
    if book.counter is None:
        return refusal(unread(book) or [f"{COUNTER_FILE} is not there: nothing stands in it"])
    entries = _entries(book.counter, (wrong.what,))
    if entries is None:
        lists = ", ".join(_lists(book.counter))
        return refusal([f"{COUNTER_FILE} has no list {ticked(wrong.what)}: it has {lists}"])
    got = _struck(book, book.counter, (wrong.what,), entries, wrong, void, lambda _: False)
    if isinstance(got, Refusal):
        return got
    draft = got.draft.enter((wrong.what,), *got.new) if got.new else got.draft
    notes = tuple(_seen_no_more(book, draft.record, void.on)) if wrong.what == "certified" else ()
    return Act("correct", (), got.sentence, draft.edits, notes)


def _seen_no_more(book: Book, then: CounterFile, on: dt.date) -> Iterator[str]:
    """What is out to somebody of whom nobody is on record any more, after a correction, to have
    seen that they are trained for what it holds."""
    before = {(each.id, each.levels) for each in seen_no_more(book, on)}
    for each in seen_no_more(replace(book, counter=then), on):
        if (each.id, each.levels) not in before:
            yield f"WARNING: {each.id} is out to {each.to}: {each.mend}"


# --- entries of the station ----------------------------------------------------------------------


def _correct_station(book: Book, wrong: Wrong, void: Void) -> Act | Refusal:
    begins = begun(book)
    if isinstance(begins, Refusal):
        return begins
    station = begins.record
    steps = _station_steps(station, wrong.what)
    if isinstance(steps, str):
        return refusal([steps])
    name = next(name for name, each in struck_from(station).items() if each == steps)
    wrong = replace(wrong, what=name)
    entries: Any = station
    for step in steps:
        entries = entries[step] if isinstance(step, int) else getattr(entries, step)

    def tells(old: Any) -> bool:
        if isinstance(old, AirTest):
            return bool(air_judge(book).over(old))
        if isinstance(old, CoReading):
            return is_over(book, old)
        banks = [b for place, b in enumerate(station.banks) if steps[:2] == ("banks", place)]
        return any(tells_against_bank(book, bank, old) for bank in banks)

    got = _struck(book, station, steps, entries, wrong, void, tells)
    if isinstance(got, Refusal):
        return got
    asked = got.new if wrong.changes.keys() & _OF_GAS else None
    if asked and (reasons := _not_of_bank(book, station, steps, asked[0])):
        return refusal(why.replace("--", "--set ", 1) for why in reasons)
    draft = got.draft.enter(steps, got.new[0]) if got.new else got.draft
    told = uncertified(book, void.by, void.on)
    then = replace(book, station=draft.record)
    if told and (gone := let_go(book, then, void.on)):
        return refusal(f"it says that {each}: {text}" for each in gone for text in told)
    notes = tuple(_still_set(station, steps, got.old))
    return act_at(book, "correct", got.sentence, draft, void.on, notes, fact=not got.new)


def _still_set(station: Station, steps: Sequence[str | int], old: Record) -> Iterator[str]:
    """What a relief valve stays set to, as it is written, where an entry that it was set anew, or
    that another was fitted, is struck out: the valve of before may be set to something else."""
    anew = isinstance(old, Checked) and old.repaired is not None
    for place, part in enumerate(station.relief_valves):
        mine = tuple(steps[:2]) == ("relief_valves", place)
        if anew and mine and part.set_at is not None:
            how = f"`tankbook station relief {part.name} --set-at PRESSURE`"
            yield f"{part.name} is still written as set to {part.set_at}; where it is not: {how}"


_OF_GAS = {"from", "to", "source", "oxygen", "helium"}


def _not_of_bank(
    book: Book, station: Station, steps: Sequence[str | int], new: Record
) -> list[str]:
    """Why a bank cannot have been raised, or analysed, as a right entry says."""
    if isinstance(new, Raised):
        bank = next(b for place, b in enumerate(station.banks) if ("banks", place) == steps[:2])
        return raise_reasons(book, station, bank, new.source_ or "", new.from_, new.to)
    return analysis_reasons(new.oxygen, new.helium) if isinstance(new, BankAnalysis) else []


def _station_steps(station: Station, what: str) -> tuple[str | int, ...] | str:
    """The way to a list of the station, or why there is none."""
    lists = struck_from(station)
    plain = {name.casefold().replace("_", "-"): steps for name, steps in lists.items()}
    steps = plain.get(what.casefold().replace("_", "-"))
    if steps is not None:
        return steps
    if what == "hours" and not station.every_compressor:
        return f"the station has no compressor: describe it in {STATION_FILE} first"
    return f"{STATION_FILE} has no list {ticked(what)}: it has {_said(lists, what)}"


def _said(lists: Iterable[str], what: str) -> str:
    """The lists of the station in words: those of its parts together where they have the same; of
    a part, or of a list, that is named alone, those."""
    wanted = what.casefold().replace("-", "_")
    near = [each for each in lists if wanted in each.casefold().replace("-", "_").split(".")]
    if near:
        return ", ".join(near)
    parts = dict[str, list[str]]()
    for each in lists:
        part, _, own = each.rpartition(".")
        parts.setdefault(part, []).append(own)
    alike = dict[str, list[str]]()
    for part, owns in parts.items():
        if part:
            alike.setdefault(", ".join(owns), []).append(part)
    several = (f"of {', '.join(named)}: {owns}" for owns, named in alike.items())
    of_parts = "; of its parts, written as PART.LIST, " if alike else ""
    return ", ".join(parts.get("", ())) + of_parts + "; ".join(several)
