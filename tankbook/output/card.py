"""The whole card of a cylinder or set: the answer, its facts, its contents, every entry."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import Enum
from typing import Any

from msgspec import Struct

from tankbook.output import due as due_output
from tankbook.output import may_fill as may_fill_output
from tankbook.output.as_json import pressures, record, values_of
from tankbook.output.page import Page, plain_date, titled
from tankbook.output.tables import in_words
from tankbook.output.words import CAUTION
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import Entry, GasAnalysed, Labelled, standing
from tankbook.records.fields import Record
from tankbook.records.kinds import EMPTY
from tankbook.records.life import still_open
from tankbook.records.node import Finding
from tankbook.records.valve import Valve
from tankbook.rules.answers import Contents, Due, MayFill, WaterVolume
from tankbook.rules.conditions import cleaned_for


class CardSide(Struct, frozen=True):
    """A cylinder of a set: its record, or None where its file cannot be read, its own dates and
    what it may be said to be cleaned for."""

    id: str
    cylinder: Cylinder | None
    dues: tuple[Due, ...] = ()
    cleaned_for: str = ""


class Card(Struct, frozen=True):
    """All that is known and worked out of one cylinder or set.

    `record` is None where its file cannot be read; `faults` then says why. `sides` is what each
    cylinder of doubles holds while their isolator is shut or they are on record at two pressures:
    they are read and analysed by themselves then.
    """

    id: str
    record: Cylinder | Doubles | None
    answer: MayFill
    contents: Contents
    dues: tuple[Due, ...]
    water_volume: WaterVolume | None = None
    standing: str = ""
    faults: tuple[Finding, ...] = ()
    sides: tuple[tuple[str, Contents], ...] = ()
    cleaned_for: str = ""
    """What it may be said to be cleaned for; empty where nothing is recorded."""
    cylinders: tuple[CardSide, ...] = ()
    """Of a set, each of its cylinders."""
    untrue: tuple[tuple[Labelled, str], ...] = ()
    """The labels that were printed for it and are no longer true, and why."""
    states: tuple[str, ...] = ()
    """Every state it is in, the gravest first; of a set those that its cylinders are in."""

    @property
    def stands(self) -> str:
        """These in words: `held, out`; by its standing alone where that is all that is known."""
        return ", ".join(map(in_words, self.states or filter(None, (self.standing,))))


def sides_on_card(
    book: Book, doubles: Doubles, dues: Iterable[Due], today: dt.date
) -> tuple[CardSide, ...]:
    """What the card of a set says of each of its cylinders; `dues` is all that is due."""
    by_id: dict[str, list[Due]] = {side: [] for side in doubles.cylinders}
    for item in dues:
        by_id.get(item.id, []).append(item)
    found = {side: book.cylinders.get(side) for side in doubles.cylinders}
    return tuple(
        CardSide(side, card, tuple(by_id[side]), cleaned_for(book, card, today) if card else "")
        for side, card in found.items()
    )


def data(card: Card) -> dict[str, Any]:
    """The JSON shape of `show`; `record` holds the keys as the file has them."""
    return {
        "id": card.id,
        "kind": _kind(card.record),
        "stands": card.standing,
        "may_fill": may_fill_output.data([card.answer])[0],
        "water_volume_L": card.water_volume.volume.litres if card.water_volume else None,
        "water_volume_basis": card.water_volume.basis if card.water_volume else None,
        "contents": contents_data(card.contents),
        "sides": sides_data(card),
        "due": due_output.data(card.dues),
        "valve": record(valve) if (valve := _valve_of(card.record)) else None,
        "isolator": card.record.isolator if isinstance(card.record, Doubles) else None,
        "record": record(card.record) if card.record else None,
        "faults": [str(f) for f in card.faults],
        "untrue_labels": may_fill_output.untrue_labels(card.untrue),
        "states": list(card.states),
    }


def _kind(subject: Record | None) -> str:
    if subject is None:
        return "unreadable"
    return "set" if isinstance(subject, Doubles) else "cylinder"


def contents_data(contents: Contents) -> dict[str, Any]:
    """What a cylinder holds, as JSON."""
    return {
        "gas": contents.gas,
        **pressures(pressure=contents.pressure),
        "temperature_c": contents.temperature.celsius if contents.temperature else None,
        "at": contents.at,
        "on": contents.on,
        "oxygen_percent": contents.oxygen,
        "helium_percent": contents.helium,
        "analysed_by": contents.analysed_by or None,
        "analysed_on": contents.analysed_on,
        "source": contents.source or None,
        "fills": contents.fills,
    }


def text(card: Card, page: Page) -> str:
    """The card as text. Entries that are struck out stay, and are marked so."""
    name = f"{card.id} {', '.join(card.states) or card.standing}".rstrip()
    said = [*facts(card.record)]
    if card.water_volume is not None:
        said.append(("volume used", f"{card.water_volume.volume}, {card.water_volume.basis}"))
    told = page.facts([*said, *holds(card, page)], NAME_WIDTH)
    entries = (
        titled(
            f"{name.replace('_', ' ').capitalize()} ({len(found)})",
            page.paragraphs(map(entry_text, found), "  ", "    "),
        )
        for name, found in entries_of(card.record)
    )
    return page.answer(
        f"{name}: {may_be_filled(card, page)}",
        "\n".join([*map(str, card.faults), told]),
        titled("Due", due_output.lines(card.dues, page)),
        *entries,
        page.wrap(CAUTION),
        under=[
            f"WARNING: {said}"
            for said in (*_warned(card), *may_fill_output.untrue_labels(card.untrue))
        ],
    )


def _warned(card: Card) -> list[str]:
    return [reason.text for reason in card.answer.warnings]


def may_be_filled(card: Card, page: Page) -> str:
    """The gate's answer, without the id."""
    answer = card.answer
    if answer.fillable:
        loud = "".join(f"; {r.text}" for r in answer.warnings if r.loud)
        return f"may be filled, {answer.gas}, {may_fill_output.limit_text(answer, page)}{loud}"
    return f"DO NOT FILL: {'; '.join(r.text for r in answer.refusals)}"


def user_analysed(card: Card) -> GasAnalysed | None:
    """What whoever has it now analysed and wrote: of the rental it is out on, or of its sale."""
    if card.record is None:
        return None
    out = next(reversed(still_open(card.record.rented)), None)
    if out is not None:
        return out.analysed
    sold = standing(card.record.handed_over) if isinstance(card.record, Cylinder) else ()
    return sold[-1].analysed if sold else None


def sides_data(card: Card) -> list[dict[str, Any]]:
    """What each side of doubles holds while each is told by itself, as JSON."""
    return [{"id": side, **contents_data(held)} for side, held in card.sides]


def holds(card: Card, page: Page) -> list[tuple[str, str]]:
    """What it holds, or what each side of doubles does while each is told by itself."""
    if not card.sides:
        return [("holds", contents_text(card.contents, page))]
    return [(f"{side} holds", contents_text(held, page)) for side, held in card.sides]


def contents_text(contents: Contents, page: Page) -> str:
    """What it holds as last recorded: `air, 3000 psi, 9 Feb 2026, from B1+B2`; of what let no flow
    be heard, that it is taken for full, whatever that is."""
    held = _held_text(contents, page)
    return f"take it for full, no flow was heard; {held}" if contents.no_flow else held


def _held_text(contents: Contents, page: Page) -> str:
    if contents.pressure is None and contents.gas is None:
        since = contents.on
        return f"not known since {plain_date(since)}" if since else "nothing on record"
    if contents.pressure is not None and contents.pressure < EMPTY:
        on = f", {plain_date(contents.on)}" if contents.on else ""
        return f"empty ({page.marked(contents.pressure)}{on})"
    parts = [str(contents.gas) if contents.gas else "gas unknown"]
    if contents.oxygen is not None:
        parts.append(f"analysed {analysis_text(contents)}")
    if contents.pressure is not None:
        at = f" at {contents.temperature}" if contents.temperature else ""
        parts.append(f"{page.marked(contents.pressure)}{at}")
    if contents.on is not None:
        parts.append(plain_date(contents.on))
    if contents.source:
        parts.append(f"from {contents.source}")
    return ", ".join(parts)


def analysis_text(contents: Contents) -> str:
    """What it was analysed at and by whom, and the day where that is another than the reading's:
    `18.1 % oxygen, 44.8 % helium by TO on 23 Nov 2026`."""
    by = f" by {contents.analysed_by}" if contents.analysed_by else ""
    day = contents.analysed_on
    on = f" on {plain_date(day)}" if day is not None and day != contents.on else ""
    return f"{contents.figures}{by}{on}"


NAME_WIDTH = 18


def _valve_of(subject: Record | None) -> Valve | None:
    """The valve that is on a cylinder; a set has none of its own."""
    return subject.valve if isinstance(subject, Cylinder) else None


def facts(subject: Record | None) -> Iterator[tuple[str, str]]:
    """The single facts of a record, named as in its file; its dated lists come apart. The valve is
    the one that is on it; the one it came with is told besides where that is another. The isolator
    is as it stands by the last time that it was turned."""
    worked = isinstance(subject, Cylinder) and subject.valve_work
    turned = isinstance(subject, Doubles) and subject.turned
    for name, value in values_of(subject) if subject else ():
        worked_out = (worked and name == "valve") or (turned and name.startswith("isolator"))
        if not _is_list_of_records(value) and not worked_out:
            yield name.replace("_", " "), said(value)
    if turned and isinstance(subject, Doubles) and subject.isolator is not None:
        hour = f" {subject.isolator_hour:%H:%M}" if subject.isolator_hour else ""
        since = f", since {subject.isolator_since}{hour}" if subject.isolator_since else ""
        yield "isolator", f"{subject.isolator}{since}"
    if worked and isinstance(subject, Cylinder):
        yield "valve", (said(subject.valve) if subject.valve else "") or "nothing known of it"
        if subject.valve_ and subject.valve_ != subject.valve:
            yield "came with valve", said(subject.valve_) or "nothing known of it"


def entries_of(subject: Record | None) -> Iterator[tuple[str, Sequence[Record]]]:
    """The dated lists of a record that have entries, those inside the valve too."""
    for name, value in values_of(subject) if subject else ():
        if _is_list_of_records(value):
            yield name, value
        elif isinstance(value, Record):
            yield from ((f"{name} {inner}", found) for inner, found in entries_of(value))


def _is_list_of_records(value: Any) -> bool:
    return isinstance(value, tuple) and isinstance(value[0], Record)


def entry_text(entry: Record) -> str:
    """One entry in a line, with `STRUCK OUT` before one that no longer counts."""
    void = getattr(entry, "void", None)
    parts = [
        f"{name.replace('_', ' ')} {said(value)}"
        for name, value in values_of(entry)
        if name not in {"on", "void"} and value is not False
    ]
    on = getattr(entry, "on", None)
    line = f"{on}  {', '.join(parts)}" if on else ", ".join(parts)
    if isinstance(entry, Entry) and void is not None:
        struck = f"STRUCK OUT {void.on} by {void.by}: {void.why}"
        return f"{line} [{struck}]"
    return line


def said(value: Any) -> str:
    """A value as a person would write it on one line."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, dt.time):
        return f"{value:%H:%M}"
    if isinstance(value, Record):
        return ", ".join(f"{name} {inner}" for name, inner in facts(value))
    if isinstance(value, tuple):
        apart = "; " if value and isinstance(value[0], Record) else ", "
        return apart.join(said(v) for v in value)
    if isinstance(value, Mapping):
        return ", ".join(f"{k} {said(v)}" for k, v in value.items())
    return str(value)
