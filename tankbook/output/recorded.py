"""What an act changed, or why nothing was recorded: the answer first, then the change itself."""

from __future__ import annotations

import re
from typing import Any

from tankbook.ledger.apply import Recorded
from tankbook.ledger.commit import NO_GIT, NOT_A_REPOSITORY
from tankbook.output.page import Page, refused
from tankbook.records.edits import Act, Refusal

SHORT_NAME = 10
"""Letters of a commit's name that are shown."""

LATER = "The next act commits it, too."

MOST_NEW = 3
"""New files shown in full; of a delivery of forty one is enough."""


ONCE_MORE = (
    "The command that gave it could not say that it was recorded. Was it done a second time, give "
    "the command once more."
)


def data(told: Recorded | Refusal) -> dict[str, Any]:
    """The JSON shape of every recording command; all keys are always there."""
    reasons: list[str] = []
    if isinstance(told, Refusal):
        reasons = reasons_of(told)
        told = Recorded(Act("", (), told.sentence, ()), (), "")
    return {
        "recorded": not (told.dry_run or reasons),
        "already_recorded": bool(told.already),
        "dry_run": told.dry_run,
        "act": told.act.verb,
        "ids": list(told.act.subjects),
        "sentence": told.act.sentence,
        "files": list(told.files),
        "diff": told.diff,
        "notes": list(told.act.notes),
        "commit": told.commit,
        "why_not_committed": told.why_not_committed,
        "reasons": reasons,
    }


def text(told: Recorded | Refusal, page: Page) -> str:
    """The confirmation, what to see to, whether it was committed, and the change last."""
    if isinstance(told, Refusal):
        return refused(reasons_of(told), "recorded", page)
    before = "Dry run, nothing was written: " if told.dry_run else ""
    said = told.act.sentence
    if told.already:
        before, said = "Already recorded: ", f"{told.already}; nothing was added"
    parts = [page.wrap(before + said, hang="    ")]
    if told.already:
        parts += ["", page.wrap(ONCE_MORE)]
    noted = () if told.already else told.act.notes
    notes = [page.wrap(f"* {note}", hang="  ") for note in noted]
    parts += ["", *notes] if notes else []
    if told.commit:
        parts += ["", f"Committed as {told.commit[:SHORT_NAME]}."]
    if told.why_not_committed:
        done = "" if told.already else "Recorded, "
        why = f"{done}NOT committed: {told.why_not_committed}."
        parts += ["", page.wrap(f"{why} {_later(told.why_not_committed)}".rstrip(), hang="  ")]
    if told.diff:
        parts += ["", shown(told.diff).rstrip("\n")]
    return "\n".join(parts) + "\n"


def _later(why: str) -> str:
    """That it is committed yet, where it can be."""
    return "" if why in (NO_GIT, NOT_A_REPOSITORY) or "ignored" in why else LATER


def shown(diff: str) -> str:
    """A change to look at: of many new files the first in full, the others by their names."""
    files = re.split(r"^(?=--- )", diff, flags=re.MULTILINE)[1:]
    new = [each for each in files if each.startswith("--- /dev/null\n")]
    if len(new) <= MOST_NEW:
        return diff
    names = [each.splitlines()[1].removeprefix("+++ ") for each in new]
    rest = f"... and {len(new) - 1} more like it, {names[1]} to {names[-1]}\n"
    return "".join([*(each for each in files if each not in new), new[0], rest])


def reasons_of(refusal: Refusal) -> list[str]:
    """Every reason of a refusal: those of the act, then the faults of what was given."""
    found = [str(f) for f in refusal.findings]
    return [*refusal.reasons, *found] or [refusal.sentence]
