"""The sheet of an incident on paper: one page where it fits, with lines to write on and to sign."""

from __future__ import annotations

from msgspec import Struct, field

from tankbook.output.drawing import Item, Line, Text
from tankbook.output.incident import CAUTIONS, PRACTICE, Aside, SheetPart, heading, parts
from tankbook.output.page import Page
from tankbook.output.paper.face import baseline, height, in_lines, printable
from tankbook.output.paper.form import PAPER
from tankbook.output.paper.pen import MARGIN, print_pages
from tankbook.records.counter import Incident
from tankbook.records.settings import Settings

TITLE, SIZE, SMALLEST, STEP = 14.0, 9.5, 6.0, 0.5
"""Sizes of type [pt]: it shrinks to the smallest, by steps, until it is one page (own bounds)."""
LEADING = 1.25
NAMES = 24.0
"""How wide the names of what is said are [mm]."""
WRITING = 6.0
"""How high a line to write on is [mm]."""
APART = 1.5


def incident_pdf(incident: Incident, settings: Settings, page: Page, aside: Aside = ()) -> bytes:
    """The sheet as PDF.

    Raises:
        PaperError: a character cannot be printed.
    """
    paper, title = PAPER[page.shore], heading(incident)
    size = SIZE
    pages = _Sheet(incident, settings, page, aside, paper, size).laid_out()
    while len(pages) > 1 and size - STEP >= SMALLEST:
        size -= STEP
        pages = _Sheet(incident, settings, page, aside, paper, size).laid_out()
    return print_pages(pages, paper, title, f"{settings.ledger}, incident of {incident.on}")


class _Sheet(Struct):
    """Puts the parts of the sheet one below the other at one size of type."""

    incident: Incident
    settings: Settings
    page: Page
    aside: Aside
    paper: tuple[float, float]
    size: float
    pages: list[list[Item]] = field(default_factory=lambda: [[]])
    y: float = MARGIN
    running: str = ""
    """The title of the part that is being put."""

    def laid_out(self) -> list[list[Item]]:
        """The pages, at least one."""
        self._said(heading(self.incident), TITLE, bold=True)
        self._said(f"First ({PRACTICE})", self.size, bold=True)
        for caution in CAUTIONS:
            self._said(f"- {caution}", self.size)
        for part in parts(self.incident, self.settings, self.page, self.aside):
            self.y += APART
            high = self._high(part)
            fits = part.title and high <= self.paper[1] - 2 * MARGIN
            self._keep(high if fits else height(3, self.size, LEADING))
            self._rule()
            if part.title:
                self._said(part.title, self.size + 1, bold=True)
            self.running = part.title
            for name, said in part.facts:
                self._fact(name, said)
            self.running = ""
        return self.pages

    def _high(self, part: SheetPart) -> float:
        """How high a part is: one that a page has room for is not torn."""
        room = self.paper[0] - 2 * MARGIN
        title = len(self._lines(part.title, room, self.size + 1, True)) if part.title else 0
        facts = (self._fact_high(said, room - NAMES) for _, said in part.facts)
        return APART + height(title, self.size + 1, LEADING) + sum(facts)

    def _fact_high(self, said: str, room: float) -> float:
        if not said:
            return WRITING
        one, lines = height(1, self.size, LEADING), len(self._lines(said, room, self.size, False))
        return one * lines + (WRITING - one if "____" in said else 0.0)

    def _keep(self, high: float) -> None:
        """Go on on another page where so much has no room; of what is torn it says the name."""
        if self.y + high > self.paper[1] - MARGIN + 1e-6:
            self.pages.append([])
            self.y = MARGIN
            if self.running:
                title, self.running = self.running, ""
                self._said(f"{title}, continued", self.size + 1, bold=True)
                self.running = title

    def _lines(self, text: str, room: float, size: float, bold: bool) -> tuple[str, ...]:
        return in_lines(printable(text, "the sheet of the incident"), room, size, bold)

    def _said(self, text: str, size: float, bold: bool = False) -> None:
        room = self.paper[0] - 2 * MARGIN
        for line in self._lines(text, room, size, bold):
            self._keep(height(1, size, LEADING))
            self.pages[-1].append(Text(MARGIN, baseline(self.y, size), line, size, bold=bold))
            self.y += height(1, size, LEADING)

    def _fact(self, name: str, said: str) -> None:
        left, right = MARGIN + NAMES, self.paper[0] - MARGIN
        if not said:
            self._keep(WRITING)
            base = self.y + WRITING - 1.5
            self.pages[-1].append(Text(MARGIN, base, name, self.size))
            self.pages[-1].append(Line(left, base, right, base, 0.4))
            self.y += WRITING
            return
        by_hand = "____" in said
        if by_hand:
            self._keep(WRITING)
            self.y += WRITING - height(1, self.size, LEADING)
        for n, line in enumerate(self._lines(said, right - left, self.size, False)):
            self._keep(height(1, self.size, LEADING))
            base = baseline(self.y, self.size)
            if n == 0:
                self.pages[-1].append(Text(MARGIN, base, name, self.size))
            self.pages[-1].append(Text(left, base, line, self.size))
            self.y += height(1, self.size, LEADING)

    def _rule(self) -> None:
        self.pages[-1].append(Line(MARGIN, self.y, self.paper[0] - MARGIN, self.y, 0.4))
        self.y += APART
