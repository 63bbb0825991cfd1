"""How values are written for people: units, dates, line width.

A page is as wide as the terminal, 80 columns where there is none, and shows pressures in the unit
the ledger reads in. Nothing here is coloured, so nothing is said by colour.
"""

from __future__ import annotations

import datetime as dt
import math
import textwrap
from collections.abc import Iterable, Sequence

from msgspec import Struct

from tankbook.records.words import Shore
from tankbook.units import GAUGE_STEP, GaugePressure, PartialDate, Temperature, Volume
from tankbook.units.nouns import counted as counted

WIDTH = 80


class Page(Struct, frozen=True):
    """The width to wrap at, in columns, and the unit pressures are read in."""

    width: int = WIDTH
    shore: Shore = Shore.PSI

    def pressure(self, pressure: GaugePressure) -> str:
        """A reading in the ledger's unit, to a whole one: `4400 psi`."""
        return pressure.format(self.shore.value, 0)

    def whole(self, pressure: GaugePressure) -> str:
        """A reading as a bare number, for tables whose heading names the unit: `4400`."""
        return self.pressure(pressure).split()[0]

    def low(self, pressure: GaugePressure) -> str:
        """A predicted reading as a bare number, rounded down to what a gauge shows."""
        return self.down(pressure).split()[0]

    def risen(self, pressure: GaugePressure, before: GaugePressure) -> str:
        """The same of what was read `before`: where nothing was taken from it, rounding does not
        tell less than was read."""
        low, was = self.low(pressure), self.whole(before)
        return was if int(low) < int(was) and pressure.pa > before.pa - 1 else low

    def marked(self, pressure: GaugePressure) -> str:
        """A pressure as marked, with the ledger's unit beside it where that is another."""
        if pressure.unit == self.shore:
            return str(pressure)
        return f"{pressure} ({self.down(pressure)})"

    def target(self, target: GaugePressure, limit: GaugePressure) -> str:
        """A pressure to stop at, rounded down to what a gauge shows; the limit itself stays whole.

        Rounding to the nearest could name a pressure above the one allowed.
        """
        if math.isclose(target.si, limit.si, rel_tol=1e-9):
            return self.marked(limit)
        return self.down(target)

    def down(self, pressure: GaugePressure) -> str:
        """A pressure rounded down to what a gauge shows: never above the one given."""
        step = GAUGE_STEP[self.shore.value].to(self.shore.value)
        stops = math.floor(pressure.to(self.shore.value) / step + 1e-6) * step
        return f"{stops:.0f} {self.shore}"

    def up(self, pressure: GaugePressure) -> str:
        """The same rounded up, a bare number: what a gauge must have come to, to be no lower."""
        step = GAUGE_STEP[self.shore.value].to(self.shore.value)
        return f"{math.ceil(pressure.to(self.shore.value) / step - 1e-6) * step:.0f}"

    def temperature(self, temperature: Temperature) -> str:
        """A temperature in the ledger's unit, to a whole one."""
        return temperature.format("degF" if self.shore is Shore.PSI else "degC", 0)

    def free_gas(self, volume: Volume) -> str:
        """An amount of free gas: cubic feet to a tenth, or whole litres."""
        return volume.format("cuft", 1) if self.shore is Shore.PSI else volume.format("L", 0)

    def wrap(self, text: str, indent: str = "", hang: str | None = None) -> str:
        """`text` wrapped at the width; later lines start with `hang` (the indent if None).

        A word longer than the line stays whole: numbers, ids and citations are never cut.
        """
        return textwrap.fill(
            text,
            self.width,
            initial_indent=indent,
            subsequent_indent=indent if hang is None else hang,
            break_long_words=False,
            break_on_hyphens=False,
        )

    def items(self, head: str, items: Sequence[str], indent: str = "") -> str:
        """`head: one, two, three`, wrapped between the items, and inside one only where it is
        longer than a line."""
        room = self.width - len(indent) - len("  ") - len(",")
        whole = ", ".join(i if len(i) > room else i.replace(" ", NO_BREAK) for i in items)
        said = f"{head}: {whole}" if head else whole
        return self.wrap(said, indent, indent + ("  " if head else "")).replace(NO_BREAK, " ")

    def paragraphs(self, texts: Iterable[str], indent: str = "", hang: str | None = None) -> str:
        """Each text wrapped, one below the other; an empty text for none."""
        return "\n".join(self.wrap(text, indent, hang) for text in texts)

    def facts(self, pairs: Iterable[tuple[str, str]], width: int) -> str:
        """Each name with what is said of it, in two columns; the first is so wide, and a name that
        is longer stands before it all the same."""
        texts = (f"{n:<{width - 1}} {said}" for n, said in pairs)
        return self.paragraphs(texts, hang=" " * width)

    def answer(self, head: str, *parts: str, under: Iterable[str] = (), hang: str = "  ") -> str:
        """A whole answer: its first sentence, what stands `under` it, and each part set apart.

        Only the sentence's own later lines are set in below it: so it is known where it ends.
        Parts that are empty are left out.
        """
        first = "\n".join([self.wrap(head, hang=hang), *(self.wrap(u, hang="  ") for u in under)])
        return "\n\n".join([first, *filter(None, parts)]) + "\n"


NO_BREAK = "\N{NO-BREAK SPACE}"


def plain_date(date: PartialDate | dt.date) -> str:
    """A date as it is said: `Feb 2026`, `9 Feb 2026`."""
    if isinstance(date, PartialDate) and date.is_month:
        return f"{MONTHS[date.month - 1]} {date.year}"
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"


# Not strftime: the months must not change with the locale.
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def titled(title: str, body: str) -> str:
    """A part of an answer under its title; an empty text for an empty body."""
    return f"{title}\n{body}" if body else ""


def refused(reasons: Sequence[str], what: str, page: Page) -> str:
    """Why something was not done: `NO: ...; nothing was recorded`, or each reason on its line."""
    if len(reasons) == 1:
        return page.wrap(f"NO: {reasons[0]}; nothing was {what}", hang="    ") + "\n"
    lines = page.paragraphs((f"* {each}" for each in reasons), hang="  ")
    return f"NO, for {len(reasons)} reasons; nothing was {what}:\n{lines}\n"


def ago(day: dt.date, today: dt.date) -> str:
    """How long before today a day was: `today`, `1 day ago`."""
    days = (today - day).days
    if days <= 0:
        return "today"
    return f"{counted(days, 'day')} ago"
