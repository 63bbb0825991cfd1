"""By which other words people call the keys of a record."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tankbook.units.lexicon import Lexicon, plain_words
from tankbook.units.patterns import pattern

_HEADINGS = Lexicon("headings")

_OF_HEADING: Mapping[str, tuple[str, ...]] = {
    "serial": ("serial",),
    "maker": ("maker",),
    "marks": ("marks",),
    "specification": ("specification",),
    "service pressure": ("service_pressure",),
    "test pressure": ("test_pressure",),
    "water volume": ("water_volume",),
    "size": ("size",),
    "material": ("material",),
    "alloy": ("alloy",),
    "made": ("made",),
    "first test": ("requalified",),
    "hydro": ("requalified",),
    "visual": ("inspected",),
    "valve outlet": ("valve.outlet", "outlet"),
    "neck thread": ("neck_thread",),
    "valve thread": ("valve.thread", "thread"),
    "valve rating": ("valve.rating", "rating"),
    "service": ("service",),
    "use": ("use",),
    "place": ("place",),
    "mass": ("mass",),
    "bought": ("bought",),
    "price": ("price",),
    "owner": ("owner",),
    "out to": ("rented",),
    "out until": ("until",),
    "remark": ("note",),
    "stands": ("status",),
    "by": ("by",),
    "result": ("result",),
    "on": ("on",),
    "to": ("to",),
}
"""The keys that a heading of somebody's own table stands for, as `headings.yaml` knows it."""

KEY_TWINS: Mapping[str, str] = {
    **dict.fromkeys(("hydro", "hydros", "hydrostatic", "retest", "test", "tests"), "requalified"),
    **dict.fromkeys(("pruefdatum", "tuev datum", "requalifications", "pruefungen"), "requalified"),
    **dict.fromkeys(("visual", "vip", "vis", "inspection", "inspections", "look"), "inspected"),
    **dict.fromkeys(("wp", "sp", "working pressure", "pressure"), "service_pressure"),
    **dict.fromkeys(("tp", "hydro pressure"), "test_pressure"),
    **dict.fromkeys(("sn", "s/n", "serial no", "serial number", "number"), "serial"),
    **dict.fromkeys(("manufacturer", "make", "brand"), "maker"),
    **dict.fromkeys(("wc", "volume", "litres", "liters", "water capacity"), "water_volume"),
    **dict.fromkeys(("capacity", "cuft", "cubic feet"), "rated"),
    **dict.fromkeys(("spec", "standard"), "specification"),
    **dict.fromkeys(("thread", "threads"), "neck_thread"),
    **dict.fromkeys(("stamps", "markings", "shoulder"), "marks"),
    **dict.fromkeys(("notes", "remarks", "remark", "comment", "comments"), "note"),
    **dict.fromkeys(("location", "where"), "place"),
    **dict.fromkeys(("hire", "rental", "rentals"), "rented"),
    **dict.fromkeys(("date", "day", "when"), "on"),
    **dict.fromkeys(("inspector", "initials", "who"), "by"),
    **dict.fromkeys(
        ("last hydro", "hydro date", "last test date", "letzte pruefung"), "requalified"
    ),
    **dict.fromkeys(("viz", "last visual", "last vip", "last inspected"), "inspected"),
    **dict.fromkeys(("last inspection", "eddy", "eddy current"), "inspected"),
    **dict.fromkeys(("o2clean", "o2 clean", "o2 cleaned", "oxygen clean"), "cleaned"),
    **dict.fromkeys(("damage", "damaged", "leak", "leaking", "leaks", "faulty"), "held"),
    **dict.fromkeys(("out of service", "do not fill", "quarantine", "defect"), "held"),
    **dict.fromkeys(("condition", "state"), "note"),
    **{gas: f"service={gas}" for gas in ("air", "nitrox", "oxygen")},
}
"""Words that are meant otherwise here than above a column, or stand above none."""


_JOINT = pattern(r"(?<=[a-z])(?=[A-Z])")
"""Where a word goes on in a key written as `workingPressure`."""


def keys_meant(word: str) -> Iterator[str]:
    """The keys that somebody may mean by another word, in English and in the languages of a table's
    headings, the likeliest first; `outer.inner` is one of a record within, `key=value` one with
    what is meant of it. Which of them a record has is not known here.

    >>> list(keys_meant("Seriennummer")), list(keys_meant("wp"))
    (['serial'], ['service_pressure', 'service_pressure'])
    """
    said = plain_words(_JOINT.sub(" ", word))
    if said in KEY_TWINS:
        yield KEY_TWINS[said]
    for heading, keys in _OF_HEADING.items():
        if said in _HEADINGS.listed(heading):
            yield from keys


def means_id(word: str) -> bool:
    """Whether somebody may mean the id of a cylinder by a word: `tank`, `Nummer`."""
    return plain_words(_JOINT.sub(" ", word)) in _HEADINGS.listed("id")
