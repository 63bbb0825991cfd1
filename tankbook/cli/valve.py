"""`valve`: what was done to a valve, or read off it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from tankbook.acts.bleeding import Bleeding
from tankbook.acts.options import Flag, Hour, Ids, Note, Opt
from tankbook.acts.valve import work_on_valve
from tankbook.records.kinds import NoDisc
from tankbook.records.valve import ValveWork
from tankbook.records.words import OUTLET_TWINS, Outlet, Service, ValveDone
from tankbook.units import GaugePressure, PartialDate, Torque

if TYPE_CHECKING:
    from tankbook.cli.recording import Bench
    from tankbook.records.edits import Act, Refusal


def valve(
    bench: Bench,
    ids: Ids,
    *,
    did: Annotated[
        ValveDone,
        Opt(
            "|".join(ValveDone),
            "Fitted where none was, changed for another, serviced; insert: put in or taken out, "
            "no more; read: as it is.",
        ),
    ],
    outlet: Annotated[
        Outlet | None,
        Opt("OUTLET", "yoke, din-200, din-300, convertible or m26.", twins=OUTLET_TWINS),
    ] = None,
    thread: Annotated[str, Opt("THREAD", "Thread as marked on the valve: '3/4-14 NPSM'.")] = "",
    rating: Annotated[
        GaugePressure | None, Opt("PRESSURE", "Working pressure marked on the valve.")
    ] = None,
    disc: Annotated[str, Opt("PRESSURE", "Burst disc as marked; none where it has none.")] = "",
    insert: Annotated[
        GaugePressure | None, Opt("PRESSURE", "Rating marked on the yoke insert.")
    ] = None,
    insert_in: Annotated[bool | None, Opt("YES|NO", "Whether a yoke insert is in it.")] = None,
    dip_tube: Annotated[bool | None, Opt("YES|NO", "Whether it has a dip tube.")] = None,
    o_rings: Annotated[str, Opt("TEXT", "Which O-rings are new, and of what: 'neck, FKM'.")] = "",
    lubricant: Annotated[str, Opt("TEXT", "Lubricant used, such as oxygen-compatible.")] = "",
    torque: Annotated[Torque | None, Opt("TORQUE", "Torque it was fitted with.")] = None,
    clean_for: Annotated[
        Service | None, Opt("|".join(Service), "What the valve is clean for as it was fitted.")
    ] = None,
    stays_on: Annotated[
        bool, Flag("A service that left the valve on and the gas in.", "--stays-on")
    ] = False,
    bled: Bleeding = None,
    hour: Hour = None,
    note: Note = "",
) -> Act | Refusal:
    """Record that a valve was fitted, changed or serviced, its insert put in or taken out, or what
    is marked on it.

    Of a valve that was fitted or changed nothing is known but what is said here; other work changes
    what it says. Who takes a valve off lets the gas out: the cylinder holds nothing then.
    """
    rated: GaugePressure | NoDisc | None = None
    if disc:
        none = disc.casefold() == NoDisc.NONE
        rated = NoDisc.NONE if none else bench.pressure("--disc", disc)
    book, by, on = bench.book, bench.by, bench.today
    entry = ValveWork(
        on=PartialDate.of(on),
        by=by,
        at=hour,
        did=did,
        stayed_on=True if stays_on else None,
        bled=bled,
        outlet=outlet,
        thread=thread or None,
        rating=rating,
        disc=rated,
        insert=insert,
        insert_in=insert_in,
        dip_tube=dip_tube,
        o_rings=o_rings or None,
        lubricant=lubricant or None,
        torque=torque,
        clean_for=clean_for,
        note=note or None,
    )
    return work_on_valve(book, ids, entry, on)
