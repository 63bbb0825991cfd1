"""Slow leaks: the cylinders that lose more than their readings explain."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tankbook.output.as_json import pressures
from tankbook.output.page import Page, counted
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.rules.leaks import Leaks, StandingTime
from tankbook.units import GaugePressure

ADVICE = (
    "A loss may also be gas that was used and not written down. Look for the leak with soapy water "
    "or under water: valve, burst disc, O-rings, neck. A valve that leaks at the neck is left to "
    "whoever may take it out."
)


def _loss(key: str, pascal: Callable[[StandingTime], float], head: str) -> Column[StandingTime]:
    """A loss, which people are told in the unit of the pressures beside it."""

    def lost(stand: StandingTime) -> GaugePressure:
        return GaugePressure.of(pascal(stand) / 1e3, "kPa")

    return Column(key, lost, head, reading=Page.whole, units=PRESSURE, right=True)


def _said(end: dict[str, Any]) -> str:
    return f"{end['at'].date()} {end['what']}"


COLUMNS = Table[StandingTime](
    Column("id", lambda s: s.id, "id"),
    Column("from", lambda s: {"at": s.begun.at, "what": s.begun.what}, "from", _said, wrap=True),
    Column("to", lambda s: {"at": s.found.at, "what": s.found.what}, "to", _said, wrap=True),
    Column("days", lambda s: s.days),
    Column("expected", lambda s: s.expected, "expected", units=PRESSURE, right=True),
    Column("found", lambda s: s.found.pressure, "found", units=PRESSURE, right=True),
    _loss("lost", lambda s: s.lost_pa, "lost"),
    _loss("explained", lambda s: s.explained_pa, "readings"),
    _loss("lost_in_a_week", lambda s: s.per_week_pa, "a week"),
)
"""What is said of a cylinder that loses gas, and the readings at both ends."""


def data(found: Leaks) -> dict[str, Any]:
    """The JSON shape of `leaks`. Pressures are gauge."""
    return {
        "since": found.since,
        "judged": found.judged,
        "not_judged_hot": found.hot,
        "not_judged_used": found.used,
        "last_taken_for_used": found.emptied,
        **pressures(reading_error=found.error),
        "leaking": COLUMNS.objects(found.leaking),
    }


def headline(found: Leaks) -> str:
    """`LEAKING 2 of 31 times judged: RB-014, RB-022`."""
    times = counted(found.judged, "time")
    if not found.leaking:
        return f"No leak found in {times} that one stood and was read again"
    ids = ", ".join(s.id for s in found.leaking)
    return f"LOSING GAS {len(found.leaking)}: {ids}; judged {times} that one stood"


def text(found: Leaks, page: Page) -> str:
    """Each that loses, with what it should have shown and what it did."""
    how = page.paragraphs((HOW, ADVICE)) if found.leaking else ""
    rest = page.wrap(_not_judged(found), hang="  ")
    return page.answer(headline(found), COLUMNS.text(found.leaking, page), how, rest)


HOW = (
    "`expected` is the earlier reading at the later one's temperature (real gas); `readings` is "
    "what two gauge readings and unread temperatures can explain."
)


def _not_judged(found: Leaks) -> str:
    said = [f"Since {found.since}, each reading taken to be within {found.error}."]
    if found.hot:
        said.append(
            f"{counted(found.hot, 'time')} not judged: the fill's temperature was not read, so it "
            "may have been hot."
        )
    if found.used:
        said.append(
            f"{counted(found.used, 'time')} not judged: so much was gone that it is taken for used."
        )
    if found.emptied:
        said.append(
            f"The last time of {', '.join(found.emptied)} was such a one: if nobody used it, it "
            "leaks fast."
        )
    return " ".join(said)
