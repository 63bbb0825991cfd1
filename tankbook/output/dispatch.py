"""The note that goes with cylinders to a requalifier or repairer, and the note back ticked off."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from tankbook.acts.dispatch import CameBack, CountedIn, DispatchNote, SentItem, days_away
from tankbook.output.document import (
    Block,
    Document,
    Grid,
    Particulars,
    Section,
    Words,
    box,
    grid_of,
)
from tankbook.output.due import late_by, left
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import PRESSURE, Column, Table, in_words
from tankbook.output.tags import clean_for
from tankbook.output.user_gas import held_then
from tankbook.output.words import obligation
from tankbook.records.entries import Requalified
from tankbook.records.words import AskedThere, Status, TestResult, ValveSent
from tankbook.rules.answers import Due, State

CARE = (
    "Take each for full until its valve is open and nothing flows (common practice, no source). "
    "What is written here is what our records say; read the marks off each cylinder."
)
BLANK = "________"
SIGNED = f"{BLANK}{BLANK} on {BLANK}"
UNSURE = " (or of another time it was away)"
RESULTS = "passed", "failed", "condemned"


def test_said(test: Requalified) -> str:
    """`hydrostatic pass Oct 2026, stamp 10 T123 26, by T123`."""
    stamp = f", stamp {test.stamp}" if test.stamp else ""
    by = f", by {test.by}" if test.by else ""
    result = "FAILED" if test.result is TestResult.FAIL else test.result
    return f"{test.method} {result} {plain_date(test.tested or test.on)}{stamp}{by}"


def _pressures(item: SentItem, page: Page) -> str:
    card = item.card
    if card.service_pressure is None:
        marked = "working pressure NOT KNOWN"
    else:
        marked = page.marked(card.service_pressure)
    return f"{marked}, test {page.marked(card.test_pressure)}" if card.test_pressure else marked


def _due(item: Due) -> str:
    if item.state is State.MISSING:
        when = "not on record"
    else:
        late = late_by(item) if item.failed else f"late by {late_by(item)}"
        when = late if item.state is State.OVERDUE else f"in {left(item)}"
    return f"{obligation(item.obligation)} {when}"


def _held(item: SentItem, page: Page) -> str:
    was = item.was
    return held_then(was.held, page, was.doubt, pressure_unknown=was.pressure_unknown)


def _asked(item: SentItem) -> str:
    """The work as boxes, ticked where it is asked."""
    return "  ".join(box(each, each in item.asked) for each in AskedThere)


def _name(item: SentItem) -> str:
    return f"{item.card.id}, serial {item.card.serial}"


def _told(item: SentItem, page: Page) -> Particulars:
    """All that whoever gets it is told of a cylinder, and where they write what came of it."""
    return Particulars(tuple(_particulars(item, page)))


def _particulars(item: SentItem, page: Page) -> Iterator[tuple[str, str]]:
    card, on = item.card, item.sent.with_valve
    yield "cylinder", _name(item)
    yield "maker", card.maker or "not recorded"
    yield "marks", f"{card.marks} (as recorded)" if card.marks else "not recorded"
    yield "marked as", ", ".join(card.specification) or "specification not recorded"
    yield "pressure", _pressures(item, page)
    material = str(card.material or "material not recorded")
    yield "made of", f"{material}, {item.size}"
    if item.alloy:
        yield "alloy", item.alloy
    if card.permit and card.permit.number:
        yield "permit", card.permit.number
    yield "last test", test_said(item.last_test) if item.last_test else "none on record"
    yield "asked", _asked(item)
    if item.due:
        yield "due besides", ", ".join(map(_due, item.due))
    if item.look_at:
        yield "LOOK AT", "; ".join(item.look_at)
    yield "valve", "  ".join(box(f"{each}", on is each) for each in ValveSent)
    yield "empty", item.emptied
    yield "last held", _held(item, page)
    if item.beware:
        yield "BEWARE", "; ".join(item.beware)
    yield "cleaned for", clean_for(item.cleaned_for)
    yield "done there", f"{'  '.join(map(box, RESULTS))}  stamp {BLANK}  by {BLANK}"


ITEMS = Table[SentItem](
    Column("id", lambda i: i.card.id),
    Column("serial", lambda i: i.card.serial),
    Column("", lambda i: box(_name(i)), "cylinder", wrap=True),
    Column("maker", lambda i: i.card.maker),
    Column("marks", lambda i: i.card.marks),
    Column("specification", lambda i: ", ".join(i.card.specification) or None),
    Column("service_pressure", lambda i: i.card.service_pressure, units=PRESSURE),
    Column("test_pressure", lambda i: i.card.test_pressure, units=PRESSURE),
    Column("material", lambda i: i.card.material),
    Column("size", lambda i: i.size),
    Column("last_test", lambda i: i.last_test and (i.last_test.tested or i.last_test.on)),
    Column("for", lambda i: i.sent.for_, "for"),
    Column("asked", lambda i: ", ".join(i.asked) or None, "asked", none="as said", wrap=True),
    Column("valve", lambda i: i.sent.with_valve),
    Column("emptied", lambda i: i.emptied),
    Column("look_at", lambda i: "; ".join(i.look_at) or None),
    Column("beware", lambda i: "; ".join(i.beware) or None),
    Column("sent", lambda i: i.sent.on),
    Column("to", lambda i: i.sent.to),
    Column("back", lambda i: i.sent.back),
    Column("result", lambda i: i.came),
    Column("tests", lambda i: "; ".join(map(test_said, i.tests)) or None),
    Column("stamp", lambda i: "; ".join(t.stamp for t in i.tests if t.stamp) or None),
    Column("tested_by", lambda i: "; ".join(dict.fromkeys(t.by for t in i.tests if t.by)) or None),
    Column("stands", lambda i: i.stands),
    Column("states", lambda i: list(i.states), csv=False),
    Column("states", lambda i: ", ".join(i.states), json=False),
)
"""What is said of each cylinder of a note."""


GOING = ITEMS.pick("cylinder", "for", "asked")


NOTES = Table[DispatchNote](
    Column("note", lambda n: n.name, "note"),
    Column("to", lambda n: n.to, "to", wrap=True),
    Column("for", lambda n: ", ".join(n.for_), "for", wrap=True),
    Column("sent", lambda n: len(n.items), "sent", right=True),
    Column("away", lambda n: len(n.away), "away", right=True),
    Column("ids", lambda n: [i.card.id for i in n.items], csv=False),
)
"""What is said of each note in the list."""


def listed(notes: Sequence[DispatchNote], page: Page) -> str:
    """Every note, and how much of it is still away."""
    if not notes:
        return page.answer("No cylinder is on record as sent away")
    away = sum(len(n.away) for n in notes)
    head = f"{counted(len(notes), 'dispatch note')}, {away} of their cylinders still away"
    return page.answer(head, NOTES.text(notes, page), "`tankbook dispatch DATE` has one again.")


def data(note: DispatchNote, items: Sequence[SentItem], found: CountedIn | None) -> dict[str, Any]:
    """The JSON shape of a note; `counted` is null where nothing was counted in."""
    return {
        "note": note.name,
        "to": note.to,
        "sent_by": list(note.by),
        "items": ITEMS.objects(items),
        "counted": found
        and {
            "here": list(found.here),
            "not_on_note": [{"id": i, "why": why} for i, why in found.not_on_it],
            "not_recorded_back": list(found.not_recorded),
            "not_counted": list(found.not_counted),
        },
    }


def going(note: DispatchNote, items: Sequence[SentItem], ledger: str, page: Page) -> Document:
    """The note that goes with them."""
    what = counted(len(items), "cylinder")
    papers = dict.fromkeys(i.sent.paper for i in items if i.sent.paper)
    facts = [
        ("from", ledger),
        ("to", note.to),
        ("date", plain_date(note.on)),
        ("sent by", ", ".join(note.by)),
        ("cylinders", f"{len(items)}, for {' and '.join(note.for_)}"),
        *([("papers", ", ".join(papers))] if papers else []),
    ]
    head = Particulars(tuple(facts))
    ticked = grid_of("Ticked off as it is handed over", GOING, items, page=page)
    each = (
        Section(f"item-{n}", f"Cylinder {n} of {len(items)}", (_told(item, page),))
        for n, item in enumerate(items, 1)
    )
    signed = (
        Words(f"Handed over, {what}: {SIGNED}"),
        Words(f"Received, {what}: {SIGNED}"),
    )
    return Document(
        title=f"Dispatch note {note.name}, {ledger}",
        told=f"DISPATCH NOTE {note.name}: {what} to {note.to}{_bewares(items)}",
        sections=(
            Section("note", "The note", (head,)),
            Section("cylinders", "What goes", (ticked,)),
            *each,
            Section("signed", "Signed", signed),
        ),
        foot=(CARE,),
    )


def _bewares(items: Sequence[SentItem]) -> str:
    """Whose gas is bad, for the first line: `; BEWARE of what RB-011 holds`."""
    bad = [item.card.id for item in items if item.beware]
    return f"; BEWARE of what is in {', '.join(bad)}" if bad else ""


def _ticked(item: SentItem) -> str:
    return f"[{' ' if item.sent.back is None else 'x'}] {item.card.id}, serial {item.card.serial}"


def _results(item: SentItem) -> str:
    said = [test_said(t) + (UNSURE if t in item.unsure else "") for t in item.tests]
    said += [f"visual {i.result} {plain_date(i.on)}, by {i.by or 'not said'}" for i in item.looks]
    said += [f"{each} done" for each in AskedThere if each in item.work]
    if (gone := item.condemned) is not None:
        said.append(f"CONDEMNED {plain_date(gone.on)} by {gone.by or 'not said'}: {gone.why}")
    return "; ".join(said) or "none on record"


def back(
    note: DispatchNote,
    items: Sequence[SentItem],
    found: CountedIn | None,
    ledger: str,
    today: dt.date,
) -> Document:
    """The note back: what was sent, each ticked off that came back, and what came of it."""
    home = len(note.items) - len(note.away)
    said = f"NOTE BACK {note.name} from {note.to}: {home} of {len(note.items)} back"
    bad = [i for i in items if i.came in {CameBack.FAILED, CameBack.CONDEMNED}]
    said += f", {len(note.away)} still away" if note.away else ""
    said += f", {len(bad)} failed or condemned" if bad else ""
    kept = [i for i in items if i not in bad and {Status.HELD, Status.REJECTED} & {*i.states}]
    said += f", {len(kept)} held or rejected" if kept else ""
    if found is not None and found.not_on_it:
        said += f"; {counted(len(found.not_on_it), 'cylinder')} NOT ON THE NOTE"
    columns = Table[SentItem](
        Column("", _ticked, "cylinder", wrap=True),
        Column("", lambda i: _when(i, today), "back", wrap=True),
        Column("", lambda i: i.came, "came", wrap=True),
        Column("", _results, "results on record", wrap=True),
        Column("", lambda i: ", ".join(i.states), "stands", in_words, wrap=True),
    )
    away_first = sorted(items, key=lambda i: (i.sent.back is not None, i.card.id))
    grid = grid_of(
        "What was sent, and what came back",
        columns,
        away_first,
        lambda i: i.sent.back is None or i in bad,
    )
    return Document(
        title=f"Note back {note.name}, {ledger}",
        told=said,
        sections=(
            Section("back", "Ticked off", (grid,)),
            *((Section("counted", "Counted in", tuple(_counted(found))),) if found else ()),
            Section("signed", "Signed", (Words(f"Received and counted: {SIGNED}"),)),
        ),
        foot=(f"As of {plain_date(today)}, by the records of {ledger}.",),
    )


def _when(item: SentItem, today: dt.date) -> str:
    days = counted(days_away(item, today), "day")
    return (
        f"{plain_date(item.sent.back)}, after {days}" if item.sent.back else f"STILL AWAY, {days}"
    )


def _counted(found: CountedIn) -> Iterator[Block]:
    yield Words(f"Counted: {', '.join(found.here) or 'none of this ledger'}.")
    if found.not_on_it:
        rows = tuple(found.not_on_it)
        yield Grid(
            "NOT ON THE NOTE",
            ("cylinder", "what is known of it"),
            rows,
            alarm=tuple(range(len(rows))),
        )
    if found.not_recorded:
        ids = " ".join(found.not_recorded)
        yield Words(f"Here, and not on record as back: `tankbook back {ids}`.")
    if found.not_counted:
        yield Words(f"On record as back, and not counted: {', '.join(found.not_counted)}.")
