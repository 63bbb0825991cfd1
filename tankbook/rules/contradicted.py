"""A remark in plain words that says of a cylinder something else than its own card.

Plain words say nothing against a cylinder, until the card says otherwise: `alu` is harmless on an
aluminium cylinder. On one of steel either is wrong, and a wrong card is filled wrongly.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from tankbook.records.cylinder import Cylinder
from tankbook.records.words import Material, Outlet, Service
from tankbook.rules.harmless import heading_and_value
from tankbook.rules.threads import stated, threads_match
from tankbook.rules.wording import plainly
from tankbook.units import GaugePressure
from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import pattern

_SAY = Lexicon("contradicted")

LITRES_APART = 0.1
"""By so much of it a volume may differ from that of the card: people round it (own choice)."""
PRESSURES_APART = 0.05
"""By so much of it a bare pressure may: 232 is called 230, and 3000 psi is 207 bar (own choice)."""
LEAST_PRESSURE = 50
"""A smaller bare number is hardly a pressure that somebody fills to (own choice)."""


def contradicts(card: Cylinder, remark: str) -> str:
    """What a remark says otherwise than its card, with what that says; or an empty text.

    Args:
        card: the cylinder; what it does not say is contradicted by nothing.
        remark: plain words, as `is_plain` reads them.
    """
    pieces = (plainly(each) for each in remark.split("; "))
    return next((said for each in pieces for said in _said(card, each)), "")


def other_thread(card: Cylinder, remark: str) -> str:
    """The thread that a remark names where its card has another, with that; or an empty text. A
    valve in the wrong thread is shot out."""
    known = [t for t in (stated(card.neck_thread), stated(_thread_of_valve(card))) if t]
    for found in _THREAD.finditer(remark):
        named = re.sub(r"\s", "", found[0]).replace(",", ".")
        of_neck = known and not named.casefold().startswith(_OF_OUTLET)
        if of_neck and not any(threads_match(named, each) for each in known):
            return f"{found[0]}, and its card {known[0]}"
    return ""


def _said(card: Cylinder, piece: str) -> Iterator[str]:
    heading, value = heading_and_value(piece)
    if named := other_thread(card, piece):
        yield named
    for material in Material:
        if card.material not in (None, material) and (word := _SAY.said(material, piece)):
            yield f"{word}, and its card {card.material}"
    outlet = card.valve.outlet if card.valve else None
    for name, fits in _OUTLETS.items():
        if outlet is not None and outlet not in fits and (word := _SAY.said(name, piece)):
            yield f"{word}, and its card {outlet}"
    service = card.service or Service.AIR
    for name, fit in _GASES.items():
        if service not in fit and (word := _SAY.said(name, piece)):
            yield f"{word}, and its card {service}"
    for found in _LITRES.finditer(piece):
        litres, own = float(found[1].replace(",", ".")), card.water_volume
        if own is not None and abs(litres - own.litres) > LITRES_APART * own.litres:
            yield f"{found[0].strip()}, and its card {own}"
    yield from _of_pressure(card, value if _SAY.holds("of remarks", heading) else piece)


def _of_pressure(card: Cylinder, said: str) -> Iterator[str]:
    """A bare number that may be a pressure, and neither is that of the card nor stands on it."""
    number = said.strip(" .")
    if card.service_pressure is None or not re.fullmatch(r"\d{2,3}", number):
        return
    names = f"{card.serial} {card.id} {card.marks or ''}"
    if int(number) < LEAST_PRESSURE or re.search(rf"(?<!\d){number}(?!\d)", names):
        return
    own, said_ = card.service_pressure, GaugePressure.of(float(number), "bar")
    if abs(own.pa - said_.pa) > PRESSURES_APART * own.pa:
        yield f"{number}, and its card {own}"


def _thread_of_valve(card: Cylinder) -> str | None:
    return card.valve.thread if card.valve else None


_THREAD = pattern(r"(?<!\w)m ?\d\d ?x ?\d(?:[.,]\d)?(?!\w)", re.IGNORECASE)
_OF_OUTLET = "m26"
"""The outlet of a valve for nitrox or oxygen, which no neck has."""
_LITRES = pattern(
    r"(?<![\d.,])(\d{1,3}(?:[.,]\d+)?) ?(?:l|ltrs?|lit(?:re|er)s?|litros|litri)\b", re.I
)
_OUTLETS = {
    "yoke": {Outlet.YOKE, Outlet.CONVERTIBLE},
    "din": {Outlet.DIN_200, Outlet.DIN_300, Outlet.CONVERTIBLE},
    "m26": {Outlet.M26},
}
_GASES = {
    "trimix": frozenset[Service](),
    "nitrox": {Service.NITROX, Service.OXYGEN},
    "oxygen": {Service.OXYGEN},
}
