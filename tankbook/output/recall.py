"""A recall: how many, whom to ring, and each cylinder with what it holds and where it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output import people
from tankbook.output.as_json import pressures
from tankbook.output.card import contents_data
from tankbook.output.page import Page, counted, plain_date, titled
from tankbook.output.people import Names, whom_to_ring
from tankbook.output.tables import Column, Table
from tankbook.rules.recall import Link, Recall, Still, Suspect

BREATHE_NONE = (
    "Nobody breathes from these, and none is topped off, until somebody who may decide has "
    "released it. Bleed and look inside as the maker and your laboratory advise."
)

_LINK = {
    Link.BANK: "by bank",
    Link.UNKNOWN: "NO SOURCE",
    Link.NOTICE: "named",
    Link.MAYBE: "MAY BE",
}
_MEANS = {
    Link.BANK: "by bank: filled from a bank that the compressor fills",
    Link.UNKNOWN: "NO SOURCE: the fill does not say where its gas came from, so it is listed too",
    Link.MAYBE: "MAY BE: its record lacks what the notice asks (maker, date or country of making)",
}


def data(recall: Recall, names: Names) -> dict[str, Any]:
    """The JSON shape of `recall`."""
    return {
        "what": recall.what,
        "since": recall.since,
        "why_since": recall.why_since or None,
        "through_banks": recall.through,
        "cylinders": _columns(names, Page()).objects(recall.suspects),
    }


def _columns(names: Names, page: Page) -> Table[Suspect]:
    """What is said of a cylinder that is recalled."""

    def holds(each: Suspect) -> str:
        held = each.contents
        if held.pressure is None:
            return "nothing on record"
        gas = str(held.gas) if held.gas else "gas unknown"
        told = each.still in {Still.MIXED, Still.EMPTIED}
        return f"{gas} {page.pressure(held.pressure)}{f', {each.still}' if told else ''}"

    return Table[Suspect](
        Column("id", lambda s: s.id, "id"),
        Column("", lambda s: f"{s.place}, {s.ring}" if s.ring else s.place, "where", wrap=True),
        Column("", holds, "holds", wrap=True),
        Column("", _filled, "from it", wrap=True),
        Column("link", lambda s: s.link.name.casefold()),
        Column("fills", _fills),
        Column("still", lambda s: s.still),
        Column("contents", lambda s: contents_data(s.contents)),
        Column("stands", lambda s: s.status),
        Column("where", lambda s: s.place),
        Column("ring", lambda s: people.data(s.ring, names) if s.ring else None),
        Column("held", lambda s: s.held, "", lambda held: "HELD" if held else "not held"),
    )


def _fills(each: Suspect) -> list[dict[str, Any]]:
    return [{"at": f.at, "source": f.source_, **pressures(to=f.to)} for f in each.fills]


def headline(recall: Recall) -> str:
    """`RECALL C1 since 12 Oct 2026: 23 cylinders, 4 to ring for, 2 held`."""
    since = f" since {plain_date(recall.since)}" if recall.since else ""
    found = recall.suspects
    if not found:
        return f"RECALL {recall.what}{since}: no cylinder"
    held = sum(s.held for s in found)
    said = [counted(len(found), "cylinder"), f"{len(recall.away)} to ring for", f"{held} held"]
    return f"RECALL {recall.what}{since}: {', '.join(said)}"


def text(recall: Recall, names: Names, page: Page) -> str:
    """The recall, those to be rung for first, then those that are here."""
    since = [f"From there on: {recall.why_since}."] if recall.why_since else []
    if since and recall.through:
        since.append(f"The compressor fills {', '.join(recall.through)}: they are taken in.")
    columns, away, here = _columns(names, page), recall.away, recall.here
    links = {s.link for s in recall.suspects}
    return page.answer(
        headline(recall),
        titled(f"Ring for {len(away)}", _ring(away, names, page)),
        titled(f"Not here ({len(away)})", columns.text(away, page)),
        titled(f"Here ({len(here)})", columns.text(here, page)),
        page.paragraphs((f"{text}." for link, text in _MEANS.items() if link in links), hang="  "),
        page.wrap(BREATHE_NONE) if recall.suspects else "",
        under=[" ".join(since)] if since else [],
    )


def _ring(suspects: Sequence[Suspect], names: Names, page: Page) -> str:
    """Whom to ring, each once, and for which cylinders."""
    wanted: dict[str, list[str]] = {}
    for each in suspects:
        wanted.setdefault(each.ring, []).append(each.id)
    return "\n".join(page.items(whom_to_ring(w, names), ids, "  ") for w, ids in wanted.items())


def _filled(each: Suspect) -> str:
    """How it is tied to the recall: the day of the newest suspect fill, and how many there were."""
    if not each.fills:
        return _LINK[each.link]
    more = f" ({len(each.fills)} fills)" if len(each.fills) > 1 else ""
    link = "" if each.link is Link.DIRECT else f", {_LINK[each.link]}"
    return f"{each.fills[-1].at.date()}{more}{link}"
