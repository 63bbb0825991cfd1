"""The valve of a cylinder: what it came with, what was done to it, and what is on it now."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any, ClassVar

from msgspec.structs import replace

from tankbook.records.entries import AT, HEARD_OUT, Entry, Serviced, by_the_hour
from tankbook.records.fields import TEXT, YES_NO, Kind, OneOf, Record, key
from tankbook.records.kinds import DISC, PRESSURE, TIME_OF_DAY, TORQUE, NoDisc
from tankbook.records.words import OUTLET_TWINS, Bled, Outlet, Service, ValveDone
from tankbook.units import GaugePressure, PartialDate, Torque

OUTLET: Kind = OneOf(Outlet, OUTLET_TWINS)


class Valve(Record, frozen=True, kw_only=True):
    """The valve fitted, as marked on it."""

    title: ClassVar[str] = "valve"
    outlet: Outlet | None = key(OUTLET, "Outlet.", "convertible")
    thread: str | None = key(
        TEXT, "Valve thread as marked, read apart from the neck.", "3/4-14 NPSM"
    )
    rating: GaugePressure | None = key(
        PRESSURE, "Working pressure marked on the valve.", "3442 psi"
    )
    disc: GaugePressure | NoDisc | None = key(
        DISC, "Burst disc rating as marked; `none` where the valve has no disc.", "5000 psi"
    )
    dip_tube: bool | None = key(YES_NO, "A dip tube is fitted.", "yes")
    insert: GaugePressure | None = key(PRESSURE, "Rating marked on the yoke insert.", "3442 psi")
    insert_in: bool | None = key(
        YES_NO, "A convertible valve is used with its yoke insert in.", "yes"
    )
    torque: Torque | None = key(TORQUE, "Maker's fitting torque.", "60 N m")
    lubricant: str | None = key(TEXT, "Lubricant on thread and O-ring.", "oxygen-compatible")
    serviced: tuple[Serviced, ...] = key(
        [Serviced], "Valve services.", "[{on: 2026-02-09, by: MV}]"
    )


_FACTS = tuple(name for name in Valve.declared if name != "serviced")
"""What an entry of its valve says of it, by the keys of the valve."""


class ValveWork(Entry, frozen=True, kw_only=True):
    """Work on the valve, or what was read off it. What it does not say of a valve that was fitted
    or changed is not known; of any other it stays as it was."""

    title: ClassVar[str] = "valve_work"
    at: dt.time | None = key(TIME_OF_DAY, AT, "16:30")
    did: ValveDone = key(
        ValveDone,
        "`fitted` where none was, `changed` for another, `serviced`; `insert`: it was put in or "
        "taken out; `read`: as it is.",
        "changed",
        required=True,
    )
    outlet: Outlet | None = key(OUTLET, "Outlet.", "din-300")
    thread: str | None = key(
        TEXT, "Valve thread as marked, read apart from the neck.", "3/4-14 NPSM"
    )
    rating: GaugePressure | None = key(
        PRESSURE, "Working pressure marked on the valve.", "4350 psi"
    )
    disc: GaugePressure | NoDisc | None = key(
        DISC, "Burst disc rating as marked; `none` where the valve has no disc.", "5000 psi"
    )
    dip_tube: bool | None = key(YES_NO, "A dip tube is fitted.", "yes")
    insert: GaugePressure | None = key(PRESSURE, "Rating marked on the yoke insert.", "3442 psi")
    insert_in: bool | None = key(
        YES_NO, "A convertible valve is used with its yoke insert in.", "no"
    )
    torque: Torque | None = key(TORQUE, "Its maker's torque, with which it was fitted.", "60 N m")
    lubricant: str | None = key(TEXT, "Lubricant on thread and O-ring.", "oxygen-compatible")
    o_rings: str | None = key(TEXT, "Which O-rings are new, and of what.", "neck, FKM")
    clean_for: Service | None = key(
        Service, "What the valve is clean for as it was fitted.", "oxygen"
    )
    stayed_on: bool | None = key(
        YES_NO, "The valve stayed on the cylinder at a service, and no gas was let out.", "yes"
    )
    bled: Bled | None = key(
        Bled,
        "How the cylinder was bled before its valve came off: `heard` until it stopped, and the "
        "`valve-left-open` then.",
        "heard",
    )

    @property
    def facts(self) -> dict[str, Any]:
        """What it says of the valve."""
        return {name: said for name in _FACTS if (said := getattr(self, name)) is not None}

    @property
    def is_other(self) -> bool:
        """Whether another valve is on from then."""
        return self.did in {ValveDone.FITTED, ValveDone.CHANGED}

    @property
    def is_off(self) -> bool:
        """Whether the valve was off, so that the gas was out."""
        return self.is_other or (self.did is ValveDone.SERVICED and not self.stayed_on)

    @property
    def lets_out(self) -> bool:
        """Whether the gas is said to be out: another valve was fitted, or this one was off for a
        service and somebody says how it was bled."""
        return (self.is_other and self.bled is not Bled.NO_FLOW) or (
            self.is_off and self.bled in HEARD_OUT
        )

    @property
    def is_service(self) -> bool:
        """Whether somebody worked on the valve itself."""
        return self.is_other or self.did is ValveDone.SERVICED


def valve_after(came_with: Valve | None, work: Iterable[ValveWork]) -> Valve | None:
    """The valve as it is after some work, of which what was struck out counts for nothing.

    Args:
        came_with: the valve that was on the cylinder before, as far as it is known.
        work: in any order; what is of one day, in the order it was done.
    """
    return _worked(came_with, by_the_hour(work))


def _worked(came_with: Valve | None, work: Sequence[ValveWork]) -> Valve | None:
    now = came_with
    for each in work:
        said = each.facts
        if each.is_other or now is None:
            services = came_with.serviced if came_with else ()
            now = Valve(source=each.source, serviced=services, **said)
        elif said:
            now = replace(now, source=each.source, **said)
    return now


def out_of_order(came_with: Valve | None, work: Iterable[ValveWork]) -> ValveWork | None:
    """An entry dated by its month alone that another may have come before or after, where which
    valve is on hangs on that; None where none is."""
    every = by_the_hour(work)
    late = sorted(every, key=lambda each: (each.on.last, each.on.first))
    if _worked(came_with, every) == _worked(came_with, late):
        return None
    return next((each for each in every if each.on.day is None), None)


def lubricants_since(
    came_with: Valve | None, work: Iterable[ValveWork], cleaned: PartialDate
) -> tuple[str, ...]:
    """Every lubricant that was on the valve at the end of a day or month, or came on it since."""
    every = by_the_hour(work)
    then = _worked(came_with, [each for each in every if each.on.last <= cleaned.last])
    later = [each.lubricant for each in every if each.on.last > cleaned.last]
    found = (then.lubricant if then else None, *later)
    return tuple(dict.fromkeys(filter(None, found)))
