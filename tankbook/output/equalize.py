"""Where cylinders settle that are opened to each other, or why they are not."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from tankbook.filling import Equalized
from tankbook.filling.together import Together
from tankbook.output.as_json import number
from tankbook.output.may_fill import briefly
from tankbook.output.page import Page
from tankbook.output.readings import down, whole
from tankbook.output.tables import table
from tankbook.output.words import NOT_ADVICE

HOW = (
    "Crack each valve and blow its outlet dry before connecting. Fill regulator and banks shut.",
    "Open the emptier cylinder first, then the fuller, throttled; wait until the flow has stopped.",
    "Shut both cylinders, bleed the whips, remove. Log it: `tankbook drain` and `tankbook fill`.",
)


class Made(Struct, frozen=True):
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


def data(made: Made) -> dict[str, Any]:
    """The JSON shape of `equalize`. Pressures are gauge, settled at `ambient_c`."""
    found = made.found
    return {
        "allowed": found is not None,
        "why_not": made.why or None,
        "mend": made.mend or None,
        "refused": [
            {"id": one.id, "reasons": [r.text for r in one.reasons]} for one in made.ready.refused
        ],
        "ambient_c": number(made.ready.ambient.celsius),
        "settles_psi": number(found.pressure.psi) if found else None,
        "settles_bar": number(found.pressure.bar) if found else None,
        "ideal_psi": number(found.ideal.psi) if found else None,
        "ideal_bar": number(found.ideal.bar) if found else None,
        "minutes": number(made.minutes) if found else None,
        "mixed": found.mixed if found else None,
        "cylinders": [
            {
                "id": one.id,
                "before_psi": number(one.before.psi),
                "before_bar": number(one.before.bar),
                "oxygen_percent": number(100 * one.mixture.oxygen),
                "helium_percent": number(100 * one.mixture.helium),
            }
            for one in (found.cylinders if found else ())
        ],
        "cautions": list(found.cautions) if found else [],
    }


def text(made: Made, page: Page) -> str:
    """The pressure first, or `NO` and why."""
    if made.found is None:
        return _refusal(made, page)
    found = made.found
    names = " and ".join(one.id for one in found.cylinders)
    head = f"{names} settle at {page.down(found.pressure)}, cold at {made.ready.ambient}"
    rows = [
        (
            one.id,
            f"{vessel.water_volume.litres:.1f} L",
            whole(one.before, page),
            down(one.after, page),
            f"{100 * one.mixture.oxygen:.1f}",
        )
        for one, vessel in zip(found.cylinders, made.ready.vessels, strict=True)
    ]
    headers = ("cylinder", "volume", "from", "settles to", "oxygen %")
    parts = [
        page.wrap(head, hang="  "),
        page.wrap(
            f"By the ideal-gas law it would be {page.down(found.ideal)}. "
            f"About {made.minutes:.0f} min at {made.ready.rate}."
        ),
        "",
        table(headers, rows, page, right=headers[1:]),
        "",
        *(page.wrap(f"{n}. {said}", hang="   ") for n, said in enumerate(HOW, 1)),
        "",
        "Caution",
        *(page.wrap(f"- {said}", hang="  ") for said in found.cautions),
        NOT_ADVICE,
        "",
    ]
    return "\n".join(parts)


def _refusal(made: Made, page: Page) -> str:
    if made.why:
        return page.wrap(f"NO: {made.why}; {made.mend}", hang="    ") + f"\n\n{NOT_ADVICE}\n"
    lines = []
    for one in made.ready.refused:
        for reason in one.reasons:
            mend = f"; {reason.mend}" if reason.mend else ""
            lines.append(page.wrap(f"NO: {one.id}: {briefly(reason)}{mend}", hang="    "))
    return "\n".join([*lines, "", NOT_ADVICE, ""])
