"""What can be wrong with the parts that the gas goes through."""

from __future__ import annotations

from collections.abc import Iterator

from tankbook.records.cylinder import Cylinder
from tankbook.records.station import Station
from tankbook.records.words import Outlet
from tankbook.rules.answers import Limit
from tankbook.rules.chain import unrated
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_cylinder, on_station
from tankbook.rules.test_pressure import too_low


@on_cylinder("disc-too-low", FAULT, since="0.2")
def disc_holds(card: Cylinder, limit: Limit | None) -> Iterator[Says]:
    """A burst disc holds what the cylinder is filled to, the 10 % of a plus mark included."""
    text = too_low(card, limit)
    if text:
        where = card.valve.source.at("disc") if card.valve else card.source.at("valve")
        yield Says(where, text, "read the disc again, or change it")


@on_cylinder("insert-fits-nowhere", FAULT, since="0.2")
def insert_fits(card: Cylinder) -> Iterator[Says]:
    """A yoke insert is recorded only of a valve that takes one: convertible, of five threads."""
    valve = card.valve
    if valve is None or valve.outlet not in {Outlet.YOKE, Outlet.DIN_300, Outlet.M26}:
        return
    if valve.insert is not None or valve.insert_in:
        text = f"a yoke insert is recorded, and its outlet is {valve.outlet}, which takes none"
        mend = "write `outlet: convertible` where it is one, or take the insert out"
        yield Says(valve.source.at("insert" if valve.insert else "insert_in"), text, mend)


@on_station("ratings-unrecorded", WARN, since="0.2")
def parts_are_rated(station: Station) -> Iterator[Says]:
    """What the parts of the station stand is on record, so that no fill goes above it."""
    missing = unrated(station)
    if missing:
        text = f"no rating is recorded of {', '.join(missing)}: no fill was held to it"
        mend = "read the working pressure marked on each into `rating:`"
        yield Says(station.source.at(), text, mend, touches=())
