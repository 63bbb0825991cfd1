"""A checklist on the screen: one step at a time, and what the answers come to."""

from __future__ import annotations

from collections.abc import Sequence

from tankbook.acts.bleeding import BLEED_IT, TAKEN_FOR_FULL
from tankbook.acts.walk import outcome, told
from tankbook.output.page import Page
from tankbook.output.words import VERIFIED
from tankbook.records.checklist import ChecklistStep
from tankbook.records.entries import StepFinding
from tankbook.records.words import StepResult

KEYS = "[p]ass [h]old [r]eject [n]ote [b]ack [q]uit: "
BLED_KEYS = (
    "how it was bled: flow [h]eard until it stopped, valve [l]eft open too, [u]nder control, "
    "[n]o flow, [q]uit: "
)
LAST = "record it? [y]es [b]ack [q]uit: "


def begun(id_: str, checklist: str, steps: int, done: int, page: Page) -> str:
    """What is about to be followed, and where it goes on."""
    again = f"; going on at step {done + 1}" if done else ""
    return page.wrap(f"{id_} by `{checklist}`, {steps} steps{again}. q keeps it for later.") + "\n"


def open_before(id_: str, opens: Sequence[tuple[str, str]], page: Page) -> str:
    """What stands open against a cylinder: each as it is told, and as a pass names it."""
    if not opens:
        return ""
    lines = [
        page.wrap(f'open: {told}; --clears "{name}" names it', "  ", "    ") for told, name in opens
    ]
    return "\n".join([f"{id_}: a pass answers only what it names", *lines, ""])


def step(each: ChecklistStep, number: int, count: int, page: Page) -> str:
    """A step: what to look for, and the limit with its source."""
    parts = ["", f"{number} of {count}, {each.group}: {each.name}"]
    parts.append(page.wrap(f"look for: {each.look_for}", "  ", "    "))
    if each.accept:
        source = f" [{each.citation}" if each.citation else ""
        source += f"; {VERIFIED[each.verified]}" if source and each.verified else ""
        accept = f"accept: {each.accept}{source + ']' if source else ''}"
        parts.append(page.wrap(accept, "  ", "    "))
    return "\n".join(parts) + "\n"


def bleed_it(page: Page) -> str:
    """What to do before the valve comes off."""
    return page.wrap(f"before the valve comes off, {BLEED_IT}", "  ", "    ") + "\n"


def summary(answers: Sequence[StepFinding], page: Page, *, shut: bool = False) -> str:
    """What the answers come to, with every finding; or that its valve stays on (`shut`), since no
    flow was heard."""
    if shut:
        return "\n" + page.wrap(f"Hold, its valve stays on: {TAKEN_FOR_FULL}") + "\n"
    found = [a for a in answers if a.result is not StepResult.PASS or a.note]
    lines = [page.wrap(f"{a.result}: {told(a)}", "  ", "    ") for a in found]
    return "\n".join(["", f"Result: {outcome(answers)}", *lines, ""])


def kept(id_: str, done: int, steps: int) -> str:
    """That it was kept for later."""
    return (
        f"Kept for later: {id_}, {done} of {steps} steps done; nothing is recorded yet\n\n"
        f"`tankbook inspect {id_}` goes on, `--afresh` begins again.\n"
    )
