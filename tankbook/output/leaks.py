"""Slow leaks: the cylinders that lose more than their readings explain."""

from __future__ import annotations

from typing import Any

from tankbook.output.as_json import number
from tankbook.output.page import Page, counted
from tankbook.output.tables import table
from tankbook.rules.leaks import Leaks, Shown, Stand
from tankbook.units import GaugePressure

ADVICE = (
    "A loss may also be gas that was used and not written down. Look for the leak with soapy water "
    "or under water: valve, burst disc, O-rings, neck. A valve that leaks at the neck is left to "
    "whoever may take it out."
)


def data(found: Leaks) -> dict[str, Any]:
    """The JSON shape of `leaks`. Pressures are gauge."""
    return {
        "since": found.since,
        "judged": found.judged,
        "not_judged_hot": found.hot,
        "not_judged_used": found.used,
        "reading_error_psi": number(found.error.psi),
        "reading_error_bar": number(found.error.bar),
        "leaking": [_stand(s) for s in found.leaking],
    }


def _stand(stand: Stand) -> dict[str, Any]:
    lost = GaugePressure.of(stand.lost_pa / 1e3, "kPa")
    explained = GaugePressure.of(stand.explained_pa / 1e3, "kPa")
    week = GaugePressure.of(stand.per_week_pa / 1e3, "kPa")
    values = {
        "expected": stand.expected,
        "found": stand.found.pressure,
        "lost": lost,
        "explained": explained,
        "lost_in_a_week": week,
    }
    return {
        "id": stand.id,
        "from": {"at": stand.begun.at, "what": stand.begun.what},
        "to": {"at": stand.found.at, "what": stand.found.what},
        "days": number(stand.days),
        **{f"{k}_psi": number(v.psi) for k, v in values.items()},
        **{f"{k}_bar": number(v.bar) for k, v in values.items()},
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
    parts = [page.wrap(headline(found), hang="  ")]
    if found.leaking:
        rows = [_cells(s, page) for s in found.leaking]
        head = ("id", "from", "to", "expected", "found", "lost", "readings", "a week")
        right = ("expected", "found", "lost", "readings", "a week")
        parts += ["", table(head, rows, page, wrap=("from", "to"), right=right)]
        parts += ["", page.wrap(HOW), page.wrap(ADVICE)]
    parts += ["", page.wrap(_not_judged(found), hang="  ")]
    return "\n".join([*parts, ""])


HOW = (
    "`expected` is the earlier reading at the later one's temperature (real gas); `readings` is "
    "what two gauge readings and unread temperatures can explain."
)


def _cells(stand: Stand, page: Page) -> tuple[str, ...]:
    return (
        stand.id,
        _moment(stand.begun),
        _moment(stand.found),
        page.pressure(stand.expected),
        page.pressure(stand.found.pressure),
        _pa(stand.lost_pa, page),
        _pa(stand.explained_pa, page),
        _pa(stand.per_week_pa, page),
    )


def _moment(reading: Shown) -> str:
    return f"{reading.at.date()} {reading.what}"


def _pa(pascal: float, page: Page) -> str:
    return f"{GaugePressure.of(pascal / 1e3, 'kPa').to(page.shore.value):.0f}"


def _not_judged(found: Leaks) -> str:
    said = [f"Since {found.since}, each reading taken to be within {found.error}."]
    if found.hot:
        said.append(
            f"{counted(found.hot, 'time')} not judged: the fill's temperature was not read, so it "
            "may have been hot."
        )
    if found.used:
        said.append(
            f"{counted(found.used, 'time')} not judged: so much was gone that it must have been "
            "used."
        )
    return " ".join(said)
