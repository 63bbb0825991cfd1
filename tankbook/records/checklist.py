"""Inspection checklists: checklists/*.yaml."""

from __future__ import annotations

from typing import ClassVar

from tankbook.records.fields import TEXT, YES_NO, Record, key
from tankbook.records.kinds import ID
from tankbook.records.rulerow import VERIFIED, Verified
from tankbook.records.words import ChecklistGroup, Material

FULLY = frozenset({ChecklistGroup.OUTSIDE, ChecklistGroup.INSIDE, ChecklistGroup.THREADS})
"""What a full inspection looks at, at the least: inside and outside by its own name, and the
threads, in which cracks begin (memory)."""


class ChecklistStep(Record, frozen=True, kw_only=True):
    """One step of a checklist."""

    title: ClassVar[str] = "step"
    name: str = key(ID, "Short name of the step.", "neck-threads", required=True)
    group: ChecklistGroup = key(ChecklistGroup, "Part looked at.", "threads", required=True)
    look_for: str = key(TEXT, "What to look for.", "cracks, wear, engaged count", required=True)
    accept: str | None = key(TEXT, "Limit of acceptance.", "no crack of any length")
    citation: str | None = key(TEXT, "Where the limit was read.", "49 CFR 180 App. C 5")
    verified: Verified | None = key(VERIFIED, "How the limit is known.", "read")
    material: tuple[Material, ...] = key([Material], "Only for these materials.", "[aluminium]")
    ask_threads: bool = key(YES_NO, "A finding asks for count and position.", "yes", default=False)


class Checklist(Record, frozen=True, kw_only=True):
    """An inspection checklist; the file name is its name."""

    title: ClassVar[str] = "checklist"
    id: str = ""
    shown_as: str | None = key(TEXT, "How a hand-over slip calls it.", "Annual inspection")
    full_: bool = key(
        YES_NO,
        "Counts as a full inspection: it has steps outside, inside and at the threads.",
        "yes",
        default=False,
    )
    inside_: bool = key(
        YES_NO, "Includes a look inside: it has a step of that.", "yes", default=False
    )
    steps: tuple[ChecklistStep, ...] = key(
        [ChecklistStep],
        "The steps in order.",
        "[{name: boot, group: outside, look_for: corrosion under the boot}]",
        required=True,
    )

    @property
    def full(self) -> bool:
        """Whether it says that it is a full inspection, and looks at what one looks at."""
        return self.full_ and self.looks_at >= FULLY

    @property
    def inside(self) -> bool:
        """Whether it says that it includes a look inside, and has a step that does."""
        return (self.inside_ or self.full_) and ChecklistGroup.INSIDE in self.looks_at

    @property
    def looks_at(self) -> frozenset[ChecklistGroup]:
        """The parts of a cylinder that its steps look at."""
        return frozenset(step.group for step in self.steps)
