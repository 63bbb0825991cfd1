"""Where cylinders settle that are opened to each other, or why they are not."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from tankbook.filling import Equalized, LevelCylinder, Vessel
from tankbook.filling.prepare import Together
from tankbook.output.as_json import pressures
from tankbook.output.may_fill import refusals
from tankbook.output.page import Page
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.output.words import cautioned, not_made

HOW = (
    "Crack each valve and blow its outlet dry before connecting. Fill regulator and banks shut.",
    "Open the emptier cylinder first, then the fuller, throttled; wait until the flow has stopped.",
    "Shut both cylinders, bleed the whips, remove. Log it: `tankbook drain` and `tankbook fill`.",
)


class EqualizingMade(Struct, frozen=True):
    """What was asked, and where they settle; else why not, and the way out."""

    ready: Together
    found: Equalized | None
    why: str = ""
    mend: str = ""

    @property
    def minutes(self) -> float:
        """How long the emptiest takes at the fill rate."""
        if self.found is None:
            return 0.0
        rise = max(self.found.pressure.pa - one.before.pa for one in self.found.cylinders)
        return rise / (self.ready.rate.pa_per_s * 60)

    @property
    def pairs(self) -> list[Pair]:
        """How each settles, with what it is; none where they may not."""
        settled = self.found.cylinders if self.found else ()
        return list(zip(settled, self.ready.vessels, strict=True)) if settled else []


Pair = tuple[LevelCylinder, Vessel]


def _oxygen(pair: Pair) -> float:
    return 100 * pair[0].mixture.oxygen


CYLINDERS = Table[Pair](
    Column("id", lambda p: p[0].id, "cylinder"),
    Column("", lambda p: p[1].water_volume.litres, "volume", "{:.1f} L".format, right=True),
    Column("before", lambda p: p[0].before, "from", reading=Page.whole, units=PRESSURE, right=True),
    Column("", lambda p: p[0].after, "settles to", reading=Page.low, right=True),
    Column("oxygen_percent", _oxygen, "oxygen %", "{:.1f}".format, right=True),
    Column("helium_percent", lambda p: 100 * p[0].mixture.helium),
    Column("water_volume", lambda p: p[1].water_volume, units=("L",)),
    Column("after", lambda p: p[0].after, units=PRESSURE),
)
"""What is said of each cylinder."""


def data(made: EqualizingMade) -> dict[str, Any]:
    """The JSON shape of `equalize`. Pressures are gauge, settled at `ambient_c`."""
    found = made.found
    return {
        "allowed": found is not None,
        "why_not": made.why or None,
        "mend": made.mend or None,
        "refused": [
            {
                "id": one.id,
                "reasons": [r.text for r in one.reasons],
                "dangers": list(one.dangers),
            }
            for one in made.ready.refused
        ],
        "ambient_c": made.ready.ambient.celsius,
        **pressures(
            settles=found.pressure if found else None, ideal=found.ideal if found else None
        ),
        "minutes": made.minutes if found else None,
        "mixed": found.mixed if found else None,
        "cylinders": CYLINDERS.objects(made.pairs),
        "cautions": found.cautions if found else [],
    }


def text(made: EqualizingMade, page: Page) -> str:
    """The pressure first, or `NO` and why."""
    if made.found is None:
        why = [f"NO: {made.why}; {made.mend}"] if made.why else refusals(made.ready.refused)
        return not_made(why, page)
    found = made.found
    names = " and ".join(one.id for one in found.cylinders)
    ideal = f"By the ideal-gas law it would be {page.down(found.ideal)}."
    return page.answer(
        f"{names} settle at {page.down(found.pressure)}, cold at {made.ready.ambient}",
        CYLINDERS.text(made.pairs, page),
        page.paragraphs((f"{n}. {said}" for n, said in enumerate(HOW, 1)), hang="   "),
        cautioned(found.cautions, page),
        under=[f"{ideal} About {made.minutes:.0f} min at {made.ready.rate}."],
    )
