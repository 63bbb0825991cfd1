"""The sheet of an incident, and the list of incidents."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct

from tankbook.output.as_json import record
from tankbook.output.document import Document, Particulars, Section, Words
from tankbook.output.page import Page, counted, plain_date, titled
from tankbook.output.tables import Column, Table
from tankbook.records.counter import CylinderThen, Incident, PartThen, SetThen
from tankbook.records.settings import Settings
from tankbook.records.words import Isolator
from tankbook.rules.signing import of_people

CAUTIONS = (
    "Help people first; call the emergency number.",
    "Leave valve and regulator as they are; note whether open or shut.",
    "Do not vent and do not fill, unless leaving it as it is were more dangerous.",
    "Keep the gas: it may be wanted for analysis.",
    "Write down who was there. Say what was seen, not whose fault it was.",
    "Local law may want a report: ask.",
)
PRACTICE = "common practice, no source"
NAME_WIDTH = 15
LONGEST_WORD = 24
"""Characters of a word in the list (own bound); the sheet has all of it."""
HEADING = 100
"""Characters of what happened in the heading (own bound); the sheet has all of it below."""
RULE = "______________________"


class SheetPart(Struct, frozen=True):
    """A part of the sheet: its title, and what is said of each thing; an empty text is written in
    by hand."""

    title: str
    facts: tuple[tuple[str, str], ...]


def heading(incident: Incident) -> str:
    """`INCIDENT SHEET 24 Nov 2026, 16:30: whip W1 burst`."""
    at = f", {incident.at:%H:%M}" if incident.at else ""
    struck = "STRUCK OUT: " if incident.void else ""
    what = incident.what
    cut = what[: HEADING - 3]
    short = what if len(what) <= HEADING else f"{cut.rpartition(' ')[0] or cut}..."
    return f"{struck}INCIDENT SHEET {plain_date(incident.on)}{at}: {short}"


Aside = Sequence[tuple[str, str]]
"""What an incident names, and whether it was set aside for it."""


def parts(
    incident: Incident, settings: Settings, page: Page, aside: Aside = ()
) -> tuple[SheetPart, ...]:
    """All that the sheet says, in its order."""
    each = dict.fromkeys(_vessels(incident, page))  # a set of both its cylinders once
    found = tuple(fact for p in incident.parts for fact in _part(p, page))
    station = [SheetPart("Station", found)] if found else []
    strangers = [
        SheetPart("Cylinder that is not in the ledger", (("it is", text), _FOUND))
        for text in incident.other
    ]
    return (
        SheetPart("", (*_first(incident, settings), *_set_aside(aside))),
        *each,
        *strangers,
        *station,
        SheetPart(
            "By hand",
            (("there were", ""), ("reported to", ""), ("kept where", ""),
             ("signed", f"{RULE}  on {RULE}"), ("seen by", f"{RULE}  on {RULE}")),
        ),
    )  # fmt: skip


_BOXES = "open [ ]  shut [ ]  not looked [ ]   by ________  at ________"
_FOUND = ("valve found", _BOXES)
_ISOLATOR_FOUND = ("isolator found", _BOXES)


def _vessels(incident: Incident, page: Page) -> Iterator[SheetPart]:
    """Each cylinder, before it the set it stood in."""
    for then in incident.cylinders:
        for each in then.sets:
            yield SheetPart(_set_title(each, incident), tuple(_set(each, incident, page)))
        yield SheetPart(f"Cylinder {then.id}", tuple(_cylinder(then, page)))


def _set_title(then: SetThen, incident: Incident) -> str:
    """`Set DB-02: RB-031, RB-032 (not named in the incident)`."""
    named = {c.id for c in incident.cylinders}
    sides = (i if i in named else f"{i} (not named in the incident)" for i in then.cylinders)
    return f"Set {then.id}: {', '.join(sides) or 'its cylinders are not on record'}"


def _set(then: SetThen, incident: Incident, page: Page) -> Iterator[tuple[str, str]]:
    rated = f"rated {page.marked(then.rating)}" if then.rating else "its rating not on record"
    yield "manifold", f"{then.manifold or 'not on record'}; {rated}"
    yield "isolator", _isolator(then, incident)
    if then.isolator is not Isolator.NONE:
        yield _ISOLATOR_FOUND


def _isolator(then: SetThen, incident: Incident) -> str:
    """How the isolator stood, as far as the records said, since when, and at what hour."""
    if then.isolator is None:
        return "how it stood is not on record"
    said = "it has none" if then.isolator is Isolator.NONE else str(then.isolator)
    if then.isolator_since is None:
        return f"{said}, as on record; since when is not"
    same = incident.at and then.isolator_since == str(incident.on)
    hour = "; at what hour of that day is not on record" if same else ""
    return f"{said}, as on record since {then.isolator_since}{hour}"


def _first(incident: Incident, settings: Settings) -> Iterator[tuple[str, str]]:
    if incident.void:
        void = incident.void
        yield "struck out", f"{plain_date(void.on)} by {void.by}: {void.why}"
    yield "ledger", settings.ledger
    yield "what", incident.what
    at = f"at {incident.at:%H:%M}" if incident.at else "time of day not known"
    yield "when", f"{plain_date(incident.on)}, {at}"
    yield "place", incident.place or ""
    yield "saw it", "; ".join(_seen_by(each, incident, settings) for each in incident.saw)
    yield "told", ", ".join(incident.told)
    if incident.note:
        yield "note", incident.note
    yield "recorded", f"by {incident.by}" if incident.by else ""
    known = f"{incident.at:%H:%M} of that day" if incident.at else "the end of that day"
    yield "known then", f"what the records said up to {known}; nothing later is on this sheet"


def _set_aside(aside: Aside) -> Iterator[tuple[str, str]]:
    """What was set aside for it, in one text: `RB-014, RB-031: held; whip W1: out of use`."""
    by_said = dict[str, list[str]]()
    for name, said in aside:
        by_said.setdefault(said, []).append(name)
    told = "; ".join(f"{', '.join(n)}: {said}" for said, n in by_said.items())
    yield "set aside", told or "NOTHING: it names nothing that could be"


def _seen_by(said: str, incident: Incident, settings: Settings) -> str:
    """Who saw it, as was said, and whether that is one of the ledger's people: whoever is not is
    taken for none."""
    whose = of_people(said, settings.people, incident.on.first)
    return f"{said} ({'one of the people here' if whose else 'none of the people here'})"


def _cylinder(then: CylinderThen, page: Page) -> Iterator[tuple[str, str]]:
    serial = f"serial {then.serial}" if then.serial else "serial not on record"
    stood = " or ".join(each.id for each in then.sets)
    set_ = f"in set {stood}" if stood else None
    yield "it is", ", ".join(filter(None, (serial, then.made, then.status, set_)))
    yield "gauge", _reading(then, page)
    yield "contents", then.contents or "nothing on record"
    for n, hand in enumerate(then.handed):
        yield "last had by" if n == 0 else "", hand
    for n, fill in enumerate(then.fills):
        yield "last fills" if n == 0 else "", fill
    if not then.fills:
        yield "last fills", "none on record"
    yield "inspected", then.inspected or "none on record"
    yield "tested", then.tested or "none on record"
    yield "valve", then.valve or "not on record"
    yield _FOUND


def _part(then: PartThen, page: Page) -> Iterator[tuple[str, str]]:
    is_read = then.pressure is not None or then.part.startswith("bank ")
    said = [*([_reading(then, page)] if is_read else []), *([then.said] if then.said else [])]
    yield "on record", f"{then.part}: {'; '.join(said) or 'nothing'}"
    yield "as found", ""


def _reading(then: CylinderThen | PartThen, page: Page) -> str:
    """What a gauge showed, and who says so: whoever was there, or the records."""
    if then.pressure is None:
        return "not given, and none on record"
    if then.given:
        return f"{page.marked(then.pressure)}, as given by whoever recorded the incident"
    return f"{page.marked(then.pressure)}, NOT given: as last recorded, {then.recorded}"


def document(incident: Incident, settings: Settings, page: Page, aside: Aside = ()) -> Document:
    """The sheet as a page for a screen."""
    first = Section("first", f"First ({PRACTICE})", tuple(map(Words, CAUTIONS)))
    said = (
        Section(f"part-{n}", part.title or "What happened", (Particulars(part.facts),))
        for n, part in enumerate(parts(incident, settings, page, aside))
    )
    return Document(
        title=f"Incident sheet, {settings.ledger}",
        told=heading(incident),
        sections=(first, *said),
        foot=(),
    )


def text(incident: Incident, settings: Settings, page: Page, aside: Aside = ()) -> str:
    """The sheet: what to do first, what happened, what was known of each, and lines to sign."""
    cautions = page.paragraphs((f"- {each}" for each in CAUTIONS), hang="  ")
    return page.answer(
        heading(incident),
        f"First ({PRACTICE})\n{cautions}",
        *(
            titled(p.title, _facts(p.facts, page)) if p.title else _facts(p.facts, page)
            for p in parts(incident, settings, page, aside)
        ),
    )


def _facts(facts: Sequence[tuple[str, str]], page: Page) -> str:
    blank = "_" * (page.width - NAME_WIDTH)
    return page.facts(((name, said or blank) for name, said in facts), NAME_WIDTH)


# --- the list ------------------------------------------------------------------------------------


def _named(incident: Incident) -> str:
    ids, parts_ = [c.id for c in incident.cylinders], (p.part for p in incident.parts)
    sets = (s for c in incident.cylinders for s in c.sets if {*s.cylinders} <= {*ids})
    whole = dict.fromkeys(f"set {each.id}" for each in sets)
    return ", ".join((*ids, *whole, *parts_, *incident.other))


def _short(text: str) -> str:
    """A text as far as it fits into the list; a word that fills a cell by itself is cut."""
    return " ".join(
        w if len(w) <= LONGEST_WORD else f"{w[: LONGEST_WORD - 3]}..." for w in text.split()
    )


COLUMNS = Table[tuple[int, Incident]](
    Column("on", lambda i: i[1].on, "date"),
    Column("number", lambda i: i[0]),
    Column("at", lambda i: f"{i[1].at:%H:%M}" if i[1].at else None, "time", none=""),
    Column("what", lambda i: i[1].what, "what", _short, wrap=True),
    Column("named", lambda i: _named(i[1]), "named", _short, wrap=True),
    Column("place", lambda i: i[1].place),
    Column("by", lambda i: i[1].by, "by", none=""),
    Column("struck_out", lambda i: i[1].void is not None),
    Column("", lambda i: "struck out" if i[1].void else "", ""),
)
"""What is said of each incident in the list; its number is among those of its day."""


def sheet_data(number: int, incident: Incident) -> dict[str, Any]:
    """The JSON shape of a sheet: the entry as its file has it."""
    return {"number": number, **record(incident)}


def listed(found: Sequence[tuple[int, Incident]], page: Page) -> str:
    """Every incident by its day."""
    stand = [i for _, i in found if i.void is None]
    head = f"{counted(len(stand), 'incident')} on record"
    if not found:
        return page.answer("No incident is on record")
    return page.answer(head, COLUMNS.text(found, page))
