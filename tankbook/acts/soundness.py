"""Whether `validate` would find the records as sound after an act as before it.

A decision that would leave a fault behind is refused. What happened is recorded whatever follows
from it: then the fault is told, and only what contradicts itself is refused.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from tankbook.acts.common import ON_PAPER, Draft, dangers_of, refusal, stolen_of
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, AddLine, Edit, Refusal
from tankbook.records.entries import Entry
from tankbook.records.fields import NodeReader, Record
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.node import Finding, Severity
from tankbook.records.rulerow import RuleRow
from tankbook.rules.answers import Reason
from tankbook.rules.checks import of_card, of_lines, of_set, shared
from tankbook.rules.fill_history import names_in_log, struck_out_lines, void_key
from tankbook.rules.gate import may_fill
from tankbook.rules.hours import hours_at_odds
from tankbook.rules.inforce import rules_of
from tankbook.rules.schedule import due_of_cylinder
from tankbook.rules.services import AS_OXYGEN
from tankbook.rules.status import status_of
from tankbook.rules.under_pressure import danger_of
from tankbook.units import PartialDate

SLIPS = frozenset(
    {
        "before-made",
        "edited-line",
        "ends-before-start",
        "fill-incomplete",
        "in-the-future",
        "marks-alloy",
        "marks-first-test",
        "marks-life-end",
        "marks-plus",
        "marks-pressure",
        "marks-serial",
        "marks-specification",
        "marks-test-pressure",
        "plus-on-aluminium",
        "serial-twin",
        "two-first-tests",
        "unknown-checklist",
        "unknown-size",
    }
)
"""What is wrong with a request itself. Any other fault may be a true fact that stands in the way of
a fill: it can be recorded, and is told."""

UNDECIDED = frozenset(
    {
        "ended-unsigned",
        "inspection-not-passed",
        "lifted-on-nothing",
        "status",
        "struck-out-unsigned",
        "test-failed",
    }
)
"""What is wrong with a decision: who made it, and on what ground. It is no fact, and is refused."""


def after(book: Book, drafts: Sequence[Draft[Record]], lines: Sequence[LogLine] = ()) -> Book:
    """The records as an act leaves them."""
    changed = {card.id: card for card in _cards(drafts)}
    sets = {d.record.id: d.record for d in drafts if isinstance(d.record, Doubles)}
    log = (*book.log, *lines) if lines else book.log
    cylinders = {**book.cylinders, **changed}
    return replace(book, cylinders=cylinders, sets={**book.sets, **sets}, log=log)


def _cards(drafts: Iterable[Draft[Record]]) -> Iterator[Cylinder]:
    return (d.record for d in drafts if isinstance(d.record, Cylinder))


def new_faults(
    book: Book,
    drafts: Sequence[Draft[Record]],
    today: dt.date,
    lines: Sequence[LogLine] = (),
) -> list[tuple[str, Finding]]:
    """What would be at fault after an act that was not before, each with the id it touches."""
    then = after(book, drafts, lines)
    ids = [card.id for card in _cards(drafts)]
    if lines:
        ids = list(dict.fromkeys([*ids, *_touched(book, lines)]))
    found = []
    for id_ in ids:
        known = {_said(f) for f in _faults(book, id_, today)}
        found += [(id_, f) for f in _faults(then, id_, today) if _said(f) not in known]
    for name in dict.fromkeys(line.cylinder for line in lines):
        known = {_said(f) for f in of_lines(book, name, today)}
        new = (f for f in of_lines(then, name, today) if f.severity is Severity.FAULT)
        found += [(name, f) for f in new if _said(f) not in known]
    return found


def _touched(book: Book, lines: Iterable[LogLine]) -> Iterator[str]:
    for line in lines:
        names = book.sets[line.cylinder].cylinders if line.cylinder in book.sets else ()
        yield from (n for n in (line.cylinder, *names) if n in book.cylinders)


def _faults(book: Book, id_: str, today: dt.date) -> list[Finding]:
    card = book.cylinders.get(id_)
    found = of_card(book, card, today) if card is not None else ()
    return [f for f in found if f.severity is Severity.FAULT or f.code in SLIPS]


def _said(finding: Finding) -> tuple[str, str]:
    return finding.code, finding.text


def sound(
    book: Book,
    act: Act,
    drafts: Sequence[Draft[Record]],
    today: dt.date,
    *,
    fact: bool = False,
    decides: bool = True,
    slips: Collection[str] = SLIPS,
    hints: Mapping[str, str] | None = None,
) -> Act | Refusal:
    """The act, where the records are as sound after it as before; else why not.

    Args:
        book: the records, all of them.
        act: what is to be recorded; the lines it adds to the log are judged with it.
        drafts: the cylinders as it leaves them; sets among them have no card to be judged.
        today: the day.
        fact: it tells what happened. Then only slips and undecided ends refuse it, and what else
            would be at fault is told with it.
        decides: somebody decides something by it. What only came home or turned up uncovers what
            stood against it all along, which is no reason not to say so.
        slips: the codes of what is wrong with the request itself.
        hints: the way out of a fault that refuses it, by the fault's code; else its own.
    """
    if reasons := out_of_hours(book, act, drafts, fact=fact):
        return refusal(reasons)
    odd = tuple(f"WARNING: {text}" for text in _hours_against(book, act, drafts, may_be=True))
    found = new_faults(book, drafts, today, tuple(lines_of(act.edits)))
    refusing = {*slips, *(UNDECIDED if decides else ())}
    refused = [(i, f) for i, f in found if not fact or f.code in refusing]
    if refused:
        ways = hints or {}
        said = (told(i, replace(f, mend=ways.get(f.code, f.mend))) for i, f in refused)
        return refusal(dict.fromkeys(said))
    notes = dict.fromkeys(f"WARNING: {told(i, f)}" for i, f in found)
    then = after(book, drafts, [*lines_of(act.edits)])
    beware = (*_beware(book, act, then, today), *stolen_of(then, act))
    if not (beware or notes or odd):
        return act
    return replace(act, notes=(*beware, *act.notes, *notes, *odd))


def out_of_hours(
    book: Book, act: Act, drafts: Sequence[Draft[Any]], *, fact: bool = False
) -> list[str]:
    """Why an act cannot have been at the hour that it says: what it would have go out, come back or
    leave by it contradicts an hour on record. True facts have hours that agree, but for what nobody
    allows and may have happened: a `fact` may tell that."""
    found = list(_hours_against(book, act, drafts, may_be=False))
    return found if fact else [*found, *_hours_against(book, act, drafts, may_be=True)]


def _hours_against(
    book: Book, act: Act, drafts: Sequence[Draft[Any]], *, may_be: bool
) -> Iterator[str]:
    """What would be at odds after an act by the hours on record that was not before, of what it
    touches, the sets of that and their sides."""
    lines = tuple(lines_of(act.edits))
    then = after(book, drafts, lines)
    touched = [d.record.id for d in drafts if isinstance(d.record, Cylinder | Doubles)]
    touched += [n.cylinder for n in lines]
    sides = (m for id_ in touched for m in (id_, *then.members(id_)))
    for id_ in dict.fromkeys(n for side in sides for n in names_in_log(then, side)):
        known = {each.text for each in hours_at_odds(book, id_)}
        for each in hours_at_odds(then, id_):
            if each.text not in known and each.may_be is may_be:
                yield f"{id_}: {each.text}; {each.mend(book)}"


def _beware(book: Book, act: Act, then: Book, today: dt.date) -> Iterator[str]:
    """What to beware of with each cylinder of an act that may give way and holds pressure: as the
    log has it after the act, else as it was, unless the act itself answers or says it."""
    if act.verb in ON_PAPER:
        return
    for id_ in dict.fromkeys(m for each in act.subjects for m in book.members(each)):
        if any(note.startswith(f"{id_}: DANGER") for note in act.notes):
            continue
        known = then.as_known_on(today)
        card = known.cylinders.get(id_)
        if card is not None and (status_of(known, card).gone or danger_of(known, card)):
            yield from dangers_of(then if then.log is not book.log else book, [id_], today)


# --- what a correction lets go -------------------------------------------------------------------


def lets_go(
    book: Book, then: Book, ids: Iterable[str], on: dt.date, told: Sequence[str]
) -> list[str]:
    """Why somebody may not strike out, or set right, what stands against a cylinder: without it a
    gas is filled that was refused, more is filled, or something is due later. Empty where nothing
    goes, or they may.

    Args:
        book: the records.
        then: the records after it.
        ids: the cylinders and sets that it is of.
        on: the day.
        told: why they may not; empty where they may.
    """
    found = list[str]()
    sides = (side for each in ids for side in book.members(each))
    for id_ in dict.fromkeys(sides) if told else ():
        if id_ in book.cylinders and id_ in then.cylinders:
            gone = next(_let_go(book, then, id_, on), "")
            found += [f"it tells against {id_} ({gone}): {t}" for t in told if gone]
    return found


def _let_go(book: Book, then: Book, id_: str, on: dt.date) -> Iterator[str]:
    before, after = book.as_known_on(on), then.as_known_on(on)
    yield from _lets(before, after, id_, on)
    bare = _without_other_notes(before, after, id_)
    if bare is not None:
        yield from _lets(*bare, id_, on)


def _without_other_notes(before: Book, after: Book, id_: str) -> tuple[Book, Book] | None:
    """Both, where one note alone differs, without the notes that stand in both: of two that speak
    of one thing each stands for itself, since what answers the one need not answer the other. None
    where nothing is noted that goes."""
    was, is_ = _notes(before.cylinders[id_]), _notes(after.cylinders[id_])
    said, still = (
        {line for line in each.log if line.note and void_key(line) not in struck_out_lines(each)}
        for each in (before, after)
    )
    kept, lines = was & is_, said & still
    if was <= is_ and said <= still:
        return None

    def bare(book: Book) -> Book:
        card = book.cylinders[id_]
        changes: dict[str, Any] = {}
        if card.note and (None, card.note) in kept:
            changes[_NOTE] = None
        for name in card.__struct_fields__:
            entries = getattr(card, name)
            if isinstance(entries, tuple) and any(isinstance(e, Entry) for e in entries):
                changes[name] = tuple(
                    replace(e, note=None) if (e.on, e.note) in kept else e for e in entries
                )
        log = (replace(line, note=None) if line in lines else line for line in book.log)
        cards = {**book.cylinders, id_: replace(card, **changes)}
        return replace(book, cylinders=cards, log=tuple(log))

    return bare(before), bare(after)


_NOTE = "note"


def _notes(card: Cylinder) -> frozenset[tuple[PartialDate | None, str]]:
    """What is noted on a card, each with the day of its entry that stands."""
    lists = (getattr(card, name) for name in card.__struct_fields__)
    entries = (e for each in lists if isinstance(each, tuple) for e in each)
    said = {(e.on, e.note) for e in entries if isinstance(e, Entry) and e.note and not e.void}
    return frozenset(said | ({(None, card.note)} if card.note else set()))


def _lets(before: Book, after: Book, id_: str, on: dt.date) -> Iterator[str]:
    for gas in _every_service(before):
        was, is_ = (may_fill(each, id_, on, gas, station=False) for each in (before, after))
        # of two that refuse one thing, who answers the one that is left knows of it alone
        left = Counter(_question(r) for r in is_.refusals)
        asked = Counter(_question(r) for r in was.refusals)
        fewer = {question for question, n in asked.items() if left[question] < n}
        still = {r.text for r in is_.refusals}
        gone = [r.text for r in was.refusals if _question(r) in fewer]
        yield from (text for text in gone if text not in still)
        yield from gone
        if was.limit and is_.limit and is_.limit.pressure > was.limit.pressure:
            yield f"it is filled to {was.limit.pressure} alone"
    known = {d.obligation: d for d in due_of_cylinder(before, before.cylinders[id_], on)}
    for item in due_of_cylinder(after, after.cylinders[id_], on):
        old = known.get(item.obligation)
        if old and old.next and item.next and item.next > old.next:
            yield f"its {item.obligation.called} is due by {old.next}"


def _question(reason: Reason) -> str:
    """What is asked where something is refused, whichever way it is answered."""
    return reason.row.obligation if isinstance(reason.row, RuleRow) else reason.code


def _every_service(book: Book) -> tuple[Gas, ...]:
    """A gas for each service that a cylinder is kept for."""
    between = (rules_of(book).clean_above.percent + AS_OXYGEN) / 2
    return Gas.parse("air"), Gas.of(between), Gas.of(AS_OXYGEN)


def sound_set(book: Book, act: Act, before: Doubles, after: Doubles, today: dt.date) -> Act:
    """The act, with what would be at fault in a set's own records after it that is not now."""
    then = replace(book, sets={**book.sets, after.id: after})
    known = {_said(f) for f in of_set(book, before, today)}
    new = (f for f in of_set(then, after, today) if f.severity is Severity.FAULT)
    notes = dict.fromkeys(f"WARNING: {told(after.id, f)}" for f in new if _said(f) not in known)
    odd = _hours_against(book, act, [Draft(after)], may_be=True)
    return replace(act, notes=(*act.notes, *notes, *(f"WARNING: {text}" for text in odd)))


def left_while_held(book: Book, then: Book, ids: Iterable[str], today: dt.date) -> Iterator[str]:
    """That something left while it was set aside, by the hours as an act leaves them and not as
    they were; where that is a fault, `sound` tells it."""
    for id_ in dict.fromkeys(m for each in ids for m in (*then.members(each), each)):
        was, is_ = (each.cylinders.get(id_) for each in (book, then))
        if was is not None and is_ is not None:
            known = {_said(f) for f in of_card(book, was, today)}
            new = (f for f in of_card(then, is_, today) if f.code == "went-out-while")
            slight = (f for f in new if f.severity is not Severity.FAULT)
            yield from (f"WARNING: {told(id_, f)}" for f in slight if _said(f) not in known)


def ahead_of(book: Book, cards: Sequence[Cylinder], today: dt.date) -> list[Finding]:
    """The days on cards that lie ahead of the day and of the clock."""
    new = {c.id: c for c in cards}
    beside = replace(book, cylinders={**book.cylinders, **new}).as_known_on(today)
    found = (f for f in shared(beside, today) if f.code == "in-the-future")
    return [f for f in found if not new.keys().isdisjoint(f.touches)]


def told(id_: str, finding: Finding) -> str:
    """A fault of a cylinder in a line, with the way out."""
    text = finding.text if finding.text.startswith(id_) else f"{id_}: {finding.text}"
    return f"{text}; {finding.mend}" if finding.mend else text


def lines_of(edits: Iterable[Edit]) -> Iterator[LogLine]:
    """The lines that edits add to the log, as they will be read."""
    names = columns(LogLine)
    for edit in edits:
        if isinstance(edit, AddLine):
            cells = [edit.cells.get(name, "") for name in names]
            line = read_line(LogLine, cells, NodeReader("the log"), 0)
            if line is not None:
                yield line
