"""A recall: how many, whom to ring, and each cylinder with what it holds and where it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output import people
from tankbook.output.as_json import number
from tankbook.output.card import contents_data
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.people import Names, whom_to_ring
from tankbook.output.tables import table
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
        "cylinders": [_suspect(s, names) for s in recall.suspects],
    }


def _suspect(each: Suspect, names: Names) -> dict[str, Any]:
    return {
        "id": each.id,
        "link": each.link.name.casefold(),
        "fills": [
            {
                "at": line.at,
                "source": line.source_,
                "to_psi": number(line.to.psi if line.to else None),
                "to_bar": number(line.to.bar if line.to else None),
            }
            for line in each.fills
        ],
        "still": each.still.value if each.still else None,
        "contents": contents_data(each.contents),
        "stands": each.status,
        "where": each.place,
        "ring": people.data(each.ring, names) if each.ring else None,
        "held": each.held,
    }


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
    parts = [page.wrap(headline(recall), hang="  ")]
    if recall.why_since:
        why = f"From there on: {recall.why_since}."
        if recall.through:
            why += f" The compressor fills {', '.join(recall.through)}: they are taken in."
        parts.append(page.wrap(why, hang="  "))
    if recall.away:
        parts += ["", f"Ring for {len(recall.away)}", *_ring(recall.away, names, page)]
        parts += ["", f"Not here ({len(recall.away)})", _table(recall.away, page)]
    if recall.here:
        parts += ["", f"Here ({len(recall.here)})", _table(recall.here, page)]
    parts += [page.wrap(line, hang="  ") for line in _meanings(recall.suspects)]
    if recall.suspects:
        parts += ["", page.wrap(BREATHE_NONE)]
    return "\n".join([*parts, ""])


def _meanings(suspects: Sequence[Suspect]) -> list[str]:
    links = {s.link for s in suspects}
    said = [f"{text}." for link, text in _MEANS.items() if link in links]
    return ["", *said] if said else []


def _ring(suspects: Sequence[Suspect], names: Names, page: Page) -> list[str]:
    """Whom to ring, each once, and for which cylinders."""
    wanted: dict[str, list[str]] = {}
    for each in suspects:
        wanted.setdefault(each.ring, []).append(each.id)
    return [page.items(whom_to_ring(who, names), ids, "  ") for who, ids in wanted.items()]


def _table(suspects: Sequence[Suspect], page: Page) -> str:
    rows = [(s.id, _where(s), _holds(s, page), _filled(s), _held(s)) for s in suspects]
    return table(HEADERS, rows, page, wrap=("where", "holds", "from it"))


HEADERS = ("id", "where", "holds", "from it", "")


def _where(each: Suspect) -> str:
    return f"{each.place}, {each.ring}" if each.ring else each.place


def _holds(each: Suspect, page: Page) -> str:
    held = each.contents
    if held.pressure is None:
        return "nothing on record"
    gas = str(held.gas) if held.gas else "gas unknown"
    told = each.still in {Still.MIXED, Still.EMPTIED}
    still = f", {each.still}" if told else ""
    return f"{gas} {page.pressure(held.pressure)}{still}"


def _filled(each: Suspect) -> str:
    """How it is tied to the recall: the day of the newest suspect fill, and how many there were."""
    if not each.fills:
        return _LINK[each.link]
    more = f" ({len(each.fills)} fills)" if len(each.fills) > 1 else ""
    link = "" if each.link is Link.DIRECT else f", {_LINK[each.link]}"
    return f"{each.fills[-1].at.date()}{more}{link}"


def _held(each: Suspect) -> str:
    return "HELD" if each.held else "not held"
