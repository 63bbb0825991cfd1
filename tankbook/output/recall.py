"""A recall: how many, whom to ring, and each cylinder with what it holds and where it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output import people
from tankbook.output.as_json import pressures
from tankbook.output.card import contents_data
from tankbook.output.page import Page, counted, plain_date, titled
from tankbook.output.people import Names, whom_to_ring
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.rules.bank_air import BankOrigin
from tankbook.rules.recall import Link, Recall, Still, Suspect, SuspectBank
from tankbook.units.nouns import times

BREATHE_NONE = (
    "Nobody breathes from these, and none is topped off, until somebody who may decide has "
    "released it. Bleed and look inside as the maker and your laboratory advise."
)

NOT_ALL = (
    "Whatever is told there is not in this list: mend it, then ask again. Until then any cylinder "
    "may belong to it."
)

_LINK = {
    Link.BANK: "by bank",
    Link.LATER: "later, by bank",
    Link.DECANTED: "decanted",
    Link.READ: "read on it",
    Link.FILLER: "by them",
    Link.THEN: "then",
    Link.UNKNOWN: "NO SOURCE",
    Link.NO_POSITION: "NO POSITION",
    Link.NO_NAME: "NO NAME",
    Link.NOTICE: "named",
    Link.MAYBE: "MAY BE",
}
_MEANS = {
    Link.BANK: "by bank: filled from a bank that it fills",
    Link.LATER: "later, by bank: filled after that time from a bank that may have held it still",
    Link.DECANTED: "decanted: filled from a cylinder that held it",
    Link.UNKNOWN: "NO SOURCE: the fill does not say where its gas came from, so it is listed too",
    Link.NO_POSITION: "NO POSITION: the fill does not say where it was filled, so it is listed too",
    Link.NO_NAME: "NO NAME: the fill does not say who filled it, so it is listed too",
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
        "until": recall.until,
        "banks": _banks(Page()).objects(recall.banks),
        "whole": not recall.unread,
        "not_seen": [{"place": each.place, "text": each.text} for each in recall.unread],
    }


def _banks(page: Page) -> Table[SuspectBank]:
    """What is said of a bank that may hold what is recalled."""

    def how_much(share: float) -> str:
        if share < 0.01:
            return "under 1 %"
        return f"{min(100 * share, 99 if share < 0.995 else 100):.0f} %"

    return Table[SuspectBank](
        Column("name", lambda b: b.name, "bank"),
        Column("share", lambda b: b.share, "of its gas", how_much, none="not known"),
        Column("", _raised, "raised", wrap=True),
        Column("raised", lambda b: [_origin(o) for o in b.origins]),
        Column("shows", lambda b: b.shows, "shows", none="not read", units=PRESSURE),
        Column("held", lambda b: b.held, "", lambda held: "HELD" if held else "not held"),
        Column("clears", lambda b: b.clears),
    )


def _origin(origin: BankOrigin) -> dict[str, Any]:
    return {
        "since": origin.since,
        "on": origin.on,
        "share": origin.share,
        "source": origin.source or None,
        "hours": origin.hours.hours if origin.hours else None,
        "recorded": origin.recorded,
    }


def _raised(bank: SuspectBank) -> str:
    """When the gas was pumped, the newest first; what nobody recorded with the days between."""
    if not bank.origins:
        return "nobody recorded when"
    said = [raised_when(o) for o in reversed(bank.origins)]
    more = f" and {times(len(said) - _MOST_DAYS)} before" if len(said) > _MOST_DAYS else ""
    return f"{', '.join(said[:_MOST_DAYS])}{more}"


_MOST_DAYS = 3
"""How many raisings of a bank are told one by one."""


def raised_when(origin: BankOrigin) -> str:
    """`2026-11-20 (at 412.5 h)`, `between 2026-11-20 and 2026-11-24`, `by 2026-11-24`."""
    if origin.since is None:
        return f"by {origin.on}"
    if origin.since != origin.on:
        return f"between {origin.since} and {origin.on}"
    hours = f" (at {origin.hours})" if origin.recorded and origin.hours else ""
    return f"{origin.on}{hours}"


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
    """`RECALL C1 since 12 Oct 2026: 23 cylinders, 4 to ring for, 2 held`; of a list that is not
    whole it says so first."""
    since = f" since {plain_date(recall.since)}" if recall.since else ""
    since += f" until {plain_date(recall.until)}" if recall.until else ""
    unread = recall.not_read
    since += f": THE LIST IS NOT WHOLE ({unread} not read)" if unread else ""
    found = recall.suspects
    banks = f" and {counted(len(recall.banks), 'bank')}" if recall.banks else ""
    if not found:
        known = " known" if recall.unread else ""
        return f"RECALL {recall.what}{since}: no cylinder{known}{banks}"
    held = sum(s.held for s in found)
    said = [
        f"{counted(len(found), 'cylinder')}{banks}",
        f"{len(recall.away)} to ring for",
        f"{held} held",
    ]
    return f"RECALL {recall.what}{since}: {', '.join(said)}"


def text(recall: Recall, names: Names, page: Page) -> str:
    """The recall, those to be rung for first, then those that are here."""
    since = [f"From there on: {recall.why_since}."] if recall.why_since else []
    if since and recall.through:
        since.append(f"The compressor fills {', '.join(recall.through)}: they are taken in.")
    wrong = [each.text for each in recall.unread]
    wrong += [NOT_ALL] if wrong else []
    columns, away, here = _columns(names, page), recall.away, recall.here
    links = {s.link for s in recall.suspects}
    return page.answer(
        headline(recall),
        titled("Not read", page.paragraphs(wrong, "  ", "    ")),
        titled(f"Ring for {len(away)}", _ring(away, names, page)),
        titled(f"Not here ({len(away)})", columns.text(away, page)),
        titled(f"Lost ({len(recall.lost)})", columns.text(recall.lost, page)),
        titled(f"Here ({len(here)})", columns.text(here, page)),
        titled(f"Banks that may hold it ({len(recall.banks)})", _banks_text(recall, page)),
        page.paragraphs((f"{text}." for link, text in _MEANS.items() if link in links), hang="  "),
        page.wrap(BREATHE_NONE) if recall.suspects else "",
        under=[" ".join(since)] if since else [],
    )


def _banks_text(recall: Recall, page: Page) -> str:
    """The banks, and what opens them again once they are shut off."""
    table = _banks(page).text(recall.banks, page)
    opens = dict.fromkeys(b.clears for b in recall.banks)
    said = page.paragraphs((f"Shut off until {each}." for each in opens), "  ", "  ")
    return "\n".join(filter(None, (table.rstrip("\n"), said)))


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
